// What the judge says about steps, entries and devices: the same as remarks.py.

import { clocks } from "./agreeing.js"
import { isAnswer, isOf, other } from "./fitness.js"
import { folded, minded } from "./naming.js"
import { amendsNothing, compare, dayOf, micros, own, unique } from "./record.js"
import { isRefusal } from "./steps.js"
import { KINDS } from "./words.js"

export const AGREES = "second look"
const AHEAD = 120
const LISTED = 12

export const remark = (code, about, entries = [], params = {}, message = null) =>
  ({ code, about, entries, params, message })
const list = (names) =>
  names.slice(0, LISTED).join(", ") + (names.length > LISTED ? ` and ${names.length - LISTED} more` : "")
const counted = (step) => [...step.chosen.values()].flatMap((pick) => pick.rows)
const tells = (one) => one.tells === true

// Every content of the ids that have several, each by its own time.
export const formsOf = (clashes) => clashes.flatMap(({ forms }) => forms).map((form) => ({ ...form, micros: micros(form) }))
  .sort((a, b) => a.micros - b.micros || compare(a.device, b.device) || a.device_seq - b.device_seq || compare(a.id, b.id) || compare(a.run, b.run))

// What stands against *final* at one step.
export function ofStep(step, record) {
  if (step.way === "off") return []
  const { id, proves } = step.node
  const newest = unique(counted(step).map((row) => row.entry.id))
  const found = step.fires.filter((one) => !tells(one)).map((one) => remark("RUN-08", id, newest, {}, one.see))
  found.push(...step.refusals.map((one) => remark("RUN-09", id, newest, {}, one.message)))
  if (step.unmet.length > 0) found.push(remark("RUN-10", id, newest, { needs: list(step.unmet) }))
  if (step.uncovered.length > 0) {
    const begun = newest.length > 0 ? newest : step.rows.slice(-1).map((row) => row.entry.id)
    found.push(remark("RUN-53", id, begun, { on: list(step.uncovered) }))
  }
  found.push(...step.held)
  found.push(...unread(step, record, true))
  if (proves.length > 0) {
    found.push(...step.unfit.filter((one) => one.counts).map((one) => unfit(step, one)))
    found.push(...notAuthorised(step, record))
  }
  if (step.lacks.length > 0 && step.way === "on") found.push(remark("RUN-07", id, [], { lacks: list(step.lacks) }))
  for (const input of step.outside) {
    const { rows, value } = step.chosen.get(input)
    const { low, high } = step.bands[input]
    found.push(remark("RUN-14", id, rows.map((row) => row.entry.id), { input, value, low, high }))
  }
  if (step.differs?.apart) found.push(differs(step))
  return found
}

// The values of another kind than asked, and refusals; counts: those after which nothing was read that can be.
function unread(step, record, counts) {
  const inputOf = (name) => step.node.inputs.find((one) => one.name === name)
  const why = ({ input, row }) => {
    const one = inputOf(input)
    if (isRefusal(record, step.node, one, row)) return { why: "refusal" }
    return isAnswer(one, row) && !isOf(one, row) ? { why: "other quantity", ...other(one, row) } : { why: "other kind" }
  }
  const last = ({ input, row }) => step.way !== "off" && (step.given.get(input) ?? []).every((one) => one.at < row.at)
  return step.mistyped.filter((one) => last(one) === counts)
    .map((one) => remark("RUN-06", step.node.id, [one.row.entry.id], { input: one.input, ...why(one) }))
}

// The fields in words that a bare refusal answers, of which the plan minds nothing.
function refused(step, record) {
  if (step.way !== "on") return []
  return step.node.inputs.flatMap((one) => (step.chosen.get(one.name)?.rows ?? [])
    .filter((row) => isRefusal(record, step.node, one, row, true))
    .map((row) => remark("RUN-06", step.node.id, [row.entry.id], { input: one.name, why: "refusal" })))
}

// What is worth knowing at one step and forbids nothing.
export function toldOfStep(step, record) {
  const { id, proves } = step.node
  const later = record.procedure.after.includes(id)
  const found = step.fires.filter((one) => tells(one) || later).map((one) => remark("RUN-08", id, [], {}, one.see))
  if (step.way === "off" && step.begun) {
    found.push(remark("RUN-05", id, step.rows.map((row) => row.entry.id), { why: "other way" }))
  }
  found.push(...unread(step, record, false), ...refused(step, record))
  found.push(...step.unfit.filter((one) => !(one.counts && proves.length > 0)).map((one) => unfit(step, one)))
  if (step.unmet_paper.length > 0) found.push(remark("RUN-10", id, [], { needs: list(step.unmet_paper) }))
  if (step.unnoted.length > 0 && step.way === "on") found.push(remark("RUN-07", id, [], { lacks: list(step.unnoted) }))
  if (step.differs !== null && !step.differs.apart) found.push(differs(step))
  return found
}

// The pressures that count and cannot stand where they were read.
function cannotBe(record, steps) {
  return (minded(record.procedure).ranges ?? []).flatMap(({ step, input, low, high }) => {
    const pick = steps.get(step)?.way === "on" ? steps.get(step).chosen.get(input) : undefined
    if (pick === undefined || typeof pick.value !== "number" || (low <= pick.value && pick.value <= high)) return []
    const ids = pick.rows.map((row) => row.entry.id)
    return [remark("RUN-06", step, ids, { input, why: "cannot be", value: pick.value, high })]
  })
}

// What is worth knowing of the entries as a whole.
export function toldOfRecord(all, clashes, mine, record, steps, now) {
  const found = strays(all, clashes, mine, record, steps)
  for (const [device, ids, params] of clocks(mine, LISTED)) found.push(remark("RUN-03", device, ids, params))
  found.push(...cannotBe(record, steps))
  const ahead = now === null ? [] : record.rows.filter((row) => row.time > now + row.entry.clock_within + AHEAD)
  if (ahead.length > 0) {
    const ids = ahead.slice(0, LISTED).map((row) => row.entry.id)
    found.push(remark("RUN-03", ahead.at(-1).entry.device, ids, { why: "ahead", by: ahead.at(-1).time - now }))
  }
  found.push(...described(record))
  for (const row of record.rows.filter((each) => each.entry.kind === "sign")) {
    const asks = row.text("asks")
    if (asks !== "final" && asks !== "provisional") found.push(remark("RUN-19", "sign", [row.entry.id], { asks }))
  }
  const known = peopleOf(record)
  for (const row of record.rows.filter((each) => vouches(each) && !known.has(folded(each.entry.who)))) {
    const { who, node, id } = row.entry
    found.push(remark("RUN-05", node || "run", [id], { why: "nobody", who: who || "nobody" }))
  }
  return found
}

function strays(all, clashes, mine, record, steps) {
  const found = []
  for (const row of record.rows) {
    const { kind, node, id } = row.entry
    const stray = (about, params) => found.push(remark("RUN-05", about, [id], params))
    if (!KINDS.includes(kind)) stray(kind, { why: "kind" })
    else if (kind === "run" && !["", record.procedure.kind].includes(row.text("kind"))) {
      stray("run", { why: "other visit", got: row.text("kind"), asked: record.procedure.kind })
    }
    else if (node && !steps.has(node)) stray(node, { why: "no step" })
    else if (row.input && steps.has(node)) {
      if (steps.get(node).node.inputs.every((one) => one.name !== row.input)) stray(node, { why: "no input", input: row.input })
    } else if (kind === "choice" && (record.choices.get(row.text("choice")) ?? null) === null) {
      stray(row.text("choice"), { why: "no choice" })
    }
  }
  for (const id of amendsNothing(mine)) found.push(remark("RUN-05", id, [id], { why: "amends nothing" }))
  const others = [...all, ...formsOf(clashes)].filter((entry) => entry.run !== record.run).map((entry) => entry.id)
  if (others.length > 0) {
    found.push(remark("RUN-05", "run", others.slice(0, LISTED), { why: "other run", count: others.length }))
  }
  return found
}

// Instruments whose description came, or changed, after they had been read with.
function described(record) {
  const read = new Map([...record.described.keys()].map((name) => [name, []]))
  for (const row of record.rows) if (row.input) read.get(row.text("instrument"))?.push(row.at)
  const found = []
  for (const [name, told] of record.described) {
    told.forEach(({ at, known }, index) => {
      const count = read.get(name).filter((each) => each <= at).length
      const why = index === 0 ? "after" : "anew"
      const same = index > 0 && JSON.stringify(known) === JSON.stringify(told[index - 1].known)
      if (count > 0 && !same) found.push(remark("RUN-91", name, [record.rows[at].entry.id], { why, count }))
    })
  }
  return found
}

function notAuthorised(step, record) {
  const persons = new Map(record.rows.filter((row) => row.entry.kind === "person").map((row) => [row.text("name"), row]))
  const rows = [...new Map(counted(step).map((row) => [row.at, row])).values()].sort((a, b) => a.at - b.at)
  const said = new Set()
  const found = []
  for (const row of rows) {
    const { who, id } = row.entry
    const last = persons.has(who) ? dayOf(own(persons.get(who).entry.payload, "authorised_until")) : null
    if (last === null || row.day <= last || said.has(who)) continue
    said.add(who)
    found.push(remark("RUN-18", step.node.id, [id], { who, days: row.day - last }))
  }
  return found
}

const unfit = (step, { input, row, why }) =>
  remark("RUN-06", step.node.id, [row.entry.id], { input, why: why.why, ...why.params })

function differs({ node, differs: { input, old, young } }) {
  const params = {
    input, one: old.entry.payload.value, other: young.entry.payload.value,
    devices: `${old.entry.device}, ${young.entry.device}`,
  }
  return remark("RUN-04", node.id, [old.entry.id, young.entry.id], params)
}

// The people of a run: who is described in it, and who entered more than that they agree or sign.
export function peopleOf({ rows }) {
  const named = rows.filter((row) => row.entry.kind === "person").map((row) => row.text("name"))
  const wrote = rows.filter((row) => !vouches(row)).map((row) => row.entry.who)
  return new Set([...named, ...wrote].map(folded).filter((name) => name !== ""))
}

// Whether somebody only vouches by an entry for what others entered.
export const vouches = (row) => row.do === AGREES || row.entry.kind === "sign"
