// Valves that stand as they are to stand all through a step: the same as holding.py.

import { doubts, openBy, unsure } from "./agreeing.js"
import { folded, lower, minded, standsOpen, standsShut, wasOpened } from "./naming.js"
import { beyond, has, read } from "./opened.js"
import { said } from "./placing.js"
import { compare } from "./record.js"
import { remark } from "./remarks.js"
import { isRefused } from "./steps.js"
import { valvesOf } from "./touching.js"
import { STANDS } from "./words.js"

const BEGINS = ["reading", "observation", "action", "choice"]
const WHOLE = ["stroke by hand", "remove", "refit", "replace"]
const MOVED = ["turn", "set", "adjust", ...WHOLE]
const RUNS = ["flush", "fill", "vent", "draw water"]
const LETS_OFF = ["sample", "bleed"]
const AGREE = 15
const UNTOLD = "before, in or after it: the clocks do not tell"

const holdsOf = (procedure) => minded(procedure).holds ?? []
const openingsOf = (procedure) => minded(procedure).openings ?? []

// What stood otherwise than it is to stand, by step: what refuses it, and what makes it stale.
export function broken(record, steps) {
  const [refusing, moved, answered] = [new Map(), new Map(), []]
  const keeps = minded(record.procedure).keeps ?? []
  const doubt = doubts(record.rows.map((row) => row.entry))
  const tell = (found, name, one) => found.set(name, (found.get(name) ?? new Map()).set(one.params.part, one))
  for (const hold of holdsOf(record.procedure)) {
    const step = steps.get(hold.step)
    const span = step?.way === "on" ? heldOf(step, hold, steps) : null
    const found = span === null ? null : inside(record, span, hold, doubt)
    if (found === null) continue
    if (provedAnew(record, steps, hold, found[0])) {
      answered.push(stood(record, hold.step, found, "shut"))
      continue
    }
    const { proves } = step.node
    const stale = proves.length > 0 && hold.since.length === 0 && !proves.some((name) => keeps.includes(name))
    tell(stale ? moved : refusing, hold.step, stood(record, hold.step, found, "shut"))
  }
  for (const one of openingsOf(record.procedure)) {
    const seen = seenOf(record, steps, one)
    for (const name of one.asks) {
      const step = steps.get(name)
      const far = step?.way === "on" ? tooFar(record, step, seen, one, doubt) : null
      if (far !== null) tell(refusing, name, stood(record, name, far, called(one), one.part))
    }
  }
  const each = (found) => new Map([...found].map(([name, told]) => [name, [...told.values()]]))
  return [each(refusing), each(moved), answered]
}

// Whether a step gone through once was made good after a valve was moved in it: the valve proved tight anew, and what the step found.
function provedAnew(record, steps, hold, row) {
  const { instead = [], shields } = minded(record.procedure)
  const taken = instead.filter(([step, choice, option]) => step === hold.step && record.choices.get(choice) === option)
  const chosen = taken.flatMap(([, choice, option]) => (
    record.procedure.choices.filter((one) => one.id === choice).flatMap((one) => one.options.filter((each) => each.name === option).flatMap((each) => each.opens))))
  const tight = shields.filter((one) => one.moved.includes(hold.part)).flatMap((one) => one.steps)
  const done = (names) => names.map((name) => steps.get(name)).some((one) => (
    one !== undefined && one.node.proves.length > 0 && one.base > row.at && one.way === "on" && one.lacks.length === 0 && !isRefused(one)))
  return done(chosen) && done(tight)
}

function stood(record, step, [row, isSure], asked, part = "") {
  let how = part === "" || row.thing === part ? howOf(record, row) : "open"
  if (part && how && MOVED.includes(row.do)) how = `otherwise (${row.do})`
  if (!isSure) how = `${how} (${UNTOLD})`
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
export function unread(record, steps) {
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
    const plain = standsShut(text) || (opening === undefined && standsOpen(text)) || (opening !== undefined && read(text, opening) !== null)
    const planned = left.some((one) => one.thing === row.thing && one.words.includes(text))
    newest.set(row.thing, plain || planned ? null : row)
  }
  const told = new Map([...newest].filter(([, row]) => row !== null).map(([thing, row]) => [thing, [row, row.text("is")]]))
  for (const one of openingsOf(record.procedure)) {
    const row = runThrough(record, steps, one)
    if (row !== null && !told.has(one.part)) told.set(one.part, [row, `not said (${row.do})`])
  }
  return [...told].sort((a, b) => compare(a[0], b[0])).map(([thing, [row, is]]) => remark("RUN-49", thing, [row.entry.id], { is }))
}

// The act by which water was run through an inlet valve before a raise, or in it; null where it was said since how it stands.
function runThrough(record, steps, one) {
  const works = [...one.brings, ...one.opens]
  const runs = record.rows.filter((row) => row.thing === one.part && RUNS.includes(row.do) && !works.includes(row.entry.node))
  if (runs.length === 0 || one.full) return null
  const seen = seenOf(record, steps, one)
  for (const name of one.asks) {
    const span = steps.get(name)?.way === "on" ? spanOf(steps.get(name)) : null
    if (span === null) continue
    const since = Math.max(-1, ...seen.map(({ at }) => at).filter((at) => at < span[0]))
    const found = runs.find((row) => since < row.at && row.at <= span[1])
    if (found !== undefined) return found
  }
  return null
}

function saidOf(record, row) {
  return said(row, new Map(minded(record.procedure).left.map((one) => [one.thing, one])), valvesOf(record.procedure))
}

// How a valve stood by an act or a position; empty where it says nothing of that.
const howOf = (record, row) => saidOf(record, row) || (LETS_OFF.includes(row.do) ? `open (${row.do})` : "")

// Between which rows a valve is to stand shut; null where they do not stand.
function heldOf(step, hold, steps) {
  let first = place(step, hold.first, false)
  if (hold.since.length > 0) first = steps.get(hold.since[0])?.chosen.get(hold.since[1])?.newest ?? first
  const last = place(step, hold.last, true)
  return first === null || last === null ? null : [first, last]
}

// By what a valve that is to stand shut all through a step did not, or may not have, and whether the clocks tell; else null.
function inside(record, [first, last], hold, doubt) {
  const every = record.rows.filter((row) => row.thing === hold.part)
    .map((row) => [row, howOf(record, row)]).filter(([, how]) => how !== "")
  const told = every.filter(([row]) => first < row.at && row.at < last)
  const counts = hold.ends ? told.slice(-1) : told
  const sure = counts.find(([row, how]) => !isShut(row, how, hold))
  if (sure !== undefined) return [sure[0], true]
  const newest = told.at(-1)?.[0]
  const may = every.filter(([row, how]) => !isShut(row, how, hold)).find(([row]) => {
    if (row.at > last) return untold(record.rows[last], row, doubt)
    if (hold.ends) return newest !== undefined && row.at < newest.at && untold(row, newest, doubt)
    return row.at < first && untold(row, record.rows[first], doubt)
  })
  return may === undefined ? null : [may[0], false]
}

// Whether a row that sorts before another may have been made after it; not by clocks that agree.
const untold = (one, other, doubt) => openBy(one.entry, other.entry, doubt) > AGREE && unsure(one, other, doubt)

// The drains of a step's section last said to stand shut, and no flow was read since: no turn is advised.
export function dryNow(record, name) {
  const { procedure } = record
  const streamOf = (step) => procedure.streams?.[step] ?? ""
  const isOwn = (step) => ["", streamOf(name)].includes(streamOf(step))
  const doubt = doubts(record.rows.map((row) => row.entry))
  const drains = (procedure.left ?? []).filter(({ state }) => state.id === "left.drain").map(({ part }) => part)
  const here = new Set(holdsOf(procedure).filter((one) => isOwn(one.step)).map((one) => one.part))
  const dry = [...here].filter((part) => drains.includes(part) && isDry(record, part, isOwn, doubt))
  const inlets = openingsOf(procedure).filter((one) => one.asks.includes(name) && isShutOff(record, one, isOwn))
  return [...dry.map((part) => `${part} open, water running`), ...inlets.map((one) => `${one.part} ${called(one)}`)]
}

// Whether an inlet valve was last said to stand shut, nothing opened it and no flow was read.
function isShutOff(record, one, isOwn) {
  let isShut = false
  for (const row of record.rows) {
    const how = row.thing === one.part ? howOf(record, row) : "", { flow } = row.entry.payload
    if (how !== "") isShut = standsShut(how)
    else if ([...one.brings, ...one.opens].includes(row.entry.node)) isShut = false
    else if (row.entry.kind === "reading" && isOwn(row.entry.node) && typeof flow === "number" && flow > 0) isShut = false
  }
  return isShut
}

function isDry(record, part, isOwn, doubt) {
  let shut = null
  for (const row of record.rows) {
    const how = row.thing === part ? howOf(record, row) : ""
    if (how !== "") shut = standsShut(how) ? row : null
    else if (shut !== null && isOwn(row.entry.node) && row.entry.kind === "reading") {
      const { flow } = row.entry.payload
      if (typeof flow === "number" && flow > 0 && !untold(shut, row, doubt)) shut = null
    }
  }
  return shut !== null
}

function place(step, name, newest) {
  if (name) {
    const pick = step.chosen.get(name)
    return pick === undefined ? null : newest ? pick.newest : pick.oldest
  }
  const at = newest ? step.latest : step.base
  return at >= 0 ? at : null
}

const isShut = (row, how, hold) => (
  row.entry.kind === "position" ? standsShut(how) && (hold.ends || !wasOpened(how)) : how === "shut")

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
  if (!Object.hasOwn(STANDS, row.do) && !MOVED.includes(row.do)) return null
  if (row.do !== "open" && !MOVED.includes(row.do)) return false
  if (WHOLE.includes(row.do) && folded(row.text("thing")) !== folded(one.part)) return null
  const { amount } = row.entry.payload
  const measured = typeof amount === "number" ? beyond(amount, lower(row.text("unit")).trim(), one) : null
  const far = measured ?? read(row.text("detail"), one)
  if (far === null && [...one.brings, ...one.opens].includes(row.entry.node)) return null
  if (MOVED.includes(row.do) && (far === false || one.full)) return far || null
  return far ?? !one.full
}

// From where to where a step was gone through; null where it was not begun.
function spanOf(step) {
  const rows = step.rows.filter((row) => BEGINS.includes(row.entry.kind))
  if (rows.length === 0) return null
  return [step.base >= 0 ? step.base : rows[0].at, step.latest >= 0 ? step.latest : rows.at(-1).at]
}

// By what the valve stood too far open as a step was begun, or in it, or may have, and whether the clocks tell; else null.
function tooFar(record, step, seen, one, doubt) {
  const span = spanOf(step)
  if (span === null) return null
  const [begin, end] = span
  const before = seen.filter((one) => one.at < begin).at(-1)
  if (before?.far) return [before.row, true]
  const sure = seen.find((each) => each.at >= begin && each.at <= end && each.far)
  if (sure !== undefined) return [sure.row, true]
  const works = [...one.brings, ...one.opens]
  const wide = seen.filter(({ at, far, row }) => far && at === row.at && !works.includes(row.entry.node)).map(({ row }) => row)
  const may = wide.find((row) => reaches(record, row, begin, seen, doubt)) ?? putBack(record, begin, seen, doubt)
    ?? wide.find((row) => row.at > end && untold(record.rows[end], row, doubt))
  return may === undefined ? null : [may, false]
}

// Whether an opening before a step may have been after its beginning, or after it was put back.
function reaches(record, row, begin, seen, doubt) {
  if (row.at >= begin) return false
  const back = seen.filter(({ at, far }) => row.at < at && at < begin && !far)
  return back.every((other) => untold(row, other.row, doubt)) || untold(row, record.rows[begin], doubt)
}

// By what the valve stood too far open if what put it back came only after the beginning.
function putBack(record, begin, seen, doubt) {
  const isOpen = ({ at, far, row }) => at === row.at && !far && untold(row, record.rows[begin], doubt)
  const last = seen.filter((one) => one.at < begin && !isOpen(one)).at(-1)
  return last?.far ? last.row : undefined
}
