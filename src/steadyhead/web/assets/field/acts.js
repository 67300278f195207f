// What an act did to one pilot screw, and which readings tell where it stands: as visits/advising/acts.py and readings.py.

import { GUARDS, MOVES, TELLS } from "../procedure/words.js"

const NUTS = ["tighten nut", "slacken nut"]
const TURNS = ["raise", "lower", "turn", "adjust", "set", ...NUTS]
const KEEPS = ["clean", "bleed", "grease", "open cover", "close cover"]
const OWN = ["setting", "screw", "spring", "pilot", "nut"]
const NAMES = /(?<![\p{L}\p{N}_])(screw|spring|pilot|nut|setting)s?(?![\p{L}\p{N}_])/u
const WORDS = { half: 0.5, quarter: 0.25, eighth: 0.125 }
const ENDS = ["", "s", " turn", " turns", "s of a turn", " of a turn"]

export const UNITS = {
  ...Object.fromEntries(["", "turn", "turns", "rev", "revs", "revolution", "revolutions"].map((name) => [name, 1])),
  ...Object.fromEntries(["°", "deg", "degree", "degrees"].map((name) => [name, 1 / 360])),
  ...Object.fromEntries(["rad", "radian", "radians"].map((name) => [name, 0.5 / Math.PI])),
  ...Object.fromEntries(Object.entries(WORDS).flatMap(([word, part]) => ENDS.map((end) => [`${word}${end}`, part]))),
  halves: 0.5, "½": 0.5, "¼": 0.25, "⅛": 0.125,
}

// Inputs that are read in the trickle with the shut-off open, by step; of several runs each.
export const AT_TRICKLE = {
  EF1: ["reading"], ES1: ["first", "reading"], ES2: ["reading"], ES3: ["T3"], DS2: ["T3", "first", "reading"],
  DS3: ["T3"], DS5: ["T2", "T2.after"], F1: ["hold"], F3: ["hold"], F3R: ["hold"], Y3: ["trickle"], Y4: ["hold"],
  Y6: ["hold"], Y6T: ["hold"], Y7: ["before", "trickle"], H1: ["before", "trickle"], H1F: ["trickle"],
}
export const WITH_FLOW = ["before"]
export const SEEN_AT = ["ES4", "ES5", "DS1", "DS4", "DS4x", "DS6", "F2", "F2R", "G4", "Y5", "Y6H"]
export const AT_ACTION = ["act", "trip", "shut", "starts to shut"]
export const NOT_SETTLED = ["peak", "reset", "zero", "comparison", "typed later", "before nut"]
export const NO_PRESSURE = ["zero", "comparison"]
export const TRICKLES = 1.5

export const before = (text, mark) => (text.includes(mark) ? text.slice(0, text.indexOf(mark)) : text)
export const behind = (text, mark) => (text.includes(mark) ? text.slice(text.indexOf(mark) + mark.length) : "")

// The position of a step in the tables, without its valve and stream.
export const base = (step) => before(before(step, "."), "@")

// The inputs of a step that tell where the reducer stands.
export const feeds = (step) => AT_TRICKLE[base(step)] ?? []

// A name or verb as it is compared: without stream, case and spare blanks.
export const plain = (name) =>
  before(String(name ?? "").trim().split(/\s+/).join(" ").toLowerCase(), "@").trim()

// How far a screw was turned, raising positive; null where the act does not say. [turn]
export function turnsOf(payload) {
  const [{ amount }, act] = [payload, plain(payload.do)]
  if (typeof amount !== "number" || !(amount > 0 && amount < Infinity)) return null
  const size = Object.hasOwn(UNITS, plain(payload.unit)) ? UNITS[plain(payload.unit)] : undefined
  if (size === undefined || !["raise", "lower"].includes(act)) return null
  return act === "raise" ? amount * size : -amount * size
}

// Tells what each act of a run did to the screw of one valve: "none", "turn", "lost", or "nut".
export class Acts {
  constructor(valve, valves, plan) {
    this.valve = plain(valve)
    this.valves = new Set(valves.map(plain))
    this.works = new Map(plan.nodes.map((node) => [node.id, new Set(node.touches.map(plain))]))
    const named = plan.nodes.flatMap((node) => [...node.touches, ...node.depends_on])
    const words = Object.keys(plan.names).filter((name) => !name.includes("/"))
    const known = [...named, ...words].map(plain)
    this.known = new Set([...known, ...known.map((name) => before(name, "."))])
  }

  effect(node, payload) {
    const [act, thing] = [plain(payload.do), plain(payload.thing)]
    if (TELLS.includes(act)) return "none"
    const part = this.part(node, act, thing)
    const keeps = KEEPS.includes(act) || MOVES.includes(act) || GUARDS.includes(act)
    if (part === "none" || (part === "valve" && keeps)) return "none"
    if (part === "nut" || NUTS.includes(act)) return "nut"
    return part === "unsure" || turnsOf(payload) === null ? "lost" : "turn"
  }

  part(node, act, thing) {
    if (!thing) return this.meant(node, act)
    if (thing === this.valve) return "valve"
    if (thing.startsWith(this.valve) && !/[\p{L}\p{N}]/u.test(thing[this.valve.length])) {
      const part = thing.slice(this.valve.length + 1).trim()
      if (OWN.includes(part)) return part === "nut" ? "nut" : "setting"
      return this.known.has(thing) && !NAMES.test(part) ? "none" : "unsure"
    }
    const head = before(thing, ".")
    if (this.known.has(thing) || this.known.has(head) || this.valves.has(head)) return "none"
    const isScrew = TURNS.includes(act) || NAMES.test(thing)
    return isScrew && !MOVES.includes(act) && !GUARDS.includes(act) ? "unsure" : "none"
  }

  meant(node, act) {
    if (MOVES.includes(act) || GUARDS.includes(act) || KEEPS.includes(act)) return "none"
    if (!this.works.has(node)) return TURNS.includes(act) ? "unsure" : "none"
    const screws = [...this.works.get(node)].filter((name) => behind(name, ".") === "setting")
    if (!screws.includes(`${this.valve}.setting`)) return "none"
    return screws.length === 1 ? "setting" : "unsure"
  }
}
