// Reading on the ten keys; yes and no, choices, words, photos.

import { answers, choose, picture } from "../entering.js"
import { el, told } from "../keys.js"
import { after, meterOf, showAsk, toolFor } from "./asking.js"
import { saidBeside } from "./beside.js"
import { asking, padSpec } from "./figure.js"
import { offered } from "./offering.js"
import { releaseLines } from "./opening.js"
import { backOutKey, choices, goKey, capital, line, labelled, problems, stepTitle } from "./parts.js"
import { photoField } from "./picturing.js"

const MOST = 4 // answers on a screen that also says its step: all stand on one page of a telephone. [1]

const inputOf = (desk) => desk.view.step.inputs.find((one) => one.name === desk.at.input) ?? null

// What the pad asks for: the input itself, or the flow beside it.
function asked(desk) {
  const input = inputOf(desk)
  if (!desk.at.isFlow) return { ...input, tool: toolFor(desk, input), beside: saidBeside(desk) }
  return asking(desk.table, `Flow while ${input.label} is read`, "flow", { name: "flow", tool: meterOf(desk) })
}

// A reading on the ten keys.
export function read(desk) {
  const ask = asked(desk)
  return padSpec(desk, ask, { words: desk.at.isFlow ? "Take flow" : "Take", take: (amount) => taken(desk, ask, amount),
    stop: stopOf(desk, ask) })
}

// The wall of a step that raises a screw: the limit at its gauge.
function stopOf(desk, ask) {
  const { advice } = desk.view
  if (ask.kind !== "pressure" || advice === null || advice.tap !== ask.tap || advice.screw.sees !== "gauge") return null
  return advice.screw.limit > 0 ? advice.screw.limit : null
}

async function taken(desk, ask, amount) {
  const { draft, table, book, view } = desk
  const input = inputOf(desk)
  if (desk.at.isFlow) {
    draft.flow = amount
    return showAsk(desk, input.name)
  }
  const given = ask.kind === "time_of_day" ? amount.typed : amount
  const isEntered = await desk.enter(() => answers(table, book, view.step.id, { [input.name]: given }, beside(desk, input)))
  return isEntered ? after(desk) : undefined
}

// What goes with a reading: its instrument, how long it stood and within what, the flow at that time.
function beside(desk, input) {
  const { draft, view } = desk
  const found = {}
  const tool = toolFor(desk, input)
  if (tool) found.with = tool
  if (input.kind !== "pressure") return found
  if (draft.stood) Object.assign(found, { stood: draft.stood, moved: input.within_si })
  Object.assign(found, draft.beside ?? {})
  if (draft.flow && meterOf(desk) && !("flow_with" in found)) found.flow_with = meterOf(desk)
  if (draft.flow) found[view.step.inputs.some((one) => one.name === "flow" && one.verdict !== null) ? "at_flow"
    : "flow"] = draft.flow
  return found
}

// What a question is about: the step it belongs to.
const about = ({ view }) => line(view.step.title, "quiet")

// Yes or no, one of several, words, a photo.
export function answer(desk) {
  const { at, view, book, table } = desk
  const one = view.step
  if (at.photo) return photo(desk, "Photo", (given) => picture(book, one?.id ?? "", "what I see", given))
  if (at.input === "@choice") {
    const listed = one.choice.options.filter((each) => each.closed === null).map((each) => ({ words: each.words, pressed: each.name === one.choice.chosen,
      press: async () => { if (await desk.enter(() => choose(desk.book, one.id, each.name))) after(desk) } }))
    return { title: one.choice.question, blocks: [about(desk), ...problems(desk), ...choices(listed), ...closedLines(desk, one)],
      left: backOutKey(desk), right: goKey("To the step", () => desk.show("step")) }
  }
  const input = inputOf(desk)
  const give = (value) => answers(table, desk.book, one.id, { [input.name]: value })
  const said = async (value) => { if (await desk.enter(() => give(value))) after(desk) }
  if (input.kind === "photo") return photo(desk, capital(input.label), give)
  if (input.kind === "text") return words(desk, input, said)
  const listed = [{ words: "Yes", press: () => said(true) }, { words: "No", press: () => said(false) }]
  const open = input.name === "released" ? releaseLines(desk, one) : []
  return { title: capital(input.label), blocks: [...open, about(desk), ...problems(desk), ...choices(listed)], left: backOutKey(desk),
    right: goKey("To the step", () => desk.show("step")) }
}

// Words: those that answer this step are chosen; others are typed on wish.
function words(desk, input, said) {
  const few = offered(desk, input)
  const type = { words: "Other words", small: "typed or spoken", press: () => desk.show("type", { title: input.label,
    label: "Words", from: "answer", fromAt: { input: input.name }, long: true, take: said }) }
  return { title: `What is to be noted: ${input.label}`, blocks: [few.length < MOST ? about(desk) : null, ...problems(desk),
    ...choices([...few.map((one) => ({ words: one, press: () => said(one) })), type])],
    left: backOutKey(desk), right: goKey("To the step", () => desk.show("step")) }
}

// Ways that are not open now, each reason once: what was seen, and where.
function closedLines(desk, { id, choice }) {
  const closed = choice.options.filter((each) => each.closed !== null)
  const reasons = [...new Set(closed.map((each) => reason(desk, id, each.closed)))]
  return reasons.map((words) => told("struck", el("b", {}, "Not open: "),
    ...closed.filter((each) => reason(desk, id, each.closed) === words).map((each) => el("span", { class: "closed" }, each.words)),
    el("span", { class: "closed" }, el("b", {}, "Because: "), words)))
}

const reason = (desk, id, { step, see }) => (step === id ? see : `${labelled(stepTitle(desk, step))} ${see}`)

function photo(desk, title, make) {
  const done = (isKept) => {
    after(desk)
    if (!isKept) desk.say("The photo is in memory of this page only.")
  }
  return { title, blocks: [...problems(desk), ...photoField(desk, make, done)], left: backOutKey(desk),
    right: goKey("To the step", () => desk.show("step")) }
}
