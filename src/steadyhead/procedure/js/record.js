// Entries of a run laid beside its plan: the same as ledger.py and record.py.

import { folded, inOrderOf, Names, SHUT, standsShut } from "./naming.js"

const DAY = 86_400_000_000
const CLOCK = /^(\d{4})-(\d\d)-(\d\d)[Tt](\d\d):(\d\d)(?::(\d\d)(?:[.,](\d{1,6})\d*)?)?([Zz]|[+-]\d\d:?\d\d)$/
const TIME_OF_DAY = /^([01]?\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?$/
export const NOTED = ["reading", "observation"]
export const SOFT = ["text", "photo"]
const ANSWERS = [...SOFT, "yes_no", "time_of_day", "turns", "count"]

export const isNumber = (value) => typeof value === "number"
export const isMap = (value) => typeof value === "object" && value !== null && !Array.isArray(value)
export const own = (map, key, none = null) =>
  Object.prototype.hasOwnProperty.call(map, key) && map[key] !== undefined ? map[key] : none
export const isBlank = (text) => /^[ \t\r\n]*$/.test(text)
export const unique = (list) => [...new Set(list)]

export function compare(a, b) { // two texts by their characters, as Python has it
  const [one, other] = [[...a], [...b]]
  for (let index = 0; index < Math.min(one.length, other.length); index += 1) {
    const step = one[index].codePointAt(0) - other[index].codePointAt(0)
    if (step !== 0) return step
  }
  return one.length - other.length
}

function days(year, month, day) { // since 1970-01-01
  const shifted = month <= 2 ? year - 1 : year
  const era = Math.floor(shifted / 400)
  const ofEra = shifted - era * 400
  const ofYear = Math.floor((153 * (month + (month > 2 ? -3 : 9)) + 2) / 5) + day - 1
  return era * 146097 + ofEra * 365 + Math.floor(ofEra / 4) - Math.floor(ofEra / 100) + ofYear - 719468
}
export function dayOf(text) {
  const found = typeof text === "string" ? /^(\d{4})-(\d\d)-(\d\d)$/.exec(text) : null
  if (found === null) return null
  const [year, month, day] = found.slice(1).map(Number)
  const leap = year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0)
  const lengths = [31, leap ? 29 : 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
  if (year < 1 || month < 1 || month > 12 || day < 1 || day > lengths[month - 1]) return null
  return days(year, month, day)
}

export function zoneMinutes(text) {
  const zone = CLOCK.exec(text)[8]
  if (zone === "Z" || zone === "z") return 0
  return (Number(zone.slice(1, 3)) * 60 + Number(zone.slice(-2))) * (zone[0] === "-" ? -1 : 1)
}

// A time written with its offset; null where it is none. [µs since 1970-01-01 UTC]
export function clockMicros(text) {
  const found = CLOCK.exec(text)
  if (found === null) return null
  const [year, month, day, hour, minute] = found.slice(1, 6).map(Number)
  const second = Number(found[6] ?? 0)
  const part = Number((found[7] ?? "").padEnd(6, "0"))
  if (dayOf(`${found[1]}-${found[2]}-${found[3]}`) === null || hour > 23 || minute > 59 || second > 59) return null
  const whole = (days(year, month, day) * 86400 + hour * 3600 + minute * 60 + second) * 1_000_000
  return whole + part - zoneMinutes(text) * 60_000_000
}

export const micros = (entry) => clockMicros(entry.t_device) + Math.floor((entry.clock_offset ?? 0) * 1e6 + 0.5)

export const CLOCK_SET = 600_000_000 // by how much a sync sets a clock back at most [µs]
// Put entries in the order of judging, each with its fields filled in: by time, those of one device by its own numbers.
export function inOrder(entries) {
  const [whole, latest] = [{ node: "", who: "", t_mono: 0, clock_offset: 0, clock_within: 0, replaces: "" }, new Map()]
  const made = entries.map((entry) => ({ ...whole, ...entry, micros: micros(entry) }))
    .sort((a, b) => b.device_seq - a.device_seq || b.micros - a.micros || compare(b.id, a.id))
  const at = new Map(made.map((entry) => {
    if (own(entry, "typed_at") !== null) return [entry, entry.micros] // a time given by hand stands
    const back = entry.micros - (latest.get(entry.device) ?? entry.micros)
    return [entry, latest.set(entry.device, back >= 0 && back <= CLOCK_SET ? entry.micros - back : entry.micros).get(entry.device)]
  }))
  return made.sort((a, b) => at.get(a) - at.get(b) || compare(a.device, b.device) || a.device_seq - b.device_seq || compare(a.id, b.id))
}

// Union of lists of entries; one id with several contents is judged in none. same: tells two entries alike by their form.
export function merge(lists, same) {
  const forms = new Map()
  for (const entry of lists.flat()) {
    const known = forms.get(entry.id) ?? []
    if (!known.some((other) => same(other, entry))) forms.set(entry.id, [...known, entry])
  }
  const all = [...forms.values()]
  return {
    entries: inOrder(all.filter((known) => known.length === 1).flat()),
    clashes: all.filter((known) => known.length > 1).map((known) => ({ id: known[0].id, forms: known })),
  }
}

// What stands once corrections and voids are applied; the rest is not among it.
export function standing(entries) {
  const byId = new Map(entries.map((entry) => [entry.id, entry]))
  const voids = new Map()
  for (const entry of entries) {
    if (entry.kind === "void" && byId.has(entry.replaces)) {
      if (!voids.has(entry.replaces)) voids.set(entry.replaces, [])
      voids.get(entry.replaces).push(entry.id)
    }
  }
  const gone = goneOf(byId, voids)
  const changed = new Map()
  for (const entry of entries) {
    if (entry.kind !== "correction" || gone.has(entry.id)) continue
    const root = rootOf(entry, byId, ["correction"])
    if (root !== null && !changed.has(root)) changed.set(root, [])
    if (root !== null) changed.get(root).push(entry)
  }
  return entries
    .filter((entry) => entry.kind !== "correction" && entry.kind !== "void" && !gone.has(entry.id))
    .map((entry) => (changed.has(entry.id) ? revised(entry, changed.get(entry.id)) : entry))
}

export function amendsNothing(entries) {
  const byId = new Map(entries.map((entry) => [entry.id, entry]))
  const amends = entries.filter((entry) => entry.kind === "correction" || entry.kind === "void")
  return amends.filter((entry) => rootOf(entry, byId, ["correction", "void"]) === null).map((entry) => entry.id)
}

// The entry that a correction or a void is about in the end; null where it is not there.
export function amended(entry, byId) {
  const root = rootOf(entry, byId, ["correction", "void"])
  return root === null ? null : byId.get(root)
}

function goneOf(byId, voids) {
  const known = new Map()
  for (const start of byId.keys()) {
    const stack = [start]
    while (stack.length > 0) {
      const one = stack[stack.length - 1]
      const open = (voids.get(one) ?? []).filter((each) => !known.has(each) && !stack.includes(each))
      if (!known.has(one) && open.length > 0) {
        stack.push(open[0])
        continue
      }
      const isGone = (voids.get(one) ?? []).some((each) => !(known.get(each) ?? true))
      if (!known.has(one)) known.set(one, isGone)
      stack.pop()
    }
  }
  return new Set([...known].filter(([, isGone]) => isGone).map(([one]) => one))
}

function rootOf(entry, byId, through) {
  const seen = new Set([entry.id])
  let one = entry
  while (through.includes(one.kind)) {
    if (seen.has(one.replaces) || !byId.has(one.replaces)) return null
    seen.add(one.replaces)
    one = byId.get(one.replaces)
  }
  return one.kind === "correction" || one.kind === "void" ? null : one.id
}

function revised(entry, changes) {
  const payload = { ...entry.payload }
  for (const change of changes) {
    const given = own(change.payload, "payload")
    for (const [key, value] of Object.entries(isMap(given) ? given : {})) {
      if (value === null) delete payload[key]
      else payload[key] = value
    }
  }
  return { ...entry, payload }
}

// A standing entry with its place in the order of judging.
class Row {
  constructor(entry, at, names) {
    this.entry = entry
    this.at = at
    this.time = entry.micros / 1e6
    this.day = Math.floor((entry.micros + zoneMinutes(entry.t_device) * 60_000_000) / DAY)
    this.input = NOTED.includes(entry.kind) ? this.text("input") : ""
    this.do = entry.kind === "action" ? this.text("do") : ""
    const thing = entry.kind === "action" || entry.kind === "position" ? own(entry.payload, "thing") : null
    this.thing = typeof thing === "string" ? names.of(thing) : ""
  }

  text(key) {
    const found = own(this.entry.payload, key)
    return typeof found === "string" ? found : ""
  }

  number(key) {
    const found = own(this.entry.payload, key)
    return isNumber(found) ? found : null
  }
}

export const rowOf = (entry, names) => new Row(entry, 0, names)

// Lay a plan and standing entries in the order of judging side by side.
export function lay(procedure, entries) {
  const names = new Names(procedure)
  const rows = entries.map((entry, at) => new Row(entry, at, names))
  const byNode = new Map()
  for (const row of rows) {
    if (!byNode.has(row.entry.node)) byNode.set(row.entry.node, [])
    byNode.get(row.entry.node).push(row)
  }
  const choices = new Map(procedure.choices.map((choice) => [choice.id, null]))
  for (const row of rows.filter((each) => each.entry.kind === "choice")) {
    const choice = procedure.choices.find((each) => each.id === row.text("choice"))
    if (choice?.options.some((option) => option.name === row.text("option"))) choices.set(choice.id, row.text("option"))
  }
  const described = new Map()
  for (const row of rows.filter((each) => each.entry.kind === "instrument")) {
    const told = { at: row.at, known: instrumentOf(row) }
    described.set(row.text("name"), [...(described.get(row.text("name")) ?? []), told])
  }
  return {
    procedure,
    rows,
    names,
    choices,
    at: (node) => byNode.get(node) ?? [],
    instruments: Object.fromEntries([...described].map(([name, told]) => [name, told.at(-1).known])),
    described,
    node: new Map(procedure.nodes.map((node) => [node.id, node])),
  }
}

function instrumentOf(row) {
  const [low, high, share] = [row.number("low"), row.number("high"), row.number("class")]
  const stated = low !== null && high !== null && share !== null && share > 0 && high > low
  const error = stated ? share * (high - low) : null
  const [division, zero] = [row.number("division"), row.number("zero")]
  return { name: folded(row.text("name")), quantity: row.text("quantity"), low, high, class: share, division, zero, error, due: dayOf(own(row.entry.payload, "due")) }
}

const NAMES = { action: ["@action", "do"], position: ["@position", "is"], photo: ["@photo", "of"], note: ["@note", "text"] }

// An entry as expressions see it; null for kinds they do not see.
export function taken(row, doubt) {
  const { entry } = row
  let [node, input, key] = [entry.node, row.input, "value"]
  if (entry.kind === "choice") [node, input, key] = [row.text("choice"), "@choice", "option"]
  else if (own(NAMES, entry.kind) !== null) [input, key] = NAMES[entry.kind]
  else if (!NOTED.includes(entry.kind)) return null
  const [early, late] = [entry.clock_within + doubt.early(entry), entry.clock_within + doubt.late(entry)]
  const keys = { ...flat(entry.payload), who: entry.who, device: entry.device, day: row.day, early, late }
  if (row.thing) keys.thing = row.thing
  const clock = NOTED.includes(entry.kind) ? clockOf(row) : null
  if (clock !== null) keys.clock = clock
  const value = saysShut(row) ? SHUT[0] : scalar(own(entry.payload, key))
  return { node, input, value, time: row.time, order: row.at, keys }
}

// Whether a position says, in whatever words, that a thing stands shut.
function saysShut(row) {
  if (row.entry.kind !== "position" || !inOrderOf(row.text("is")).some((word) => SHUT.includes(word))) return false
  return standsShut(row.text("is"))
}

export const isTimeOfDay = (text) => TIME_OF_DAY.test(trimmed(text))
const trimmed = (text) => text.replace(/^[ \t\r\n]+/, "").replace(/[ \t\r\n]+$/, "")

// A time of day that was noted, on the day nearest to its entry; null for any other value.
function clockOf(row) {
  const value = own(row.entry.payload, "value")
  const found = typeof value === "string" ? TIME_OF_DAY.exec(trimmed(value)) : null
  if (found === null) return null
  const ofDay = Number(found[1]) * 3600 + Number(found[2]) * 60 + Number(found[3] ?? 0)
  const clock = row.day * 86400 + ofDay - zoneMinutes(row.entry.t_device) * 60
  return clock - 86400 * Math.floor((clock - row.time) / 86400 + 0.5)
}

const scalar = (value) => (typeof value === "object" ? null : value)

function flat(payload, before = "") {
  const found = {}
  for (const [key, value] of Object.entries(payload)) {
    if (isMap(value)) Object.assign(found, flat(value, `${before}${key}.`))
    else if (!Array.isArray(value)) found[`${before}${key}`] = value
  }
  return found
}

// First row of each time a step was gone through.
export function roundStarts(rows, node) {
  const isAnswer = (one) => ANSWERS.includes(one.quantity)
  const measures = node.inputs.some((one) => !isAnswer(one))
  const late = new Set(measures ? node.inputs.filter(isAnswer).map((one) => one.name) : [])
  const starts = []
  let seen = new Set()
  for (const row of rows) {
    const key = row.input || (row.do === "tick" ? "@tick" : "")
    if (!key && row.entry.kind !== "action" && row.entry.kind !== "choice") continue
    if (starts.length === 0 || (seen.has(key) && !late.has(key))) {
      starts.push(row)
      seen = new Set()
    }
    if (key) seen.add(key)
  }
  return starts
}
