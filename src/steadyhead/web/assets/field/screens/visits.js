// The visits on this device: which one is opened, what of each is not sent yet, and sending it from here.

import { told } from "../keys.js"
import { dayWords } from "../saying.js"
import { planOf } from "../view.js"
import { isNewerThere, takeOver } from "./building.js"
import { choices, goKey, line, nameOf, several } from "./parts.js"
import { signIn } from "./taking.js"

const ITEMS = new WeakMap() // what is said of a pack beside its name: read once

// The visits that were taken along; a newer page that waits is offered here, and nowhere under way.
export function visits(desk) {
  const { at } = desk
  if (at.isLooked === undefined) {
    Object.assign(at, { isLooked: true, isNewer: false, unsent: new Map(), sent: new Map() })
    looked(desk, at)
  }
  const listed = choices(desk.packs.map((one) => ({ ...rowOf(desk, one, at), press: () => desk.open(one.pack) })))
  const none = line("No visit is on this device. Open a visit in the office and touch Take along.")
  const taken = async () => {
    at.said = await takeOver(desk.kept) ? "The newer page opens next time." : "Entries are unsent: the newer page waits."
    desk.draw()
  }
  const newer = at.isNewer ? [...(at.said ? [told("due", at.said)] : []),
    ...choices([{ words: "Take the newer page", small: "once everything is sent", press: taken }])] : []
  const isOut = desk.told.state === "signed out" || [...at.sent.values()].some((one) => one.state === "signed out")
  const signedOut = isOut ? [told("slipped", "Sign in again, nothing is lost."),
    ...choices([{ words: "Sign in", small: "nothing is lost", press: () => { location.href = signIn() } }])] : []
  const { said, send } = sending(desk, at)
  return { title: "Visits on this device", blocks: [...signedOut, ...said, ...(listed.length > 0 ? listed : [none]),
    ...send, ...newer], left: choices([{ words: "Lamp or sun", small: "the next light", press: () => desk.turnLight() }])[0],
  right: goKey("Look again", async () => { desk.packs = await desk.kept.packs(); desk.show("visits") }) }
}

// Station, kind and item of a visit.
function headOf(pack) {
  const { item } = besideOf(pack)
  return `${pack.station?.name ?? pack.run}: ${pack.plan.words ?? pack.plan.kind}${item ? `, ${item}` : ""}`
}

// A row: station, kind and item, with the day where another visit has the same; below it the day and the purpose, and what is not sent.
function rowOf(desk, { pack, at: when }, { unsent, sent }) {
  const { purpose } = besideOf(pack)
  const head = headOf(pack)
  const isTwice = desk.packs.filter((one) => headOf(one.pack) === head).length > 1
  const planned = pack.plan.made ? `planned ${dayWords(pack.plan.made)}` : ""
  const waits = waitsWords(unsent.get(pack.run))
  const small = [purpose, planned, `taken along ${dayWords(when)}`, waits ? `${waits} not sent` : "", sent.get(pack.run)?.words ?? ""]
  return { words: isTwice ? `${head}, ${dayWords(pack.plan.made || when)}` : head, small: small.filter(Boolean).join("; ") }
}

// The item a visit is for and what it was begun for, where they are told.
function besideOf(pack) {
  if (!ITEMS.has(pack)) {
    const plan = planOf(pack)
    const begun = (pack.entries ?? []).find((one) => one.includes('"kind":"run"'))
    ITEMS.set(pack, { item: plan.item ? nameOf({ pack, plan }, plan.item) : "",
      purpose: begun === undefined ? pack.purpose ?? "" : JSON.parse(begun).payload?.purpose ?? "" })
  }
  return ITEMS.get(pack)
}

const waitsWords = (counts) => (counts === undefined ? ""
  : [several(counts.unsent, "entry", "entries"), several(counts.photos, "photo", "photos")].filter(Boolean).join(", "))

// Words and key where something of a visit is not sent: it is sent by that key; nothing where all is sent or there is nowhere to send to.
function sending(desk, at) {
  const waits = desk.packs.filter(({ pack }) => waitsWords(at.unsent.get(pack.run)) && desk.address(pack))
  if (waits.length === 0) return { said: [], send: [] }
  const send = async () => {
    if (at.isSending) return
    at.isSending = true
    desk.draw()
    for (const { pack } of waits) at.sent.set(pack.run, await desk.sendOnce(pack))
    at.isSending = false
    await looked(desk, at)
  }
  const words = at.isSending ? "Sending …" : "Send what is not sent"
  return { said: [line("What is not sent stays on this device until its visit is opened, or until you send it from here.")],
    send: choices([{ words, small: "entries and photos", press: send }]) }
}

// Whether a newer page waits, and how it stands with all that is on this device.
async function looked(desk, at) {
  const sums = {}
  for (const { pack: { run } } of desk.packs) {
    const counts = await desk.kept.counts(run)
    at.unsent.set(run, counts)
    for (const [name, count] of Object.entries(counts)) sums[name] = (sums[name] ?? 0) + count
  }
  at.isNewer = await isNewerThere()
  if (desk.at === at && desk.packs.length > 0) desk.counts = sums
  if (desk.at === at) desk.draw()
}
