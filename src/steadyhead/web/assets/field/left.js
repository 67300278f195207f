// What the proofs of a visit showed, as the certificate would tell it as left: duty, trip, lock-up with their units.

import { lay } from "../procedure/record.js"
import { look } from "../procedure/steps.js"
import { inWords } from "./units.js"

const PROVED = ["valid", "accepted"]
const DUTY = ["duty", "trickle"]
const HELD = ["last", "half", "first"]
const TRIPS = ["trip", "acts", "as_found"]
const SHUTS = ["F1", "F2", "F2R", "F3", "IN1", "IN3"]

// A proof's part and aspect: `SO.trip@a` is the trip of SO.
export function partOf(proof) {
  const [name] = proof.split("@")
  const at = name.lastIndexOf(".")
  return [name.slice(0, Math.max(at, 0)), name.slice(at + 1)]
}

// Return a row for each figure that stands proved: { key, part, what, value, words, tap, flow }. book: the entries beside
// their plan; judged: the judgement of them; table: units of the pack.
export function figuresLeft(plan, book, judged, table) {
  const steps = [...look(lay(plan, book.standing)).values()].filter((step) => step.way === "on")
  const state = new Map(judged.proofs.map((one) => [one.name, one.state]))
  const proving = (aspect) => steps.flatMap((step) => step.node.proves.map((name) => ({ step, name, of: partOf(name) })))
    .filter((one) => one.of[1] === aspect)
  const stands = (name) => PROVED.includes(state.get(name))
  const row = (part, what, noted) => ({ key: `${part}.${what}`, part, what, value: noted.value, tap: noted.tap, flow: noted.flow,
    words: inWords(table, noted.value, noted.kind) })
  const trips = [...new Set(TRIPS.flatMap((aspect) => proving(aspect)).map((one) => one.of[0]))]
    .flatMap((part) => tripOf(part, steps, proving, state).map((noted) => row(part, "trip", noted)))
  const lifts = proving("crack").flatMap(({ step, name, of }) => {
    const noted = last(step, /^crack(\.\d+)?$/)
    return noted && stands(name) ? [row(of[0], "crack", noted)] : []
  })
  const duties = latest(proving("duty")).flatMap(({ step, name, of }) => {
    const noted = first(step, DUTY)
    return noted && stands(name) ? [row(of[0], "duty", { ...noted, flow: noted.flow ?? notedAt(step, "flow")?.value })] : []
  })
  const lockups = proving("lockup").flatMap(({ step, name, of }) => {
    const noted = step.node.inputs.some((one) => one.name === "last") ? first(step, HELD) : null
    return noted && stands(name) ? [row(of[0], "lockup", noted)] : []
  })
  return [...trips, ...lifts, ...duties, ...lockups]
}

// What counts for an input of a step; null where nothing was noted.
function notedAt(step, name) {
  const pick = step.chosen.get(name)
  if (pick === undefined || typeof pick.value !== "number") return null
  const asked = step.node.inputs.find((one) => one.name === name)
  const payload = pick.rows.at(-1)?.entry.payload ?? {}
  return { value: pick.value, kind: asked.quantity, tap: payload.tap || asked.tap || "", flow: payload.flow }
}

const first = (step, names) => names.map((name) => notedAt(step, name)).find((one) => one !== null) ?? null

// The last of several runs: `mid`, `mid.2`, `mid.3`.
function last(step, pattern) {
  const names = step.node.inputs.map((one) => one.name).filter((name) => pattern.test(name))
  return names.map((name) => notedAt(step, name)).filter((one) => one !== null).at(-1) ?? null
}

// The middle of a run, at the tap its act was read at.
function middle(step, name) {
  const noted = notedAt(step, name)
  const act = step.node.inputs.find((one) => one.name === name.replace("mid", "act"))
  return noted === null ? null : { ...noted, tap: noted.tap || notedAt(step, act?.name)?.tap || act?.tap || "", flow: null }
}

// Of several steps that prove one thing, the one gone through last.
function latest(listed) {
  const found = new Map()
  for (const one of listed) {
    const there = found.get(one.of[0])
    if (there === undefined || one.step.latest > there.step.latest) found.set(one.of[0], one)
  }
  return [...found.values()]
}

// The middle of the last rising run of a shut-off, where its proof stands: of three runs, else of one, else as found.
function tripOf(part, steps, proving, state) {
  const asked = TRIPS.flatMap((aspect) => proving(aspect)).filter((one) => one.of[0] === part)
    .find((one) => !["", "not on this way"].includes(state.get(one.name) ?? ""))
  if (asked === undefined || !PROVED.includes(state.get(asked.name))) return []
  const closes = (id) => id.endsWith(`.${part}`) && SHUTS.includes(id.split(".")[0].split("@")[0])
  const mine = steps.filter((step) => closes(step.node.id) || step.node.proves.some((name) => partOf(name)[0] === part
    && TRIPS.includes(partOf(name)[1])))
  const runs = mine.flatMap((step) => step.node.inputs.filter((one) => /^mid(\.\d+)?$/.test(one.name))
    .map((one) => ({ number: Number(one.name.split(".")[1] ?? 1), noted: middle(step, one.name) })))
    .filter((one) => one.noted !== null)
  const most = Math.max(0, ...runs.map((one) => one.number))
  const found = runs.find((one) => one.number === most)
  return found === undefined ? [] : [found.noted]
}
