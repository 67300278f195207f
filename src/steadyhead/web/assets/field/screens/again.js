// What a step asks for, answered once more: read again, or answered again on another day. The newest counts; none is lost.

import { showAsk } from "./asking.js"
import { backOutKey, goKey, leaveKey, line, paired, problems } from "./parts.js"

// Return the inputs of those asked that make a Stop as they were answered last: outside, or a question where one fires.
export function stopping(step, asked) {
  const isFired = step.otherwise.some((one) => one.fires && !one.tells)
  return asked.filter((one) => one.verdict !== null && (one.verdict.where === "outside" || (isFired && one.kind === "yes_no")))
}

// at: { only }: names of inputs, or undefined for all of them.
export function again(desk) {
  const { at, view } = desk
  const one = view.step
  const asked = one.inputs.filter((each) => at.only === undefined || at.only.includes(each.name))
  const made = stopping(one, asked)
  const sorted = [...made, ...asked.filter((each) => !made.includes(each))]
  const listed = sorted.map((each) => ({ words: each.label, small: each.verdict === null ? "not noted yet"
    : `${each.verdict.words}; ${each.verdict.by}`, press: () => showAsk(desk, each.name) }))
  if (one.choice !== null && at.only === undefined) {
    listed.push({ words: one.choice.question, small: "chosen again", press: () => desk.show("answer", { input: "@choice" }) })
  }
  return { title: `${one.title}: answer again`, blocks: [...problems(desk),
    made.length > 0 ? line("What made the Stop stands first. Until it holds no longer, any new reading brings the Stop back.") : null,
    line(listed.length > 0 ? "The newest counts. What was noted before stays in the record." : "This step asks nothing."),
    ...paired(listed)], left: backOutKey(desk), middle: leaveKey(() => desk.show("more"), "Back"),
  right: goKey("To the step", () => desk.show("step")) }
}
