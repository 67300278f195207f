// What stands against final, one line each: by what it is called, once, without names that only the plan uses.

import { el, told } from "../keys.js"
import { textOf } from "../saying.js"
import { capital, inPlainWords, labelled, stepTitle } from "./parts.js"

export const UNDONE = "RUN-07" // a step that is not done, or not all of it
const SAID = { "@choice": "what is chosen", "@tick": "that it is done" }

// Return the line. one: as the view or the server tells it; isCured: with what is done about it.
export function againstLine(desk, one, isCured = true) {
  const kind = (one.severity ?? "stop") === "stop" ? "struck" : "due"
  const lacks = one.code === UNDONE ? lacking(desk, one.about) : []
  if (lacks.length > 0) return told(kind, el("b", {}, `${labelled(stepTitle(desk, one.about))} `), `still to be noted: ${lacks.join(", ")}.`)
  const [subject, words] = [one.subject, one.statement].map((each) => inPlainWords(desk, each))
  const isStep = one.statement.startsWith(`${one.about}: `)
  const isTold = words.startsWith(subject) || one.statement.startsWith(one.about || "\n")
  return told(kind, isStep ? el("b", {}, `${labelled(stepTitle(desk, one.about))} `) : isTold ? "" : el("b", {}, `${subject}: `),
    isStep ? inPlainWords(desk, uncoded(one)) : words, isCured ? ` ${inPlainWords(desk, one.cure)}` : "")
}

// What stands against final as a sentence: what a step lacks by its labels, nothing by a name that only the plan uses.
export function againstWords(desk, one, isCured = true) {
  const lacks = one.code === UNDONE ? lacking(desk, one.about) : []
  if (lacks.length > 0) return `${labelled(stepTitle(desk, one.about))} still to be noted: ${lacks.join(", ")}.`
  const head = one.statement.startsWith(`${one.about}: `) && one.about !== desk.view.step?.id ? `${labelled(stepTitle(desk, one.about))} ` : ""
  return inPlainWords(desk, `${head}${uncoded(one)}${isCured ? ` ${one.cure}` : ""}`)
}

// A statement without the code of the step it begins with: a step is called by its title, the shown one not at all.
const uncoded = ({ statement, about }) => (statement.startsWith(`${about}: `) ? capital(statement.slice(about.length + 2)) : statement)

// What a step still asks for, by its labels.
function lacking({ view, plan, pack }, id) {
  const names = view.judged.steps.find((one) => one.id === id)?.lacks ?? []
  return names.map((name) => SAID[name] ?? (plan.names[`${id}/${name}`] ? textOf(pack, plan.names[`${id}/${name}`]).replace(/[?:]$/, "") : name))
}
