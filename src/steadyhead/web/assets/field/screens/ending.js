// Proofs while they stand, what is in the way of final, deviations, signatures, and handing over.

import { timeOf, written } from "../clock.js"
import { deviation, sign } from "../entering.js"
import { el, told } from "../keys.js"
import { scoreBlocks } from "../pictures/score.js"
import { dayWords } from "../saying.js"
import { UNDONE, againstLine } from "./against.js"
import { backKey, backOutKey, choices, ended, goKey, inPlainWords, line, problems, several, stepTitle } from "./parts.js"
import { roomOf } from "./frame.js"
import { save } from "./saving.js"

const RISKS = ["none for people, checked", "consumers may lack water for a while", "the protection is slower than designed",
  "the alarm is missing", "said in the note"]
const MEASURES = [7, 30, 90, 365] // days until it is due. [d]
const DAY = 86_400_000
const MOST_TITLES = 6 // of steps named in one line. Own choice. [1]
const RETAKEN = "RUN-56" // taken back, and nobody else has looked

const toStep = (desk) => goKey(desk.view.step ? "To the step" : "Final", () => desk.show(desk.view.step ? "step" : "final"))

// The proofs as they stand now.
export function proofs(desk) {
  return { title: "Proofs", blocks: scoreBlocks(desk.view, roomOf(desk.frame), (words) => inPlainWords(desk, words)), left: backOutKey(desk), right: toStep(desk) }
}

// Notes and answers in words that the office has not gone through yet: what it looks for in them, and how they come there.
function unreadWords({ view, kept }) {
  const kinds = view.final.unread.map((id) => view.book.entry(id)?.kind)
  const notes = kinds.filter((kind) => kind === "note").length
  const many = [several(notes, "note", "notes"), several(kinds.length - notes, "answer in words", "answers in words")]
    .filter(Boolean).join(" and ")
  return `${many} not yet looked through in the office, for a part touched that no entry names. Nothing to do here: they go `
    + `there ${kept.isFile ? "with the saved file." : "with the next signal, or with the saved file."}`
}

// What stands against final, each with its way out.
export function final(desk) {
  const { view } = desk
  const against = [...view.final.because, ...view.final.server]
  const undone = against.filter((one) => one.code === UNDONE)
  const todo = undone.length < 2 ? [] : [told("due", el("b", {}, `${undone.length} steps are still to be done: `),
    ended(`${undone.slice(0, MOST_TITLES).map((one) => stepTitle(desk, one.about)).join("; ")}${undone.length > MOST_TITLES ? "; then the others, under Steps" : ""}`))]
  const rows = against.filter((one) => todo.length === 0 || one.code !== UNDONE).map((one) => againstLine(desk, one))
  const accepted = view.accepted.map((one) => told("due", el("b", {}, `${inPlainWords(desk, one.subject)}: `), "accepted by a deviation."))
  const unread = view.final.unread.length > 0 ? [told("unknown", unreadWords(desk))] : []
  const blocks = [...problems(desk), view.final.is ? told("holds", "Nothing stands against final.") : null, ...rows,
    ...todo,
    ...accepted, ...unread]
  const right = view.final.is ? goKey("Sign", () => desk.show("signature", { asks: "final" }), "as final")
    : goKey("Sign", () => desk.show("signature", { asks: "provisional" }), "as provisional")
  const may = against.filter((one) => one.severity !== "stop")
  const isRetaken = against.some((one) => one.code === RETAKEN)
  const extra = choices([...(may.length > 0 ? [{ words: "Record a deviation", press: () => desk.show("deviate") }] : []),
    ...(isRetaken ? [{ words: "Second look", small: "at what was taken back", press: () => desk.show("agree") }] : [])])
  return { title: view.final.is ? "Final" : `Not final: ${against.length} in the way`, blocks, extra,
    left: backOutKey(desk), right }
}

// Somebody accepts something as it is: what, what may happen, until when, who answers; all chosen.
export function deviate(desk) {
  const { view, at, pack } = desk
  const chosen = (more) => desk.show("deviate", { ...at, ...more })
  const left = backKey(desk, "final")
  if (at.about === undefined) {
    const may = [...new Map(view.final.because.filter((one) => one.severity !== "stop").map((one) => [one.about,
      one])).values()]
    return { title: "What is accepted as it is?", blocks: [...problems(desk),
      ...choices(may.map((one) => ({ words: inPlainWords(desk, one.subject),
      small: [view.steps.find((each) => each.id === one.about)?.title, one.title].filter(Boolean).join(": "), press: () => chosen({ about: one.about, what: one.statement }) })))], left, right: null }
  }
  if (at.risk === undefined) {
    const typed = { words: "Say it otherwise", small: "typed or spoken",
      press: () => desk.show("type", { title: "What may happen?",
      label: "Risk", from: "final", long: true, take: (risk) => chosen({ risk }) }) }
    return { title: "What may happen?", blocks: choices([...RISKS.map((risk) => ({ words: risk,
      press: () => chosen({ risk }) })), typed]), left, right: null }
  }
  if (at.due === undefined) {
    const after = (days) => 1000 * timeOf(desk.now()) + days * DAY
    const dayIn = (days) => written(after(days)).slice(0, 10)
    return { title: "Put right until", blocks: choices(MEASURES.map((days) => ({ words: dayWords(after(days)),
      small: `in ${days} days`,
      press: () => chosen({ due: dayIn(days) }) }))), left, right: null }
  }
  const people = [...new Set([...view.people, ...(pack.people ?? []).map((one) => one.name ?? one)])]
  const role = at.owner === undefined ? "owner" : "accepted_by"
  const listed = people.map((name) => ({ words: name,
    press: () => (role === "owner" ? chosen({ owner: name }) : accepted(desk, name)) }))
  return { title: role === "owner" ? "Who puts it right?" : "Who accepts it?",
    blocks: [...problems(desk), line(at.risk), ...choices(listed)], left, right: null }
}

async function accepted(desk, name) {
  const { about, what, risk, due, owner } = desk.at
  if (await desk.enter(() => deviation(desk.book, { about, what, risk, due, owner, accepted_by: name }))) desk.show("final")
}

// Sign, in the name of the person who works with this device.
export function signature(desk) {
  const { at, view, table } = desk
  const against = [...view.final.because, ...view.final.server]
  const give = async () => {
    if (await desk.enter(() => sign(table, desk.book, "", at.asks, {},
      at.asks === "final" ? against : []))) desk.show("hand")
  }
  const since = told("due", "Whatever is entered after it takes the signature back.")
  const open = at.asks === "final" ? [] : [told("unknown", `${against.length} things stay open. Provisional is not final.`)]
  // who looked a second time may still hold the device
  const other = { words: "Somebody else", small: `not ${desk.who}`, press: () => desk.show("who", { then: "signature",
    back: { asks: at.asks }, thenAt: () => ({ asks: at.asks }) }) }
  return { title: `Sign as ${at.asks}`, blocks: [...problems(desk),
    line(`${desk.who}, for ${desk.plan.station_name}.`, "large"), since, ...open], extra: choices([other]),
    left: backKey(desk, "final"), right: goKey("Sign", give, at.asks) }
}

// Hand over: everything of this visit as one file; what is sent.
export function hand(desk) {
  const { counts, told: sent, view } = desk
  const signs = view.signs.map((one) => told(one.stands ? "holds" : "struck", `${one.asks ?? "signed"}, ${one.who}`))
  const blocks = [...problems(desk), told(counts.unsent === 0 ? "holds" : "unknown",
    `${counts.all} entries; ${counts.unsent} not sent.`),
    sent.words && !(sent.state === "idle" && counts.unsent > 0) ? line(sent.words) : null, counts.unsaved > 0
      ? told("slipped", `${counts.unsaved} are in memory only: save the file.`) : null, ...signs,
    line("The file holds every entry. The page of the visit in the office takes it.")]
  const send = choices([...(desk.outbox ? [{ words: "Send now", press: () => desk.outbox.send() }] : []),
    { words: "Certificate", small: "from the register", press: () => desk.show("certificate") },
    { words: "On the spot", small: "code or page", press: () => desk.show("statement") }])
  return { title: "Hand over", blocks, extra: send, left: backOutKey(desk),
    right: goKey("Save the file", () => save(desk), "one touch") }
}
