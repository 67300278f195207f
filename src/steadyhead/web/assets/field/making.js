// What every entry carries beside what it says: id, run, device, number, who, when: as services/entering/making.py.

import { stamp } from "./clock.js"

const hex = (bytes) => [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("")

// Fill bytes by chance. `crypto.randomUUID` is missing where a page is not reached over TLS; this is not.
export const chance = (count) => crypto.getRandomValues(new Uint8Array(count))

// Return a new id: UUID version 7 (RFC 9562), in the order of the time given. [ms since 1970-01-01]
export function newId(wall, bytes = chance(10)) {
  const time = Math.max(0, Math.floor(wall)).toString(16).padStart(12, "0").slice(-12)
  const rest = Uint8Array.from(bytes)
  rest[0] = 0x70 | (rest[0] & 0x0f)
  rest[2] = 0x80 | (rest[2] & 0x3f)
  const tail = hex(rest)
  return `${time.slice(0, 8)}-${time.slice(8)}-${tail.slice(0, 4)}-${tail.slice(4, 8)}-${tail.slice(8)}`
}

// Return a name for a device that has none: no two alike, short enough to be read out.
export const newDevice = (bytes = chance(5)) => `tab-${hex(bytes)}`

// Return the entries that drafts become. drafts: { kind, payload, node, replaces }, from entering.js.
// by: { run, device, last, who, clock, at }: last is the highest number the device has used; clock from clock.js, gone on
// to now; at: time a person gives afterwards, or "". Throws where nobody is named: every entry says who made it.
export function made(drafts, { run, device, last, who, clock, at = "", zone = undefined }) {
  if (!who) throw new Error("nobody is named")
  const when = stamp(clock, at, zone)
  return drafts.map((draft, index) => ({
    id: newId(clock.wall), run, node: draft.node ?? "", device, device_seq: last + 1 + index, kind: draft.kind,
    payload: draft.payload, who, ...when, ...(draft.replaces ? { replaces: draft.replaces } : {}),
  }))
}
