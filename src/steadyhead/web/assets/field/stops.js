// Stops of a visit, of every device on it: which stand, who found them and when. No DOM, no clock.

import { doubts, unsure } from "../procedure/agreeing.js"
import { micros } from "../procedure/record.js"
import { clockWords } from "./saying.js"

const SEEN = ["reading", "observation", "choice", "photo"]
// A note that begins so is a Stop by itself: gas alarm, somebody hurt. Spoken into a device it may have no colon.
const SAID = /^(?:[Ss][Tt][Oo][Pp](?:[:.!]\s*|\s*$)|STOP\s+)/
const AGREED = /\bagreed\b/i
const DID_NOT = /\b(?:nobody|not|never)\s+agreed\b/i
const AFTER = /^After the Stop of (\S+) no\. (\d+)\b/ // what came of a Stop names it: no clock of two devices decides
export const NOBODY = "Nobody agreed to go on."

const isSaid = (entry) => entry.kind === "note" && SAID.test(String(entry.payload.text ?? ""))
const isRecord = (entry) => entry.kind === "note" && !isSaid(entry) && !String(entry.payload.text ?? "").endsWith(NOBODY)

// Whether one standing entry came after another. The numbers of a device tell that of its own, whatever its clock did.
const isAfter = (one, other) => (one.entry.device === other.entry.device ? one.entry.device_seq > other.entry.device_seq
  : one.at > other.at)

const placed = (standing, step) => standing.map((entry, at) => ({ entry, at })).filter(({ entry }) => entry.node === step)

// Whether what lies outside at a step was recorded: a note there, after everything that was read there, that somebody
// agreed to go on.
export function isRecordedAt(standing, step) {
  const mine = placed(standing, step)
  const read = mine.filter(({ entry }) => SEEN.includes(entry.kind))
  return mine.some((one) => isRecord(one.entry) && read.every((other) => isAfter(one, other)))
}

// Whether an entry is what came of a Stop that was said: it names that one, or it names none, says who agreed and came after
// it, by another device as far as both clocks tell. Any other note lifts none.
function answers(one, own, doubt) {
  if (!isRecord(one.entry)) return false
  const text = String(one.entry.payload.text ?? "")
  const named = AFTER.exec(text)
  const isOther = one.entry.device !== own.entry.device
  if (named === null) {
    const isAgreed = AGREED.test(text) && !DID_NOT.test(text)
    return isAgreed && isAfter(one, own) && !(isOther && unsure(timed(own.entry), timed(one.entry), doubt))
  }
  return named[1] === own.entry.device && Number(named[2]) === own.entry.device_seq
}

const clocked = (entry) => ({ clock_within: 0, ...entry, micros: entry.micros ?? micros(entry) })
const timed = (entry) => ({ entry: clocked(entry), time: clocked(entry).micros / 1e6 })

// The words by which an entry names the Stop it is about.
export const afterWords = (one) => `After the Stop of ${one.device} no. ${one.number}`

// The words of a Stop that was said.
export const saidWords = (text) => String(text).replace(SAID, "")

// Return the Stops that stand: { step, words, who, when, device, number, isSaid, entry }, the newest last.
// steps: [{ id, title }] that are stopped by what was read or answered at them.
export function stopsOf(standing, steps) {
  const told = (entry, words, said) => ({ step: entry.node, words, who: entry.who, when: clockWords(entry), device: entry.device,
    number: entry.device_seq, isSaid: said, entry: entry.id, at: standing.indexOf(entry) })
  const stopped = steps.filter(({ id }) => !isRecordedAt(standing, id)).flatMap(({ id, title }) => {
    const last = standing.findLast((entry) => entry.node === id && SEEN.includes(entry.kind))
    return last === undefined ? [] : [told(last, `${id} ${title}`, false)]
  })
  const stops = standing.filter(isSaid)
  const doubt = stops.length > 0 ? doubts(standing.map(clocked)) : null
  const said = stops.filter((entry) => {
    const mine = placed(standing, entry.node)
    const own = mine.find((one) => one.entry === entry)
    return !mine.some((one) => answers(one, own, doubt))
  }).map((entry) => told(entry, saidWords(entry.payload.text), true))
  return [...stopped, ...said].sort((one, other) => one.at - other.at)
}

// Return the Stops that take a device from its work: those that were said, and those another device came to at a step that
// is not shown.
export const heededAll = (stops, device, step) =>
  stops.filter((one) => one.isSaid || (one.device !== device && one.step !== step))

// The newest of them; null for none.
export const heeded = (stops, device, step) => heededAll(stops, device, step).at(-1) ?? null
