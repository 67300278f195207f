// What a step asks for, answered once more: read again, or answered again on another day. The newest counts; none is lost.

import { showAsk } from "./asking.js"
import { backOutKey, goKey, leaveKey, line, paired, problems } from "./parts.js"

// at: { only }: names of inputs, or undefined for all of them.
export function again(desk) {
  const { at, view } = desk
  const one = view.step
  const asked = one.inputs.filter((each) => at.only === undefined || at.only.includes(each.name))
  const listed = asked.map((each) => ({ words: each.label, small: each.verdict === null ? "not noted yet"
    : `${each.verdict.words}; ${each.verdict.by}`, press: () => showAsk(desk, each.name) }))
  if (one.choice !== null && at.only === undefined) {
    listed.push({ words: one.choice.question, small: "chosen again", press: () => desk.show("answer", { input: "@choice" }) })
  }
  return { title: `${one.id}: answer again`, blocks: [...problems(desk),
    line(listed.length > 0 ? "The newest counts. What was noted before stays in the record." : "This step asks nothing."),
    ...paired(listed)], left: backOutKey(desk), middle: leaveKey(() => desk.show("more"), "Back"),
  right: goKey("To the step", () => desk.show("step")) }
}
