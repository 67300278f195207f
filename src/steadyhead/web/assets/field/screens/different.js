// What I see is different: the causes of exactly these readings, each with its next safe action.

import { note } from "../entering.js"
import { told } from "../keys.js"
import { causeBlock, causesOf } from "../pictures/causes.js"
import { backOutKey, choices, goKey, line, problems, verdictLine } from "./parts.js"

export function causes(desk) {
  const { view, pack } = desk
  const step = view.step
  if (step === null) return nothingHere(desk)
  const { rows, further, isKnown, marks, isApart } = causesOf(pack, view, step)
  const read = [...step.inputs, ...step.worked].filter((one) => typeof one.verdict?.value === "number").map(verdictLine)
  const more = further > 0 ? [line(`${further} more are less likely.`, "quiet")] : []
  const none = rows.length === 0 ? [told("unknown",
    isApart ? "No other reading of this step is weighed. What the plan says:"
    : isKnown && read.length > 0 ? "What was read here is not weighed by this list. What the plan says:"
    : isKnown ? "Nothing was read at this step yet. Read first: the list follows the reading."
    : `${pack.causes_none?.[step.id] || pack.causes_lack || "The twin tells no causes at this step."} What the plan says:`)] : []
  const blocks = [...problems(desk), ...none, ...marks.map((words) => told("due", words)), ...rows.map(causeBlock), ...more, ...otherwise(step, rows), ...read,
    rows.length > 0 ? line(`Worked out from these readings and the flow noted with them, not proved.${pack.causes_base ? ` ${pack.causes_base}` : ""}`, "quiet") : null]
  return { title: "What it may be", blocks, left: backOutKey(desk),
    right: goKey("Note one", () => desk.show("seen"), "what I found") }
}

const nothingHere = (desk) => ({ title: "What it may be", blocks: [line("No step is open: the causes are told at a step.")],
  left: backOutKey(desk), right: goKey("Steps", () => desk.show("steps")) })

const otherwise = (step, rows) => (rows.length > 0 ? [] : step.otherwise.map((one) =>
  causeBlock({ name: one.see, tell: one.means, then: one.then, word: "by the plan", share: 0 })))

// Which of them it was: noted with one touch.
export function seen(desk) {
  const { view, pack } = desk
  const step = view.step
  const { rows } = causesOf(pack, view, step)
  const noted = async (words) => { if (await desk.enter(() => note(desk.book, step.id, words))) desk.show("step") }
  const listed = rows.filter((one) => one.id !== "").map((one) => ({ words: one.name, small: one.word,
    press: () => noted(`Seen: ${one.name}.`) }))
  const other = { words: "Something else", small: "typed or spoken",
    press: () => desk.show("type", { title: "What I found", label: "Words",
    from: "seen", long: true, take: noted }) }
  return { title: "Which one was it?", blocks: [...problems(desk), ...choices([...listed, other])], left: backOutKey(desk),
    right: goKey("To the step", () => desk.show("step")) }
}
