// The next turn of a pilot screw: the dial, what is expected after it, and the reading that follows.

import { isClockwise } from "../advising.js"
import { act } from "../entering.js"
import { el, key, told } from "../keys.js"
import { bandLine } from "../pictures/band.js"
import { dial, downToEighth, sizeWords } from "../pictures/dial.js"
import { say } from "../units.js"
import { nextAsk, showAsk } from "./asking.js"
import { backKey, backOutKey, goKey, hazard, line, paired, problems } from "./parts.js"

const SIGMAS = 2 // how far before its usual place a shut-off may act. Own estimate. [1]

// The reading that tells where the screw stands now; null where there is none.
function nowOf(view) {
  const { advice, step } = view
  const read = step.inputs.filter((one) => advice.feeds.includes(one.name) && typeof one.verdict?.value === "number")
  return read.at(-1) ?? step.inputs.filter((one) => one.tap === advice.tap && typeof one.verdict?.value === "number").at(-1) ?? null
}

// The dial with the advice.
export function turn(desk) {
  const { view, table, plan } = desk
  const { advice } = view
  if (advice === null || advice.advice === null || advice.advice.turn === 0) {
    const words = advice === null ? ["This step turns no screw."] : advice.lines
    return { title: "No turn", blocks: words.map((one) => line(one)), left: backOutKey(desk),
      right: goKey("To the step", () => desk.show("step")) }
  }
  const { advice: found, screw, valve, tap, waits } = advice
  const [isUp, size] = [found.turn > 0, downToEighth(found.turn)]
  const input = nowOf(view)
  const now = input?.verdict.value ?? null
  const share = size / Math.abs(found.turn)
  const after = now === null ? null : now + share * (found.middle - now)
  const acts = isUp && screw.trip ? `may trip from ${say(table, screw.trip[0] - SIGMAS * screw.trip[1], "pressure")} on`
    : ""
  const picture = dial({ table, size, isClockwise: isClockwise(plan, valve, isUp), verb: isUp ? "RAISE" : "LOWER", now,
    after,
    wait: "then wait, read", screw: valve, foot: [acts, `${say(table, found.rate, "pressure_per_turn")} here`] })
  const stop = screw.sees === "gauge" && screw.limit > 0 ? screw.limit : null
  const isBeyond = stop !== null && advice.target + screw.tolerance > stop // it is to act before: the wall is what counts
  const isRun = screw.step > 0 // raised until the shut-off acts: no reading to be held
  const target = isRun ? { low: null, high: Math.min(advice.target, stop ?? advice.target) } : isBeyond ? { low: null, high: stop }
    : { low: advice.target - screw.tolerance, high: advice.target + screw.tolerance }
  const band = bandLine({ table, kind: "pressure", unit: "", band: target, value: now, stop })
  const until = `Raised until it acts, never above ${say(table, stop ?? 0, "pressure")} at ${tap}.`
  const rest = isBeyond && !isRun ? [until, ...advice.lines.filter((one) => !one.startsWith("To be reached"))] : advice.lines
  return { title: `${isUp ? "Raise" : "Lower"} ${valve} by ${sizeWords(size)}`, blocks: [...problems(desk),
    ...view.step.hazards.slice(0, 1).map((one) => hazard(one.words)),
    el("div", { class: "turning" }, picture, band)],
  left: backOutKey(desk), middle: lessKey(desk, { size, isUp, why: rest }),
    right: waits.length > 0 ? goKey("To the step", () => desk.show("step"))
    : goKey(`Turned, read ${tap}`, () => done(desk, size, isUp), "after the turn") }
}

const lessKey = (desk, about) => key("Less, or why", () => desk.show("turned", about), { name: "less" })

async function done(desk, size, isUp) {
  const { table, book, view } = desk
  const given = { thing: `${view.advice.valve}.setting`, amount: { typed: countWords(size), unit: "turns", kind: "turns" } }
  if (!await desk.enter(() => act(table, book, view.step.id, isUp ? "raise" : "lower", given))) return
  const step = desk.view.step
  const feed = step.inputs.find((one) => view.advice.feeds.includes(one.name))
  desk.draft = { isTurned: false }
  const name = feed?.name ?? nextAsk(step)?.name
  if (name === undefined) desk.show("step")
  else showAsk(desk, name)
}

// Return how far it may have been turned where so much was advised: by tens of degrees too where that is little. [turn]
export const sizesBy = (size) => (size < 0.25 ? [1 / 36, 1 / 18, 1 / 12, 1 / 8, 1 / 4, 3 / 8]
  : [1, 2, 3, 4, 6, 8].map((part) => part / 8))

// Return a turn as it is kept: to a thousandth, never above what it was. size: [turn]
export const countWords = (size) => String(Math.floor(size * 1000 + 1e-6) / 1000)

// It was turned by another amount than advised.
export function turned(desk) {
  const { size, isUp, why } = desk.at
  const listed = [{ words: "Not turned", press: () => desk.show("turn") }, ...sizesBy(size).map((one) => ({ words: sizeWords(one),
    small: one > size ? "more than advised" : "", press: () => done(desk, one, isUp) }))]
  return { title: `How far was it ${isUp ? "raised" : "lowered"}?`,
    blocks: [told("due", `Advised: ${sizeWords(size)}.`), ...paired(listed), ...why.map((one) => line(one))],
    left: backKey(desk, "turn"), right: null }
}
