// Elements of the field page: made one by one, never from text; keys that a glove finds; marks of state.

const SVG = "http://www.w3.org/2000/svg"

// Geometry of the marks in their box of 28 by 16.
const MARKS = {
  holds: [["path", { d: "M1 8H27" }]],
  due: [["path", { d: "M1 8H18M18 3V13M23 8H27" }]],
  slipped: [["path", { d: "M1 5H12M12 1.5L16 14.5M16 11H27" }]],
  dropped: [["path", { d: "M1 4H27" }], ["path", { d: "M7 4H21L14 15Z", class: "solid" }]],
  struck: [["path", { d: "M1 8H27M8 15L20 1" }]],
  unknown: [["path", { d: "M1 8H27", "stroke-dasharray": "2 5" }]],
}

function filled(made, given, inner) {
  for (const [name, value] of Object.entries(given)) {
    if (value === null || value === undefined || value === false) continue
    if (name === "press") made.addEventListener("click", value)
    else made.setAttribute(name, value === true ? "" : String(value))
  }
  made.append(...inner.flat(2).filter((one) => one !== null && one !== undefined && one !== "" && one !== false))
  return made
}

// Return an element. given: attributes, `press` what a touch does; inner: elements and words; null is left out.
export const el = (name, given = {}, ...inner) => filled(document.createElement(name), given, inner)

// Return an element of a picture.
export const svg = (name, given = {}, ...inner) => filled(document.createElementNS(SVG, name), given, inner)

// Return a mark of state; a word always stands beside it.
export function mark(kind) {
  const tone = ["slipped"].includes(kind) ? "heed" : ["dropped", "struck"].includes(kind) ? "halt" : "plain"
  const parts = MARKS[kind].map(([name, given]) => svg(name, given))
  return svg("svg", { class: `mark ${tone}`, viewBox: "0 0 28 16", "aria-hidden": "true" }, parts)
}

// Return a line of words behind its mark.
export const told = (kind, ...words) => el("p", { class: "told" }, mark(kind), el("span", {}, words))

// Return a key. more: small (a second line), kind ("go", "stop" or ""), name (to find it again after drawing anew),
// off (it does nothing now), pressed (true or false for one of several).
export function key(words, press, { small = "", kind = "", name = "", off = false, pressed = null } = {}) {
  const size = words.length > 34 ? "longest" : words.length > 12 ? "long" : ""
  return el("button", { type: "button", class: `key ${kind} ${size}`.trim(), "data-key": name || words, press,
    disabled: off, "aria-pressed": pressed === null ? null : String(pressed) },
  el("span", {}, words), small ? el("small", {}, small) : null)
}

// Return one sentence after the other.
export const sentences = (text) =>
  String(text ?? "").split(/(?<=[.;])\s+(?=[\p{Lu}\d])/u).map((one) => one.trim()).filter(Boolean)

// Where a reading lies, in words.
export const VERDICTS = { inside: "As expected.", outside: "Outside. Stop.", "on the way": "On the way." }

// A shake of the device, felt through a glove; browsers refuse it until the page was touched.
export function shake(pattern) {
  if (globalThis.navigator?.userActivation?.hasBeenActive !== false) globalThis.navigator?.vibrate?.(pattern)
}
