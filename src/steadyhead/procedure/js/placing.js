// How things stand, and what is not as it is to be left: the same as placing.py.

import { doubts, unsure } from "./agreeing.js"
import { folded, lowWords, minded, plainly, standsShut, wasOpened } from "./naming.js"
import { compare, own } from "./record.js"
import { remark } from "./remarks.js"
import { plannedItem } from "./restoring.js"
import { isRefused } from "./steps.js"
import { IN_SERVICE, owner, shutOffs, valvesOf } from "./touching.js"
import { MOVES, PIECES, SAYS_WHICH, SEALS, STANDS, STAYS, STROKES, TAKEN, TOUCHES, VALVE_MOVED } from "./words.js"

const trimmed = (text) => text.replace(/^[ \t\r\n]+|[ \t\r\n]+$/g, "")

// How a thing stands by an act or a position; empty where it says nothing of that.
export function said(row, left, valves) {
  if (row.entry.kind === "position") return trimmed(row.text("is")) || "not said"
  if (own(STANDS, row.do) !== null) return STANDS[row.do]
  if (own(SEALS, row.do) !== null) return left.has(sealed(row, valves)) ? SEALS[row.do] : ""
  if (valves.has(row.thing)) return VALVE_MOVED.includes(row.do) ? `not said (${row.do})` : ""
  if (isPiece(row.thing, left, valves)) return own(PIECES, row.do, "")
  const byHand = left.has(row.thing) && !valves.has(owner(row.thing))
  if (byHand && own(TAKEN, row.do) !== null) return TAKEN[row.do]
  const moved = (MOVES.includes(row.do) || TOUCHES.includes(row.do)) && !STAYS.includes(row.do)
  return byHand && moved ? `not said (${row.do})` : ""
}

// Whether a thing is a piece of a part that is worked by hand, and has no place of its own.
const isPiece = (thing, left, valves) => !left.has(thing) && left.has(owner(thing)) && !valves.has(owner(thing))

// What is sealed: the setting of a valve where only the valve is named.
function sealed({ thing }, valves) {
  if (valves.has(thing)) return `${thing}.setting`
  return valves.has(owner(thing)) ? thing : ""
}

// The shut-offs which an act means that names none: those its step is about, for a stroke else all.
export function meant({ node: nodes, procedure }, row) {
  const node = nodes.get(row.entry.node)
  if (node === undefined || !VALVE_MOVED.includes(row.do) || !MOVES.includes(row.do)) return []
  const left = minded(procedure).left.map((one) => one.thing)
  const named = ["touches", "depends_on", "proves", "opens", "restores"].flatMap((key) => node[key].map(owner))
  const every = shutOffs(procedure).filter((name) => left.includes(name))
  const mine = every.filter((name) => named.includes(name))
  return (mine.length > 0 || !STROKES.includes(row.do) ? mine : every).sort(compare)
}

// Whether what a shield speaks of may be shut no longer after this.
export function moves(row, shield, left, valves) {
  const stands = shield.moved.includes(row.thing) ? said(row, left, valves) : ""
  if (stands === "" || ["shut", ...(shield.still ?? []).map(plainly)].includes(plainly(stands))) return false
  return row.entry.kind !== "position" || !standsShut(stands) || wasOpened(stands)
}

// The things of which it was last said that they stand otherwise than they are to be left.
export function misplaced(record, steps, rests, proofs) {
  const { names, procedure } = record
  const mind = minded(procedure)
  const left = new Map(mind.left.map((one) => [one.thing, one]))
  const places = { left, valves: valvesOf(procedure), guards: mind.guards ?? [], stops: mind.stops ?? [], steps, rests }
  places.stood = new Set(proofs.filter((proof) => proof.state === "valid").map((proof) => proof.name))
  const [last, doubt] = [new Map(), doubts(record.rows.map((row) => row.entry))]
  const isLeft = ({ one, stands }) => one.words.map(plainly).includes(plainly(stands))
  const told = (key, now) => { // the last word, but not that it is in place where the clocks do not tell
    const old = last.get(key)
    const open = old !== undefined && !isLeft(old) && unsure(old.row, now.row, doubt)
    if (!(open && isLeft(now))) last.set(key, now)
  }
  for (const row of record.rows) {
    for (const thing of row.thing ? [] : meant(record, row)) told(thing, { one: left.get(thing), row, stands: `not said (${row.do})` })
    const [stands, written] = [said(row, left, places.valves), row.text("thing")]
    if (!stands || !row.thing || !(names.isExact(written) || names.isOfStation(written))) continue
    if (own(SEALS, row.do) !== null) {
      const one = left.get(sealed(row, places.valves))
      if (plannedItem(record, steps, row) === "") told(one.thing, { one, row, stands })
      continue
    }
    const piece = own(PIECES, row.do) !== null && isPiece(row.thing, left, places.valves)
    const one = left.get(row.thing) ?? (row.entry.kind !== "position" && !piece ? null
      : { thing: row.thing, words: piece ? [...IN_SERVICE, "fitted"] : IN_SERVICE, settled: mind.looked ?? [], never: false })
    if (one !== null) told(names.isExact(written) ? row.thing : folded(written), { one, row, stands })
  }
  return [...last.values()].flatMap(({ one, row, stands }) => {
    if (isUnclear(one, row, steps)) {
      if (isSaidSince(row, [...last.values()], names, places)) return []
      return [remark("RUN-57", row.thing, [row.entry.id], { is: stands, asked: one.words[0] })]
    }
    if (isLeft({ one, stands }) || isSettled(one, row, places)) return []
    return [remark("RUN-52", row.thing || one.thing, [row.entry.id], { is: stands, asked: one.words[0] })]
  })
}

// Whether a position leaves open how a thing stands, at no step that works it itself.
function isUnclear(one, row, steps) {
  const words = row.entry.kind === "position" ? lowWords(row.text("is")) : []
  const step = steps.get(row.entry.node)
  const works = step?.way === "on" && step.node.touches.some((name) => owner(name) === row.thing)
  return words.some((word) => (one.unclear ?? []).includes(word)) && !words.some((word) => SAYS_WHICH.includes(word)) && !works
}

// Whether it was said since how a thing, or its cock, stands, or a proof of it shows it.
function isSaidSince(row, later, names, { steps, stood }) {
  const tells = ({ row: one }) => {
    const written = one.text("thing")
    const whole = one.thing === row.thing && names.isExact(written)
    const cock = lowWords(written).includes("cock") && [one.thing, owner(one.thing)].includes(row.thing)
    return one.at > row.at && (whole || cock)
  }
  if (later.some(tells)) return true
  return [...steps.values()].some((step) => step.base > row.at
    && step.node.proves.some((name) => stood.has(name) && owner(name) === row.thing))
}

function isSettled(one, row, { steps, rests, stood, valves, guards, stops }) {
  const ways = stops.length > 0 && steps.get(row.entry.node)?.way === "on" ? ["on", "waits"] : ["on"]
  const shown = one.never === true || (valves.has(one.thing) && !guards.includes(one.thing)) || valves.has(owner(one.thing))
  return [...steps].some(([id, step]) => {
    if (one.settled.includes(id) && ways.includes(step.way) && step.first_done === null) return true
    if (step.way !== "on" || step.first_done === null || step.lacks.length > 0 || isRefused(step)) return false
    const again = valves.has(one.thing) && row.entry.node === id
    if ((one.settled.includes(id) || step.node.restores.includes(one.thing)) && step.latest > row.at && !again) return true
    const shows = [...rests.get(id)].some((thing) => thing === one.thing || owner(thing) === one.thing)
    return shown && shows && step.node.proves.some((name) => stood.has(name)) && step.base > row.at
  })
}
