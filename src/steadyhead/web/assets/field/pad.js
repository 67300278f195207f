// The ten keys: nothing but digits is typed; the decimal point stands where the instrument's division puts it.

import { el, key } from "./keys.js"

const LONGEST = 7 // digits of a figure. [1]

// Return how many decimals a figure has. division: of the instrument [SI], 0 where it is not known; unit: of the table;
// usual: decimals of that unit otherwise.
export function decimals(division, unit, usual) {
  if (!(division > 0) || unit === undefined) return usual
  const size = division / unit.factor
  return Math.max(0, Math.min(4, Math.ceil(-Math.log10(size) - 1e-9)))
}

// Return the figure that digits say. digits: as they were touched, "-" first below zero; places: decimals.
export function figureOf(digits, places) {
  const isBelow = digits.startsWith("-")
  const bare = digits.replace("-", "")
  if (bare === "") return ""
  const whole = bare.padStart(places + 1, "0")
  const figure = places === 0 ? whole : `${whole.slice(0, -places)}.${whole.slice(-places)}`
  return `${isBelow ? "-" : ""}${figure.replace(/^0+(?=\d)/, "")}`
}

// Return the figure of a time of day: four digits.
export const clockOf = (digits) => (digits.length === 4 ? `${digits.slice(0, 2)}:${digits.slice(2)}` : "")

// Return the digits after one more was touched.
export function typed(digits, digit) {
  const next = `${digits}${digit}`
  return next.replace("-", "").replace(/^0+(?=0)/, "").length > LONGEST ? digits : next
}

// Return the digits after the number was touched: it is cleared; touched empty, it is below zero, or not again.
export const cleared = (digits) => (digits === "" ? "-" : "")

// Return the ten keys with the one to go back and the one to go on. press(digit): a digit was touched.
export function pad(press, back, go) {
  const digit = (one) => key(String(one), () => press(String(one)), { kind: "digit", name: `digit ${one}` })
  return el("div", { class: "pad", role: "group", "aria-label": "Ten keys" },
    [1, 2, 3, 4, 5, 6, 7, 8, 9].map(digit), back, digit(0), go)
}
