// Words that answer a step, to be chosen: by what is asked, from what is known here; all others are typed on wish.

import { stamp } from "../clock.js"
import { datedWords } from "../saying.js"

const CAME = ["nothing came", "a little sand or grit", "rust", "stones or pieces"]
const PICTURED = "as on the photos of today"
const AHEAD = [1, 2, 4, 8] // hours until when something holds. Own choice.
const USUAL = ["none", "seen, in order"]
// By the name of what is asked; `step name` where the same name asks for something else at a step.
const FIXED = { debris: CAME, "B4 found": ["nothing", "a little sand or grit", "rust", "pieces of jointing"],
  "R9 found": ["contact and cable in order", "water in the box", "the contact does not follow", "other words came there"],
  logged: ["in the log of the place", "nothing was open"], permits: ["on the permit sheets, photographed"],
  fire_tested: ["as on the record of the fire service", "not known"], positions: [PICTURED], height: [PICTURED], seals: ["no seals here", PICTURED], open: ["none"], touched: ["nothing"],
  curve: ["run today"], lost: ["nobody, as far as told", "part of the zone", "the whole zone"],
  readings: ["none known"], last_touched: ["nothing, as far as known", "not known"], cause: ["not known yet"],
  code: ["none fits"], lessons: ["none"], timeline: ["in the entries of this visit"],
  impact: ["nobody lost water", "pressure was low", "water was lost"], outage: ["none"],
  "R6B what": ["T4 stays up with IV2 shut", "T3 goes on rising"],
  "R6C what": ["T3 goes on rising", "T3 swings", "it does not follow its screw"] }
const NAMED = ["operator", "by", "who", "accepted"] // a person is asked for
const POINT = /: ([\d.,]+ \S+)\.$/ // of a line that sets a flow
const TEXT = /: ([A-Z0-9][A-Z0-9 .,/-]{5,}[A-Z0-9])\.?$/ // of a line that tells what the desk must see

// Return the words offered for an input of the step that is shown, the likeliest first.
export function offered(desk, input) {
  const { step } = desk.view
  const given = FIXED[`${step.id.split(".")[0]} ${input.name}`] ?? FIXED[input.name] ?? known(desk, step, input.name)
  return [...new Set([...given, ...before(desk, input.name)])]
}

// What is known here of what is asked.
function known(desk, step, name) {
  const { view, pack } = desk
  const { time, ahead, day } = timesOf(desk)
  if (NAMED.includes(name)) return [...new Set([...view.people, ...(pack.people ?? []).map((one) => one.name ?? one)])]
  if (name === "told") return [`all of them, at ${time}`]
  if (name === "until") return ahead
  if (name === "day") return [day]
  if (name === "words") return [...step.do.flatMap((one) => TEXT.exec(one)?.[1] ?? []), "nothing came"]
  if (name === "swing") return ["at none of them", ...step.do.flatMap((one) => POINT.exec(one)?.[1] ?? []).map((flow) => `at ${flow}`)]
  if (name === "stale") return [view.proofs.filter((one) => one.state === "stale").map((one) => one.words).join(", ") || "none"]
  if (name === "gauges") return gaugesOf(desk)
  return USUAL
}

// The day and the time as the clock of this device has them, and the next hours, to the half hour.
function timesOf(desk) {
  const now = stamp(desk.now()).t_device
  const minutes = Number(now.slice(11, 13)) * 60 + Number(now.slice(14, 16))
  const at = (hours) => {
    const then = Math.ceil((minutes + hours * 60) / 30) * 30
    const words = `${String(Math.floor(then / 60) % 24).padStart(2, "0")}:${String(then % 60).padStart(2, "0")}`
    return then < 1440 ? `until ${words}` : `until ${words} tomorrow`
  }
  return { time: now.slice(11, 16), ahead: AHEAD.map(at), day: now.slice(0, 10) }
}

// The gauges described here with their due dates, all at once: each was held against its label.
function gaugesOf({ view }) {
  const all = Object.values(view.instruments).filter((one) => (one.quantity || "pressure") === "pressure" && one.due)
  return all.length > 0 ? [all.map((one) => `${one.name} due ${datedWords(one.due)}`).join("; ")] : [PICTURED]
}

// What was answered to the same question in this visit.
const before = ({ view }, name) => view.book.standing
  .filter((one) => one.kind === "observation" && one.payload.input === name && typeof one.payload.value === "string")
  .map((one) => one.payload.value).slice(-2)
