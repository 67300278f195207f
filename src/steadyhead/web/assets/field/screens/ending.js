// Proofs while they stand, what is in the way of final, deviations, signatures, the last look, and handing over.

import { sha256 } from "../canonical.js"
import { act, deviation, picture, position, sign } from "../entering.js"
import { el, told } from "../keys.js"
import { scoreBlocks } from "../pictures/score.js"
import { cocksOf } from "./opening.js"
import { backKey, backOutKey, choices, goKey, line, problems } from "./parts.js"
import { save } from "./saving.js"

const RISKS = ["none for people, checked", "consumers may lack water for a while", "the protection is slower than designed",
  "the alarm is missing", "said in the note"]
const MEASURES = [7, 30, 90, 365] // days until it is due. [d]
const DAY = 86_400_000

const toStep = (desk) => goKey(desk.view.step ? "To the step" : "Final", () => desk.show(desk.view.step ? "step" : "final"))

// The proofs as they stand now.
export function proofs(desk) {
  return { title: "Proofs", blocks: scoreBlocks(desk.view), left: backOutKey(desk), right: toStep(desk) }
}

// What stands against final, each with its way out.
export function final(desk) {
  const { view } = desk
  const against = [...view.final.because, ...view.final.server]
  const rows = against.map((one) => told(one.severity === "stop" ? "struck" : "due",
    one.statement.startsWith(one.about) ? "" : el("b", {}, `${one.subject}: `), one.statement, " ", one.cure))
  const accepted = view.accepted.map((one) => told("due", el("b", {}, `${one.subject}: `), "accepted by a deviation."))
  const unread = view.final.unread.length > 0 ? [told("unknown",
    `${view.final.unread.length} notes are not read by the server yet.`)] : []
  const blocks = [...problems(desk), view.final.is ? told("holds", "Nothing stands against final.") : null, ...rows,
    ...accepted, ...unread]
  const right = view.final.is ? goKey("Sign", () => desk.show("signature", { asks: "final" }), "as final")
    : goKey("Sign", () => desk.show("signature", { asks: "provisional" }), "as provisional")
  const may = against.filter((one) => one.severity !== "stop")
  const extra = may.length > 0 ? choices([{ words: "Record a deviation", press: () => desk.show("deviate") }]) : []
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
      ...choices(may.map((one) => ({ words: one.subject,
      small: one.title, press: () => chosen({ about: one.about, what: one.statement }) })))], left, right: null }
  }
  if (at.risk === undefined) {
    const typed = { words: "Say it otherwise", small: "typed or spoken",
      press: () => desk.show("type", { title: "What may happen?",
      label: "Risk", from: "final", long: true, take: (risk) => chosen({ risk }) }) }
    return { title: "What may happen?", blocks: choices([...RISKS.map((risk) => ({ words: risk,
      press: () => chosen({ risk }) })), typed]), left, right: null }
  }
  if (at.due === undefined) {
    const dayIn = (days) => new Date(Date.now() + days * DAY).toISOString().slice(0, 10)
    return { title: "Put right until", blocks: choices(MEASURES.map((days) => ({ words: dayIn(days),
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
  return { title: `Sign as ${at.asks}`, blocks: [...problems(desk),
    line(`${desk.who}, for ${desk.plan.station_name}.`, "large"), since, ...open],
    left: backKey(desk, "final"), right: goKey("Sign", give, at.asks) }
}

// The last look: how each valve and cock is left, by a second person or by a photo.
export function lastLook(desk) {
  const { at, view, plan } = desk
  const step = view.step?.id ?? ""
  const rows = cocksOf(desk)
  const index = at.index ?? 0
  const others = [...new Set([...view.people, ...(desk.pack.people ?? []).map((one) => one.name ?? one)])].filter((one) => one !== desk.who)
  const next = () => desk.show("lastLook", { ...at, index: index + 1 })
  if (at.by === undefined) {
    const listed = [...others.map((name) => ({ words: name, small: "looks",
      press: async () => { await desk.take(name); desk.show("lastLook", { by: name }) } })),
      { words: "A photo of each", press: () => desk.show("lastLook", { by: "photo" }) }]
    return { title: "Who looks a second time?", blocks: choices(listed), left: backKey(desk, "more"), right: null }
  }
  if (index >= rows.length) {
    const end = async () => { if (at.by === "photo" || await desk.enter(() => act(desk.table, desk.book, step,
      "second look"))) desk.show("final") }
    return { title: "All were looked at", blocks: [told("holds", `${rows.length} valves and cocks.`)],
      left: backKey(desk, "more"), right: goKey("Note it", end) }
  }
  const row = rows[index]
  const words = row.says?.length > 0 ? row.says : plan.minding?.left?.find((one) => one.thing === row.part)?.words ?? []
  const note = (how) => async () => { if (await desk.enter(() => position(desk.book, step, { [row.part]: how }))) next() }
  const listed = at.by === "photo" ? [] : choices([{ words: "It stands so", small: row.should ?? "",
    press: note(words[0] ?? row.should) },
    ...["open", "shut"].filter((how) => how !== words[0]).map((how) => ({ words: how, press: note(how) }))])
  const photo = at.by === "photo" ? photoOf(desk, step, row, next) : []
  return { title: `${row.part}: left ${row.should ?? ""}`,
    blocks: [...problems(desk), line(`${index + 1} of ${rows.length}`), ...listed, ...photo],
    left: backKey(desk, "more"), right: goKey("Skip", next, "not seen") }
}

function photoOf(desk, step, row, next) {
  const field = el("input", { type: "file", accept: "image/*", capture: "environment", id: "look", "data-key": "look" })
  field.addEventListener("change", async () => {
    const [file] = field.files
    if (file === undefined) return
    const bytes = new Uint8Array(await file.arrayBuffer())
    const given = { sha256: sha256(bytes), name: file.name }
    await desk.kept.keepPhoto(desk.pack.run, { ...given, media: file.type, bytes })
    if (await desk.enter(() => picture(desk.book, step, row.part, given))) next()
  })
  return [el("label", { class: "key picture", for: "look" }, "Take the photo"), field]
}

// Hand over: everything of this visit as one file; what is sent.
export function hand(desk) {
  const { counts, told: sent, view } = desk
  const signs = view.signs.map((one) => told(one.stands ? "holds" : "struck", `${one.asks ?? "signed"}, ${one.who}`))
  const blocks = [...problems(desk), told(counts.unsent === 0 ? "holds" : "unknown",
    `${counts.all} entries; ${counts.unsent} not sent.`),
    sent.words ? line(sent.words) : null, counts.unsaved > 0
      ? told("slipped", `${counts.unsaved} are in memory only: save the file.`) : null, ...signs,
    line("The file holds every entry. The page of the visit in the office takes it.")]
  const send = desk.outbox ? choices([{ words: "Send now", press: () => desk.outbox.send() }]) : []
  return { title: "Hand over", blocks, extra: send, left: backOutKey(desk),
    right: goKey("Save the file", () => save(desk), "one touch") }
}
