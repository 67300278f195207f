// The causes of what is seen at a step: weighed by what was read there, told with the next safe action.

import { weigh } from "../../procedure/causes.js"
import { isHigh } from "../danger.js"
import { likeOf, offWords } from "../found.js"
import { el, svg } from "../keys.js"
import { FOUND, LEFT, byMarks, markWords } from "../marks.js"

const HALF_SPAN = 0.01 // of a gauge that is not described: what it may be off, share of what it reads. Own estimate. [1]

// Return the causes that fit what was read at a step, as { name, tell, then, word, share }, how many more there are, what
// the marks of the readings (as found, as left) do to the list in words, and whether all that was read stays out of it.
// pack, view: of the run; step: as the view shows it.
export function causesOf(pack, view, step) {
  const signature = pack.causes?.[step.id]
  if (signature === undefined) return { rows: [], further: 0, isKnown: false, marks: leftWords(pack, view, step, marksOf(view, step)), isApart: false }
  const marks = marksOf(view, step)
  const marked = byMarks(signature, marks)
  const found = weigh(marked.signature, readingsOf(view, step), flowsOf(view, step), view.judged.choices)
  const rows = found.map((one) => ({ ...one, ...wordsOf(signature, one.id, isHigh(step)) }))
  const labels = Object.fromEntries(step.inputs.map((one) => [one.name, one.label]))
  const words = [...markWords(marked, marks, labels), ...leftWords(pack, view, step, marks, marked.signature)]
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

// What was left last time beside the readings: by how much each lies off what is of one kind with it; the rest at the taps of
// readings marked as found, or without a band, to be compared by whoever reads.
function leftWords(pack, view, step, marks, signature = { reads: [] }) {
  const left = pack.as_left ?? []
  const flows = flowsOf(view, step) ?? {}
  const told = new Map()
  for (const one of step.inputs) {
    if (one.kind !== "pressure" || typeof one.verdict?.value !== "number" || marks[one.name] === LEFT) continue
    const read = signature.reads.find((each) => each.input === one.name)
    const like = read === undefined ? [] : likeOf(left, read.state, one.tap, step.id)
    const flow = flows[one.name] ?? flows[read?.flow]
    for (const row of like.filter((each) => !told.has(each))) {
      told.set(row, offWords(pack.units, row, { label: one.label, value: one.verdict.value, half: toleranceOf(view, one), flow }))
    }
  }
  const taps = new Set(step.inputs.filter((one) => one.tap
    && (marks[one.name] === FOUND || (one.kind === "pressure" && one.band === null))).map((one) => one.tap))
  const rest = left.filter((one) => taps.has(one.tap) && !told.has(one))
    .map((one) => `Left last time at ${one.tap}: ${one.what} ${one.words ?? one.value}${one.on ? `, ${one.on}` : ""}.${one.stands
      ? ` Today: ${one.stands}.` : ""}`)
  return [...told.values(), ...rest]
}

// Where a pressure stands too high, what protects comes first, whatever the cause.
const wordsOf = (signature, id, high) => {
  const one = id === "" ? signature.none : signature.causes.find((each) => each.id === id)
  return { name: one.name, tell: one.tell, then: high && one.high ? one.high : one.then }
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
