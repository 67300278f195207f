// A reading as found held against what was left last time: like with like only. Pure.

import { ownUnit, say, unitOf } from "./units.js"

const LIKE = { duty: /^(served|trickle)$/, lockup: /^lockup/, trip: /^trip_mid$/, crack: /^relief_crack/ }
const SET = /_set(?=[_.]|$)/ // a state after the screw was set in this visit
const APART = 0.1 // flows that differ by more than this share are told as two. Own choice. [1]

// Return what was left last that is of one kind with a reading. left: rows of the pack; state: of the reading; tap: where it
// was read; step: its step, which may name the part.
export function likeOf(left, state, tap, step) {
  if (SET.test(state)) return []
  const like = left.filter((one) => Number.isFinite(one.value_si) && one.tap === tap && LIKE[whatOf(one)]?.test(state))
  const named = like.filter((one) => parted(step).includes(partOf(one)) || state.endsWith(`.${partOf(one)}`))
  return named.length > 0 ? named : like
}

const whatOf = ({ key }) => key.split("@")[0].split(".").at(-1)
const partOf = ({ key }) => key.split("@")[0].split(".").slice(0, -1).join(".")
const parted = (step) => step.split("@")[0].split(".").slice(1)

// Return in words by how much a reading lies off what was left. one: row of the pack; read: { label, value, half, flow }, SI;
// half: what its gauge may be off.
export function offWords(table, one, { label, value, half, flow }) {
  const off = value - one.value_si
  const was = `${one.what} ${one.words ?? one.value}${one.on ? `, left ${one.on}` : ""}`
  const today = one.stands ? ` Today: ${one.stands}.` : ""
  if (Math.abs(off) <= Math.SQRT2 * half) {
    return `${label}: as it was left, as far as the gauges tell (${was}).${today}`
  }
  const size = isShifted(table) ? "" : `${say(table, Math.abs(off), "pressure")} `
  return `${label}: ${size}${off > 0 ? "above" : "below"} what was left (${was}).${flowWords(table, one.flow_si, flow)}${today}`
}

// Two flows that differ account for some of it.
function flowWords(table, then, now) {
  if (!Number.isFinite(then) || !Number.isFinite(now) || Math.abs(now - then) <= APART * Math.max(then, now)) return ""
  return ` Then at ${say(table, then, "flow")}, now at ${say(table, now, "flow")}: some of it is the flow.`
}

// A unit that does not begin at nought tells no difference.
const isShifted = (table) => (table.shown ?? [{}]).some((set) =>
  (unitOf(table, "pressure", set.pressure ?? ownUnit(table, "pressure"))?.offset ?? 0) !== 0)
