// Trials that lay outside and were read again: the same as trials.py.

import { inside } from "./agreeing.js"
import { folded, minded } from "./naming.js"
import { isNumber, own } from "./record.js"
import { remark } from "./remarks.js"
import { restsOf, touches } from "./touching.js"

const ROUNDING = 1e-6

// What stands against *final* by step, and what is told because a note or another run answers it; may: readings of
// which a recorded deviation may accept that they count no more, by id.
export function tried(record, steps) {
  const found = { against: new Map(), may: new Set(), told: [] }
  for (const [trial, row, params, rests] of passedOver(record, steps)) {
    const step = steps.get(rests)
    const one = remark("RUN-59", trial.step, [row.entry.id], params)
    if (step !== undefined && isTouched(record, steps, step, row)) continue
    if (isRunAgain(steps, trial, row) || isNoted(record, row, trial)) {
      found.told.push(one)
      continue
    }
    found.against.set(trial.step, [...(found.against.get(trial.step) ?? []), one])
    if (!isBeyond(row, trial)) found.may.add(row.entry.id)
  }
  return found
}

// The readings of one step that lay outside, were read again and that nothing answers, by id.
export const unanswered = (record, steps, id) => (tried(record, steps).against.get(id) ?? []).map((one) => one.entries[0])

function passedOver(record, steps) {
  const found = []
  for (const trial of minded(record.procedure).trials ?? []) {
    const step = steps.get(trial.step)
    const pick = step !== undefined && step.way !== "off" ? step.chosen.get(trial.input) : undefined
    if (pick === undefined) continue
    for (const row of step.given.get(trial.input)) {
      const params = pick.rows.includes(row) && !own(trial, "alone", false) ? null : outside(record, trial, step, row)
      if (params !== null) found.push([trial, row, params, trial.step])
    }
  }
  return [...found, ...astray(record, steps)]
}

// What was read beyond the highest of a test where nothing is held against it: at no step, under a name its step does
// not ask, and where its step has no band for it.
function astray(record, steps) {
  const edges = new Map()
  const asked = new Map()
  const triedBy = new Set()
  for (const trial of minded(record.procedure).trials ?? []) {
    const step = steps.get(trial.step)
    if (step === undefined || step.way === "off") continue
    triedBy.add(`${trial.step} ${trial.input}`)
    if (own(trial, "alone", false)) continue
    asked.set(trial.step, step.node.inputs.map((one) => one.name))
    const tap = step.node.inputs.find((one) => one.name === trial.input)?.tap ?? ""
    if (tap && trial.edge !== null && trial.edge < (edges.get(tap)?.edge ?? Infinity)) edges.set(tap, trial)
  }
  const found = []
  for (const row of record.rows) {
    const [node, value] = [row.entry.node, row.number("value")]
    const alone = triedBy.has(`${node} ${row.input}`) ? undefined : unheld(record, steps, row)
    const first = edges.get(alone?.tap ?? row.text("tap"))
    if (row.entry.kind !== "reading" || value === null || first === undefined || value <= first.edge) continue
    const isStray = !node || (asked.has(node) && !asked.get(node).includes(row.input))
    if (!["", "pressure"].includes(row.text("quantity")) || !isStray) {
      const params = { input: row.input, value, low: null, high: first.edge }
      if (alone !== undefined) found.push([{ ...first, step: node, input: row.input, run: [] }, row, params, ""])
      continue
    }
    const trial = [...edges.values()].find((one) => one.step === node) ?? first
    found.push([trial, row, { input: row.input, value, low: null, high: first.edge }, trial.step])
  }
  return found
}

// The pressure a reading answers where no band of its step speaks against it. A step that pumps the outlet to prove its
// valve, or brings the inlet valve to its opening, goes by its own limits. After a trip nothing is asked of how the outlet was found, up to the reset.
function unheld(record, steps, row) {
  const step = steps.get(row.entry.node)
  const { openings = [], shields, stops = [] } = minded(record.procedure)
  if (step?.way !== "on" || shields.some((one) => one.steps.includes(step.node.id))) return undefined
  if (openings.some((one) => one.brings.includes(step.node.id))) return undefined
  if (step.node.expect.some((one) => one.input === row.input)) {
    const pick = step.chosen.get(row.input)
    if (!pick?.rows.includes(row) || step.outside.includes(row.input)) return undefined
  }
  const ids = record.procedure.nodes.map((node) => node.id)
  if (stops.length > 0 && ids.indexOf(step.node.id) <= Math.min(...stops.map((name) => ids.indexOf(name)))) return undefined
  return step.node.inputs.find((one) => one.name === row.input && one.quantity === "pressure" && Boolean(one.tap))
}

function outside(record, trial, step, row) {
  const value = own(row.entry.payload, "value")
  if (own(trial, "yes", false)) return value === true ? { input: trial.input, value: true, low: "no, from first", high: "last" } : null
  if (!isNumber(value)) return null
  if (trial.edge !== null && value > trial.edge) return { input: trial.input, value, low: null, high: trial.edge }
  const by = own(trial, "by")
  if (by !== null) {
    const high = beside(step.given.get(trial.above), row, value) + by
    return value > high ? { input: trial.input, value, low: null, high } : null
  }
  const band = own(step.bands, trial.band)
  if (band === null) return null
  const low = Math.min(beside(step.given.get(trial.beside), row, value), value)
  const mid = (low + value) / 2
  if (inside(mid, band) || saysNothing(trial, band, low, value)) return null
  if (sets(record, trial) && inside(value, { ...band, low: null })) return null
  return { input: trial.band, value: mid, low: band.low, high: band.high }
}

// What was read beside a reading: last before it, else first after it; without any, it itself.
function beside(rows, row, value) {
  const read = (rows ?? []).filter((one) => isNumber(own(one.entry.payload, "value")))
  return (read.filter((one) => one.at < row.at).at(-1) ?? read[0])?.entry.payload.value ?? value
}

// Whether a run in large steps leaves open where it acted: its interval reaches into the band.
function saysNothing(trial, band, low, high) {
  const wide = own(trial, "wide")
  if (wide === null || high - low <= wide * (1 + ROUNDING)) return false
  return inside(high, { ...band, high: null }) && inside(low, { ...band, low: null })
}

// Whether the step sets the screw: what reads below the band is on the way.
function sets(record, trial) {
  const [choice, option] = own(trial, "sets", [])
  return option === undefined ? choice !== undefined : record.choices.get(choice) === option
}

function isTouched(record, steps, step, row) {
  const rests = restsOf(steps).get(step.node.id)
  return touches(record).some((touch) => touch.row.at > row.at && [...touch.things].some((one) => rests.has(one))
    && (Boolean(touch.row.do) || touch.row.entry.node !== step.node.id))
}

// Whether the run a reading belongs to was made once more after it, and the reading taken anew.
function isRunAgain(steps, trial, row) {
  const [step, input] = own(trial, "run", [])
  if (step === undefined || !steps.has(step)) return false
  const runs = steps.get(step).given.get(input) ?? []
  const again = runs.find((one) => one.at > row.at)
  return runs.some((one) => one.at < row.at) && again !== undefined
    && steps.get(trial.step).chosen.get(trial.input).newest > again.at
}

// Whether somebody's note of that day at the step says what was found, of what it may answer.
function isNoted(record, row, trial) {
  const { causes = [] } = minded(record.procedure)
  return !isBeyond(row, trial) && record.at(trial.step).some((one) => one.entry.kind === "note" && one.at > row.at
    && one.day === row.day && Boolean(folded(one.entry.who)) && saysCause(one.text("text"), causes))
}

function isBeyond(row, trial) {
  return trial.bears !== null && row.number("value") > trial.bears
}

// Whether a note is one of the words for what was found, or ends with one after a colon.
function saysCause(text, causes) {
  const said = folded(text.slice(text.lastIndexOf(":") + 1)).replace(/\.$/, "")
  return causes.some((one) => folded(one) === said)
}
