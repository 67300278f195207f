// Outside the band the page turns to Stop: what to do first; going on stays hidden until it is recorded.

import { corrected, note } from "../entering.js"
import { el, sentences } from "../keys.js"
import { bandLine } from "../pictures/band.js"
import { causesOf } from "../pictures/causes.js"
import { showAsk } from "./asking.js"
import { backOutKey, choices, goKey, line, numbered, problems } from "./parts.js"

// Whether what lies outside was recorded: a note at this step after everything that was read there.
export function isRecorded(desk, step) {
  const { standing } = desk.view.book
  const last = (kinds) => standing.findLastIndex((one) => one.node === step.id && kinds.includes(one.kind))
  return last(["note"]) > last(["reading", "observation", "choice", "photo"])
}

// The Stop.
export function stop(desk) {
  const step = desk.view.step
  const fires = step.otherwise.filter((one) => one.fires && !one.tells)
  const outside = [...step.inputs, ...step.worked].filter((one) => one.verdict?.where === "outside")
  const [first] = outside
  const read = first ? `${first.label}: ${first.verdict.words}. ` : ""
  const alarm = `${read}${fires[0]?.see ?? (first ? "Outside what is expected." : step.refusals[0] ?? "Not as expected.")}`
  const actions = fires.length > 0 ? sentences(fires[0].then) : step.refusals.length > 0 ? step.refusals
    : step.why.length > 0 ? [step.why[0].cure] : []
  const means = fires[0]?.means ?? step.why[0]?.statement ?? ""
  const unit = first?.otherUnit ? line(`In ${first.otherUnit} it would lie inside. If that was meant: correct it.`) : null
  const band = first === undefined ? null : bandLine({ table: desk.table, kind: first.kind, unit: first.unit,
    band: first.band,
    value: first.verdict.value })
  return { title: "Stop", alarm, blocks: [...problems(desk), band, ...actions.map(numbered),
    means ? el("p", { class: "means" }, el("b", {}, "It means: "), means) : null, unit,
    line("The next step stays hidden until you record what you saw and who agreed to go on.", "quiet")],
  left: backOutKey(desk), right: goKey("Record", () => desk.show("record"), "what I saw") }
}

// What is recorded after a Stop: read again, put right what was typed, or what was seen and who agreed.
export function record(desk) {
  const { view, pack, at } = desk
  const step = view.step
  const outside = step.inputs.filter((one) => one.verdict !== null && (one.verdict.where === "outside" || one.kind === "yes_no"))
  if (at.saw !== undefined) return agreed(desk, step)
  const saw = (words) => desk.show("record", { saw: words })
  const unit = outside.find((one) => one.otherUnit ?? one.verdict.otherUnit)
  const { rows } = causesOf(pack, view, step)
  const fits = rows.filter((one) => one.id !== "" && one.id !== "0")
  const again = (one) => ({ words: one.kind === "yes_no" ? `Answer again: ${one.label}` : `Read ${one.label} again`,
    press: () => showAsk(desk, one.name) })
  const listed = [...outside.filter((one) => one.verdict.where === "outside").slice(0, 3).map(again),
  ...(step.otherwise.some((one) => one.fires) ? outside.filter((one) => one.kind === "yes_no").slice(-2).map(again) : []),
  ...(unit ? [{ words: `The gauge reads ${unit.verdict.otherUnit}`, small: "correct the entry",
    press: () => inUnit(desk, unit) }] : []),
  ...fits.slice(0, 3).map((one) => ({ words: one.name, small: "seen, and to be put right", press: () => saw(one.name) })),
  { words: "What I see is different", press: () => desk.show("causes") },
  { words: "Something else", small: "typed or spoken", press: () => desk.show("type", { title: "What I saw", label: "Words",
    from: "record", long: true, take: saw }) }]
  return { title: "What did you see?", blocks: [...problems(desk), ...choices(listed)], left: backOutKey(desk),
    right: goKey("To the Stop", () => desk.show("step")) }
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
