// The entries of this visit in their time order: each is corrected or made void, and what falls with it is told first.

import { act, corrected, voided } from "../entering.js"
import { told } from "../keys.js"
import { calledPlainly, clockWords, textOf } from "../saying.js"
import { isKind } from "../units.js"
import { countedAgain, describedAgain, dueKey } from "./anew.js"
import { matters } from "./beside.js"
import { asking } from "./figure.js"
import { backOutKey, choices, ended, goKey, leaveKey, line, paired, problems, saidHere, stepTitle } from "./parts.js"

const WRONG = ["typed wrong", "read at the wrong tap", "read with the wrong gauge", "in the wrong unit",
  "entered at the wrong step", "entered twice", "it was not done", "seen otherwise since"]
const FIXED = ["correction", "void", "run", "sign"] // made void, not corrected
const TOLD = ["person", "run"] // nothing of the station

// Steps of which something was entered, the last one first; or the entries of one. at: { step }.
export function entries(desk) {
  const { at, view, book } = desk
  const step = at.step ?? view.step?.id ?? ""
  const mine = book.forms.filter((one) => one.node === step && !TOLD.includes(one.kind))
  if (at.isAll || mine.length === 0) return stepsOf(desk)
  const title = step ? `Entries: ${stepTitle(desk, step)}` : "Entries at no step"
  return { title, blocks: [...problems(desk), ...choices(mine.map((one) => row(desk, one)))], left: backOutKey(desk),
    middle: leaveKey(() => desk.show("entries", { isAll: true }), "Other steps"),
    right: goKey("To the step", () => desk.show("step")) }
}

function stepsOf(desk) {
  const { book } = desk
  const nodes = [...new Set(book.forms.filter((one) => !TOLD.includes(one.kind)).map((one) => one.node).reverse())]
  const count = (node) => book.forms.filter((one) => one.node === node && !TOLD.includes(one.kind)).length
  const when = (node) => clockWords(book.forms.findLast((one) => one.node === node))
  const listed = nodes.map((node) => ({ words: node ? stepTitle(desk, node) : "At no step",
    small: [node, many(count(node)), `last ${when(node)}`].filter(Boolean).join(", "),
    press: () => desk.show("entries", { step: node }) }))
  return { title: "Where was it entered?", blocks: [...problems(desk), ...paired(listed),
    nodes.length === 0 ? line("Nothing was entered yet.") : null], left: backOutKey(desk),
  middle: leaveKey(() => desk.show("more"), "Back"), right: goKey("To the step", () => desk.show("step")) }
}

const many = (count) => `${count} ${count === 1 ? "entry" : "entries"}`

function row(desk, entry) {
  const { book } = desk
  const isGone = !FIXED.includes(entry.kind) && book.stands(entry.id) === undefined
  const was = entry.replaces ? calledAs(desk, entry.replaces) : ""
  return { words: saidHere(desk, entry, was), small: `${isGone ? "void; " : ""}${byWords(entry)}`,
    press: () => desk.show("entry", { id: entry.id }) }
}

const calledAs = (desk, id) => {
  const entry = desk.book.entry(id)
  return entry === undefined ? "" : entry.payload.input === undefined ? `${entry.payload.do ?? entry.kind}`
    : labelOf(desk, entry.node, entry.payload.input)
}

// What an input is called where it is asked for.
const labelOf = ({ plan, pack }, step, input) => (plan.names[`${step}/${input}`] ? textOf(pack, plan.names[`${step}/${input}`])
  : calledPlainly(pack, plan, String(input ?? "")))

const byWords = (entry) => `${clockWords(entry)}, ${entry.who || entry.device}`

// One entry: what it says, who made it, what came to it since. at: { id, isCorrecting, isVoid }.
export function entry(desk) {
  const { at, book } = desk
  const one = book.entry(at.id)
  const stands = book.stands(one.id)
  const since = book.forms.filter((each) => each.replaces === one.id)
  const lines = since.map((each) => told(each.kind === "void" ? "struck" : "slipped",
    `${saidHere(desk, each, "this")}; ${byWords(each)}.`))
  const isFixed = FIXED.includes(one.kind)
  const gone = !isFixed && stands === undefined
  const listed = [
    ...(isFixed || gone || one.kind === "photo" ? [] : [{ words: "Correct it", small: "it was entered wrong",
      press: () => desk.show("correct", { id: one.id }) }]),
    ...(gone || one.kind === "void" ? [] : [{ words: "Make it void", small: "it was wrong as a whole",
      press: () => desk.show("why", { id: one.id, words: "Void", make: (reason) => () => voided(book, one.id, reason) }) }])]
  const isWords = one.kind === "note" || (one.kind === "observation" && typeof one.payload.value === "string")
  if (isWords && !gone) {
    const make = () => act(desk.table, book, one.node, "nothing touched", { to: one.id })
    listed.push({ words: "It touched nothing", small: "the words tell of no touch", press: () => desk.show("falls",
      { make, words: "Nothing touched", then: "step", from: "entry", fromAt: { id: one.id } }) })
  }
  return { title: saidHere(desk, stands ?? one, one.replaces ? calledAs(desk, one.replaces) : ""), blocks: [...problems(desk),
    line(`${one.node ? `${ended(`At ${one.node}, ${stepTitle(desk, one.node)}`)} ` : ""}${byWords(one)}, on ${one.device}.`), ...lines,
    gone ? told("struck", "Void: it counts no more.") : null, ...paired(listed)], left: backOutKey(desk),
  middle: leaveKey(() => desk.show("entries", { step: one.node }), "Back"), right: goKey("To the step",
    () => desk.show("step")) }
}

// What of it was wrong. at: { id }.
export function correct(desk) {
  const { at, book, table } = desk
  const one = book.entry(at.id)
  const { payload, kind, node } = book.stands(one.id) ?? one
  const input = book.input(node, payload.input)
  const change = (changes) => desk.show("why", { id: one.id, words: "Correction",
    make: (reason) => () => corrected(table, book, one.id, reason, changes) })
  const words = (label, key, now) => ({ words: label, small: "typed or spoken", press: () => desk.show("type",
    { title: label, label: "Words", from: "correct", fromAt: { id: one.id }, long: true, words: now ?? "",
      take: (text) => change({ [key]: text }) }) })
  const listed = []
  if (kind === "reading") listed.push(...readingKeys(desk, one, payload, change))
  if (kind === "observation" && typeof payload.value === "boolean") {
    listed.push({ words: payload.value ? "No" : "Yes", small: `it says ${payload.value ? "yes" : "no"}`,
      press: () => change({ value: !payload.value }) })
  } else if (kind === "observation" && input?.quantity === "time_of_day") {
    listed.push({ words: "Another time", press: () => desk.show("figure", { ask: asking(table, labelOf(desk, node, payload.input), "time_of_day"),
      take: ({ typed }) => change({ value: typed }) }) })
  } else if (kind === "observation") listed.push(words("Other words", "value", payload.value))
  if (kind === "note") listed.push(words("Other words", "text", payload.text))
  if (kind === "choice") listed.push(...optionKeys(desk, payload, change))
  if (kind === "position") {
    listed.push(...["open", "shut"].map((is) => ({ words: is, small: "stands so", press: () => change({ is }) })))
  }
  if (kind === "action") listed.push(...actKeys(desk, payload, change), words("Beside it", "detail", payload.detail),
    ...countedAgain(desk, one, payload, node))
  if (kind === "instrument") {
    listed.push(...toolKeys(desk, payload, change), dueKey(desk, one, payload, change), describedAgain(desk, one, payload))
  }
  const none = listed.length === 0 ? [told("due", "It is made void, and entered again.")] : []
  return { title: "What was wrong?", blocks: [...problems(desk), line(saidHere(desk, book.stands(one.id) ?? one)), ...none,
    ...paired(listed)], left: backOutKey(desk), middle: leaveKey(() => desk.show("entry", { id: one.id }), "Back"),
  right: goKey("To the step", () => desk.show("step")) }
}

function readingKeys(desk, one, payload, change) {
  const { table, view, book, plan } = desk
  const unit = payload.unit || undefined
  const ask = asking(table, labelOf(desk, one.node, payload.input), payload.quantity, unit ? { unit } : {})
  const listed = [{ words: "The figure", small: `${payload.typed ?? ""} ${payload.unit ?? ""}`.trim(),
    press: () => desk.show("figure", { ask, take: (value) => change({ value }) }) }]
  const tools = [...book.instruments.values()].filter((each) => (each.quantity || "pressure") === payload.quantity
    && each.name !== payload.instrument)
  listed.push(...tools.map((each) => ({ words: each.name, small: "was the gauge", press: () => change({ with: each.name }) })))
  const taps = [...new Set(plan.nodes.flatMap((node) => node.inputs.map((each) => each.tap)))]
    .filter((tap) => /^T\d/.test(tap) && tap !== payload.tap)
  if (payload.tap) listed.push(...taps.map((tap) => ({ words: tap, small: "was the tap", press: () => change({ tap }) })))
  const input = one.node === view.step?.id ? view.step.inputs.find((each) => each.name === payload.input) : undefined
  if (input !== undefined && matters(desk, input).length > 0) {
    listed.push({ words: "What is said beside it", small: "height, zero, flow …",
      press: () => desk.show("beside", { input: input.name, entry: one.id }) })
  }
  if (isKind(table, payload.quantity) && typeof payload.steady_for === "number") {
    listed.push({ words: "How long it stood", press: () => desk.show("figure", { ask: asking(table, "It stood", "time"),
      take: (stood) => change({ stood }) }) })
  }
  return listed
}

function optionKeys({ plan, pack }, payload, change) {
  const choice = plan.choices.find((one) => one.id === payload.choice)
  return (choice?.options ?? []).filter((one) => one.name !== payload.option)
    .map((one) => ({ words: textOf(pack, one.words), small: pack.plan ? "was chosen" : "", press: () => change({ option: one.name }) }))
}

// Of an act: the thing it was done to. How far is made void and entered again: anew.js.
function actKeys(desk, payload, change) {
  if (!payload.thing) return []
  const head = desk.book.names.part(payload.thing) || payload.thing.split(".")[0]
  const near = desk.book.things.filter((one) => one !== payload.thing && (one === head || one.startsWith(`${head}.`)))
  return near.map((thing) => ({ words: calledPlainly(desk.pack, desk.plan, thing), small: "it was this", press: () => change({ thing }) }))
}

function toolKeys(desk, payload, change) {
  const kind = payload.quantity || "pressure"
  const sized = (name, label, ask) => ({ words: label, press: () => desk.show("figure", { ask,
    take: (amount) => change({ [name]: amount }) }) })
  const of = (label) => asking(desk.table, `${payload.name}: ${label}`, kind)
  return [sized("low", "Reads from", of("reads from")), sized("high", "Reads to", of("reads to")),
    sized("zero", "Zero", of("shows at no pressure")),
    sized("class", "Class", { ...asking(desk.table, `${payload.name}: class`, "ratio"), unit: "%" }),
    sized("division", "Division", of("division"))]
}

// Why: chosen from words. at: { id, words, make(reason) }.
export function why(desk) {
  const { at } = desk
  const chosen = (reason) => desk.show("falls", { make: at.make(reason), words: at.words, then: "step", from: "entry",
    fromAt: { id: at.id } })
  const other = { words: "Another reason", small: "typed or spoken", press: () => desk.show("type", { title: "Why?",
    label: "Reason", from: "entry", fromAt: { id: at.id }, long: true, take: chosen }) }
  return { title: "Why?", blocks: [...problems(desk), ...paired([...WRONG.map((words) => ({ words,
    press: () => chosen(words) })), other])], left: backOutKey(desk),
  middle: leaveKey(() => desk.show("entry", { id: at.id })), right: goKey("To the step", () => desk.show("step")) }
}

