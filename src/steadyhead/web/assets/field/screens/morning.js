// Coming back after a night: where the work stood, what does not hold over it, and the cocks again before anybody works.

import { act } from "../entering.js"
import { el, told } from "../keys.js"
import { clockWords, textOf } from "../saying.js"
import { dayOf, setBy, todayOf } from "./nights.js"
import { called, cocksOf } from "./opening.js"
import { againAt, backOutKey, capital, choices, ended, goKey, labelled, leaveKey, line, plainly, problems, saidHere } from "./parts.js"

const AIR = "Air and water in the chamber are tested before each entry."
const DAILY = { A2: "The permit is for a day, or for one entry.", A3: "Those concerned are told that work goes on.",
  A4: AIR, A6: "A gauge is seen to be live before it is read.",
  A8: "The alarm may be live again, or still on test.", Y1: AIR, R4: AIR }
const ONLY = { Y1: ["air"], R4: ["air"] } // the rest of these steps tells how it was found: that stays
const RISES = ["F1", "F3", "Y4", "Y6", "DS5"] // steps at which the line is raised to the trip
const MOVED = ["open", "shut", "crack", "throttle", "lock", "unlock", "isolate"]

const base = (id) => id.split("@")[0].split(".")[0]

// Steps of every day, and whether they were done since this day began.
function daily(desk) {
  const { view, book } = desk
  const today = todayOf(desk)
  return view.steps.filter((one) => base(one.id) in DAILY && one.state !== "open" && one.state !== "waits")
    .map((one) => ({ ...one, why: DAILY[base(one.id)], isDone: book.standing.some((entry) => entry.node === one.id
      && dayOf(entry) >= today) }))
}

// The first screen of the day.
export function morning(desk) {
  const { book, pack, view } = desk
  const last = book.standing.at(-1)
  const worked = book.standing.findLast((one) => one.node && book.node.has(one.node)) ?? last
  const out = view.items.filter((one) => one.state === "open")
  const lost = view.proofs.filter((one) => one.state === "stale")
  const again = daily(desk).filter((one) => !one.isDone)
  const stood = worked.node ? textOf(pack, book.node.get(worked.node).title) : "before the first step"
  const blocks = [...problems(desk), headed("Here the work stood",
    told("due", el("b", {}, `${ended(stood)} `), `${capital(saidHere(desk, worked))}; ${clockWords(worked)}, ${worked.who}.`),
    line(ended(`Next: ${view.step ? view.step.title : "nothing is left to do"}`))),
    headed("To be put back before the end", out.length > 0
      ? told("slipped", `${capital(out.map(plainly).join("; "))}.`) : told("holds", "Nothing.")),
    ...lost.map((one) => told("slipped", `${plainly(one)}: stale. ${againAt(desk, one.steps)}`)),
    headed("Does not hold over a night",
      told("slipped", "A shut section may have filled. See zero on a live gauge again before anything is loosened.")),
    ...again.map((one) => told("slipped", el("b", {}, `${labelled(one.title)} `), `again today. ${one.why}`)),
    desk.plan.nodes.some((one) => RISES.includes(base(one.id)))
      ? told("due", "After the night the first rise stands for itself. Do not join it with runs of the day before.") : null]
  return { title: "A night lies between", blocks, left: backOutKey(desk), right: goKey("The cocks", () => desk.show("cocksAgain"),
    "as you walk") }
}

const headed = (words, ...blocks) => el("div", { class: "headed" }, line(words, "large"), ...blocks)

// How each valve and cock stood when it was noted last, in walking order.
export function cocksAgain(desk) {
  const rows = cocksOf(desk).map((row) => {
    const last = lastOf(desk, row.part)
    const set = last === null ? setBy(desk.book, row.part, (one) => textOf(desk.pack, one)) : null
    const words = set !== null ? `a step says: ${set.words.replace(/[.;]$/, "")}; ${clockWords(set.entry)}, ${set.entry.who}`
      : last === null ? "not noted yet; look how it stands" : `${last.kind === "position" ? last.payload.is : saidMoved(last)}, ${clockWords(last)}, ${last.who}`
    return told(last === null && set === null ? "unknown" : "due", el("b", {}, `${called(row)}: `), `${words}.`)
  })
  const seen = async () => {
    const given = { detail: "cocks and valves, coming back" }
    if (!await desk.enter(() => act(desk.table, desk.book, "", "look", given))) return
    await desk.keepWay({ morning: todayOf(desk) })
    desk.show("today")
  }
  const differs = choices([{ words: "One stands otherwise", press: () => desk.show("standing") }])
  return { title: "Does each stand as it was left?", blocks: [...problems(desk), ...rows], extra: differs, left: backOutKey(desk),
    middle: leaveKey(() => desk.show("morning"), "Back"), right: goKey("Seen", seen, "each of them") }
}

function lastOf({ book }, part) {
  return book.standing.findLast((one) => (one.kind === "position" || (one.kind === "action" && MOVED.includes(one.payload.do)))
    && book.names.part(String(one.payload.thing ?? "")) === part) ?? null
}

const saidMoved = ({ payload }) => `${payload.do} ${payload.detail ?? ""}`.trim()

// What is done again today before the work goes on: each step may be opened; then who works.
export function today(desk) {
  const listed = daily(desk).map((one) => ({ words: one.title, small: `${one.id}, ${one.isDone ? "done today" : one.why}`,
    pressed: one.isDone ? true : null, press: async () => {
      await desk.go(one.id)
      desk.show("again", { only: ONLY[base(one.id)] })
    } }))
  return { title: "Again today", blocks: [...problems(desk), ...choices(listed),
    listed.length === 0 ? told("holds", "This plan has no step of every day.") : null], left: backOutKey(desk),
  right: goKey("Who works", () => desk.show("who"), "then on with the work") }
}
