// What no correction mends is made void and entered again in one go: how far an act went, what an instrument is called.
// The day an instrument is due is corrected; it stays the same instrument.

import { act, instrument, voided } from "../entering.js"
import { el } from "../keys.js"
import { sizeWords } from "../pictures/dial.js"
import { asking } from "./figure.js"
import { backOutKey, goKey, leaveKey, line, paired, problems } from "./parts.js"

const [SIZE_WRONG, NAME_WRONG] = ["the amount was entered wrong", "the name was entered wrong"]
const EIGHTHS = [1, 2, 3, 4, 6, 8].map((part) => part / 8)

// The way back to the entry, and on to what falls with it.
const ends = (desk, id) => ({ left: backOutKey(desk), middle: leaveKey(() => desk.show("correct", { id }), "Back") })

const toFalls = (desk, id, words, make) => desk.show("falls", { make, words, then: "step", from: "correct",
  fromAt: { id } })

// The key of an act that has a size; none where it has none.
export function countedAgain(desk, { id }, payload, node) {
  if (typeof payload.amount !== "number") return []
  return [{ words: "How far, how much", small: "made void, entered again",
    press: () => desk.show("sizeAgain", { id, payload, node }) }]
}

// How far it was. at: { id, payload, node }.
export function sizeAgain(desk) {
  const { id, payload, node } = desk.at
  const { table, book } = desk
  const kind = payload.unit
  const { do: verb, thing, detail, to } = payload
  const take = (amount) => toFalls(desk, id, "Void, and entered again", () => [...voided(book, id, SIZE_WRONG),
    ...act(table, book, node, verb, { thing, detail, to, amount: { ...amount, kind } })])
  const figure = { words: "On the ten keys", press: () => desk.show("figure", {
    ask: asking(table, `${verb} ${thing ?? ""}`.trim(), kind), take }) }
  const eighths = kind === "turns" ? EIGHTHS.map((one) => ({ words: sizeWords(one),
    press: () => take({ typed: String(one), unit: "turns" }) })) : []
  return { title: "How far, how much was it?", blocks: [...problems(desk),
    line("The old entry stays as void. The new one counts from now: what was read since is read again."),
    ...paired([...eighths, figure])], ...ends(desk, id), right: goKey("To the step", () => desk.show("step")) }
}

// The key of the day an instrument is due.
export const dueKey = (desk, { id }, payload, change) => ({ words: "Next due", small: payload.due ?? "no day",
  press: () => desk.show("dayAgain", { id, day: payload.due ?? "", take: (day) => change({ due: day }) }) })

// Which day it is due. at: { id, day, take }.
export function dayAgain(desk) {
  const { at } = desk
  const field = el("input", { id: "day", type: "date", "data-key": "day" })
  field.value = at.day
  field.addEventListener("input", () => { at.day = field.value })
  return { title: "When is it due?", blocks: [...problems(desk), el("label", { for: "day" }, "Next calibration due"), field,
    line("As its certificate says, not by heart.")], ...ends(desk, at.id),
  right: goKey("Take", () => { if (at.day) at.take(at.day) }) }
}

// The key of the name of an instrument: readings name it, so it is another instrument from then on.
export const describedAgain = (desk, { id }, payload) => ({ words: "Name", small: "made void, entered again",
  press: () => desk.show("type", { title: `${payload.name}: right name`, label: "Name on the plate", from: "correct",
    fromAt: { id }, words: payload.name,
    hints: ["The rest of its description stays. Readings that name the old one are corrected to the new one after it."],
    take: (name) => toFalls(desk, id, "Void, and described again", () => [...voided(desk.book, id, NAME_WRONG),
      ...instrument(desk.table, desk.book, { ...payload, name })]) }) })
