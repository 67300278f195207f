// Whether a night lies between the last entry of a visit and now.

import { timeOf } from "../clock.js"
import { micros, zoneMinutes } from "../../procedure/record.js"

const DAY = 86400

const dayIn = (seconds, zone) => Math.floor((seconds + zone * 60) / DAY)

// The day of an entry, as clocks on site had it. [days since 1970-01-01]
export const dayOf = (entry) => dayIn(micros(entry) / 1e6, zoneMinutes(entry.t_device))

// The day now, where the last entry was made. [days since 1970-01-01]
export const todayOf = (desk) => dayIn(timeOf(desk.now()), zoneMinutes(desk.book.standing.at(-1).t_device))

// Whether the last entry was made on an earlier day, and nobody has looked since.
export function isMorning(desk) {
  const last = desk.view?.book.standing.at(-1)
  if (last === undefined || !desk.way.isThrough) return false
  const today = todayOf(desk)
  return dayOf(last) < today && desk.way.morning !== today
}
