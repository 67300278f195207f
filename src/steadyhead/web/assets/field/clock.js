// The device's clock: what it shows, how far it is from the server's, and how well that is known. Nothing here asks for
// the time: whoever calls gives what the clock shows (`wall`, Date.now()) and what ran (`ran`, performance.now()), in ms.

// How well a device's clock is known that nothing has been compared with: services/entering/making.py. [s]
export const UNCOMPARED = 5
// How well a time is known that a person gives to the minute, afterwards: services/entering/making.py. [s]
export const TYPED_WITHIN = 60
const LEAST_WITHIN = 0.1 // of a comparison: what a server's own clock may be off while it answers. Own estimate. [s]
const DRIFT = 5e-5 // how fast two clocks part: 4 s a day. Own estimate. [1]
const JUMP = 2000 // clock and running time part by more than this: the clock was set, or the device slept. [ms]
const SLEPT = 300_000 // a gap from which on the person is asked whether the clock is right. Own estimate. [ms]

const whole = (value, places) => Number(value.toFixed(places))

// Return a clock with nothing compared yet, or as it was kept by `kept`.
// offset: to be added to what it shows [s]; within: half width, at the moment `at` it was compared [ms], 0: never.
export function newClock(wall, ran, kept = null) {
  const before = kept ?? { offset: 0, within: UNCOMPARED, at: 0, mono: 0, wall }
  const shown = kept === null ? 0 : wall - before.wall
  const gap = shown <= -SLEPT ? whole(shown / 1000, 3) : 0 // set back while the page was closed: the person is asked
  return { offset: before.offset, within: before.within, at: before.at,
    mono: before.mono + Math.max(shown, 0) / 1000 + 0.001, wall, ran, gap }
}

// Return what of a clock is kept over a reload.
export const keptOf = ({ offset, within, at, mono, wall }) => ({ offset, within, at, mono, wall })

// Let a clock go on to now. hidden: the page was not to be seen since it was looked at last.
//
// While the page is seen, a clock that parts from the running time was set: the offset takes that up, and corrected time
// goes on. While it was not, the device may have slept, which stops the running time of many: the clock is believed, and
// `gap` tells by how much they parted, so that the page can ask whether the clock is right. [s]
export function goOn(clock, wall, ran, hidden = false) {
  const [shown, gone] = [wall - clock.wall, Math.max(ran - clock.ran, 0)]
  const apart = shown - gone
  if (Math.abs(apart) <= JUMP) return { ...clock, mono: clock.mono + gone / 1000, wall, ran }
  if (!hidden) return { ...clock, offset: clock.offset - apart / 1000, mono: clock.mono + gone / 1000, wall, ran }
  const gap = Math.abs(apart) >= SLEPT ? whole(apart / 1000, 3) : clock.gap
  return { ...clock, mono: clock.mono + Math.max(shown, gone) / 1000, wall, ran, gap }
}

// The person says that the clock is right.
export const saidRight = (clock) => ({ ...clock, gap: 0 })

// Return the half width within which the offset is known now. [s]
export function withinNow({ within, at, wall }) {
  return at === 0 ? within : within + DRIFT * Math.abs(wall - at) / 1000
}

// Return a clock compared with the server's: asked and answered are what the device's own clock showed [ms], server is
// what the server wrote meanwhile [ms since 1970]. A comparison less sharp than what is known is left aside.
export function compared(clock, asked, answered, server) {
  if (!(answered >= asked) || !Number.isFinite(server)) return clock
  const within = (answered - asked) / 2000 + LEAST_WITHIN
  const offset = (server - (asked + answered) / 2) / 1000
  const contradicts = clock.at !== 0 && Math.abs(offset - clock.offset) > within + withinNow(clock)
  if (clock.at !== 0 && within >= withinNow(clock) && !contradicts) return clock
  return { ...clock, offset, within, at: answered }
}

// Return a moment of the device as ISO 8601 with its offset from UTC. zone: minutes east of UTC.
export function written(wall, zone = -new Date(wall).getTimezoneOffset()) {
  const text = new Date(wall + zone * 60_000).toISOString().slice(0, -1)
  const [hours, minutes] = [Math.floor(Math.abs(zone) / 60), Math.abs(zone) % 60]
  const two = (number) => String(number).padStart(2, "0")
  return `${text}${zone < 0 ? "-" : "+"}${two(hours)}:${two(minutes)}`
}

// Return the fields of an entry that say when it was made. `goOn` first. at: what a person gave afterwards, ISO 8601
// with its offset; then `typed_at` says when it was typed.
export function stamp(clock, at = "", zone = undefined) {
  const now = written(clock.wall, zone)
  const fields = { t_device: now, t_mono: whole(clock.mono, 3), clock_offset: whole(clock.offset, 3),
    clock_within: whole(withinNow(clock), 3) }
  if (!at) return fields
  const toMinute = !/T\d\d:\d\d:(?!00(?:[.,]0*)?(?:Z|[+-]))\d\d/.test(at)
  return { ...fields, t_device: at, t_mono: 0, clock_offset: 0, clock_within: toMinute ? TYPED_WITHIN : UNCOMPARED,
    typed_at: now }
}

// Return the true time by what is known. [s since 1970-01-01 UTC]
export const timeOf = (clock) => clock.wall / 1000 + clock.offset
