// What falls with an entry, told before it is made: proofs that go stale, things put out of action, what is amiss then.

import { Refused } from "../entering.js"
import { made } from "../making.js"
import { told } from "../keys.js"
import { timeOf } from "../clock.js"
import { meant, see } from "../view.js"
import { againAt, backOutKey, goKey, inPlainWords, leaveKey, line, plainly, problems } from "./parts.js"

const TRIAL = "trial" // device of entries that are only tried

// Return what drafts would mean, as view.js tells it of entries that were made: nothing is kept.
export function wouldMean(desk, drafts) {
  const clock = desk.now()
  const trial = made(drafts, { run: desk.pack.run, who: desk.who || TRIAL, clock, last: 0, device: TRIAL })
  const options = { step: desk.step, server: desk.server ?? null }
  const after = see(desk.pack, desk.plan, [...desk.book.forms, ...trial], timeOf(clock), options)
  return { ...meant(desk.view, after, trial.map((one) => one.id)), after }
}

// Before an entry is made. at: { make, words, then, thenAt, from, fromAt }.
export function falls(desk) {
  const { at } = desk
  const back = () => desk.show(at.from, at.fromAt)
  const blocks = blocksOf(desk, at)
  const enter = async () => { if (await desk.enter(at.make)) desk.show(at.then ?? "step", at.thenAt) }
  const isLoss = blocks.some((one) => one.classList.contains("falls"))
  return { title: `${at.words}: ${isLoss ? "this falls with it" : "nothing falls with it"}`,
    blocks: [...problems(desk), ...blocks], left: backOutKey(desk), middle: leaveKey(back),
    right: blocks.some((one) => one.classList.contains("refused")) ? null : goKey("Enter it", enter, "as it was done") }
}

function blocksOf(desk, at) {
  let found = null
  try {
    found = wouldMean(desk, at.make())
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem
    return problem.problems.map((one) => marked(told("struck", `${one.problem} ${one.remedy}`), "refused"))
  }
  const fallen = found.proofs.filter((one) => one.before === "valid" || one.before === "accepted")
  const risen = found.proofs.filter((one) => one.now === "valid")
  const lost = fallen.map((one) => marked(told("slipped", `${plainly(one)}: ${stateWords(one.now)}`,
    againWords(desk, found.after, one)), "falls"))
  const out = found.items.map((one) => marked(told(one.state === "open" ? "slipped" : "due",
    `${plainly(one)}: ${one.state === "open" ? "to be put back before the end." : `${one.state}.`}`),
  one.state === "open" ? "falls" : ""))
  const amiss = found.amiss.map((one) => marked(told("struck", inPlainWords(desk, `${one.statement} ${one.cure}`)), "falls"))
  return [...amiss, ...lost, ...out, ...risen.map((one) => told("holds", `${plainly(one)} stands.`)),
    ...found.told.map((one) => told("due", inPlainWords(desk, one.statement))),
    ...(lost.length + out.length + amiss.length > 0 ? []
      : [line("No proof rests on it, and nothing more stands against final.")])]
}

const stateWords = (state) => ({ stale: "goes stale.", open: "is open again.", refused: "is refused." })[state] ?? `${state}.`

// The steps that prove it anew.
function againWords(desk, view, { name }) {
  const steps = view.proofs.find((one) => one.name === name)?.steps ?? []
  return steps.length > 0 ? ` ${againAt(desk, steps)}` : ""
}

function marked(block, name) {
  if (name) block.classList.add(name)
  return block
}
