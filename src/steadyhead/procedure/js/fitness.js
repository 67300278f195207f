// Whether a reading is fit to prove something: the same as fitness.py.

import { isBlank, isMap, isNumber, isTimeOfDay, own } from "./record.js"

const ROUNDING = 1e-9
const READ_TO = 0.25
const SETTING = "setting gauge"
const WORDS = ["text", "photo", "time_of_day"]

export function isAnswer(one, row) {
  const value = own(row.entry.payload, "value")
  if (one.quantity === "yes_no") return typeof value === "boolean"
  if (one.quantity === "time_of_day") return typeof value === "string" && isTimeOfDay(value)
  if (WORDS.includes(one.quantity)) return typeof value === "string" && !isBlank(value)
  return isNumber(value)
}

// Whether a number is of the quantity an input asks for; an answer in words, or none named, is.
export function isOf(one, row) {
  const told = own(row.entry.payload, "quantity")
  return one.quantity === "yes_no" || WORDS.includes(one.quantity) || told === null || told === "" || told === one.quantity
}

// The quantity a reading is of, and the one that is asked for.
export const other = (one, row) => ({ got: row.text("quantity") || "thing without a name", asked: one.quantity })

const unfit = (why, params = {}, tells = false) => ({ why, params, tells })

// Everything that makes a reading unfit for a proof.
export function unfits(one, row, record, beside) {
  if (one.quantity === "yes_no" || WORDS.includes(one.quantity)) return []
  return [...place(one, row, beside), ...instrument(one, row, record), ...stillness(one, row)]
}

const MISLEADS = ["no instrument", "not described", "class not known", "too coarse", "division too coarse", "no due date",
  "overdue", "zero off", "measures another quantity", "beyond its range"]

// The tap whose newest reading came by a gauge that no turn of a step may be worked out from.
export function misledNow(record, step) {
  const taps = (record.procedure.advice?.aims ?? []).filter((aim) => aim.step === step).map((aim) => aim.tap)
  const nodes = new Map(record.procedure.nodes.map((node) => [node.id, node]))
  for (const row of [...record.rows].reverse()) {
    const one = nodes.get(row.entry.node)?.inputs.find((each) => each.name === row.text("input"))
    if (row.entry.kind !== "reading" || one === undefined || !taps.includes(one.tap) || row.text("tap") !== one.tap) continue
    const isWrong = instrument(one, row, record).some(({ why }) => MISLEADS.includes(why))
    return isWrong ? [`${one.tap} read by a gauge in date and true enough`] : []
  }
  return []
}

function place(one, row, beside) {
  const found = []
  const tap = row.text("tap")
  if (one.tap && !tap) found.push(unfit("no tap"))
  else if (one.tap && tap !== one.tap) found.push(unfit("other tap", { got: tap, asked: one.tap }))
  if (!isOf(one, row)) found.push(unfit("other quantity", other(one, row)))
  for (const key of own(one, "carries", [])) {
    if (own(row.entry.payload, key) === null && !beside.has(key)) found.push(unfit("lacks", { key }))
  }
  return found
}

function instrument(one, row, record) {
  const most = own(one, "error_most_si", 0)
  if (!own(one, "traced", false) && most <= 0) return []
  const name = row.text("instrument")
  if (!name) return [unfit("no instrument")]
  const told = record.described.get(name)
  if (told === undefined) return [unfit("not described", { instrument: name })]
  const inForce = Math.max(told.findLastIndex(({ at }) => at <= row.at), 0)
  const found = new Map()
  for (const { known } of told.slice(inForce)) {
    for (const each of by(one, row, name, known)) if (!found.has(each.why)) found.set(each.why, each)
  }
  return [...found.values()]
}

// What is against a reading by one description of its instrument.
function by(one, row, name, known) {
  const most = own(one, "error_most_si", 0)
  const found = []
  const { due, error, low, high, zero, division } = known
  if (due === null) found.push(unfit("no due date", { instrument: name }))
  else if (row.day > due) found.push(unfit("overdue", { instrument: name, days: row.day - due }))
  if (known.quantity && known.quantity !== one.quantity) {
    found.push(unfit("measures another quantity", { instrument: name, got: known.quantity }))
  }
  if (most > 0 && error === null) found.push(unfit("class not known", { instrument: name }))
  else if (error !== null && most * (1 + ROUNDING) > 0 && most * (1 + ROUNDING) < error) {
    found.push(unfit("too coarse", { instrument: name, error, limit: most }))
  }
  const read = READ_TO * (division ?? 0)
  if (most * (1 + ROUNDING) > 0 && most * (1 + ROUNDING) < read) {
    found.push(unfit("division too coarse", { instrument: name, read, limit: most }))
  }
  if ((most > 0 || own(one, "instrument") === SETTING) && zero !== null) {
    const limit = error ?? 0.5 * (division ?? 0)
    const off = zero + (row.number("corrected_by") ?? 0)
    if (Math.abs(off) > limit * (1 + ROUNDING)) found.push(unfit("zero off", { instrument: name, zero: off, limit }))
  }
  const value = row.number("value")
  if (value !== null && low !== null && high !== null && !(low - (error ?? 0) <= value && value <= high)) {
    found.push(unfit("beyond its range", { instrument: name, value, low, high }))
  }
  return found
}

function stillness(one, row) {
  if (isMap(own(row.entry.payload, "swing"))) return [unfit("swings", {}, true)]
  if (one.stable_for_s <= 0) return []
  const [held, within] = [row.number("steady_for"), row.number("steady_within")]
  if (held === null || within === null) return [unfit("not said how still")]
  if (held < one.stable_for_s * (1 - ROUNDING)) return [unfit("held too short", { held, limit: one.stable_for_s }, true)]
  if (within > one.stable_within_si * (1 + ROUNDING)) {
    return [unfit("moved too much", { within, limit: one.stable_within_si }, true)]
  }
  return []
}
