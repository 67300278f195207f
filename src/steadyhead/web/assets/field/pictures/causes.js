// The causes of what is seen at a step: weighed by what was read there, told with the next safe action.

import { weigh } from "../../procedure/causes.js"
import { el, svg } from "../keys.js"
import { FOUND, byMarks, markWords } from "../marks.js"

const HALF_SPAN = 0.01 // of a gauge that is not described: what it may be off, share of what it reads. Own estimate. [1]

// Return the causes that fit what was read at a step, as { name, tell, then, word, share }, how many more there are, what
// the marks of the readings (as found, as left) do to the list in words, and whether all that was read stays out of it.
// pack, view: of the run; step: as the view shows it.
export function causesOf(pack, view, step) {
  const signature = pack.causes?.[step.id]
  if (signature === undefined) return { rows: [], further: 0, isKnown: false, marks: [], isApart: false }
  const marks = marksOf(view, step)
  const marked = byMarks(signature, marks)
  const found = weigh(marked.signature, readingsOf(view, step), flowsOf(view, step), view.judged.choices)
  const rows = found.map((one) => ({ ...one, ...wordsOf(signature, one.id) }))
  const labels = Object.fromEntries(step.inputs.map((one) => [one.name, one.label]))
  const words = [...markWords(marked, marks, labels), ...leftWords(pack, step, marks)]
  return { rows, further: found[0]?.further ?? 0, isKnown: true, marks: words, isApart: marked.apart.length > 0 }
}

// The mark of each reading that counts at a step, by input.
function marksOf(view, step) {
  const found = {}
  for (const { name, verdict } of step.inputs) {
    const mark = (verdict?.entries ?? []).map((id) => view.book.stands(id)?.payload.as).find(Boolean)
    if (mark) found[name] = mark
  }
  return found
}

// What was left last time at the taps of the readings that are marked as found: to be compared by whoever reads.
function leftWords(pack, step, marks) {
  const taps = new Set(step.inputs.filter((one) => marks[one.name] === FOUND && one.tap).map((one) => one.tap))
  return (pack.as_left ?? []).filter((one) => taps.has(one.tap))
    .map((one) => `Left last time at ${one.tap}: ${one.what} ${one.words ?? one.value}${one.on ? `, ${one.on}` : ""}.`)
}

const wordsOf = (signature, id) => {
  const { name, tell, then } = id === "" ? signature.none : signature.causes.find((one) => one.id === id)
  return { name, tell, then }
}

function readingsOf(view, step) {
  const values = [...step.inputs, ...step.worked].filter((one) => typeof one.verdict?.value === "number")
  return Object.fromEntries(values.map((one) => [one.name, [one.verdict.value, toleranceOf(view, one)]]))
}

function toleranceOf(view, { verdict }) {
  const tools = verdict.entries.map((id) => view.instruments[view.book.stands(id)?.payload.instrument])
  const sizes = tools.filter(Boolean).map((one) => Math.abs(one.class * (one.high - one.low))).filter(Number.isFinite)
  return sizes.length > 0 ? Math.max(...sizes) : HALF_SPAN * Math.abs(verdict.value)
}

// The flow at each reading: noted beside it, else as the step asks for it.
function flowsOf(view, step) {
  const found = {}
  for (const one of step.inputs) {
    if (one.verdict === null) continue
    if (one.kind === "flow") found[one.name] = one.verdict.value
    const beside = one.verdict.entries.map((id) => view.book.stands(id)?.payload.flow).find(Number.isFinite)
    if (beside !== undefined) found[one.name] = beside
  }
  return Object.keys(found).length > 0 ? found : null
}

// Return one cause as a block: its share as a bar and as a word, how to tell, what to do next.
export function causeBlock({ name, tell, then, word, share }) {
  return el("div", { class: "cause" }, el("h2", {}, name), share > 0 ? shareBar(share, word)
    : el("p", { class: "quiet" }, word), el("p", {}, tell),
    el("p", {}, el("b", {}, "Next: "), then))
}

function shareBar(share, word) {
  const long = Math.max(0, Math.min(1, share)) * 220
  return svg("svg", { class: "draw share", viewBox: "0 0 358 22", role: "img", "aria-label": word },
    svg("path", { class: "line", d: "M0 20H220" }),
      svg("rect", { x: 0, y: 6, width: long, height: 14, class: "solid-twin" }),
    svg("text", { x: 232, y: 18 }, word))
}
