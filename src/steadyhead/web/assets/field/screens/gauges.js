// Which instrument a reading is taken with: one of those described, known at the station, or described now.

import { instrument } from "../entering.js"
import { el, told } from "../keys.js"
import { datedWords } from "../saying.js"
import { ownUnit, say } from "../units.js"
import { placeOf, showAsk } from "./asking.js"
import { backKey, choices, goKey, line, problems } from "./parts.js"

const FIELDS = [["name", "Name on the plate", "text"], ["low", "Reads from", "text"], ["high", "to", "text"],
  ["class", "Class in %", "text"], ["due", "Next calibration due", "date"]]
const SAME = 0.005 // ranges that differ by less are one: rounding of units. Own choice. [1]

// Choose it.
export function gauge(desk) {
  const { view, pack, at } = desk
  const kind = at.kind ?? "pressure"
  const notWith = at.take === undefined ? view.step?.inputs.find((one) => one.name === at.input)?.notWith ?? [] : []
  const here = Object.values(view.instruments).filter((one) => (one.quantity || "pressure") === kind && !notWith.includes(one.name))
  const known = (pack.instruments ?? []).filter((one) => (one.quantity || "pressure") === kind
    && !notWith.includes(one.name) && !here.some((each) => each.name === one.name))
  const listed = [...here.map((one) => ({ words: one.name, small: rangeOf(desk, one),
    press: () => taken(desk, one.name) })),
    ...known.map((one) => ({ words: one.name, small: one.of_file ? `${rangeOf(desk, one)}; compare its label first` : rangeOf(desk, one),
      press: () => described(desk, one) })),
    ...(kind === "flow" ? [{ words: "No meter", small: "bucket, or by eye", press: () => taken(desk, "") }] : []),
    { words: "Another one", small: "describe it", press: () => desk.show("gaugeNumbers",
      { ...at, screen: "gaugeNumbers", kind }) }]
  return { title: at.from === "more" ? "Gauges of this visit" : `Which ${kind === "flow" ? "meter is the flow" : "one is it"} read with?`,
    blocks: [...problems(desk), notWith.length > 0 ? line(`Not ${notWith.join(", ")}: it gave the other reading.`) : null,
      ...choices(listed)], left: backKey(desk, at.from ?? "step", at.fromAt), right: null }
}

function rangeOf(desk, one) {
  const { low, high, due, quantity } = one
  const table = desk.table
  const range = Number.isFinite(low) && Number.isFinite(high)
    ? `${say(table, low, quantity || "pressure")} to ${say(table, high, quantity || "pressure")}` : ""
  return [[range, due ? `due ${datedWords(due)}` : ""].filter(Boolean).join(", "), fileWords(desk.pack, desk.table, one)].filter(Boolean).join("; ")
}

// What the station file says otherwise of a gauge that is described; empty where both say the same. The description counts.
export function fileWords(pack, table, { name, high, due }) {
  const file = (pack.gauges ?? []).find((one) => one.name === name)
  if (file === undefined) return ""
  const isOther = Number.isFinite(high) && Math.abs(high - file.high) > SAME * file.high
  const words = [isOther ? `to ${say(table, file.high, "pressure")}` : "", file.due && due && file.due !== due ? `due ${datedWords(file.due)}` : ""]
  return words.some(Boolean) ? `the station file says ${words.filter(Boolean).join(", ")}; the label decides` : ""
}

async function described(desk, given) {
  const { table, book } = desk
  const keys = ["name", "what", "quantity", "low", "high", "class", "division", "calibrated", "due", "zero"]
  const told = Object.fromEntries(keys.filter((key) => key in given).map((key) => [key, given[key]]))
  if (await desk.enter(() => instrument(table, book, told))) await taken(desk, given.name)
}

// It is used for this place from now on.
async function taken(desk, name) {
  const { at, way } = desk
  if (at.take !== undefined) return name ? at.take(name) : desk.show(at.from, at.fromAt)
  const input = desk.view.step?.inputs.find((one) => one.name === at.input) ?? null
  const kind = at.kind ?? "pressure"
  const tools = { ...way.tools, [kind]: way.tools?.[kind] ?? name,
    ...(input?.kind === kind ? { [placeOf(desk, input)]: name } : { [kind]: name }) }
  await desk.keepWay({ tools })
  return input !== null ? showAsk(desk, input.name) : desk.show(at.from ?? "step")
}

// Describe it: the one place where more than figures is typed, on wish.
export function gaugeNumbers(desk) {
  const { at, table, book } = desk
  const kind = at.kind ?? "pressure"
  const unit = ownUnit(table, kind)
  at.given ??= {}
  const fields = FIELDS.map(([name, label, type]) => {
    const field = el("input", { id: `tool-${name}`, type, "data-key": `tool-${name}`, autocomplete: "off",
      inputmode: ["low", "high", "class"].includes(name) ? "decimal" : null })
    field.value = at.given[name] ?? ""
    field.addEventListener("input", () => { at.given[name] = field.value })
    const words = ["low", "high"].includes(name) ? `${label} (${unit})` : label
    return el("div", { class: "asked-for" }, el("label", { for: `tool-${name}` }, words), field)
  })
  const amount = (name, symbol) => ({ typed: at.given[name] ?? "", unit: symbol })
  const make = () => instrument(table, book, { name: (at.given.name ?? "").trim(), quantity: kind, what: kind === "flow" ? "meter" : "gauge",
    low: amount("low", unit), high: amount("high", unit), class: amount("class", "%"), due: at.given.due ?? "" })
  const take = async () => { if (await desk.enter(make)) await taken(desk, at.given.name.trim()) }
  return { title: "Describe the instrument", blocks: [...problems(desk), ...fields,
    told("due", "As its certificate says, not by heart."),
    line("")], left: backKey(desk, "gauge", { ...at, screen: "gauge" }), right: goKey("Take", take) }
}
