// Two devices that answer one input, and clocks of devices: the same as agreeing.py and clocks.py.

import { SOFT, compare, isNumber, own, unique } from "./record.js"

const TOGETHER = 300
const JUMP = 5

export const inside = (value, { low, high }) => (low === null || value >= low) && (high === null || value <= high)
export const byHand = (entry) => (own(entry, "typed_at") ?? null) !== null

// The newest answer and the last one of another device where they differ; null where none does. Of its own device so too
// an answer that sorts before it and has a later number: the clock was set back.
export function differing(one, rows, band) {
  if (rows.length < 2 || SOFT.includes(one.quantity)) return null
  const young = rows.at(-1)
  const ahead = numberedLater(rows)
  const apart = ahead === null ? null : pair(one, ahead, young, band, true)
  if (apart !== null) return { ...apart, later: false }
  const seen = new Set([young.entry.device])
  for (const old of rows.slice(0, -1).reverse()) {
    if (seen.has(old.entry.device)) continue
    seen.add(old.entry.device)
    const found = old.text("as") === young.text("as") ? pair(one, old, young, band) : null
    if (found !== null) return found
  }
  return null
}

// The answer by which the newest one's device came after it, by its own numbers; null for none.
function numberedLater(rows) {
  const last = rows.at(-1)
  const own = rows.filter(({ entry }) => entry.device === last.entry.device && !byHand(entry))
  const found = own.reduce((a, b) => (b.entry.device_seq > a.entry.device_seq ? b : a), own[0] ?? last)
  const isLater = !byHand(last.entry) && found.entry.device_seq > last.entry.device_seq
  return isLater && found.text("as") === last.text("as") ? found : null
}

function pair(one, old, young, band, parted = false) {
  const later = parted || young.time - old.time > TOGETHER + old.entry.clock_within + young.entry.clock_within
  const [a, b] = [old.entry.payload.value, young.entry.payload.value]
  const told = (apart) => ({ input: one.name, old, young, apart, later })
  if (!(isNumber(a) && isNumber(b))) return a !== b && !(later && one.quantity !== "yes_no") ? told(true) : null
  if (Math.abs(a - b) <= one.stable_within_si) return null
  const apart = band !== null && inside(a, band) !== inside(b, band)
  return apart || !later ? told(apart) : null
}

// Somebody wrote what was found, or the whole step was gone through again after the older answer.
export function isSettled({ old, young, later }, rows, base, asked) {
  const isOne = ({ entry }) => old.entry.device === young.entry.device && entry.device === old.entry.device
  const most = Math.max(old.entry.device_seq, young.entry.device_seq)
  const isAfter = (row) => (isOne(row) ? row.entry.device_seq > most : row.at > young.at)
  const noted = rows.some((row) => isAfter(row) && ["note", "deviation"].includes(row.entry.kind))
  return noted || (later && asked > 1 && base > old.at)
}

// Entries of each device in the order of its own numbers, devices by name.
function byDevice(entries) {
  const found = new Map()
  for (const entry of entries) {
    if (!found.has(entry.device)) found.set(entry.device, [])
    found.get(entry.device).push(entry)
  }
  const order = (a, b) => a.device_seq - b.device_seq || a.micros - b.micros || compare(a.id, b.id)
  return unique([...found.keys()]).sort(compare).map((device) => [device, found.get(device).sort(order)])
}

// What is told of clocks: [device, entries, params] for each.
export function clocks(entries, listed) {
  const found = []
  for (const [device, made] of byDevice(entries)) {
    const hand = made.filter(byHand).map((entry) => entry.id)
    if (hand.length > 0) found.push([device, hand.slice(0, listed), { why: "by hand", count: hand.length }])
    made.slice(1).forEach((young, index) => {
      const old = made[index]
      const ids = [old.id, young.id]
      const [by, off] = [back(old, young), offBy(old, young)]
      if (young.device_seq === old.device_seq) found.push([device, ids, { why: "one number twice", by: 0 }])
      else if (by > 0) found.push([device, ids, { why: "back", by }])
      else if (off !== 0) found.push([device, ids, { why: "set", by: off }])
    })
  }
  return found
}

// By how much the clock of each device was set back while it was in use.
export function setBack(entries) {
  const found = new Map()
  for (const [device, made] of byDevice(entries)) {
    let most = 0
    made.slice(1).forEach((young, index) => {
      most = Math.max(most, back(made[index], young), -offBy(made[index], young))
    })
    if (most > 0) found.set(device, most)
  }
  return found
}

// By how much entries may have been made later or earlier than they say: their clocks were set while in use.
export function doubts(entries) {
  const back = setBack(entries)
  const ahead = new Map()
  for (const [device, made] of byDevice(entries)) {
    const seen = made.slice(1).map((young, index) => [young.device_seq, offBy(made[index], young)])
    ahead.set(device, seen.filter(([, by]) => by > 0))
  }
  const forward = (entry, after) => (byHand(entry) ? [] : ahead.get(entry.device) ?? [])
    .reduce((sum, [number, by]) => ((number > entry.device_seq) === after ? sum + by : sum), 0)
  return {
    late: (entry) => (back.get(entry.device) ?? 0) + forward(entry, true),
    early: (entry) => (back.get(entry.device) ?? 0) + forward(entry, false),
  }
}

// Whether an entry that sorts before another may have been made after it. Both: an entry and its time.
export function unsure(touch, reading, doubt) {
  const [one, other] = [touch.entry, reading.entry]
  const tells = one.device_seq < other.device_seq || !(byHand(one) || byHand(other))
  if (one.device === other.device && tells) return one.device_seq > other.device_seq
  return reading.time - touch.time <= openBy(one, other, doubt)
}

// By how much two clocks leave open which of two entries was first. [s]
export const openBy = (one, other, doubt) => one.clock_within + other.clock_within + doubt.late(one) + doubt.early(other)

const within = (old, young) => JUMP + old.clock_within + young.clock_within
const gone = (old, young) => young.micros / 1e6 - old.micros / 1e6
const typed = (old, young) => byHand(young) || byHand(old)

function back(old, young) {
  const by = gone(old, young)
  return by < -within(old, young) && !typed(old, young) ? -by : 0
}

function offBy(old, young) {
  const [by, ran] = [gone(old, young), young.t_mono - old.t_mono]
  const tells = ran > 0 && old.t_mono > 0 && !typed(old, young)
  return tells && Math.abs(by - ran) > within(old, young) ? by - ran : 0
}
