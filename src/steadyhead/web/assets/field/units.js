// Quantities in the units of a person: from SI and back, and in words. The table is that of
// services/field/device_words.py; the words are those of units/display.py and visits/texts/saying.py.

import { fixed, general, printed, trimmed } from "./figures.js"

const LONG_TIME = 120 // from here on a time is told in minutes [s]
const SMALL = { bar: 3, psi: 2, "m head": 2, "ft head": 2, kPa: 1 }
const SMALL_PRESSURE = 1e4
const SMALL_VOLUME = 1e-4
const LARGE_LEAK = 1e-3 / 60
const TRIMMED = ["time", "velocity", "turns"]
const FINER = 6 // decimals more than usual, at most, for a band narrower than its unit's last decimal
const SLACK = 1e-6 // share of the last decimal that an edge may lie off a round figure and still be printed as it
const SHORT = 1 // below this a length is told in the unit of a rule [m]
const LITRES = 0.1 // below this a volume is told in litres where volumes are told in cubic metres [m³]

// Return a unit of a kind by its symbol; undefined where there is none.
export const unitOf = (table, kind, symbol) => table.kinds[kind]?.find((one) => one.unit === symbol)

export const isKind = (table, kind) => Object.hasOwn(table.kinds, kind)

// Return the unit a person reads a kind in.
export const ownUnit = (table, kind) => table.shown?.[0]?.[kind] ?? table.kinds[kind]?.[0]?.unit ?? ""

export function toSi(table, value, kind, symbol) {
  const { factor, offset } = unitOf(table, kind, symbol)
  return value * factor + offset
}

export function fromSi(table, si, kind, symbol) {
  const { factor, offset } = unitOf(table, kind, symbol)
  return (si - offset) / factor
}

function usualDigits(number, unit) {
  const isFiner = number !== 0
  return unit.digits + (isFiner ? (unit.finer ?? []).filter((below) => Math.abs(number) < below).length : 0)
}

// Return the bare figure of an SI value in a unit. [SI of the kind]
export function figureOf(table, si, kind, symbol, digits = null) {
  const unit = unitOf(table, kind, symbol)
  const number = fromSi(table, si, kind, symbol)
  if (digits === null && unit.three) return threeFigures(number)
  return printed(fixed(number, digits ?? usualDigits(number, unit)))
}

function threeFigures(given) {
  const size = Math.abs(given)
  const number = size >= 99.5 ? Number(general(given, 3)) : given
  const places = size >= 9.95 || size === 0 ? 0 : size >= 0.95 ? 1 : 2
  return printed(fixed(number, places))
}

const withUnit = (table, kind, symbol, figure) =>
  (unitOf(table, kind, symbol)?.before ? `${symbol} ${figure}` : `${figure} ${symbol}`).trimEnd()

// Tell in the first units, in the second in parentheses where they say something else.
function paired(table, tell) {
  const [first, ...rest] = (table.shown ?? [{}]).map(tell)
  return rest.length === 0 || rest[0] === first ? first : `${first} (${rest[0]})`
}

const inSet = (table, set, kind) => set[kind] ?? ownUnit(table, kind)
const marked = (table, figure) => figure.replace(".", table.decimal ?? ".")

// Return figure and unit of a value, as a person reads it. [SI of the kind]
export function say(table, si, kind, digits = null) {
  return paired(table, (set) => {
    const symbol = inSet(table, set, kind)
    return withUnit(table, kind, symbol, marked(table, figureOf(table, si, kind, symbol, digits)))
  })
}

// Return the most that is allowed, rounded down, with its unit. [SI of the kind]
export function sayMost(table, si, kind) {
  return paired(table, (set) => {
    const symbol = inSet(table, set, kind)
    return withUnit(table, kind, symbol, marked(table, edgeFigure(table, si, kind, symbol, null, false)))
  })
}

// Return an amount as the steps print it: litres below a cubic metre, minutes from two minutes on. [SI of the kind]
export function amount(table, si, kind) {
  return paired(table, (set) => {
    const shape = shapeOf(table, si, kind, inSet(table, set, kind))
    const symbol = inSet(table, set, kind)
    if (shape === null) return withUnit(table, kind, symbol, marked(table, figureOf(table, si, kind, symbol)))
    return inShape(figureOf(table, si, kind, shape.unit, shape.digits), shape)
  })
}

function shapeOf(table, si, kind, unit) {
  const size = Math.abs(si)
  const shape = (symbol, digits, isTrimmed = false) => ({ unit: symbol, digits, isTrimmed })
  if (kind === "volume" && size < SMALL_VOLUME) return unit === "US gal" ? shape("US fl oz", 2) : shape("mL", 0)
  if (kind === "volume" && unit === "m³" && size < 1) return shape("L", size >= 0.01 ? 0 : 2)
  if (kind === "leak" && unit === "mL/min" && size >= LARGE_LEAK) return shape("L/min", 1)
  if (kind === "time" && unit === "s" && si >= LONG_TIME) return shape("min", 0)
  if (kind === "pressure" && size > 0 && size < SMALL_PRESSURE && unit in SMALL) return shape(unit, SMALL[unit], true)
  if (kind === "ratio") return shape("%", 1, true)
  return TRIMMED.includes(kind) ? shape(unit, null, true) : null
}

const inShape = (figure, shape) => `${shape.isTrimmed ? trimmed(figure) : figure} ${shape.unit}`.trimEnd()

// Say a band in words from its edges in words, as `edges` gives them.
export function bandWords(from, to) {
  if (from === "any" && to === "any") return "anything"
  if (from === "any") return `up to ${to}`
  if (to === "any") return `at least ${from}`
  return `${from} to ${to}`
}

// Return both ends of a band in words, rounded into the band; `any` where open. [SI of the kind]
export function edges(table, low, high, kind) {
  const sets = table.shown ?? [{}]
  const [first, second] = sets.map((set) => bandIn(table, low, high, kind, inSet(table, set, kind)))
  const isOne = sets.length < 2 || inSet(table, sets[0], kind) === inSet(table, sets[1], kind)
  if (isOne || (first[0] === second[0] && first[1] === second[1])) return first
  return first.map((told, at) => (told === second[at] ? told : `${told} (${second[at]})`))
}

function bandIn(table, low, high, kind, unit) {
  let found = [[0, "any"], [0, "any"]]
  for (let finer = 0; finer < FINER; finer += 1) {
    found = [edgeIn(table, low, kind, unit, finer, true), edgeIn(table, high, kind, unit, finer, false)]
    if (low === null || high === null || found[0][0] <= found[1][0]) break
  }
  return found.map(([, words]) => words)
}

function edgeIn(table, si, kind, unit, finer, up) {
  if (si === null) return [0, "any"]
  const shape = shapeOf(table, si, kind, unit) ?? { unit, digits: null, isTrimmed: false }
  const number = fromSi(table, si, kind, shape.unit)
  const usual = shape.digits ?? usualDigits(number, unitOf(table, kind, shape.unit))
  const figure = edgeFigure(table, si, kind, shape.unit, usual + finer, up)
  return [toSi(table, Number(figure.replace("\u2212", "-")), kind, shape.unit), inShape(figure, shape)]
}

function edgeFigure(table, si, kind, symbol, digits, up) {
  const number = fromSi(table, si, kind, symbol)
  const places = digits ?? usualDigits(number, unitOf(table, kind, symbol))
  return fixed(roundedTo(number, places, up) || 0, places).replace("-", "\u2212")
}

function roundedTo(number, places, up) {
  const scale = Number(`1e${places}`)
  const scaled = number * scale
  if (!Number.isFinite(number) || Math.abs(scaled) * 1e-15 > SLACK) return number
  return (up ? Math.ceil(scaled - SLACK) : Math.floor(scaled + SLACK)) / scale
}

// Return a noted value in words: yes or no, words, a figure with its unit. [SI of the kind]
export function inWords(table, value, kind) {
  if (typeof value === "boolean") return value ? "yes" : "no"
  if (typeof value === "string") return value
  if (kind === "length" && Math.abs(value) < SHORT) {
    const symbol = ownUnit(table, "length") === "m" ? "mm" : "in"
    return `${general(Number(fixed(fromSi(table, value, "length", symbol), 2)))} ${symbol}`
  }
  return isKind(table, kind) ? say(table, value, kind) : general(value)
}

// Return an amount as findings tell it. [SI of the kind]
export function inFinding(table, si, kind) {
  if (kind !== "volume" || Math.abs(si) >= LITRES) return say(table, si, kind)
  const shown = (table.shown ?? [{}]).map((set) => ({ ...set, volume: inLitres(inSet(table, set, "volume")) }))
  return say({ ...table, shown }, si, kind)
}

const inLitres = (unit) => (unit === "m³" ? "L" : unit)

// Return the number that a figure says, as it is typed on the pad; null where it is none. `1/4`, `1 1/2` too.
export function numberOf(typed) {
  const text = String(typed).trim().replace("\u2212", "-").replace(",", ".")
  const fraction = /^(?:(\d{1,4})\s+)?(\d{1,4})\s*\/\s*(\d{1,4})$/.exec(text)
  if (fraction !== null && Number(fraction[3]) > 0) {
    return Number(fraction[1] ?? 0) + Number(fraction[2]) / Number(fraction[3])
  }
  return /^[+-]?(?:\d+(?:\.\d+)?|\.\d+)$/.test(text) ? Number(text) : null
}
