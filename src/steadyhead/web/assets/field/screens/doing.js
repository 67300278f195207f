// Something is done beside the plan: which act, of what, how far; what falls with it is told before it is entered.

import { act, position } from "../entering.js"
import { GUARDS, MOVES, TELLS, TOUCHES, WORKS } from "../../procedure/words.js"
import { sizeWords } from "../pictures/dial.js"
import { calledPlainly } from "../saying.js"
import { asking } from "./figure.js"
import { called, cocksOf, leftWords } from "./opening.js"
import { backOutKey, choices, goKey, leaveKey, line, nameOf, paired, plainly, problems } from "./parts.js"

const GROUPS = { moves: ["Work a valve or cock", "open, shut, vent, flush, fill …", MOVES],
  touches: ["Touch a screw or part", "raise, lower, clean, replace …", TOUCHES],
  guards: ["Put protection out, or back", "shut-off, switch, alarm", GUARDS],
  tells: ["Look, tell, mark", "no part is changed", TELLS.filter((one) => !["tick", "nothing touched"].includes(one))] }
const FIRST = ["open", "shut", "crack", "throttle", "vent", "drain", "flush", "fill", "draw water", "raise", "lower", "turn",
  "clean", "replace", "bleed", "tighten nut", "slacken nut"]
const TURNED = ["raise", "lower", "turn", "open", "shut", "crack", "throttle"]
const SIZED = { "draw water": "volume", flush: "volume", fill: "volume", drain: "volume", pump: "pressure",
  inject: "pressure", set: "pressure" }
const NEEDS_SIZE = ["raise", "lower"]
const EIGHTHS = [1, 2, 3, 4, 6, 8].map((part) => part / 8)
const OUTSIDE = "outside"

// Which kind of act. at: { group, verb, part, thing }.
export function doing(desk) {
  const { at } = desk
  if (at.group === undefined) return groups(desk)
  if (at.verb === undefined) return verbs(desk)
  if (at.thing === undefined) return at.part === undefined ? partsOf(desk) : thingsOf(desk)
  return sizes(desk)
}

const onward = (desk, more) => desk.show("doing", { ...desk.at, ...more, screen: "doing" })

// Back by one question.
function spec(desk, title, blocks, before) {
  const back = () => desk.show(before === null ? "more" : "doing", before ?? {})
  return { title, blocks: [...problems(desk), ...blocks], left: backOutKey(desk), middle: leaveKey(back, "Back"), right:
    goKey("To the step", () => desk.show("step")) }
}

function groups(desk) {
  const listed = Object.entries(GROUPS).map(([group, [words, small]]) => ({ words, small, press: () => onward(desk, { group }) }))
  const stands = { words: "Say how a valve stands", small: "seen, not moved", press: () => desk.show("standing") }
  return spec(desk, "What was done beside the plan?", paired([...listed, stands]), null)
}

function verbs(desk) {
  const { at } = desk
  const list = GROUPS[at.group][2]
  const ordered = [...FIRST.filter((one) => list.includes(one)), ...list.filter((one) => !FIRST.includes(one))]
  const chosen = (verb) => (verb === "second look" ? desk.show("agree", {}) : onward(desk, { verb }))
  return spec(desk, GROUPS[at.group][0], paired(ordered.map((words) => ({ words, press: () => chosen(words) }))), {})
}

// Which valve or part of the station: those that this step works first.
function partsOf(desk) {
  const { at, book, view } = desk
  const node = book.node.get(view.step?.id)
  const head = (name) => book.names.part(name) || name.split(".")[0]
  const own = [...book.names.parts, ...(at.group === "guards" || at.group === "tells" ? ["alarm"] : [])]
  const here = (node?.touches ?? []).map(head).filter((one) => own.includes(one))
  const walked = [...(book.plan.minding?.parts ?? []), ...own]
  const fits = book.things.filter((one) => one.endsWith(`.${WORKS[at.verb]}`)).map(head)
  const every = [...new Set([...here, ...own.filter((one) => fits.includes(one)), ...walked])]
  const listed = every.map((part) => ({ words: part, small: here.includes(part) ? "of this step" : named(desk, part),
    press: () => onward(desk, { part }) }))
  const outside = { words: "Not of the station", small: "e.g. a hydrant; typed or spoken", press: () => desk.show("type",
    { title: "What was it?", label: "Words", from: "doing", fromAt: { ...at },
      take: (words) => onwardFrom(desk, at, { part: OUTSIDE, thing: `${OUTSIDE}.${words}` }) }) }
  const none = GROUPS[at.group][2] === TOUCHES || at.group === "guards" ? []
    : [{ words: "Nothing by name", small: "the whole station", press: () => onward(desk, { part: "", thing: "" }) }]
  return spec(desk, `${at.verb}: what?`, paired([...listed, ...none, outside]), { group: at.group })
}

const onwardFrom = (desk, at, more) => desk.show("doing", { ...at, ...more })

// What can be worked or touched: no proof, and nothing that only says what is to be put back.
const isThing = ({ plan }, name) =>
  !plan.nodes.some((node) => [...node.proves, ...node.opens, ...node.restores].includes(name))

function named(desk, name) {
  const words = plainly({ name, words: nameOf(desk, name) })
  return words === name ? "" : words
}

// The whole part, or what of it.
function thingsOf(desk) {
  const { at, book } = desk
  const mine = book.things.filter((one) => one.startsWith(`${at.part}.`) && isThing(book, one))
  if (mine.length === 0) return sizes(desk, at.part)
  const meant = `${at.part}.${WORKS[at.verb] ?? ""}`
  mine.sort((one, other) => Number(other === meant) - Number(one === meant))
  const whole = [{ words: at.part, small: "the whole of it", press: () => onward(desk, { thing: at.part }) }]
  const listed = [...(mine.includes(meant) ? [] : whole), ...mine.map((thing) => ({ words: thing.slice(at.part.length + 1).replaceAll("_", " "), small: named(desk, thing),
    press: () => onward(desk, { thing }) })), ...(mine.includes(meant) ? whole : [])]
  return spec(desk, `${at.verb} ${at.part}: which part?`, paired(listed), { group: at.group, verb: at.verb })
}

// How far, how much: only where the act has a size.
function sizes(desk, thing = desk.at.thing) {
  const { at, table } = desk
  const kind = TURNED.includes(at.verb) ? "turns" : SIZED[at.verb]
  const go = (amount) => entered(desk, { ...at, thing }, amount)
  const before = { group: at.group, verb: at.verb }
  const none = { words: kind === undefined ? "Go on" : "Not counted", small: kind === undefined ? "see what falls with it" : "",
    press: () => go(null) }
  const figure = kind === undefined ? [] : [{ words: `So many ${kind === "turns" ? "turns" : table.kinds[kind][0].unit}`,
    small: "on the ten keys", press: () => desk.show("figure", { ask: asking(table, actTitle(desk, at.verb, thing), kind),
      take: (amount) => go({ ...amount, kind }) }) }]
  const eighths = kind === "turns" ? EIGHTHS.map((one) => ({ words: sizeWords(one),
    press: () => go({ typed: String(one), unit: "turns", kind }) })) : []
  const listed = NEEDS_SIZE.includes(at.verb) ? [...eighths, ...figure, none] : [none, ...figure, ...eighths]
  return spec(desk, actTitle(desk, at.verb, thing), paired(listed), before)
}

// An act and what it is done to, in words.
function actTitle({ pack, plan }, verb, thing) {
  const called = thing.startsWith(`${OUTSIDE}.`) ? thing.slice(OUTSIDE.length + 1) : calledPlainly(pack, plan, thing)
  return thing ? `${verb}: ${called}` : verb
}

function entered(desk, about, amount) {
  const step = desk.view.step?.id ?? ""
  const given = { thing: about.thing, ...(amount === null ? {} : { amount }) }
  const make = () => act(desk.table, desk.book, step, about.verb, given)
  desk.show("falls", { make, words: actTitle(desk, about.verb, about.thing), then: "step", from: "doing",
    fromAt: { group: about.group, verb: about.verb, part: about.part } })
}

// How a valve or cock is seen to stand. at: { thing }.
export function standing(desk) {
  const { at, plan, view } = desk
  const rows = cocksOf(desk)
  if (at.thing === undefined) {
    const listed = rows.map((row) => ({ words: called(row), small: leftWords(row),
      press: () => desk.show("standing", { thing: row.part }) }))
    return spec(desk, "Which one?", paired(listed), {})
  }
  const own = plan.minding?.left?.find((one) => one.thing === at.thing)?.words ?? []
  const name = called(rows.find((row) => row.part === at.thing) ?? { part: at.thing })
  const words = [...new Set([...own.slice(0, 2), "open", "shut", "cracked open", "not found"])]
  const make = (how) => () => position(desk.book, view.step?.id ?? "", { [at.thing]: how })
  const listed = words.map((how) => ({ words: how, press: () => desk.show("falls", { make: make(how),
    words: `${name} stands ${how}`, then: "step", from: "standing", fromAt: { thing: at.thing } }) }))
  return spec(desk, `${name} stands`, [...paired(listed), line("As you see it now.")], {})
}
