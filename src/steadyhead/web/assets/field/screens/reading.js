// Reading on the ten keys; yes and no, choices, words, photos; the stopwatch with its window.

import { sha256 } from "../canonical.js"
import { answers, choose, note, picture } from "../entering.js"
import { el, key, told } from "../keys.js"
import { cleared, clockOf, decimals, figureOf, pad, typed } from "../pad.js"
import { bandLine } from "../pictures/band.js"
import { isKind, numberOf, ownUnit, say, toSi, unitOf } from "../units.js"
import { showAsk, toolFor } from "./asking.js"
import { backOutKey, choices, goKey, line, problems } from "./parts.js"
import { after } from "./step.js"

const LOOK = { inside: ["holds", "As expected."], below: ["struck", "Below the band."],
  above: ["struck", "Above the band."] }
const FELT = 12 // of a key [ms]

const inputOf = (desk) => desk.view.step.inputs.find((one) => one.name === desk.at.input) ?? null

// What the pad asks for: the input itself, or the flow beside it.
function asked(desk) {
  const input = inputOf(desk)
  if (!desk.at.isFlow) return { ...input, tool: toolFor(desk, input) }
  const table = desk.table
  return { name: "flow", label: `Flow while ${input.label} is read`, kind: "flow", unit: ownUnit(table, "flow"),
    units: table.kinds.flow.map((one) => one.unit), band: null, tool: "" }
}

// A reading on the ten keys.
export function read(desk) {
  const { at, table } = desk
  const ask = asked(desk)
  at.digits ??= ""
  const symbol = at.unit ?? desk.way.units?.[ask.kind] ?? ask.unit
  const unit = isKind(table, ask.kind) ? unitOf(table, ask.kind, symbol) : undefined
  const tool = desk.view.instruments[ask.tool]
  const places = placesOf(ask, unit, tool)
  const isClock = ask.kind === "time_of_day"
  const figure = isClock ? clockOf(at.digits) : figureOf(at.digits, places)
  const number = isClock ? null : numberOf(figure)
  const value = number === null || unit === undefined ? number : toSi(table, number, ask.kind, symbol)
  const press = (digit) => { at.digits = typed(at.digits,
    digit); globalThis.navigator?.vibrate?.(FELT); desk.draw(); desk.say(desk.spec.says) }
  const clear = () => { at.digits = isClock ? "" : cleared(at.digits); desk.draw() }
  const take = key(at.isFlow ? "Take flow" : "Take", () => taken(desk, ask, { typed: figure, unit: symbol }),
    { kind: "go", name: "take", off: figure === "" || figure === "-" })
  const keys = pad(press, key("Back out", () => desk.show("back", { from: { ...at } }), { kind: "stop", name: "left" }),
    take)
  const says = `${ask.label} ${figure} ${symbol}. ${value === null || ask.band === null ? "" : lookOf(ask, value)[1]}`
  return { title: "", press, clear, says, pad: keys, blocks: [el("div", { class: "reading" },
    el("h1", { class: "asked" }, ask.label, tool ? el("small", {}, `${ask.tool}, ${rangeOf(table, tool)}`) : null),
    el("div", { class: "figure" }, numberKey(at, figure, clear, places, isClock), unitKey(desk, ask, symbol))),
  ask.band === null ? null : bandLine({ table, kind: ask.kind, unit: symbol, band: ask.band, value,
    stop: stopOf(desk, ask) }),
  ...problems(desk), verdict(ask, value)] }
}

function placesOf(ask, unit, tool) {
  if (unit === undefined) return 0
  const usual = unit.unit === ask.unit && Number.isInteger(ask.digits) ? ask.digits : unit.digits
  return decimals(tool?.division ?? 0, unit, usual)
}

const rangeOf = (table, { low, high, quantity }) => (Number.isFinite(low) && Number.isFinite(high)
  ? `${say(table, low, quantity || "pressure")} to ${say(table, high, quantity || "pressure")}` : "")

function numberKey(at, figure, clear, places, isClock) {
  const shown = isClock ? at.digits.padEnd(4, "·").replace(/^(..)/, "$1:")
    : figure.replace("-", "\u2212") || figureOf("0", places).replace(/\d/g, "·")
  return el("button", { type: "button", class: "number", press: clear, "data-key": "number",
    "aria-label": `${shown.replaceAll("·", "") || "nothing"} typed. Touch to clear.` }, shown)
}

// The next unit a person may read: one touch, one unit on.
function unitKey(desk, ask, symbol) {
  const few = shortList(desk.table, ask)
  if (few.length < 2) return symbol ? el("span", { class: "unit" }, symbol) : null
  const next = few[(few.indexOf(symbol) + 1) % few.length]
  const turn = async () => { desk.at.unit = next; desk.draw(); await desk.keepWay({ units: { ...desk.way.units,
    [ask.kind]: next } }) }
  return key(symbol, turn, { small: `or ${next}`, name: "unit" })
}

const FEW = { pressure: ["bar", "psi", "kPa", "m head"], flow: ["L/s", "m³/h", "L/min", "US gal/min"], time: ["s", "min"],
  temperature: ["°C", "°F"], length: ["mm", "m", "in"], volume: ["L", "m³", "US gal"], leak: ["mL/min", "L/min"],
  turns: ["turns", "°"] }

function shortList(table, ask) {
  if (!isKind(table, ask.kind)) return []
  const known = new Set(table.kinds[ask.kind].map((one) => one.unit))
  const own = ask.more?.length > 0 ? [ask.unit, ...ask.more] : [ask.unit, ...(FEW[ask.kind] ?? [])]
  return [...new Set(own)].filter((one) => known.has(one))
}

// The wall of a step that raises a screw: the limit at its gauge.
function stopOf(desk, ask) {
  const { advice } = desk.view
  if (ask.kind !== "pressure" || advice === null || advice.tap !== ask.tap || advice.screw.sees !== "gauge") return null
  return advice.screw.limit > 0 ? advice.screw.limit : null
}

// What the figure would mean, before it is taken.
function verdict(ask, value) {
  if (value === null || ask.band === null) return line("Touch the number to clear it. Touched empty: below zero.", "quiet")
  const [kind, words] = lookOf(ask, value)
  return told(kind, words)
}

function lookOf({ band: { low, high } }, value) {
  return LOOK[low !== null && value < low ? "below" : high !== null && value > high ? "above" : "inside"]
}

async function taken(desk, ask, amount) {
  const { draft, table, book, view } = desk
  const input = inputOf(desk)
  if (desk.at.isFlow) {
    draft.flow = amount
    return showAsk(desk, input.name)
  }
  const given = ask.kind === "time_of_day" ? amount.typed : amount
  const isEntered = await desk.enter(() => answers(table, book, view.step.id, { [input.name]: given }, beside(desk, input)))
  return isEntered ? after(desk) : undefined
}

// What goes with a reading: its instrument, how long it stood and within what, the flow at that time.
function beside(desk, input) {
  const { draft, view } = desk
  const found = {}
  const tool = toolFor(desk, input)
  if (tool) found.with = tool
  if (input.kind !== "pressure") return found
  if (draft.stood) Object.assign(found, { stood: draft.stood, moved: input.within_si })
  if (draft.flow) found[view.step.inputs.some((one) => one.name === "flow" && one.verdict !== null) ? "at_flow"
    : "flow"] = draft.flow
  return found
}

// Yes or no, one of several, words, a photo.
export function answer(desk) {
  const { at, view, book, table } = desk
  const one = view.step
  if (at.photo) return photo(desk, "Photo", (given) => picture(book, one?.id ?? "", "what I see", given))
  if (at.input === "@choice") {
    const listed = one.choice.options.map((each) => ({ words: each.words, pressed: each.name === one.choice.chosen,
      press: async () => { if (await desk.enter(() => choose(desk.book, one.id, each.name))) after(desk) } }))
    return { title: one.choice.question, blocks: [...problems(desk), ...choices(listed)], left: backOutKey(desk),
      right: goKey("To the step", () => desk.show("step")) }
  }
  const input = inputOf(desk)
  const give = (value) => answers(table, desk.book, one.id, { [input.name]: value })
  const said = async (value) => { if (await desk.enter(() => give(value))) after(desk) }
  if (input.kind === "photo") return photo(desk, input.label, give)
  if (input.kind === "text") return words(desk, input, said)
  const listed = [{ words: "Yes", press: () => said(true) }, { words: "No", press: () => said(false) }]
  return { title: input.label, blocks: [...problems(desk), ...choices(listed)], left: backOutKey(desk),
    right: goKey("To the step", () => desk.show("step")) }
}

// Words: those that often fit are chosen; others are typed on wish.
function words(desk, input, said) {
  const often = ["as written", "none", "seen, in order"]
  const type = { words: "Other words", small: "typed or spoken", press: () => desk.show("type", { title: input.label,
    label: "Words", from: "step", long: true, take: said }) }
  return { title: input.label, blocks: [...problems(desk),
    ...choices([...often.map((one) => ({ words: one, press: () => said(one) })), type])],
    left: backOutKey(desk), right: goKey("To the step", () => desk.show("step")) }
}

function photo(desk, title, make) {
  const field = el("input", { type: "file", accept: "image/*", capture: "environment", id: "photo", "data-key": "photo" })
  field.addEventListener("change", async () => {
    const [file] = field.files
    if (file === undefined) return
    const bytes = new Uint8Array(await file.arrayBuffer())
    const given = { sha256: sha256(bytes), name: file.name }
    const isKept = await desk.kept.keepPhoto(desk.pack.run, { ...given, media: file.type, bytes })
    if (!await desk.enter(() => make(given))) return
    after(desk)
    if (!isKept) desk.say("The photo is in memory of this page only.")
  })
  return { title, blocks: [...problems(desk), el("label", { class: "key picture", for: "photo" }, "Take the photo"), field],
    left: backOutKey(desk), right: goKey("To the step", () => desk.show("step")) }
}

// The stopwatch: counts up to the window; the person says whether it stood.
export function watch(desk) {
  const { at, draft } = desk
  const input = at.isFree ? null : inputOf(desk)
  const need = input?.hold_s ?? 0
  const gone = at.begun === undefined ? 0 : (performance.now() - at.begun) / 1000
  const shown = el("p", { class: "watch", role: "timer" }, `${gone.toFixed(0)} s`)
  const isLong = gone >= need && at.begun !== undefined
  const within = input ? say(desk.table, input.within_si, "pressure") : ""
  const start = goKey(at.begun === undefined ? "Start" : "Start again", () => { at.begun = performance.now(); desk.draw() })
  const stood = goKey("It stood", () => { draft.stood = { typed: String(Math.floor(gone)), unit: "s" }; showAsk(desk,
    at.input) })
  const noted = goKey("Note it", async () => {
    if (await desk.enter(() => note(desk.book, desk.view.step?.id ?? "", `stopwatch ${gone.toFixed(1)} s`))) after(desk)
  })
  const tick = () => {
    const now = (performance.now() - at.begun) / 1000
    shown.textContent = `${now.toFixed(0)} s`
    if (!isLong && now >= need && need > 0) desk.draw()
  }
  const right = at.begun === undefined || (!isLong && need > 0) ? start : at.isFree ? noted : stood
  const extra = input ? [key("It did not stand", () => { draft.stood = null; showAsk(desk, at.input) },
    { small: "read it all the same", name: "moved" })] : []
  return { title: input ? `${input.label}: wait until it stands` : "Stopwatch", extra, left: backOutKey(desk), right,
    tick: at.begun === undefined ? null : tick, blocks: [input ? line(`${need} s, the needle within ${within}.`) : null,
      shown,
      need > 0 ? el("progress", { max: need, value: Math.min(gone, need), "aria-label": `of ${need} s` })
        : null].filter(Boolean) }
}
