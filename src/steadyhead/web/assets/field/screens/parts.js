// What several screens share: lines of words, the key back, what could not be entered.

import { VERDICTS, el, key, told } from "../keys.js"
import { Speaker, saidPlainly, textOf, withoutNames } from "../saying.js"

const MARK = { inside: "holds", outside: "struck", "on the way": "due", "": "holds" }

export const backOutKey = (desk, small = "leave it safe") =>
  key("Back out", () => desk.show("back", { from: desk.at }), { kind: "stop", small, name: "left" })

export const backKey = (desk, screen, more = {}, words = "Back") =>
  key(words, () => desk.show(screen, more), { name: "left" })

export const goKey = (words, press, small = "", off = false) => key(words, press, { kind: "go", small, name: "right", off })

export const hazard = (words) => el("p", { class: "hazard" }, words)

export const line = (words, kind = "") => el("p", { class: kind }, words)

export const lines = (words, kind = "") => words.map((one) => line(one, kind))

// A numbered action of a Stop.
export const numbered = (words, index) => el("p", { class: "action" }, el("b", {}, String(index + 1)), " ", words)

// What could not be entered, or was not kept.
export const problems = (desk) => desk.problem.map((one) => told("struck", one))

// A label before what was noted: a question keeps its mark and takes no colon behind it.
export const labelled = (label) => (/[?:]$/.test(label.trim()) ? label.trim() : `${label}:`)

// Words at the end of a sentence: a question keeps its mark and takes no full stop behind it.
export const ended = (words) => (/[?.!…]$/.test(words.trim()) ? words.trim() : `${words.trim()}.`)

// A label at the head of a screen or line: names of taps and parts stay as they are.
export const capital = (label) => (/^\p{Ll}[\p{Ll} ,?-]/u.test(label) ? label[0].toUpperCase() + label.slice(1) : label)

// What a field that could not be entered is called: the input that was asked by its label.
export function fieldWords({ view, at }, field) {
  const one = view.step?.inputs.find((each) => each.name === field && each.name === at.input)
  return capital(one === undefined ? field.replaceAll("_", " ") : one.label)
}

// What was noted for an input, with its mark and its verdict in words.
export function verdictLine(one) {
  const { verdict } = one
  const where = verdict.where ? ` ${VERDICTS[verdict.where]}` : ""
  const swing = verdict.isSwinging ? " It swings: mean told." : ""
  const unfit = one.unfit.length > 0 ? ` Proves nothing: ${one.unfit.join(", ")}.` : ""
  return told(one.unfit.length > 0 && verdict.where !== "outside" ? "slipped" : MARK[verdict.where] ?? "holds",
    el("b", {}, `${capital(labelled(one.label))} ${one.kind === "photo" ? "taken" : verdict.words}.`), `${where}${swing}${unfit}`,
    verdict.by ? el("small", { class: "by" }, ` ${verdict.by}`) : null)
}

// How many of a thing there are, in words; nothing where there is none.
export const several = (count, one, more) => (count === 0 ? "" : `${count} ${count === 1 ? one : more}`)

// Keys of which one is chosen: [{ words, small, press, pressed }].
export const choices = (listed) => listed.map((one) =>
  el("div", { class: "choice" }, key(capital(one.words), one.press, { small: one.small ?? "", pressed: one.pressed ?? null,
    name: `choice ${one.words}`, kind: one.kind ?? "" })))

// The same, two beside each other.
export function paired(listed) {
  const keys = choices(listed)
  return keys.flatMap((one, at) => (at % 2 === 0 ? [el("div", { class: "pair" }, keys.slice(at, at + 2))] : []))
}

// What a thing of the plan is called, its name first.
export const nameOf = ({ pack, plan }, name) => new Speaker(pack, plan, []).name(name)

// What a step is called: its title, and its name in the plan behind it where it stands alone. A step that is not on this
// way has its title in the plan.
export function stepTitle({ view, plan, pack }, id) {
  const there = view?.steps.find((one) => one.id === id)?.title
  const node = there === undefined ? plan.nodes.find((one) => one.id === id) : undefined
  return there ?? (node === undefined ? id : textOf(pack, node.title))
}

// Steps to be done again, by what they are called.
export const againAt = (desk, ids) => ended(`Do again: ${ids.map((id) => stepTitle(desk, id)).join("; ")}`)

// Words without the names that only the plan uses (`SO.out_of_way`): what they are called stays.
export const inPlainWords = ({ pack, plan }, words) => withoutNames(pack, plan, words)

// What an entry says, in the words of the plan.
export const saidHere = ({ pack, plan }, entry, amends = "") => saidPlainly(pack, plan, entry, amends)

// What a thing is called, without its name in the plan.
export function plainly({ name, words }) {
  const [head, tail] = [`${name} (`, ")"]
  return words.startsWith(head) && words.endsWith(tail) ? words.slice(head.length, -tail.length)
    : words === name ? words.replace(/[._@]+/g, " ") : words
}

// A screen under way: back out stays bottom left, the way back to the screen before stands beside it.
export const safe = (screen) => (desk) => {
  const spec = screen(desk)
  const { left } = spec
  if (!desk.way.isThrough || !left || left.classList.contains("stop")) return spec
  left.setAttribute("data-key", "back")
  return { ...spec, left: backOutKey(desk), middle: spec.middle ?? left }
}

// The key that leaves a matter as it is, beside back out.
export const leaveKey = (press, words = "Leave it") => key(words, press, { name: "back" })

// Everybody who is known here, but those who are named.
export const peopleOf = (desk, but = []) =>
  [...new Set([...desk.view.people, ...(desk.pack.people ?? []).map((one) => one.name ?? one)])]
    .filter((one) => !but.includes(one))
