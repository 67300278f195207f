// A second look by somebody else or by photos: at the list of cocks, naming the entry it stands on; and at what was taken back.

import { act, picture, position } from "../entering.js"
import { told } from "../keys.js"
import { called, cocksOf, leftWords } from "./opening.js"
import { backOutKey, choices, goKey, inPlainWords, leaveKey, line, peopleOf, problems, saidHere, stepTitle } from "./parts.js"
import { photoField } from "./picturing.js"

const LISTED = [["J4", "Y8", "R8"], ["K1"]] // steps at which the list of cocks is read first; else the record
const LOOKED = "second look"
const RETAKEN = "RUN-56"

// The entry a second look stands on: the last reading of the list, else the last word on how something stands.
export function listEntry(desk) {
  const { standing } = desk.book
  const base = (id) => id.split("@")[0].split(".")[0]
  const isLook = (one) => one.kind === "action" && [LOOKED, "look"].includes(one.payload.do)
  const at = (steps) => standing.findLast((one) => steps.includes(base(one.node))
    && ["observation", "position", "action"].includes(one.kind) && !isLook(one))
  return at(LISTED[0]) ?? at(LISTED[1]) ?? standing.findLast((one) => one.kind === "position") ?? null
}

// The last look: how each valve and cock is left. at: { by, index, to }.
export function lastLook(desk) {
  const { at, view, plan, book } = desk
  const step = view.step?.id ?? ""
  const rows = cocksOf(desk)
  const first = at.to ? book.entry(at.to) ?? null : listEntry(desk)
  const back = leaveKey(() => desk.show("more"), "Back")
  if (first === null) {
    return { title: "A second look needs a first one", blocks: [told("unknown",
      "Nobody has noted yet how the cocks are left. Do that at its step, then look again.")], left: backOutKey(desk),
    middle: back, right: goKey("Steps", () => desk.show("steps")) }
  }
  const stands = line(`Looks again at: ${first.node ? `${stepTitle(desk, first.node)}, ` : ""}${saidHere(desk, book.stands(first.id) ?? first)}, by ${first.who}.`)
  if (at.by === undefined) return whoLooks(desk, first, stands, back)
  const index = at.index ?? 0
  const next = () => desk.show("lastLook", { ...at, screen: "lastLook", index: index + 1 })
  if (index >= rows.length) {
    const given = { to: first.id, detail: at.by === "photo" ? "by photo of each" : "each looked at" }
    const end = async () => { if (await desk.enter(() => act(desk.table, book, step, LOOKED, given))) desk.show("final") }
    const seen = at.seen ?? []
    const open = rows.filter((row) => !seen.includes(row.part))
    const other = otherWords(rows, at.other)
    return { title: open.length === 0 ? "All were looked at" : `${open.length} were not looked at`,
      blocks: [...problems(desk), told(open.length === 0 ? "holds" : "slipped", open.length === 0
        ? `${rows.length} valves and cocks.` : `Not looked at: ${open.map(called).join(", ")}.`),
      other ? told("struck", other) : null, stands], left: backOutKey(desk),
      middle: back, right: open.length === 0 ? goKey("Note it", end, "second look")
        : goKey("Look again", () => desk.show("lastLook", { ...at, screen: "lastLook", index: rows.indexOf(open[0]) })) }
  }
  const row = rows[index]
  const words = row.says?.length > 0 ? row.says : plan.minding?.left?.find((one) => one.thing === row.part)?.words ?? []
  const done = () => { at.seen = [...new Set([...(at.seen ?? []), row.part])]; next() }
  const ways = waysOf(row, words)
  const note = ({ how, isLeft }) => async () => {
    if (!await desk.enter(() => position(book, step, { [row.part]: how }))) return
    at.other = { ...at.other, [row.part]: isLeft ? "" : how }
    done()
  }
  const listed = at.by === "photo" ? [] : choices(ways.map((way) => ({ words: way.words, small: way.small ?? "", press: note(way) })))
  const photo = at.by === "photo" ? photoField(desk, (given) => picture(book, step, row.part, given), done) : []
  return { title: `${called(row)}: ${leftWords(row)}`, blocks: [...problems(desk),
    line(`${index + 1} of ${rows.length}`), ...listed, ...photo],
  left: backOutKey(desk), middle: back, right: goKey("Skip", next, "not seen") }
}

// How a thing may be seen to stand: as it is to be left, in each way that is allowed, and otherwise. words: what may be said
// of it then.
export function waysOf({ should = "" }, words) {
  const own = words[0] ?? should
  const so = { words: "It stands so", small: should, how: own, isLeft: true }
  if (words.includes("shut and plugged")) {
    return [{ words: "It is open", small: "a live gauge on it", how: "open", isLeft: true },
      { words: "It is shut and plugged", how: "shut and plugged", isLeft: true }, { words: "It is shut, not plugged", how: "shut, not plugged" }]
  }
  if (/\bshut\b/.test(should)) return [so, { words: "It is open", how: "open" }]
  if (/\bopen\b/.test(should)) return [so, { words: "It is partly open", how: "partly open" }, { words: "It is shut", how: "shut" }]
  return [so, { words: "It stands otherwise", how: "otherwise" }]
}

// What a second look found otherwise than it is to be left; empty for nothing. found: { part: how it stands }.
export function otherWords(rows, found = {}) {
  const other = rows.filter((row) => found[row.part]).map((row) => `${called(row)} is ${found[row.part]}`)
  return other.length === 0 ? "" : `Not as it is to be left: ${other.join(", ")}. Put it right, then look again.`
}

function whoLooks(desk, first, stands, back) {
  const looks = (name) => async () => {
    await desk.take(name)
    desk.show("lastLook", { by: name, to: first.id })
  }
  const others = peopleOf(desk, [first.who]).map((name) => ({ words: name, small: "looks", press: looks(name) }))
  const listed = [...others, { words: "A photo of each", press: () => desk.show("lastLook", { by: "photo", to: first.id }) },
    { words: "Somebody else", small: "type a name", press: () => desk.show("who", { then: "lastLook", but: [first.who],
      thenAt: (name) => ({ by: name, to: first.id }) }) }]
  return { title: "Who looks a second time?", blocks: [stands, line(`Not ${first.who}: they looked first.`, "quiet"),
    ...choices(listed)], left: backOutKey(desk), middle: back, right: goKey("To the step", () => desk.show("step")) }
}

// What was taken back of a part that protects waits for somebody else to look and agree. at: { to }.
export function agree(desk) {
  const { at, view, book } = desk
  const open = view.final.because.filter((one) => one.code === RETAKEN)
  const back = leaveKey(() => desk.show("final"), "Back")
  const right = goKey("To the step", () => desk.show("step"))
  if (at.to === undefined) {
    const listed = open.map((one) => ({ words: saidHere(desk, book.entry(one.entries[0])), small: inPlainWords(desk, one.statement),
      press: () => desk.show("agree", { to: one.entries.at(-1), of: one.entries[0] }) }))
    const cocks = { words: "The list of cocks", small: "how each is left", press: () => desk.show("lastLook") }
    return { title: "What is looked at again?", blocks: [...problems(desk), ...choices([...listed, cocks])],
      left: backOutKey(desk), middle: back, right }
  }
  const [old, last] = [book.entry(at.of), book.entry(at.to)]
  const barred = [old.who, last.who]
  const agreed = (name) => async () => {
    await desk.take(name)
    const make = () => act(desk.table, book, old.node, LOOKED, { to: last.id })
    if (await desk.enter(make)) desk.show("final")
  }
  const listed = peopleOf(desk, barred).map((name) => ({ words: name, small: "looked at the station, and agrees",
    press: agreed(name) }))
  return { title: "Who looked again, and agrees?", blocks: [...problems(desk), line(saidHere(desk, old)),
    told("slipped", `${saidHere(desk, last, "it")}, by ${last.who}.`), line(`Not ${[...new Set(barred)].join(" or ")}.`, "quiet"),
    ...choices([...listed, { words: "Somebody else", small: "type a name", press: () => desk.show("who", { then: "agree",
      back: { to: at.to, of: at.of }, but: barred, thenAt: () => ({ to: at.to, of: at.of }) }) }])],
  left: backOutKey(desk), middle: back, right }
}
