// One step: what to do, what is dangerous, what was noted, and the way on; the way out beside it.

import { done, note } from "../entering.js"
import { el, key, told } from "../keys.js"
import { after, nextAsk, showAsk } from "./asking.js"
import { besideWhat } from "./beside.js"
import { dayOf, todayOf } from "./nights.js"
import { backKey, backOutKey, choices, ended, goKey, hazard, labelled, line, lines, paired, peopleOf, problems, stepTitle, verdictLine } from "./parts.js"
import { textOf, timeWords } from "../saying.js"
import { releaseLines } from "./opening.js"
import { save } from "./saving.js"
import { stopKeys } from "./stopped.js"
import { isStop, stop } from "./stopping.js"
import { signIn } from "./taking.js"

const SHOWN = 2 // of the next steps, before all others. Own choice. [1]
const STATES = { waits: "waits for a choice" }
const HOW = { outside: "nobody is down, nothing was worked", isolated: "cut off, nothing runs", closing: "valves on their way to shut",
  filling: "water comes in, air goes out", trickle: "a trickle runs", raised: "the outlet stands above duty",
  tripped: "the shut-off has shut", flowing: "test flow runs", opening: "valves on their way to open",
  in_service: "consumers are fed", lockup: "no water runs, the drain is shut" }
const WORKED = ["reading", "observation", "action", "position"]
const UNTOUCHED = "Nothing of the station was touched by this step. Leave everything as it stands. Shut and lock the lid. Tell the desk."

export function step(desk) {
  const { view } = desk
  const one = view.step
  if (one === null) return { title: "Nothing is left to do", blocks: [line("Every step on this way is done.")],
    extra: [moreKey(desk), personKey(desk), saveKey(desk)], left: backOutKey(desk),
    right: goKey("Final", () => desk.show("final")) }
  if (isStop(desk, one)) return stop(desk)
  const given = [...one.inputs, ...one.worked].filter((each) => each.verdict !== null).map(verdictLine)
  const uncounted = one.inputs.filter((each) => each.uncounted !== "").map((each) => told("slipped", el("b", {}, `${labelled(each.label)} `),
    `noted, and it counts for nothing: ${each.uncounted}.`))
  const chosen = one.choice?.options.find((each) => each.name === one.choice.chosen)
  // what closes a step stands by what was noted last: no page is left for it alone
  const ends = [chosen ? told("holds", `Chosen: ${chosen.words}`) : null, one.isStopped ? told("struck", "Outside, and recorded.") : null,
    one.state === "done" ? told("holds", "Done.") : null].filter(Boolean)
  const noted = [...given, ...uncounted]
  const last = ends.length > 0 && noted.length > 0 ? [noted.pop()] : []
  const blocks = [...problems(desk), ...looseWords(desk), ...clockAsked(desk), ...releaseLines(desk, one), ...wayWords(desk, one), ...one.hazards.map((each) => hazard(each.words)),
    ...readyWords(desk, one), ...lines(one.ended ? [] : one.do, "do"), turnLine(view, one), ...noted,
    ends.length > 0 ? el("div", { class: "headed" }, ...last, ...ends) : null]
  return { title: one.title, blocks, extra: [differentKey(desk), moreKey(desk), personKey(desk), saveKey(desk)],
    left: backOutKey(desk), right: goOn(desk, one) }
}

// What is in memory only while the disk takes nothing more, and why, until it is saved.
function looseWords({ kept, counts, problem }) {
  const words = kept.kind === "stored" && counts.unsaved > 0 ? kept.why : ""
  return words === "" || problem.includes(words) ? [] : [told("struck", words)]
}

// A step that is opened before its turn says so, and which one is next.
function readyWords(desk, one) {
  const next = desk.view.next.find((id) => id !== one.id)
  const early = earlyWords(desk, one)
  if (early !== "") return [told("slipped", el("b", {}, `Not its turn: ${early}`))]
  const words = one.state === "waits" ? "Not its turn: a choice that leads here is still open."
    : one.ready === false && one.state === "open" && !desk.view.next.includes(one.id) ? "Something that must stand before it is still open." : ""
  return words === "" ? [] : [told("slipped", el("b", {}, words), next === undefined ? "" : ` ${ended(`Next is: ${stepTitle(desk, next)}`)}`)]
}

// Why what comes after the signature is not due yet; nothing where it is, or for any other step.
function earlyWords(desk, one) {
  if (!isLast(desk, one.id) || one.state === "done") return ""
  const sign = desk.view.signs.find((each) => each.stands)
  if (sign === undefined) return "the visit is not signed yet. It follows the signature, the first night and the first week."
  return dayOf(desk.view.book.entry(sign.entry)) === todayOf(desk) ? "it was signed today. It follows the first night and the first week."
    : ""
}

// Whether a step comes after the signature, which is given with the record of the visit.
const isLast = ({ plan }, id) => (plan.after ?? []).includes(id) && !id.startsWith("K1")

// A way that what was seen has ended: its step is done no further; where it was chosen another is chosen, and why.
function wayWords(desk, one) {
  if (one.ended) return [told("struck", el("b", {}, "This way is over: do nothing further of this step."),
    ` Choose another: ${stepTitle(desk, one.ended)}`)]
  return isAnew(desk, one) ? [told("slipped", el("b", {}, "Another way is to be chosen here."),
    ...one.anew.map(({ step: at, see }) => ` ${labelled(stepTitle(desk, at))} ${see}`),
    ...lostBy(one).map(({ step: at }) => ` ${labelled(stepTitle(desk, at))} to be done anew.`))] : []
}

// Whether the choice of a step is to be taken anew, though it is made.
const isAnew = ({ view }, one) => one.choice !== null && one.state === "done" && view.next.includes(one.id)
  && (one.anew.length > 0 || lostBy(one).length > 0)

// Steps that were lost, and are done anew by another way than the one that was chosen.
const lostBy = (one) => one.instead.filter(({ option }) => option !== one.choice.chosen)

function turnLine(view, one) {
  const { advice } = view
  const isOver = one.state === "done" || one.state === "accepted" // nothing is to be turned any more
  if (isOver || advice === null || advice.step !== one.id || advice.advice === null || advice.advice.turn !== 0) return null
  return told("due", advice.lines.find((each) => !each.startsWith("To be reached")) ?? "")
}

// After a gap in which the device may have slept, the person says whether its clock is right.
function clockAsked(desk) {
  if (!desk.isClockAsked) return []
  const now = timeWords(Date.now())
  const yes = { words: "The clock is right", small: `it shows ${now}`, press: () => { desk.clockIsRight(); desk.draw() } }
  return [told("slipped", "The clock jumped while the page slept."), ...choices([yes])]
}

const differentKey = (desk) => key("What I see is different", () => desk.show("causes"), { name: "different" })

// Where entries are in memory only: one touch saves them all as a file.
const saveKey = (desk) => (desk.counts.unsaved === 0 ? null
  : key("Save the file", () => save(desk), { name: "save", small: `${desk.counts.unsaved} not saved` }))

// One touch: the next person of this visit works with this device.
function personKey(desk) {
  const all = desk.view.people.length > 1 ? desk.view.people : peopleOf(desk)
  if (all.length < 2) return null
  const next = all[(all.indexOf(desk.who) + 1) % all.length]
  const change = async () => { await desk.take(next); desk.draw() }
  return key(desk.who || "Nobody", change, { name: "person", small: `then ${next}` })
}

const moreKey = (desk) => key("More", () => desk.show("more"), { name: "more", small: "note, photo, light" })

// The one key that goes on: what is to be turned, read, answered, done; then the next step.
function goOn(desk, one) {
  const { view } = desk
  if (one.ended) return goKey("Next step", () => desk.go(one.ended), stepTitle(desk, one.ended)) // nothing more is asked here
  const isTurn = view.advice?.step === one.id && (view.advice.advice?.turn ?? 0) !== 0
  if (isTurn && !desk.draft.isTurned) return goKey("Turn", () => desk.show("turn"), "the next turn of the screw")
  if (earlyWords(desk, one) !== "") return view.signs.some((each) => each.stands) ? goKey("Steps", () => desk.show("steps"), "this one later")
    : goKey("Final", () => desk.show("final"), "the signature comes first")
  const ask = nextAsk(one)
  if (ask !== null) return goKey(ask.words, () => showAsk(desk, ask.name), ask.small)
  if (one.isTick) return goKey("Done", async () => { if (await desk.enter(() => done(desk.book, one.id))) after(desk) },
    "as it is written")
  if (isAnew(desk, one)) return goKey("Choose", () => showAsk(desk, "@choice"), "another way")
  if (view.next.length === 0) return goKey("Final", () => desk.show("final"), "nothing is left to do")
  if (view.next.every((id) => isLast(desk, id) && id !== one.id) && view.signs.every((each) => !each.stands)) {
    return goKey("Final", () => desk.show("final"), "what is left comes after the signature")
  }
  const next = view.next.find((id) => id !== one.id) ?? view.next[0]
  if (next === one.id) return goKey("Answer again", () => desk.show("again"), "this step is still open")
  return goKey("Next step", () => desk.go(next), stepTitle(desk, next))
}

// Everything beside the step.
export function more(desk) {
  const { view } = desk
  const one = view.step
  const item = (words, press, small = "") => ({ words, press, small })
  const note = () => desk.show("type", { title: "Note", label: "What is to be noted", from: "more", long: true,
    take: (words) => noted(desk, words) })
  const what = besideWhat(desk)
  const aside = what === null ? [] : [item("Beside the reading", () => desk.show("beside", { input: what.input.name,
    entry: what.entry }), `${what.input.label}: height, zero, swing …`)]
  const isDayBegun = desk.way.morning !== undefined && desk.way.morning === todayOf(desk)
  const daily = isDayBegun ? [item("Again today", () => desk.show("today"), "what a night made stale")] : []
  const out = desk.told.state === "signed out" ? [item("Sign in", () => { location.href = signIn() }, "nothing is lost")] : []
  const listed = [...out, ...aside, ...daily, item("Something was done", () => desk.show("doing"), "beside the plan"),
    ...(one === null ? [] : [item("Answer again", () => desk.show("again"), "read or say once more")]),
    item("Entries", () => desk.show("entries"), "correct, make void"), item("Photo", () => desk.show("answer", { photo: true }), "of what I see"),
    item("Note", note, "typed or spoken"),
    item("Stopwatch", () => desk.show("watch", { isFree: true })),
      item("Lamp or sun", () => desk.turnLight(), "the next light"),
    item("Steps", () => desk.show("steps"), `${view.steps.filter((each) => each.state === "done").length} of ${view.steps.length} done`),
    ...((desk.plan.notes ?? []).length > 0 ? [item("Notes of the plan", () => desk.show("notes"), "before reading on")] : []),
    item("When to stop", () => desk.show("rules")), item("Proofs", () => desk.show("proofs")),
      item("Final", () => desk.show("final")),
    item("Somebody else", () => desk.show("who"), desk.who),
      item("Gauges", () => desk.show("gauge", { kind: "pressure", from: "more" })),
    item("Last look", () => desk.show("lastLook"), "cocks and valves"),
      item("Hand over", () => desk.show("hand"), "save the file"),
    item("Visits", () => desk.show("visits"), "on this device")]
  return { title: "More", blocks: paired(listed), left: backOutKey(desk), right:
    goKey("To the step", () => desk.show(one ? "step" : "final")) }
}

async function noted(desk, words) {
  const { book, view } = desk
  if (await desk.enter(() => note(book, view.step?.id ?? "", words))) after(desk)
}

// The steps on this way: each may be opened.
export function steps(desk) {
  const { view, at } = desk
  const toKey = (one) => ({ words: one.title, small: `${one.id}, ${STATES[one.state] ?? one.state}`,
    press: () => desk.go(one.id), pressed: one.id === view.step?.id })
  const right = goKey("To the step", () => desk.show("step"))
  const letter = (one) => one.id[0]
  if (at.letter !== undefined) {
    return { title: "Steps", blocks: choices(view.steps.filter((one) => letter(one) === at.letter).map(toKey)),
      left: backKey(desk, "steps"), right }
  }
  const next = view.next.map((id) => view.steps.find((one) => one.id === id)).filter(Boolean).slice(0, SHOWN)
  const groups = [...new Set(view.steps.map(letter))].map((name) => {
    const mine = view.steps.filter((one) => letter(one) === name)
    return { words: mine.length > 1 ? `${mine[0].title} … ${mine.at(-1).title}` : mine[0].title,
      small: `${name}, ${mine.filter((one) => one.state === "done").length} of ${mine.length} done`,
      press: () => desk.show("steps", { letter: name }) }
  })
  return { title: "Steps", blocks: [...choices(next.map(toKey)), ...paired(groups)], left: backKey(desk, "more"), right }
}

// When to stop, whatever the step.
export function rules(desk) {
  return { title: "When to stop", blocks: stopKeys(desk),
    left: backOutKey(desk), right: goKey("To the step", () => desk.show("step")) }
}

// How to leave the station safe, for the state it is in.
export function back(desk) {
  const { view, at } = desk
  const ways = waysOut(desk)
  const picked = ways.find((one) => one.state === at.state) ?? (ways.length === 1 ? ways[0] : null)
  const from = at.from ?? { screen: "step" }
  const onward = goKey("Go on instead", () => desk.show(from.screen, from))
  if (picked === null && ways.length > 1) {
    const listed = ways.map((one) => ({ words: wordOf(one.state), small: HOW[one.state] ?? "",
      press: () => desk.show("back", { from, state: one.state }) }))
    return { title: "Back out: how does the station stand?", blocks: choices(listed),
      left: backKey(desk, from.screen, from),
      right: onward }
  }
  const words = picked?.words ?? UNTOUCHED
  return { title: `Back out${picked ? `: ${wordOf(picked.state)}` : ""}`, blocks: [...backLines(words),
    desk.pack.station?.control_room ? line(`The desk: ${desk.pack.station.control_room}`) : null,
    line("The visit stays open. What was noted is kept.")], left: backKey(desk, from.screen, from), right: onward }
}

// The ways out of the step where something was done last, and of the step that is shown: the station is in the state it was
// brought to, whatever step is looked at.
function waysOut(desk) {
  const { view, plan, pack, book } = desk
  const shown = view.step?.backOut ?? []
  const last = book.standing.findLast((one) => WORKED.includes(one.kind) && book.node.has(one.node))
  const node = plan.nodes.find((one) => one.id === last?.node)
  const there = node === undefined || node.id === view.step?.id ? []
    : node.back_out.map((one) => ({ state: one.state, words: textOf(pack, one.do), at: node.id }))
  const isWorked = node !== undefined && node.id === view.step?.id
  const found = isWorked || there.length === 0 ? shown : [...there, ...shown]
  return found.filter((one, at) => found.findIndex((each) => each.state === one.state) === at)
}

const wordOf = (state) => state.replaceAll("_", " ")

const backLines = (words) => words.split(/(?<=\.)\s+/).map((one, index) => line(`${index + 1} ${one}`, "action"))
