// Valves that stand as they are to stand all through a step: the same as holding.py.

import { inOrderOf, lower, minded, standsOpen, standsShut } from "./naming.js"
import { said } from "./placing.js"
import { compare } from "./record.js"
import { remark } from "./remarks.js"
import { valvesOf } from "./touching.js"
import { STANDS } from "./words.js"

const BEGINS = ["reading", "observation", "action", "choice"]
const SIZES = new Map([["turn", 1], ["turns", 1], ["", 1], ["°", 1 / 360], ["deg", 1 / 360], ["degree", 1 / 360], ["degrees", 1 / 360]])
const SHARES = new Map([["%", 0.01], ["percent", 0.01]])
const AMOUNT = /([0-9]+(?:[.,][0-9]+)?) *([a-z%°]*)/g
const [LARGER, SLACK, SLACK_SHARE] = [1.05, 0.125, 0.01]
const WIDE = ["open", "opened", "opens", "opening", "fully", "full", "wide", "normal", "service", "restored", "back"]
const NARROW = ["v2", "crack", "cracked", "part", "partly", "partially", "throttled", "throttle", "trickle", "little", "planned"]
const TURNED = ["nearly", "almost", "not"]

const has = (words, list) => words.some((word) => list.includes(word))
const holdsOf = (procedure) => minded(procedure).holds ?? []
const openingsOf = (procedure) => minded(procedure).openings ?? []

// What stood otherwise than it is to stand, by step: what refuses it, and what makes it stale.
export function broken(record, steps) {
  const [refusing, moved] = [new Map(), new Map()]
  const keeps = minded(record.procedure).keeps ?? []
  const tell = (found, name, one) => found.set(name, (found.get(name) ?? new Map()).set(one.params.part, one))
  for (const hold of holdsOf(record.procedure)) {
    const step = steps.get(hold.step)
    const row = step?.way === "on" ? inside(record, step, hold, steps) : null
    if (row === null) continue
    const { proves } = step.node
    const stale = proves.length > 0 && hold.since.length === 0 && !proves.some((name) => keeps.includes(name))
    tell(stale ? moved : refusing, hold.step, stood(record, hold.step, row, "shut"))
  }
  for (const one of openingsOf(record.procedure)) {
    const seen = seenOf(record, steps, one)
    for (const name of one.asks) {
      const step = steps.get(name)
      const far = step?.way === "on" ? tooFar(step, seen) : null
      if (far !== null) tell(refusing, name, stood(record, name, far, called(one), one.part))
    }
  }
  const each = (found) => new Map([...found].map(([name, told]) => [name, [...told.values()]]))
  return [each(refusing), each(moved)]
}

function stood(record, step, row, asked, part = "") {
  const how = part === "" || row.thing === part ? saidOf(record, row) : "open"
  return remark("RUN-48", step, [row.entry.id], { part: part || row.thing, is: how, asked })
}

const called = ({ turns }) => (turns === null ? "at its V2 opening" : `at its V2 opening, ${turns} turns`)

// The inlet valves that stand too far open for a step if it were begun now, and how they should.
export function tooFarNow(record, steps, name) {
  return openingsOf(record.procedure)
    .filter((one) => one.asks.includes(name) && seenOf(record, steps, one).at(-1)?.far === true)
    .map((one) => `${one.part} ${called(one)}`)
}

// The newest position of each such valve of which nobody can tell how it stands.
export function unread(record) {
  const { shields, left } = minded(record.procedure)
  const inlet = new Map(openingsOf(record.procedure).map((one) => [one.part, one]))
  const parts = new Set([...holdsOf(record.procedure).map((one) => one.part), ...shields.flatMap((one) => one.moved), ...inlet.keys()])
  const newest = new Map()
  for (const row of record.rows.filter((each) => parts.has(each.thing) && ["position", "action"].includes(each.entry.kind))) {
    if (row.entry.kind === "action") {
      if (Object.hasOwn(STANDS, row.do)) newest.set(row.thing, null)
      continue
    }
    const [text, opening] = [row.text("is"), inlet.get(row.thing)]
    const plain = standsShut(text) || standsOpen(text) || (opening !== undefined && read(text, opening) !== null)
    const planned = left.some((one) => one.thing === row.thing && one.words.includes(text))
    newest.set(row.thing, plain || planned ? null : row)
  }
  return [...newest].filter(([, row]) => row !== null).sort((a, b) => compare(a[0], b[0]))
    .map(([thing, row]) => remark("RUN-49", thing, [row.entry.id], { is: row.text("is") }))
}

function saidOf(record, row) {
  return said(row, new Map(minded(record.procedure).left.map((one) => [one.thing, one])), valvesOf(record.procedure))
}

// By what a valve that is to stand shut all through a step did not; null where it did.
function inside(record, step, hold, steps) {
  let first = place(step, hold.first, false)
  if (hold.since.length > 0) first = steps.get(hold.since[0])?.chosen.get(hold.since[1])?.newest ?? first
  const last = place(step, hold.last, true)
  if (first === null || last === null) return null
  const told = record.rows.slice(first + 1, Math.max(last, 0)).filter((row) => row.thing === hold.part)
    .map((row) => [row, saidOf(record, row)]).filter(([, how]) => how !== "")
  const counts = hold.ends ? told.slice(-1) : told
  return counts.find(([row, how]) => !isShut(row, how))?.[0] ?? null
}

function place(step, name, newest) {
  if (name) {
    const pick = step.chosen.get(name)
    return pick === undefined ? null : newest ? pick.newest : pick.oldest
  }
  const at = newest ? step.latest : step.base
  return at >= 0 ? at : null
}

const isShut = (row, how) => (row.entry.kind === "position" ? standsShut(how) : how === "shut")

// Where an inlet valve was said, or brought by a step, to stand too far open or not, in order.
function seenOf(record, steps, one) {
  const found = []
  for (const row of record.rows.filter((each) => each.thing === one.part && ["position", "action"].includes(each.entry.kind))) {
    const far = farOf(row, one)
    if (far !== null) found.push({ at: row.at, far, row })
  }
  for (const [names, far] of [[one.brings, false], [one.opens, !one.full]]) {
    for (const name of names) {
      const step = steps.get(name)
      if (step?.way !== "on" || step.latest < 0 || step.lacks.length > 0) continue
      found.push({ at: step.latest + 0.5, far, row: record.rows[step.latest] })
    }
  }
  return found.sort((a, b) => a.at - b.at)
}

// Whether an act or a position leaves the valve too far open; null where it says nothing of it.
function farOf(row, one) {
  if (row.entry.kind === "position") return read(row.text("is"), one)
  if (!Object.hasOwn(STANDS, row.do)) return null
  if (row.do !== "open") return false
  const { amount } = row.entry.payload
  const measured = typeof amount === "number" ? beyond(amount, lower(row.text("unit")).trim(), one) : null
  const far = measured ?? read(row.text("detail"), one)
  if (far === null && [...one.brings, ...one.opens].includes(row.entry.node)) return null
  return far ?? !one.full
}

function beyond(amount, unit, { turns, share }) {
  if (SHARES.has(unit)) return share === null ? null : amount * SHARES.get(unit) > share * LARGER + SLACK_SHARE
  if (!SIZES.has(unit) || turns === null) return null
  return amount * SIZES.get(unit) > turns * LARGER + SLACK
}

// Whether words say that the valve stands further open than it may; null where they do not tell.
function read(text, one) {
  if (standsShut(text)) return false
  const words = inOrderOf(text)
  const bare = words.every((word) => WIDE.includes(word) || /^[0-9]+$/.test(word))
  for (const [, amount, unit] of lower(text).replaceAll("v2", "").matchAll(AMOUNT)) {
    const far = unit || bare ? beyond(Number(amount.replace(",", ".")), unit, one) : null
    if (far !== null) return far
  }
  if (has(words, NARROW)) return false
  return has(words, WIDE) && !has(words, TURNED) ? !one.full : null
}

// By what the valve stood too far open as a step was begun, or in it; null where it did not.
function tooFar(step, seen) {
  const rows = step.rows.filter((row) => BEGINS.includes(row.entry.kind))
  if (rows.length === 0) return null
  const begin = step.base >= 0 ? step.base : rows[0].at
  const end = step.latest >= 0 ? step.latest : rows.at(-1).at
  const before = seen.filter((one) => one.at < begin).at(-1)
  if (before?.far) return before.row
  return seen.find((one) => one.at >= begin && one.at <= end && one.far)?.row ?? null
}
