// A figure on the ten keys: what is asked, its unit by one touch, its band, and the key that takes it.

import { el, key, shake, told } from "../keys.js"
import { cleared, clockOf, decimals, figureOf, pad, typed } from "../pad.js"
import { bandLine } from "../pictures/band.js"
import { isKind, numberOf, ownUnit, say, toSi, unitOf } from "../units.js"
import { capital, line, problems } from "./parts.js"

const LOOK = { inside: ["holds", "As expected."], below: ["struck", "Below the band."],
  above: ["struck", "Above the band."] }
const FELT = 12 // of a key [ms]
const FEW = { pressure: ["bar", "psi", "kPa", "m head"], flow: ["L/s", "m³/h", "L/min", "US gal/min"], time: ["s", "min"],
  temperature: ["°C", "°F"], length: ["mm", "m", "in"], volume: ["L", "m³", "US gal"], leak: ["mL/min", "L/min"],
  turns: ["turns", "°"] }

// Return what is asked of a quantity that no step asks for.
export const asking = (table, label, kind, more = {}) => ({ name: label, label, kind, band: null, tool: "",
  unit: ownUnit(table, kind), ...more })

// A figure for whoever asked for it. at: { ask, take(amount), words }.
export const figure = (desk) => padSpec(desk, desk.at.ask, { words: desk.at.words ?? "Take", take: desk.at.take })

// Return the screen of the ten keys. ask: { label, kind, unit, digits, more, band, tool, beside }; words: of the key
// that takes it; take({ typed, unit }); stop: wall [SI] or null.
export function padSpec(desk, ask, { words, take, stop = null }) {
  const { at, table } = desk
  at.digits ??= ""
  const symbol = at.unit ?? desk.way.units?.[ask.kind] ?? ask.unit
  const unit = isKind(table, ask.kind) ? unitOf(table, ask.kind, symbol) : undefined
  const tool = desk.view.instruments[ask.tool]
  const places = placesOf(ask, unit, tool)
  const isClock = ask.kind === "time_of_day"
  const shown = isClock ? clockOf(at.digits) : figureOf(at.digits, places)
  const number = isClock ? null : numberOf(shown)
  const value = number === null || unit === undefined ? number : toSi(table, number, ask.kind, symbol)
  const press = (digit) => {
    at.digits = typed(at.digits, digit)
    shake(FELT)
    desk.draw()
    desk.say(desk.spec.says)
  }
  const clear = () => { at.digits = isClock ? "" : cleared(at.digits); desk.draw() }
  const keys = pad(press, key("Back out", () => desk.show("back", { from: { ...at } }), { kind: "stop", name: "left" }),
    key(words, () => take({ typed: shown, unit: symbol }), { kind: "go", name: "take", off: ["", "-"].includes(shown) }))
  const says = `${ask.label} ${shown} ${symbol}. ${value === null || ask.band === null ? "" : lookOf(ask, value)[1]}`
  return { title: "", press, clear, says, pad: keys, blocks: [el("div", { class: "reading" },
    el("h1", { class: "asked" }, capital(ask.label), smallOf(table, ask, tool)),
    el("div", { class: "figure" }, numberKey(at, shown, clear, places, isClock), unitKey(desk, ask, symbol))),
  ask.band === null ? null : bandLine({ table, kind: ask.kind, unit: symbol, band: ask.band, value, stop }),
  ...problems(desk), isClock ? line("Touch the number to clear it.", "quiet") : verdict(ask, value, doubt(desk, ask, tool, number, value, symbol))] }
}

// What stands beside the label: the instrument, and what was said beside the reading already.
function smallOf(table, ask, tool) {
  const words = [tool ? `${ask.tool}, ${rangeOf(table, tool)}` : "", ...(ask.beside ?? [])].filter(Boolean)
  return words.length > 0 ? el("small", {}, words.join("; ")) : null
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

function shortList(table, ask) {
  if (!isKind(table, ask.kind)) return []
  const known = new Set(table.kinds[ask.kind].map((one) => one.unit))
  const own = ask.more?.length > 0 ? [ask.unit, ...ask.more] : [ask.unit, ...(FEW[ask.kind] ?? [])]
  return [...new Set(own)].filter((one) => known.has(one))
}

// What the figure would mean, before it is taken.
function verdict(ask, value, doubted) {
  if (doubted && ask.band === null) return told("slipped", doubted)
  if (value === null || ask.band === null) return line(ask.hint ?? "Touch the number to clear it. Touched empty: below zero.", "quiet")
  const [kind, words] = lookOf(ask, value)
  return told(kind, [words, doubted].filter(Boolean).join(" "))
}

// What speaks against a figure before it is taken: another unit it fits in, a gauge that does not reach so far.
function doubt(desk, ask, tool, number, value, symbol) {
  if (value === null) return ""
  const { band, kind } = ask
  const isIn = (si) => (band.low === null || si >= band.low) && (band.high === null || si <= band.high)
  const other = band === null || isIn(value) ? undefined
    : shortList(desk.table, ask).find((unit) => unit !== symbol && isIn(toSi(desk.table, number, kind, unit)))
  const isPast = (tool?.quantity || "pressure") === kind && Number.isFinite(tool?.high) && value > tool.high
  return other !== undefined ? `In ${other} it would lie inside.` : isPast ? `${ask.tool} does not reach so far.` : ""
}

function lookOf({ band: { low, high } }, value) {
  return LOOK[low !== null && value < low ? "below" : high !== null && value > high ? "above" : "inside"]
}
