// What is said beside a reading: what it is, its flow and meter, height, wall, zero, how it swings. Offered where it
// matters, chosen by touch; only numbers are typed. A reading that was entered already is corrected by the same keys.

import { answers, corrected } from "../entering.js"
import { told } from "../keys.js"
import { inWords, numberOf, toSi, unitOf } from "../units.js"
import { after, nextAsk, showAsk, toolFor } from "./asking.js"
import { asking } from "./figure.js"
import { backOutKey, goKey, line, paired, problems } from "./parts.js"

export const AS_WORDS = ["as found", "as left", "first hold", "last hold", "act", "trip", "starts to shut", "shut", "peak",
  "before nut", "after nut", "rising", "falling", "start", "end", "reset", "zero", "comparison", "typed later"]
const AS_AT = { H1: ["before nut", "after nut"], ES1: ["before nut", "after nut"], A6: ["zero", "comparison"],
  F1: ["first hold", "last hold", "act"], F3: ["first hold", "last hold", "act"], F2: ["peak", "start", "end"],
  H4: ["rising", "falling"], S5: ["rising", "falling"], R5: ["reset"] }
const FAR = ["telephone", "logger", "worked out"] // not read off a gauge at hand
const COMPARED = /^(first|half|last)$|\.(first|half|last)$/ // readings of one section, some time apart
const CORRECTS = "the reading was noted without it"
const LONGEST = 6 // digits of a mean that is worked out. [1]

const position = (id) => id.split("@")[0].split(".")[0]

// Return what may be said beside a reading of an input, by name, in the order it is offered.
export function matters(desk, input) {
  const { plan, view } = desk
  if (input.kind !== "pressure") return []
  const node = plan.nodes.find((one) => one.id === view.step.id)
  const isNear = !FAR.includes(input.instrument)
  const asksWall = node.inputs.some((one) => one.quantity === "temperature")
  const proves = node.proves.some((one) => /tight|lock/.test(one))
  return ["as", isNear ? "swing" : "", isNear ? "corrected_by" : "", isNear && input.tap ? "read_at" : "",
    (COMPARED.test(input.name) || proves) && !asksWall ? "wall" : "",
    node.inputs.some((one) => one.name === "flow") ? "" : "at_flow",
    input.carries.includes("flow") ? "flow_with" : ""].filter(Boolean)
}

// Words by name: what the key says, and what stands under it while nothing was said.
const KEYS = { as: ["What it is", "as found, as left …"], swing: ["It swings", "lowest, highest, time"],
  corrected_by: ["Zero taken off", "correction of the gauge"], read_at: ["Height of the gauge", "above the datum"],
  wall: ["Wall of the pipe", "its temperature"], at_flow: ["Flow at that time", ""],
  flow_with: ["Meter of the flow", "which one"] }
const KIND = { read_at: "length", wall: "temperature", at_flow: "flow", corrected_by: "pressure" }
const HINTS = { corrected_by: "What was added to what the gauge showed. Touched empty: below zero." }

// Return what was said beside the reading to come, in words.
export const saidBeside = (desk) => Object.entries(desk.draft.beside ?? {}).filter(([name]) => name !== "swing")
  .map(([name, value]) => `${KEYS[name][0].toLowerCase()}: ${wordsOf(desk, name, value)}`)

const wordsOf = (desk, name, value) => (typeof value === "string" ? value
  : typeof value === "number" ? inWords(desk.table, value, KIND[name]) : `${value.typed} ${value.unit}`)

// The reading something is said beside: the next one that is asked, else the last one that was taken at this step.
export function besideWhat(desk) {
  const { view } = desk
  const step = view.step
  if (step === null) return null
  const next = step.inputs.find((one) => one.name === nextAsk(step)?.name) ?? null
  if (next !== null && matters(desk, next).length > 0) return { input: next, entry: "" }
  const last = view.book.standing.findLast((one) => one.node === step.id && one.kind === "reading")
  const input = step.inputs.find((one) => one.name === last?.payload.input) ?? null
  return input === null || matters(desk, input).length === 0 ? null : { input, entry: last.id }
}

// The keys of what may be said. at: { input, entry }: an entry that is corrected, or "".
export function beside(desk) {
  const { at, view } = desk
  const input = view.step.inputs.find((one) => one.name === at.input)
  if (!at.entry && desk.draft.input !== at.input) desk.draft = { input: at.input, isTurned: desk.draft.isTurned }
  const said = at.entry ? {} : desk.draft.beside ?? {}
  const listed = matters(desk, input).map((name) => ({ words: KEYS[name][0],
    small: name in said ? wordsOf(desk, name, said[name]) : KEYS[name][1], pressed: name in said ? true : null,
    press: () => asked(desk, input, name) }))
  const on = at.entry ? goKey("To the step", () => desk.show("step"))
    : goKey(`Read ${input.label}`, () => showAsk(desk, input.name))
  const head = at.entry ? told("due", "It was entered already: what is said now corrects it.")
    : line("Goes with this reading alone.", "quiet")
  return { title: `Beside ${input.label}`, blocks: [...problems(desk), head, ...paired(listed)], left: backOutKey(desk),
    right: on }
}

function asked(desk, input, name) {
  const about = { ...desk.at }
  const set = (value) => given(desk, about, input, { [name]: value })
  if (name === "as") return desk.show("besideAs", { about, take: set })
  if (name === "flow_with") return desk.show("gauge", { kind: "flow", from: "beside", fromAt: about, take: set })
  if (name === "swing") return swings(desk, input, about.entry)
  const ask = asking(desk.table, KEYS[name][0], KIND[name], { hint: HINTS[name] })
  return desk.show("figure", { ask, take: set })
}

// Lay it beside the reading to come, or correct the one that was taken.
async function given(desk, about, input, more) {
  if (!about.entry) {
    desk.draft.beside = { ...desk.draft.beside, ...more }
    return desk.show("beside", about)
  }
  const make = () => corrected(desk.table, desk.book, about.entry, CORRECTS, more)
  return desk.show("falls", { make, words: input.label, then: "step", from: "beside", fromAt: about })
}

// What the reading is: those that are usual at this step first.
export function besideAs(desk) {
  const { at, view } = desk
  const usual = ["as found", "as left", ...(AS_AT[position(view.step.id)] ?? [])]
  const listed = [...usual, ...AS_WORDS.filter((one) => !usual.includes(one))]
  return { title: "What is this reading?", blocks: [...problems(desk), ...paired(listed.map((words) => ({ words,
    press: () => at.take(words) })))], left: backOutKey(desk), right: goKey("Back", () => desk.show("beside", at.about)) }
}

// It did not stand: it swings to and fro, or it goes one way.
export function unsteady(desk) {
  const { at, draft, view } = desk
  const input = view.step.inputs.find((one) => one.name === at.input)
  const anyway = () => { draft.stood = null; showAsk(desk, at.input) }
  const listed = [{ words: "It swings to and fro", small: "note lowest, highest and the time of one swing",
    press: () => swings(desk, input, "") },
  { words: "It goes one way", small: "read it all the same; it proves nothing", press: anyway }]
  return { title: `${input.label}: it did not stand`, blocks: [...problems(desk), ...paired(listed),
    line("A swing that does not die away: raise or lower nothing further. See what it may be.")], left: backOutKey(desk),
    right: goKey("What it may be", () => desk.show("causes")) }
}

// The needle swings: its lowest and highest, and the time of one swing. entry: a reading that is corrected, or "".
function swings(desk, input, entry) {
  const { table } = desk
  const ask = (label, kind, more = {}) => asking(table, label, kind, more)
  const pressure = { unit: input.unit, digits: input.digits }
  const time = (low, high) => desk.show("figure", { ask: ask("Time of one swing", "time",
    { digits: 1, hint: "Count ten with the stopwatch, and take a tenth." }),
  take: (period) => swung(desk, input, entry, { low, high, period }) })
  const high = (low) => desk.show("figure", { ask: ask(`${input.label}: highest`, "pressure", pressure),
    take: (top) => time(low, top) })
  desk.show("figure", { ask: ask(`${input.label}: lowest`, "pressure", pressure), take: high })
}

async function swung(desk, input, entry, { low, high, period }) {
  const { table, book, view } = desk
  const [least, most] = [low, high].map((one) => toSi(table, numberOf(one.typed), "pressure", one.unit))
  const size = unitOf(table, "pressure", low.unit)
  const middle = ((least + most) / 2 - size.offset) / size.factor
  const mean = { typed: String(Number(middle.toPrecision(LONGEST))), unit: low.unit }
  const swing = { mean, swings_by: Math.abs(most - least), period }
  if (entry) return given(desk, { entry }, input, { ...swing, value: mean })
  const tool = toolFor(desk, input)
  const noted = { ...desk.draft.beside, ...swing, ...(tool ? { with: tool } : {}) }
  if (desk.draft.flow) noted.at_flow = desk.draft.flow
  if (await desk.enter(() => answers(table, book, view.step.id, { [input.name]: mean }, noted))) return after(desk)
  return undefined
}

