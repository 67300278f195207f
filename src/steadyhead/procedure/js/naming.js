// Names as people write them: the same as naming.py.

export const OUTSIDE = "outside"
const isWord = (mark) => mark !== undefined && /^[a-z0-9]$/.test(mark)

export const lower = (text) => text.replace(/[A-Z]/g, (mark) => mark.toLowerCase())

export const folded = (text) => lower(text).replace(/[ \t\r\n]/g, "")
export const lowWords = (text) => [...wordsOf(text)].map(lower)
export const wordsOf = (text) => new Set(text.match(/[A-Za-z0-9-]+/g) ?? [])
export const calls = (text, names) => {
  const padded = ` ${lower(text).replace(/[^a-z0-9]+/g, " ").replace(/^ | $/g, "")} `
  return names.some((name) => padded.includes(` ${name} `))
}
export const plainly = (text) => lower(text).replace(/[^a-z0-9]/g, "")

// What is written of how a valve stands: shut, open more or less, or neither.
export const SHUT = ["shut", "closed"]
const NOT_SHUT = ["open", "opened", "opens", "opening", "ajar", "cracked", "crack", "part", "partly", "partially", "half",
  "throttled", "passing", "passes", "leaking", "leaks", "weeping", "weeps", "running", "runs", "unlocked", "cannot",
  "unknown", "reopened", "flowing", "trickling"]
const SHORT_OF = ["not", "never", "nearly", "almost", "hardly", "from", "of", "off", "to", "before", "un"]
const STILL = ["dry", "tight", "locked", "sealed", "capped", "plugged", "tagged", "seated", "isolated"]
const IN_USE = ["service", "normal"]
const FULLY = ["fully", "full", "quite", "completely", "entirely", "yet"]
const AGAIN = ["again", "reshut", "reclosed", "after"]
const LOOKED = ["still", "seen", "looked", "checked", "read", "found", "remained", "stayed"]
const OPEN = ["open", "opened", "opens", "opening", "ajar", "cracked", "crack", "part", "partly", "partially", "half",
  "throttled", "running", "runs", "full", "fully", "wide", "service", "trickle", "trickling", "flowing", "reopened"]
const anyOf = (words, list) => words.some((word) => list.includes(word))

export const inOrderOf = (text) => lower(text).match(/[a-z0-9]+/g) ?? []
const isShortOf = (words) => words.some((word, at) => SHUT.includes(word)
  && SHORT_OF.includes(words.slice(0, at).filter((one) => !FULLY.includes(one)).at(-1)))

// Whether what is written of a valve says that it was moved, and shut only then.
export function wasOpened(text) {
  const words = inOrderOf(text)
  return anyOf(words, AGAIN) && !anyOf(words, LOOKED)
}

const NO = ["no", "not", "never", "nobody", "none", "nothing", "skipped", "untold", "unsealed", "undone"]
const EMPTY = ["none", "nothing", "nobody"]
const FILLS = ["done", "yet", "told", "sealed", "asked", "called", "reached", "answered", "was", "were", "is", "it",
  "at", "all", "one", "known", "today", "n", "a", "has", "have", "been", "did", "could", "be", "anyone"]

// Whether an answer in words is a bare refusal; empty: *none* is one as well.
export function refuses(text, empty) {
  const said = inOrderOf(text)
  const words = said.join(" ") === "no one" ? ["nobody"] : said
  if (["n", "n a", "na"].includes(words.join(" ")) || /^[-./?_ \t]+$/.test(text)) return true
  if (words.some((word) => ![...NO, ...FILLS].includes(word))) return false
  return words.some((word) => NO.includes(word) && (empty || !EMPTY.includes(word)))
}

export function standsShut(text) {
  const words = inOrderOf(text)
  if (anyOf(words, NOT_SHUT)) return false
  if (anyOf(words, SHUT)) return !isShortOf(words)
  return words.length > 0 && !SHORT_OF.includes(words[0]) && anyOf(words, STILL) && !anyOf(words, IN_USE)
}

export function standsOpen(text) {
  const words = inOrderOf(text)
  return !standsShut(text) && (isShortOf(words) || anyOf(words, OPEN))
}

// The names a plan knows; its parts, longest first.
export class Names {
  constructor(procedure) {
    const { parts, things, left } = minded(procedure)
    const keys = ["touches", "proves", "depends_on", "opens", "restores"]
    const every = procedure.nodes.flatMap((node) => keys.flatMap((key) => node[key]))
    this.known = new Map()
    for (const name of [...every, ...things, ...left.map((one) => one.thing), ...parts]) {
      if (!this.known.has(folded(name))) this.known.set(folded(name), name)
    }
    const size = (text) => [...text].length
    this.parts = [...parts].sort((a, b) => size(b) - size(a))
  }

  of(thing) {
    return this.known.get(folded(thing)) ?? (this.part(thing) || thing)
  }

  part(thing) {
    const low = lower(thing).replace(/^[ \t\r\n]+|[ \t\r\n]+$/g, "")
    const begins = (part) => low.startsWith(lower(part)) && !isWord(low[lower(part).length])
    return [...this.parts, OUTSIDE].find(begins) ?? ""
  }

  isOfStation(thing) {
    return !["", OUTSIDE].includes(this.part(thing))
  }

  // Whether what is said to lie outside bears a name of the station, or of what protects it.
  hides(thing, called = []) {
    if (this.part(thing) !== OUTSIDE) return false
    const low = lower(thing).replace(/^[ \t\r\n]+|[ \t\r\n]+$/g, "")
    const rest = low.slice(OUTSIDE.length).replace(/^[^a-z0-9]+/, "")
    const words = rest.split(/[^a-z0-9]+/)
    const parts = this.parts.filter((part) => part !== lower(part)).map(lower)
    if (this.isExact(rest) || this.isOfStation(rest)) return true
    return parts.some((part) => words.includes(part)) || calls(rest, called)
  }

  isExact(thing) {
    return this.known.has(folded(thing))
  }
}

export const minded = (procedure) => procedure.minding ?? { parts: [], things: [], left: [], shields: [] }
