// Before the first step: which station, as left, hazards, cocks, who.

import { canonical } from "../canonical.js"
import { el, sentences, told } from "../keys.js"
import { textOf } from "../saying.js"
import { liesBetween } from "./nights.js"
import { backKey, backOutKey, capital, choices, goKey, hazard, leaveKey, line, lines, problems } from "./parts.js"

// Which station: name, photo, place, codes, and those that are called alike.
export function where(desk) {
  const { pack, plan } = desk
  const station = pack.station ?? {}
  const has = (value) => value !== undefined && value !== null && value !== ""
  const place = has(station.latitude) ? `${station.latitude}, ${station.longitude}` : ""
  const alike = (station.alike ?? []).map((one) => told("slipped", `Not to be mixed up with ${one.name} (${one.id})`,
    has(one.place) ? `, ${one.place}` : "", has(one.why) ? `: ${one.why}` : ""))
  const blocks = [photoOf(station), line(`${station.name ?? plan.station_name}, ${station.id ?? plan.station_id}`, "large"),
    has(station.place) ? line(station.place) : null, place ? line(`Coordinates ${place}.`) : null,
    has(station.code_words) ? line(`Code on card and plan: ${station.code_words}.`) : null, ...alike,
    line("Compare with the plate on the lid and in the chamber.")]
  const extra = has(station.code_words) ? choices([{ words: "The code", small: "compare, or read it",
    press: () => desk.show("code") }]) : []
  return { title: "Is it this station?", blocks, extra, left: backKey(desk, "ready", {}, "Not this one"),
    right: goKey("It is this one", () => desk.show("before")) }
}

function photoOf(station) {
  if (!station.photo_data) return null
  return el("img", { class: "photo", src: station.photo_data, alt: `Photo of ${station.name}` })
}

const NOT_RELEASED = "note.not_released" // what the plan says first where its design is not released
const [GENERAL, PLAIN] = [/^(defer|limits)\./, /^note\.(gates|gauges|gauges_plain)$/] // notes of every plan; against nothing
const RELEASED = "released" // what A1 asks

// The notes of the plan, as paper has them before reading on: those of this station first, then those of every plan.
export function noteLines({ pack, plan }) {
  const all = plan.notes ?? []
  const [every, own] = [all.filter((one) => GENERAL.test(one.id)), all.filter((one) => !GENERAL.test(one.id))]
  const kind = ({ id }) => (id === NOT_RELEASED ? "struck" : GENERAL.test(id) || PLAIN.test(id) ? "due" : "slipped")
  return [...own, ...every].map((one) => told(kind(one), capital(textOf(pack, one))))
}

// At the step that asks whether the design is released: that it is not, as the plan has it. Empty where nothing is against it.
export function releaseLines({ pack, plan }, step) {
  const note = (plan.notes ?? []).find((one) => one.id === NOT_RELEASED)
  if (note === undefined || !step.inputs.some((one) => one.name === RELEASED)) return []
  return [told("struck", el("b", {}, sentences(textOf(pack, note))[0]),
    " Why: More, Notes of the plan. Settle it before anybody travels.")]
}

// The notes of the plan once more, from More.
export function notes(desk) {
  return { title: "Notes of the plan", blocks: noteLines(desk), left: backOutKey(desk),
    middle: leaveKey(() => desk.show("more"), "Back"),
    right: goKey("To the step", () => desk.show(desk.view.step ? "step" : "final")) }
}

// What the plan says before reading on, what is dangerous here, and what was left last time.
export function before(desk) {
  const { pack, plan } = desk
  const found = pack.hazards ?? unique(plan.nodes.flatMap((node) => node.hazards)
    .map((one) => pack.texts[canonical({ id: one.caution.id, params: one.caution.params })])).slice(0, 8)
  const words = found.map((one) => (typeof one === "string" ? one : one?.words)).filter(Boolean)
  const left = (pack.as_left ?? []).map((one) => told(one.stands ? "slipped" : "holds",
    el("b", {}, `${one.what}: ${one.words ?? one.value}`), one.on ? `, left ${one.on}` : "",
    one.stands ? `. Today: ${one.stands}.` : ""))
  const none = told("unknown", "No values of an earlier visit are known.")
  return { title: "Before you go down", blocks: [...noteLines(desk), ...words.map(hazard),
    el("div", { class: "headed" }, line("Left last time", "large"), left[0] ?? none), ...left.slice(1)], left: backKey(desk, "where"),
      right: goKey("I have read it", () => desk.show("cocks")) }
}

const unique = (listed) => [...new Set(listed.filter(Boolean))]

// Where every valve and cock stands, in walking order; at the end again, by somebody else or by a photo.
export function cocksOf({ pack, plan }) {
  const told = (one) => pack.texts[canonical({ id: one.id, params: one.params })]
  return pack.cocks?.length > 0 ? pack.cocks : plan.left.map((one) => ({ part: one.part,
    words: plan.names?.[one.part] ? told(plan.names[one.part]) ?? one.part : one.part,
    should: told(one.state) ?? one.state.id, says: [] }))
}

// What a valve or cock is called: its words, or its tag on the drawing.
export const called = (row) => row.words || row.part

// How a row is to be left, the thing before the state: `gauge cock to be left shut`.
export function leftWords({ should = "" }) {
  const [, thing, state] = /^([^:]+): (.+)$/s.exec(should) ?? ["", "", should]
  return `${thing ? `${thing} ` : ""}to be left ${state}`
}

export function cocks(desk) {
  const rows = cocksOf(desk).map((one) => told("due", el("b", {}, called(one)),
    `: ${leftWords(one)}`))
  return { title: "Cocks and valves, as you walk", blocks: [
    line("How each is to be left at the end. Look how it stands now, touch none; a step notes it."), ...rows],
    left: backKey(desk, "before"), right: goKey("Seen", () => desk.show("who")) }
}

// Who works with this device. at: { then, thenAt(name), but }: where somebody else was looked for, and not who.
export function who(desk) {
  const { at } = desk
  const known = unique([...desk.view.people, ...(desk.pack.people ?? []).map((one) => one.name ?? one)])
    .filter((name) => !(at.but ?? []).includes(name))
  const named = (name) => async () => {
    const given = (desk.pack.people ?? []).find((one) => one.name === name)
    const isNight = liesBetween(desk) // before this person is entered as of today
    await desk.take(name, { role: given?.role ?? "", authorised_until: given?.authorised_until ?? "" })
    await desk.keepWay({ isThrough: true })
    if (at.then !== undefined && !isNight && !(at.but ?? []).includes(name)) return desk.show(at.then, at.thenAt(name))
    return (isNight ? desk.show("morning") : desk.go())
  }
  const listed = choices(known.map((name) => ({ words: name, press: named(name), pressed: name === desk.who })))
  const other = { words: "Somebody else", small: "type a name", press: () => desk.show("type", { title: "Who are you?",
    label: "Name", from: "who", fromAt: { ...at }, take: (words) => named(words)() }) }
  return { title: "Who works with this device?", blocks: [...problems(desk), ...listed, ...choices([other])],
    left: at.then !== undefined ? backKey(desk, at.then, at.back ?? {}) : backKey(desk, desk.way.isThrough ? "more" : "cocks"), right: null }
}

// Words that are typed: only on wish.
export function type(desk) {
  const { title, label, take, from, long } = desk.at
  const field = el(long ? "textarea" : "input", { id: "words", "data-key": "words", autocomplete: "off",
    rows: long ? 4 : null })
  field.value = desk.at.words ?? ""
  field.addEventListener("input", () => { desk.at.words = field.value })
  return { title, blocks: [...problems(desk), el("label", { for: "words" }, label), field, ...lines(desk.at.hints ?? [])],
    left: backKey(desk, from, desk.at.fromAt), right: goKey("Take", () => { if (field.value.trim()) take(field.value.trim()) }) }
}
