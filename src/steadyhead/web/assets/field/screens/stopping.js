// Outside the band the page turns to Stop: what to do first; going on stays hidden until it is recorded.

import { corrected, note } from "../entering.js"
import { tooHigh } from "../danger.js"
import { el, sentences, told } from "../keys.js"
import { bandLine } from "../pictures/band.js"
import { causesOf } from "../pictures/causes.js"
import { againstWords } from "./against.js"
import { showAsk } from "./asking.js"
import { isRecordedAt } from "../stops.js"
import { alsoStopped } from "./stopped.js"
import { backOutKey, choices, goKey, inPlainWords, labelled, line, numbered, problems } from "./parts.js"

const DIFFERS = "RUN-04" // two devices differ

// Whether what lies outside was recorded: a note at this step after everything that was read there.
export const isRecorded = (desk, step) => isRecordedAt(desk.view.book.standing, step.id)

// Whether the page turns to Stop: what the judge says, and every pressure that stands too high, whatever a remark says of it.
export const isStop = (desk, step) => (step.isStopped || tooHigh(desk.plan, step).length > 0) && !isRecorded(desk, step)

// What protects first where a pressure stands too high, in the words of the causes of that step.
function protects(desk, step) {
  const words = desk.pack.causes?.[step.id]?.none.high
  return words ? sentences(words) : ["Draw water at the drain of this section.", "Close the inlet valve slowly until it comes down.",
    "Keep the outlet valve shut, or close it slowly.", "Tell the control room."]
}

// Return actions and meaning of a Stop without what its alarm says already; where nothing else is left to do, the cure.
export function saidOnce(alarm, listed, means, cure) {
  const left = listed.filter((one) => !alarm.includes(one))
  return { actions: left.length > 0 ? left : sentences(cure), means: [alarm, ...listed].some((one) => one.includes(means)
    || means.includes(one)) ? "" : means }
}

// The Stop.
export function stop(desk) {
  const step = desk.view.step
  const fires = step.otherwise.filter((one) => one.fires && !one.tells)
  const high = tooHigh(desk.plan, step)
  const outside = [...new Set([...high, ...[...step.inputs, ...step.worked].filter((one) => one.verdict?.where === "outside")])]
  const [first] = outside
  const read = first ? `${labelled(first.label)} ${first.verdict.words}. ` : ""
  const alarm = `${read}${fires[0]?.see ?? (high.length > 0 ? "Too high." : first ? "Outside what is expected." : step.refusals[0] ?? "Not as expected.")}`
  const listed = high.length > 0 && fires.length === 0 ? protects(desk, step) : fires.length > 0 ? sentences(fires[0].then) : step.refusals.length > 0 ? step.refusals
    : step.why.length > 0 ? [inPlainWords(desk, step.why[0].cure)] : []
  const { actions, means } = saidOnce(alarm, listed, fires[0]?.means ?? (step.why.length > 0 ? againstWords(desk, step.why[0], false) : ""),
    inPlainWords(desk, step.why[0]?.cure ?? ""))
  const unit = first?.verdict?.otherUnit ? line(`In ${first.verdict.otherUnit} it would lie inside. If that was meant: correct it.`) : null
  const band = first === undefined || first.band === null ? null : bandLine({ table: desk.table, kind: first.kind, unit: first.unit,
    band: first.band,
    value: first.verdict.value })
  return { title: "Stop", alarm, blocks: [...problems(desk), band, ...actions.map(numbered),
    ...alsoStopped(desk, (one) => one.step === step.id && !one.isSaid),
    means ? el("p", { class: "means" }, el("b", {}, "It means: "), means) : null, ...otherDevice(desk, step, means), unit,
    desk.pack.station?.control_room ? line(`The desk: ${desk.pack.station.control_room}`) : null,
    line("The next step stays hidden until you record what you saw and who agreed to go on.", "quiet")],
  left: backOutKey(desk), right: goKey("Record", () => desk.show("record"), "what I saw") }
}

// That another device noted otherwise is told before it is recorded: a record settles it.
const otherDevice = (desk, step, means) => step.why.filter((one) => one.code === DIFFERS)
  .map((one) => againstWords(desk, one, false)).filter((words) => words !== means).map((words) => told("struck", words))

// What is recorded after a Stop: read again, put right what was typed, or what was seen and who agreed.
export function record(desk) {
  const { view, pack, at } = desk
  const step = view.step
  const outside = step.inputs.filter((one) => one.verdict !== null && (one.verdict.where === "outside" || one.kind === "yes_no"))
  if (at.saw !== undefined) return agreed(desk, step)
  const saw = (words) => desk.show("record", { saw: words })
  const unit = outside.find((one) => one.verdict.otherUnit)
  const { rows } = causesOf(pack, view, step)
  const fits = rows.filter((one) => one.id !== "" && one.id !== "0")
  const again = (one) => ({ words: one.kind === "yes_no" ? `Answer again: ${one.label}` : `Read ${one.label} again`,
    press: () => showAsk(desk, one.name) })
  const listed = [...outside.filter((one) => one.verdict.where === "outside").slice(0, 3).map(again),
  ...(step.otherwise.some((one) => one.fires) ? outside.filter((one) => one.kind === "yes_no").slice(-2).map(again) : []),
  ...(unit ? [{ words: `The gauge reads ${unit.verdict.otherUnit}`, small: "correct the entry",
    press: () => inUnit(desk, unit) }] : []),
  ...fits.slice(0, 3).map((one) => ({ words: one.name, small: "seen, and to be put right", press: () => saw(one.name) })),
  ...justThis(step).map((words) => ({ words, small: "just this, no cause seen", press: () => saw(words) })),
  ...mistyped(desk, step, outside),
  { words: "What I see is different", press: () => desk.show("causes") },
  { words: "Something else", small: "typed or spoken", press: () => desk.show("type", { title: "What I saw", label: "Words",
    from: "record", long: true, take: saw }) }]
  return { title: "What did you see?", blocks: [...problems(desk), ...choices(listed)], left: backOutKey(desk),
    right: goKey("To the Stop", () => desk.show("step")) }
}

// What the Stop says itself, where it is told in words: it is recorded without a cause that nobody saw, and without typing.
const justThis = (step) => [step.otherwise.find((one) => one.fires && !one.tells)?.see ?? step.refusals[0] ?? ""]
  .map((one) => one.replace(/\.$/, "")).filter(Boolean)

// What was entered wrong is put right from here: the entry that stands outside, else any entry of this step.
function mistyped(desk, step, outside) {
  const id = outside.find((one) => one.verdict.where === "outside")?.verdict.entries.at(-1)
  const mine = desk.book.forms.some((one) => one.node === step.id)
  return [...(id === undefined ? [] : [{ words: "It was typed wrong", small: "correct it, or make it void",
    press: () => desk.show("entry", { id }) }]),
  ...(mine ? [{ words: "Entries of this step", small: "correct, make void", press: () => desk.show("entries", { step: step.id }) }] : [])]
}

async function inUnit(desk, input) {
  const { table, book } = desk
  const id = input.verdict.entries[0]
  const { typed } = book.stands(id).payload
  const make = () => corrected(table, book, id, `the gauge reads ${input.verdict.otherUnit}`,
    { value: { typed, unit: input.verdict.otherUnit } })
  if (await desk.enter(make)) desk.show("step")
}

// Who agreed to go on: it is written beside what was seen.
function agreed(desk, step) {
  const { saw } = desk.at
  const others = [...new Set([...desk.view.people, ...(desk.pack.people ?? []).map((one) => one.name ?? one)])].filter((one) => one !== desk.who)
  const noted = async (words) => { if (await desk.enter(() => note(desk.book, step.id,
    `${saw}. ${words}`))) desk.show("step") }
  const listed = [...others.map((one) => ({ words: one, press: () => noted(`Agreed with ${one}.`) })),
    { words: "The desk", small: desk.pack.station?.control_room || "by telephone or radio",
      press: () => noted("Agreed with the desk.") },
    { words: "Nobody", small: "noted; I go no further", press: async () => {
      await noted("Nobody agreed to go on.")
      desk.show("back", { from: { screen: "step" } })
    } }]
  return { title: "Who agreed to go on?", blocks: [line(saw), ...choices(listed)], left: backOutKey(desk),
    right: goKey("Saw something else", () => desk.show("record")) }
}
