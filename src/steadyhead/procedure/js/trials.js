// Trials that lay outside and were read again: the same as trials.py.

import { inside } from "./agreeing.js"
import { minded } from "./naming.js"
import { isNumber, own } from "./record.js"
import { remark } from "./remarks.js"
import { restsOf, touches } from "./touching.js"

// What stands against *final* by step, and what is told because a note answers it.
export function tried(record, steps) {
  const found = { against: new Map(), told: [] }
  for (const [trial, row, params] of passedOver(record, steps)) {
    const step = steps.get(trial.step)
    const one = remark("RUN-59", trial.step, [row.entry.id], params)
    if (isTouched(record, steps, step, row)) continue
    if (isNoted(step, row, trial)) found.told.push(one)
    else found.against.set(trial.step, [...(found.against.get(trial.step) ?? []), one])
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
      const params = pick.rows.includes(row) ? null : outside(trial, step, row)
      if (params !== null) found.push([trial, row, params])
    }
  }
  return found
}

function outside(trial, step, row) {
  const value = own(row.entry.payload, "value")
  if (!isNumber(value)) return null
  if (trial.edge !== null && value > trial.edge) return { input: trial.input, value, low: null, high: trial.edge }
  const band = own(step.bands, trial.band)
  if (band === null) return null
  const mid = middle(trial, step, row, value)
  return inside(mid, band) ? null : { input: trial.band, value: mid, low: band.low, high: band.high }
}

// The middle of a run: of its reading and the last hold before it, else the first one after it.
function middle(trial, step, row, value) {
  const holds = (step.given.get(trial.beside) ?? []).filter((one) => isNumber(one.entry.payload.value))
  const hold = holds.filter((one) => one.at < row.at).at(-1) ?? holds[0] ?? row
  return (Math.min(hold.entry.payload.value, value) + value) / 2
}

function isTouched(record, steps, step, row) {
  const rests = restsOf(steps).get(step.node.id)
  return touches(record).some((touch) => touch.row.at > row.at && [...touch.things].some((one) => rests.has(one))
    && (Boolean(touch.row.do) || touch.row.entry.node !== step.node.id))
}

function isNoted(step, row, trial) {
  if (trial.bears !== null && row.entry.payload.value > trial.bears) return false
  return step.rows.some((one) => one.entry.kind === "note" && one.at > row.at && one.day === row.day)
}
