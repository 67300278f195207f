// Whether a night lies between the last entry of a visit and now.

import { timeOf } from "../clock.js"
import { sentences } from "../keys.js"
import { micros, zoneMinutes } from "../../procedure/record.js"

const DAY = 86400
const STANDS = /\b(shut|open|opened|crack|cracked|throttle|trickle|locked|runs|running|turns)\b/i

const TAP = /^T\d/ // what is read at a tap says nothing of the cock of its gauge

const dayIn = (seconds, zone) => Math.floor((seconds + zone * 60) / DAY)

// The day of an entry, as clocks on site had it. [days since 1970-01-01]
export const dayOf = (entry) => dayIn(micros(entry) / 1e6, zoneMinutes(entry.t_device))

// The day now, where the last entry was made. [days since 1970-01-01]
export const todayOf = (desk) => dayIn(timeOf(desk.now()), zoneMinutes(desk.book.standing.at(-1).t_device))

// Whether the last entry was made on an earlier day, and nobody has looked since.
export const isMorning = (desk) => Boolean(desk.way.isThrough) && liesBetween(desk)

// The same, also of a visit that this device takes over on a later day: somebody worked at it on an earlier one.
export function liesBetween(desk) {
  const { book } = desk.view ?? {}
  if (!book?.standing.some((one) => book.node.has(one.node))) return false
  const today = todayOf(desk)
  return dayOf(book.standing.at(-1)) < today && desk.way.morning !== today
}

// What the last step that was worked on says of a valve or cock, where nobody noted it by itself: { words, entry }; null for
// none. told(message): a message of the plan in words.
export function setBy({ standing, node }, part, told) {
  const name = new RegExp(`(?<![\\p{L}\\p{N}.])${part.replace(/[\\^$.*+?()[\]{}|]/g, "\\$&")}(?![\\p{L}\\p{N}])`, "u")
  for (const entry of [...standing].reverse()) {
    const words = (node.get(entry.node)?.do ?? []).flatMap((one) => sentences(told(one)))
      .findLast((one) => name.test(one) && STANDS.test(one) && (!TAP.test(part) || /\bcocks?\b/i.test(one)))
    if (words !== undefined) return { words, entry }
  }
  return null
}
