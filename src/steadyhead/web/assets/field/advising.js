// The next turn of each pilot screw of a plan: as services/advising.py, with the adviser of procedure/js.

import { advise, lacking } from "../procedure/advice.js"
import { missingBefore } from "../procedure/judge.js"
import { feeds } from "./acts.js"
import { events } from "./history.js"

const OFF = "not on this way"

// Return the table of a screw on its way to an aim. isLoaded: it was not brought to its lowest setting on this visit.
export function screwFor(advising, aim, isLoaded) {
  const found = advising.screws.find((one) => one.valve === aim.valve)
  const gaps = isLoaded ? found.gaps.filter(([play, lost]) => lost <= play) : found.gaps
  return { ...found, slack: isLoaded ? false : found.slack, gaps, target: aim.target, tolerance: aim.tolerance,
    step: aim.climb, trip: aim.trip ?? null }
}

// Return the advice for every screw, the one whose step comes next first.
// read: { plan, judged, entries, standing, clashes }: plan as data, judgement, entries of the run, those that stand.
export function adviseRun(read) {
  const advising = read.plan.advice
  if (advising === undefined || advising.screws.length === 0) return []
  const found = advising.screws.map((screw) => advised(read, screw.valve))
  return [...found.filter((one) => one.isNow), ...found.filter((one) => !one.isNow)]
}

function advised(read, valve) {
  const { plan, judged } = read
  const states = Object.fromEntries(judged.steps.map((step) => [step.id, step.state]))
  const aims = plan.advice.aims.filter((aim) => aim.valve === valve)
  const onWay = aims.filter((aim) => states[aim.step] !== OFF)
  const isLoaded = !fromRest(plan, valve, states)
  const way = isClockwise(plan, valve, true)
  const told = (aim, screw, advice, isNow, waits, fed) => ({ valve, raises: way, step: aim.step, tap: aim.tap, target: aim.target,
    screw, advice, isNow, waits, feeds: fed })
  if (onWay.length === 0) return told(aims[0], screwFor(plan.advice, aims[0], isLoaded), null, false, [], [])
  const begun = judged.steps.filter((step) => step.entries.length > 0 && step.state === "open").map((step) => step.id)
  const ready = onWay.filter((aim) => judged.next.includes(aim.step) || begun.includes(aim.step))
  const ahead = onWay.filter((aim) => ["open", "waits", "refused"].includes(states[aim.step]))
  const aim = ready[0] ?? ahead[0] ?? onWay.at(-1)
  const proofs = Object.fromEntries(judged.proofs.map((proof) => [proof.name, proof.state]))
  const bare = missingBefore(plan, read.entries, aim.step, read.clashes)
  const waits = [...new Set([...lacking(plan, states, proofs, aim.step), ...bare])]
  const screw = screwFor(plan.advice, aim, isLoaded)
  const happened = events(plan.advice, aim, screw, read.standing, plan)
  const others = plan.advice.screws.filter((one) => one.valve !== valve)
    .reduce((all, one) => all + spent(read, one.valve, states), 0)
  const advice = advise(screw, happened, { others, waits: waits.length > 0 })
  return told(aim, screw, advice, ready.length > 0 && waits.length === 0, waits, feeds(aim.step))
}

// The chances of a closure before its time that the turns of a screw took in this job.
function spent(read, valve, states) {
  const { plan } = read
  const onWay = plan.advice.aims.filter((aim) => aim.valve === valve && states[aim.step] !== OFF)
  const live = onWay.filter((aim) => (aim.trip ?? null) !== null)
  const aim = live[0] ?? onWay[0]
  if (aim === undefined) return 0
  const screw = screwFor(plan.advice, aim, !fromRest(plan, valve, states))
  return advise(screw, events(plan.advice, aim, screw, read.standing, plan)).spent
}

// Whether the screw was brought to its rest position on this visit: C1 of a pilot to be set.
function fromRest(plan, valve, states) {
  return plan.nodes.some((node) => node.id.startsWith(`C1S.${valve}`) && states[node.id] !== OFF)
}

export const isAimed = (plan, step) => (plan.advice?.aims ?? []).some((aim) => aim.step === step)

// Return whether a screw is turned clockwise, by what the plan says of that very valve; null where it does not say.
export function isClockwise(plan, valve, isUp) {
  for (const node of plan.nodes) {
    for (const { params } of [...node.do, ...node.back_out.map((one) => one.do), ...node.otherwise.map((one) => one.then)]) {
      const short = ["rv", "so"].find((one) => params[one] === valve)
      if (short === undefined) continue
      const [up, down] = [params[`raise_${short}`], params[`lower_${short}`]]
      if (up === "@screw.clockwise" || down === "@screw.anticlockwise") return isUp
      if (up === "@screw.anticlockwise" || down === "@screw.clockwise") return !isUp
    }
  }
  return null
}
