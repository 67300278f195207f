// From what a person touched to what an entry says: the same payloads as services/entering gives for the same words.
//
// Each function returns drafts { kind, payload, node, replaces }; making.js gives them id and time. What cannot be used
// throws `Refused`: nothing is entered then. An amount is { typed, unit }: the figure as it stood on the pad, its unit.

import { own, dayOf, isTimeOfDay } from "../procedure/record.js"
import { GUARDS, MOVES, NAMES_ITS_THING, TELLS, TOUCHES } from "../procedure/words.js"
import { isKind, numberOf, unitOf } from "./units.js"

export const VERBS = [...MOVES, ...TOUCHES, ...GUARDS, ...TELLS]
export const KEYS = {
  run: ["plan", "kind", "date", "purpose"],
  person: ["name", "role", "authorised_until"],
  instrument: ["name", "what", "quantity", "low", "high", "class", "division", "calibrated", "due", "zero"],
  choice: ["choice", "option"],
  reading: ["input", "quantity", "tap", "value", "typed", "unit", "instrument", "flow", "flow_instrument", "steady_for",
    "steady_within", "swing", "wall_temperature", "as", "read_at_height", "corrected_by"],
  action: ["do", "thing", "detail", "to", "amount", "unit"],
  observation: ["input", "value", "as"],
  position: ["thing", "is"],
  photo: ["of", "name", "sha256"],
  note: ["text"],
  deviation: ["about", "what", "risk", "measure", "owner", "due", "accepted_by"],
}
const ASKED = ["what", "risk", "owner", "due", "accepted_by"]
const BESIDE = ["with", "flow", "at_flow", "flow_with", "tap", "stood", "moved", "wall", "as", "mean", "swings_by", "period",
  "read_at", "corrected_by"]
const AMOUNTS = { flow: "flow", at_flow: "flow", stood: "time", wall: "temperature", read_at: "length" }
const NOTED_AS = { stood: "steady_for", wall: "wall_temperature", read_at: "read_at_height", flow: "flow", at_flow: "flow" }
const SWING = { mean: "", swings_by: "", period: "time" }
const TAKES = { with: ["instrument"], flow: ["flow"], at_flow: ["flow"], flow_with: ["flow_instrument"], tap: ["tap"],
  stood: ["steady_for"], moved: ["steady_within"], wall: ["wall_temperature"], as: ["as"], read_at: ["read_at_height"],
  mean: ["swing"], swings_by: ["swing"], period: ["swing"], corrected_by: ["corrected_by"] }
const MEASURES = { stopwatch: "time", thermometer: "temperature", rule: "length" }
const SEEN = ["yes_no", "text", "time_of_day"]
const NOTHING = "nothing touched"
const LOOKED = "second look"

// What cannot be used: for each field what is wrong, and what to do.
export class Refused extends Error {
  constructor(problems) {
    super(problems.map(({ field, problem, remedy }) => `${field} ${problem} ${remedy}`).join(" "))
    this.problems = problems
  }
}

const refuse = (field, problem, remedy) => { throw new Refused([{ field, problem, remedy }]) }

function refuseAll(fields, problem) {
  if (fields.length > 0) throw new Refused(fields.map((field) => ({ field, problem, remedy: "Leave it out." })))
}

const draft = (kind, payload, node = "", replaces = "") => ({ kind, payload, node, replaces })
const isBlank = (value) => value === undefined || value === null || value === ""

// Gather what several parts refuse, and refuse it all together.
function together(parts) {
  const [found, problems] = [[], []]
  for (const part of parts) {
    try {
      found.push(part())
    } catch (error) {
      if (!(error instanceof Refused)) throw error
      problems.push(...error.problems)
    }
  }
  if (problems.length > 0) throw new Refused(problems)
  return found
}

// A quantity as it stood on the pad; of a count a bare number.
export function measured(table, field, amount, kind) {
  const number = numberOf(amount?.typed ?? "")
  if (number === null) refuse(field, `got '${amount?.typed ?? ""}', which is no number.`, "Type a number.")
  const typed = String(amount.typed).trim()
  if (!isKind(table, kind)) return { value: number, typed, unit: "" }
  const unit = unitOf(table, kind, amount.unit ?? "")
  if (unit === undefined) {
    refuse(field, `got '${amount.unit ?? ""}', which is no unit of ${kind}.`, "Choose its unit.")
  }
  return { value: number * unit.factor + unit.offset, typed, unit: unit.unit }
}

const si = (table, field, amount, kind) =>
  (typeof amount === "number" ? amount : measured(table, field, amount, kind).value)

// What was read or seen at a step. values: by input; amounts, true or false, words, { name, sha256 } of a photo.
// beside: `with`, `flow`, `at_flow`, `flow_with`, `tap`, `stood`, `moved`, `wall`, `as`, `mean`, `swings_by`, `period`,
// `read_at`, `corrected_by`; each goes with every reading it fits.
export function answers(table, book, step, values, beside = {}) {
  const node = book.node.get(step)
  if (node === undefined) refuse("step", `got '${step}', which is no step of this plan.`, "Choose a step.")
  const given = Object.fromEntries(Object.entries(values).filter(([, value]) => !isBlank(value)))
  const noted = Object.fromEntries(Object.entries(beside).filter(([, value]) => !isBlank(value)))
  const asked = new Map(node.inputs.map((one) => [one.name, one]))
  const stray = [...Object.keys(given).filter((name) => !asked.has(name)),
    ...Object.keys(noted).filter((name) => !BESIDE.includes(name))]
  refuseAll(stray, `is nothing that ${step} asks for.`)
  // What a step asks for is its answer, and goes with the other readings too: its flow, above all.
  for (const name of BESIDE.filter((one) => asked.has(one))) {
    if (!isBlank(given[name]) && isBlank(noted[name])) noted[name] = given[name]
    else if (isBlank(given[name]) && !isBlank(noted[name])) given[name] = noted[name]
  }
  if (isLater(book, node, given)) delete given.flow
  if (Object.keys(given).length === 0) refuse(step, "got no answer.", "Read, or say that it was done.")
  const listed = Object.entries(given)
  const found = together(listed.map(([name, value]) => () => answer(table, book, step, asked.get(name), value, noted)))
  leftOver(found, noted, asked)
  return found
}

// Whether a flow belongs to the readings beside it alone: those asked for after it was noted.
function isLater(book, node, given) {
  const place = new Map(node.inputs.map((one, at) => [one.name, at]))
  const others = Object.keys(given).filter((name) => name !== "flow")
  if (!("flow" in given) || place.get("flow") === 0) return false
  const isNoted = book.standing.some((one) => one.node === node.id && own(one.payload, "input") === "flow")
  const pressures = node.inputs.filter((one) => others.includes(one.name) && one.quantity === "pressure")
  return isNoted && pressures.length > 0 && others.every((name) => place.get(name) > place.get("flow"))
}

function answer(table, book, step, one, value, beside) {
  if (one.quantity === "photo") return draft("photo", photo(one.name, one.name, value), step)
  if (SEEN.includes(one.quantity)) return draft("observation", { input: one.name, value: seen(one, value) }, step)
  const got = measured(table, one.name, value, one.quantity)
  const payload = { input: one.name, quantity: one.quantity, ...got }
  const tap = beside.tap ?? one.tap
  if (tap) payload.tap = tap
  return draft("reading", { ...payload, ...notedBeside(table, book, one.quantity, beside) }, step)
}

// An observation: yes or no, a time of day, or words.
function seen(one, value) {
  if (one.quantity === "yes_no") {
    const said = { yes: true, no: false, true: true, false: false }[String(value)]
    return said ?? refuse(one.name, `got '${value}'.`, "Say yes or no.")
  }
  const text = String(value).trim()
  if (one.quantity === "time_of_day" && !isTimeOfDay(text)) {
    refuse(one.name, `got '${value}', which is no time of day.`, "Give e.g. 12:48.")
  }
  return text
}

function photo(field, of, given) {
  const isGiven = /^[0-9a-f]{64}$/.test(given?.sha256 ?? "")
  if (!isGiven) refuse(field, "holds no photo.", "Take it, or choose one.")
  return { of, name: String(given.name ?? ""), sha256: given.sha256 }
}

function instrumentQuantity(book, name) {
  const known = book.instruments.get(name)
  if (known === undefined) refuse("with", `got '${name}', which is not described in this run.`, "Describe it first.")
  return String(known.quantity || "pressure")
}

// What was noted beside a reading of that quantity; what does not fit it is left out.
function notedBeside(table, book, quantity, beside) {
  const found = {}
  if ("as" in beside) found.as = String(beside.as)
  if ("with" in beside && instrumentQuantity(book, beside.with) === quantity) found.instrument = beside.with
  if (quantity !== "pressure") return found
  for (const name of ["stood", "wall", "read_at", "flow", "at_flow"]) {
    if (name in beside) found[NOTED_AS[name]] = si(table, name, beside[name], AMOUNTS[name])
  }
  if ("moved" in beside) found.steady_within = Math.abs(si(table, "moved", beside.moved, quantity))
  if ("corrected_by" in beside) found.corrected_by = si(table, "corrected_by", beside.corrected_by, quantity)
  if ("flow_with" in beside) {
    if (!book.instruments.has(beside.flow_with)) {
      refuse("flow_with", `got '${beside.flow_with}', which is not described in this run.`, "Describe it first.")
    }
    found.flow_instrument = beside.flow_with
  }
  const swing = Object.keys(SWING).filter((name) => name in beside)
  if (swing.length > 0 && swing.length < 3) {
    refuse("mean", "a swing says three things: mean, from peak to peak, period.", "Give all three.")
  }
  if (swing.length > 0) {
    const [mean, by, period] = Object.entries(SWING)
      .map(([name, kind]) => si(table, name, beside[name], kind || quantity))
    found.swing = { mean, peak_to_peak: by, period }
  }
  return found
}

function leftOver(found, beside, asked) {
  const readings = found.filter((one) => one.kind === "reading").map((one) => one.payload)
  const fits = (name) => (["as", "tap"].includes(name) ? readings
    : name === "with" ? readings.filter((one) => "instrument" in one) : readings.filter((one) => one.quantity === "pressure"))
  const wrong = Object.keys(beside).filter((name) => fits(name).length === 0 && !asked.has(name))
  refuseAll(wrong, "fits none of the readings of this entry.")
}

// The step was done as it is written.
export function done(book, step) {
  if (!book.node.has(step)) refuse("done", "needs a step.", "Choose a step.")
  return [draft("action", { do: "tick" }, step)]
}

// Something was done. given: thing, detail, to (id of an entry), amount: { typed, unit, kind }.
export function act(table, book, step, verb, given = {}) {
  if (!VERBS.includes(verb)) refuse("do", `got '${verb}', which is no act of the list.`, "Choose an act.")
  const payload = { do: verb }
  for (const key of ["thing", "detail", "to"]) if (!isBlank(given[key])) payload[key] = String(given[key])
  if (verb === NOTHING) answeredNote(book, given.to)
  else if (verb === LOOKED && !isBlank(given.to)) knownEntry(book, "to", given.to)
  else if ([...TOUCHES, ...GUARDS, ...MOVES].includes(verb)) placed(book, step, verb, given.thing ?? "")
  if (!isBlank(given.amount)) {
    payload.amount = si(table, "amount", given.amount, given.amount.kind)
    payload.unit = given.amount.kind
  }
  return [draft("action", payload, step)]
}

function placed(book, step, verb, thing) {
  const { names } = book
  if (names.hides(thing, book.plan.minding?.called ?? [])) {
    refuse("thing", `got '${thing}', which names something of the station.`, "Name the thing of the station itself.")
  }
  const isOutside = names.part(thing) === "outside"
  const isPart = names.parts.some((part) => part.toLowerCase() === thing.trim().toLowerCase())
  if (thing && !book.things.includes(thing) && !names.isExact(thing) && !isOutside && !isPart) {
    refuse("thing", `got '${thing}', which the plan does not know.`, "Choose it from the list, or the whole valve.")
  }
  if (!thing && (!step || TOUCHES.includes(verb) || NAMES_ITS_THING.includes(verb))) {
    refuse("thing", `is missing: ${verb} what?`, "Choose the thing.")
  }
}

function knownEntry(book, field, id) {
  return book.entry(id) ?? refuse(field, "names no entry of this run.", "Choose the entry.")
}

function answeredNote(book, id) {
  if (isBlank(id)) refuse("to", "is missing: which note?", "Choose the note.")
  const about = knownEntry(book, "to", id)
  const isWords = about.kind === "observation" && typeof about.payload.value === "string"
  if (about.kind !== "note" && !isWords) refuse("to", "is no note.", "Correct the entry, or make it void.")
}

// A choice of the plan was taken.
export function choose(book, step, option) {
  const choice = book.plan.choices.find((one) => one.id === step)
  if (choice === undefined) refuse("choose", `${step || "no step"} is no choice.`, "Choose at its step.")
  if (!choice.options.some((one) => one.name === option)) {
    refuse("choose", `got '${option}', which is no option of ${step}.`, "Choose one of them.")
  }
  return [draft("choice", { choice: step, option }, step)]
}

// How valves, drains and cocks stand: by thing.
export function position(book, step, stands) {
  const listed = Object.entries(stands)
  if (listed.length === 0 || listed.some(([, how]) => isBlank(how))) {
    refuse("position", "says which thing stands how.", "Choose both.")
  }
  const { names } = book
  for (const [thing] of names.parts.length > 0 ? listed : []) {
    if (names.hides(thing, book.plan.minding?.called ?? [])) {
      refuse("thing", `got '${thing}', which names something of the station.`, "Name the thing itself.")
    }
    if (!names.isExact(thing) && !names.part(thing)) {
      refuse("position", `got '${thing}', which the plan does not know.`, "Choose it from the list.")
    }
  }
  return listed.map(([thing, how]) => draft("position", { thing, is: how }, step))
}

// A photo of something no step asks for. given: { name, sha256 }.
export function picture(book, step, of, given) {
  if (isBlank(of)) refuse("photo", "does not say of what.", "Say what it shows.")
  return [draft("photo", photo("file", of, given), step)]
}

// Words, at a step or at none.
export function note(book, step, text) {
  const said = String(text ?? "").trim()
  if (!said) refuse("note", "got no words.", "Say what is to be noted.")
  return [draft("note", { text: said }, step)]
}

// What the run is made for, and by whose leave a setting may be changed in it.
export function begin(book, given = {}) {
  const purpose = isBlank(given.purpose) ? {} : { purpose: String(given.purpose) }
  return [draft("run", { plan: book.sha256, kind: book.plan.kind, ...purpose })]
}

// Somebody takes part. given: name, role, authorised_until.
export function person(book, given) {
  const payload = plainly("person", given, KEYS.person, ["name"])
  day("authorised_until", payload)
  return [draft("person", payload)]
}

// An instrument: range, class [share of the span], due date. Amounts { typed, unit }, or plain numbers in SI.
export function instrument(table, book, given) {
  const keys = [...KEYS.instrument, "certificate"]
  const told = { ...given }
  const known = Object.keys(MEASURES).find((word) => String(told.what ?? "").toLowerCase().includes(word))
  if (isBlank(told.quantity) && known !== undefined) told.quantity = MEASURES[known]
  const isBeside = (told.quantity ?? "pressure") !== "pressure"
  const payload = plainly("instrument", told, keys, isBeside ? ["name"] : ["name", "low", "high", "class", "due"])
  return [draft("instrument", describedAs(table, payload))]
}

function describedAs(table, given) {
  const quantity = given.quantity || "pressure"
  if (!isKind(table, quantity)) refuse("quantity", `got '${quantity}', which is no kind of quantity.`, "Choose one.")
  const payload = { ...given, quantity }
  const sizes = ["low", "high", "division", "zero"].map((key) => [key, quantity])
  together([...sizes, ["class", "ratio"]].filter(([key]) => key in payload).map(([key, kind]) => () => {
    payload[key] = si(table, key, payload[key], kind)
  }))
  for (const key of ["calibrated", "due"]) day(key, payload)
  return payload
}

// Somebody who answers for it accepts something as it is, until a day.
export function deviation(book, given) {
  const payload = plainly("deviation", given, KEYS.deviation, ["about", ...ASKED])
  const { nodes, minding, never } = book.plan
  const left = (minding?.left ?? []).filter((one) => !one.never).map((one) => one.thing)
  const every = [...nodes.flatMap((node) => [node.id, ...node.proves, ...node.opens]), ...left]
  if (never.includes(payload.about)) {
    refuse("about", `${payload.about} can be accepted by nobody.`, "Put it right, or sign as provisional.")
  }
  if (!every.includes(payload.about)) {
    refuse("about", `got '${payload.about}', which is nothing of this plan.`, "Choose it from the list.")
  }
  day("due", payload)
  return [draft("deviation", payload)]
}

// Somebody signs. asks: "final" or "provisional"; given: statement, as_left and as_found by setting; against: what stands
// against final (view.js), which forbids a final signature.
export function sign(table, book, step, asks, given = {}, against = []) {
  if (!["final", "provisional"].includes(asks)) refuse("sign", `got '${asks}'.`, "Sign as final or as provisional.")
  if (asks === "final" && against.length > 0) {
    const noun = against.length === 1 ? "thing stands" : "things stand"
    refuse("sign", `${against.length} ${noun} against final.`, "Put it right, record deviations, or sign as provisional.")
  }
  const payload = { asks }
  for (const part of ["as_left", "as_found"]) {
    const settings = Object.entries(given[part] ?? {}).filter(([, amount]) => !isBlank(amount))
    if (settings.length === 0) continue
    const told = settings.map(([name, amount]) => [name, si(table, `${part}.${name}`, amount, "pressure")])
    payload[part] = Object.fromEntries(told)
  }
  if (!isBlank(given.statement)) payload.statement = String(given.statement)
  const last = book.plan.after.filter((id) => id.startsWith("K1"))
  return [draft("sign", payload, step || last[0] || "")]
}

// An earlier entry is void: it was wrong as a whole.
export function voided(book, id, reason) {
  const entry = knownEntry(book, "void", id)
  if (isBlank(reason)) refuse("reason", "is missing.", "Say why.")
  return [draft("void", { reason: String(reason) }, entry.node, entry.id)]
}

// An earlier entry is corrected. changes: as for the kind of entry; null takes a key away. Of a reading: `value` and what
// stands beside readings; of an observation: `value`; of others the keys of their kind.
export function corrected(table, book, id, reason, changes) {
  if (isBlank(reason)) refuse("reason", "is missing.", "Say why.")
  const entry = rootOf(book, knownEntry(book, "correct", id))
  const stands = book.stands(entry.id)
  if (stands === undefined) refuse("correct", "is void already.", "Enter it again.")
  if (Object.keys(changes).length === 0) {
    refuse("correct", "says nothing new.", "Give the right value, or make it void.")
  }
  const payload = changed(table, book, stands, changes)
  return [draft("correction", { reason: String(reason), payload }, entry.node, entry.id)]
}

function rootOf(book, given) {
  let entry = given
  const passed = new Set()
  while (entry.kind === "correction" && book.entry(entry.replaces) !== undefined && !passed.has(entry.id)) {
    passed.add(entry.id)
    entry = book.entry(entry.replaces)
  }
  if (["correction", "void", "run", "sign"].includes(entry.kind)) {
    refuse("correct", `a ${entry.kind} is not corrected.`, "Make it void and enter it again.")
  }
  return entry
}

function changed(table, book, entry, changes) {
  if (entry.kind === "reading") return changedReading(table, book, entry, changes)
  if (entry.kind === "instrument") {
    allKnown(changes, [...KEYS.instrument, "certificate"])
    const told = Object.fromEntries(Object.entries(changes).filter(([, value]) => !isBlank(value)))
    const made = describedAs(table, { ...told, quantity: changes.quantity || entry.payload.quantity || "pressure" })
    return Object.fromEntries(Object.keys(changes).map((key) => [key, isBlank(changes[key]) ? null : made[key]]))
  }
  allKnown(changes, (KEYS[entry.kind] ?? []).filter((key) => !["input", "amount", "unit"].includes(key)))
  if (entry.kind === "observation" && "value" in changes) {
    const name = String(entry.payload.input)
    const asked = book.input(entry.node, name) ?? { name, quantity: "text" }
    return { ...changes, value: seen(asked, changes.value) }
  }
  return Object.fromEntries(Object.entries(changes).map(([key, value]) => [key, isBlank(value) ? null : value]))
}

function changedReading(table, book, entry, changes) {
  allKnown(changes, ["value", ...BESIDE])
  const quantity = String(entry.payload.quantity || "pressure")
  const found = {}
  const empty = Object.keys(changes).filter((name) => isBlank(changes[name]))
  if (empty.includes("value")) refuse("value", "got nothing.", "Make the entry void instead.")
  for (const key of empty.flatMap((name) => TAKES[name])) found[key] = null
  const rest = Object.entries(changes).filter(([name, value]) => !isBlank(value) && !["value", "tap"].includes(name))
  const beside = Object.fromEntries(rest)
  Object.assign(found, notedBeside(table, book, quantity, beside))
  if ("with" in beside && !("instrument" in found)) {
    refuse("with", `${beside.with} does not measure a ${quantity}.`, "Choose another instrument.")
  }
  if (!isBlank(changes.tap)) found.tap = changes.tap
  if (!isBlank(changes.value)) Object.assign(found, measured(table, "value", changes.value, quantity))
  return found
}

function allKnown(changes, keys) {
  const stray = Object.keys(changes).find((name) => !keys.includes(name))
  if (stray !== undefined) refuse("correct", `got '${stray}', which is no part of that entry.`, "Leave it out.")
}

// Hold what is told of a person, an instrument or a deviation to the keys of its kind.
function plainly(kind, given, keys, needs) {
  const payload = Object.fromEntries(Object.entries(given).filter(([, value]) => !isBlank(value)))
  const stray = Object.keys(payload).find((name) => !keys.includes(name))
  if (stray !== undefined) refuse(stray, "has no place here.", "Leave it out.")
  const missing = needs.filter((name) => isBlank(payload[name]))
  if (missing.length > 0) refuse(kind, `does not say: ${missing.join(", ")}.`, "Say each of them.")
  return payload
}

function day(key, payload) {
  if (key in payload && dayOf(payload[key]) === null) {
    refuse(key, `got '${payload[key]}', which is no day.`, "Give e.g. 2027-09-30.")
  }
}
