// Before the first step: visits taken along, what is ready, which station, as left, hazards, cocks, who.

import { canonical, sha256 } from "../canonical.js"
import { el, told } from "../keys.js"
import { isNewerThere, takeOver } from "./building.js"
import { choices, backKey, goKey, hazard, line, lines, problems } from "./parts.js"

// The visits that were taken along; a newer page that waits is offered here, and nowhere under way.
export function visits(desk) {
  const { at } = desk
  if (at.isNewer === undefined) {
    at.isNewer = false
    isNewerThere().then((is) => { if (is && desk.at === at) { at.isNewer = true; desk.draw() } })
  }
  const listed = choices(desk.packs.map(({ pack, at: when }) => ({ words: pack.station?.name ?? pack.run,
    small: `${pack.plan.kind}, taken along ${new Date(when).toLocaleDateString()}`, press: () => desk.open(pack) })))
  const none = line("No visit is on this device. Open a visit in the office and touch Take along.")
  const taken = async () => {
    at.said = await takeOver(desk.kept) ? "The newer page opens next time." : "Entries are unsent: the newer page waits."
    desk.draw()
  }
  const newer = at.isNewer ? [...(at.said ? [told("due", at.said)] : []),
    ...choices([{ words: "Take the newer page", small: "once everything is sent", press: taken }])] : []
  return { title: "Visits on this device", blocks: [...(listed.length > 0 ? listed : [none]), ...newer],
    left: lightKey(desk),
    right: goKey("Look again", async () => { desk.packs = await desk.kept.packs(); desk.show("visits") }) }
}

const lightKey = (desk) => choices([{ words: "Lamp or sun", small: "the next light", press: () => desk.turnLight() }])[0]

// What is ready: each is read back from this device just now.
export function ready(desk) {
  const rows = desk.at.rows
  if (rows === undefined) {
    checked(desk).then((found) => { if (desk.at.screen === "ready") desk.show("ready", { rows: found }) })
    return { title: "What is on this device", blocks: [line("Reading back.")], left: listKey(desk), right: null }
  }
  const blocks = rows.map((row) => told(row.is ? "holds" : "slipped", el("b", {}, `${row.is ? "✓ " : ""}${row.what}: `),
    row.words))
  return { title: "What is on this device", blocks, left: listKey(desk), right: goKey("Go on", () => desk.show("where")) }
}

const listKey = (desk) => backKey(desk, "visits", {}, "Visits")

async function checked(desk) {
  const { kept, pack } = desk
  const row = await kept.pack(pack.run).catch(() => null)
  const plan = row?.pack.plan ?? null
  const stored = (plan?.text ?? "").split("\n")[1] ?? ""
  const isPlan = plan !== null && sha256(stored) === pack.plan.sha256 && kept.kind === "stored"
  const isStored = kept.kind === "stored"
  const isLasting = isStored ? await kept.askToPersist() : null
  const rows = [
    { what: "Plan", is: isPlan, words: isPlan ? `read back, version ${pack.plan.sha256.slice(0, 8)}, stays with this visit.`
      : "in memory of this page only. Do not close it." },
    { what: "Storage", is: isStored, words: isStored ? "a trial entry was written and read back." : kept.why },
    await scripts(desk)]
  if (isStored) {
    rows.push({ what: "Room", is: isLasting === true,
      words: isLasting === true ? "the browser keeps it until told otherwise."
      : "the browser may clear it when the device is full. Send or save before that." })
  }
  const entries = await kept.entries(pack.run)
  const lines = (pack.entries ?? []).length
  rows.push({ what: "Entries", is: entries.length >= lines, words: `${entries.length} of this visit are here.` })
  if (pack.station?.photo) {
    const photos = await kept.photos(pack.run).catch(() => [])
    const is = photos.some((one) => one.sha256 === pack.station.photo) || Boolean(pack.station.photo_data)
    rows.push({ what: "Photo", is, words: is ? "of the station, read back." : "of the station is not here." })
  }
  return rows
}

// Whether every file this page was made from is on the device.
async function scripts(desk) {
  const files = performance.getEntriesByType("resource").map((one) => one.name)
    .filter((name) => /\.(js|css)$/.test(new URL(name).pathname))
  if (files.length === 0) return { what: "Page", is: true, words: "script and pictures are in this file." }
  let here = 0
  for (const name of globalThis.caches ? files : []) if (await caches.match(name).catch(() => undefined)) here += 1
  const is = here === files.length
  return { what: "Page", is, words: is ? `script and pictures, ${here} of ${files.length} files read back.`
    : `${here} of ${files.length} files are kept. Without signal the page may not open again: keep it open.` }
}

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
    has(station.code) ? line(`Code on the lid: ${station.code}`) : null, ...alike,
    line("Compare with the plate on the lid and in the chamber.")]
  return { title: "Is it this station?", blocks, left: backKey(desk, "ready", {}, "Not this one"),
    right: goKey("It is this one", () => desk.show("before")) }
}

function photoOf(station) {
  if (!station.photo_data) return null
  return el("img", { class: "photo", src: station.photo_data, alt: `Photo of ${station.name}` })
}

// What was left last time, and what is dangerous here.
export function before(desk) {
  const { pack, plan } = desk
  const found = pack.hazards ?? unique(plan.nodes.flatMap((node) => node.hazards)
    .map((one) => pack.texts[canonical({ id: one.caution.id, params: one.caution.params })])).slice(0, 8)
  const words = found.map((one) => (typeof one === "string" ? one : one?.words)).filter(Boolean)
  const left = (pack.as_left ?? []).map((one) => told("holds", el("b", {}, `${one.what}: ${one.words ?? one.value}`),
    one.on ? `, left ${one.on}` : ""))
  const none = told("unknown", "No values of an earlier visit are known.")
  return { title: "Before you go down", blocks: [...words.map(hazard), line("Left last time", "large"),
    ...(left.length > 0 ? left : [none])], left: backKey(desk, "where"),
      right: goKey("I have read it", () => desk.show("cocks")) }
}

const unique = (listed) => [...new Set(listed.filter(Boolean))]

// Where every valve and cock stands, in walking order; at the end again, by somebody else or by a photo.
export function cocksOf({ pack, plan }) {
  const told = (one) => pack.texts[canonical({ id: one.state.id, params: one.state.params })] ?? one.state.id
  return pack.cocks?.length > 0 ? pack.cocks : plan.left.map((one) => ({ part: one.part, words: one.part,
    should: told(one), says: [] }))
}

export function cocks(desk) {
  const rows = cocksOf(desk).map((one) => told("due", el("b", {}, one.words || one.part), `: left ${one.should}`))
  return { title: "Cocks and valves, as you walk", blocks: [line("Look at each. Touch none. What stands otherwise is noted at its step."), ...rows],
    left: backKey(desk, "before"), right: goKey("Seen", () => desk.show("who")) }
}

// Who works with this device.
export function who(desk) {
  const known = unique([...desk.view.people, ...(desk.pack.people ?? []).map((one) => one.name ?? one)])
  const named = (name) => async () => {
    const given = (desk.pack.people ?? []).find((one) => one.name === name)
    await desk.take(name, { role: given?.role ?? "", authorised_until: given?.authorised_until ?? "" })
    await desk.keepWay({ isThrough: true })
    await desk.go()
  }
  const listed = choices(known.map((name) => ({ words: name, press: named(name), pressed: name === desk.who })))
  const other = { words: "Somebody else", small: "type a name", press: () => desk.show("type", { title: "Who are you?",
    label: "Name", from: "who", take: (words) => named(words)() }) }
  return { title: "Who works with this device?", blocks: [...problems(desk), ...listed, ...choices([other])],
    left: backKey(desk, desk.way.isThrough ? "more" : "cocks"), right: null }
}

// Words that are typed: only on wish.
export function type(desk) {
  const { title, label, take, from, long } = desk.at
  const field = el(long ? "textarea" : "input", { id: "words", "data-key": "words", autocomplete: "off",
    rows: long ? 4 : null })
  field.value = desk.at.words ?? ""
  field.addEventListener("input", () => { desk.at.words = field.value })
  return { title, blocks: [...problems(desk), el("label", { for: "words" }, label), field, ...lines(desk.at.hints ?? [])],
    left: backKey(desk, from), right: goKey("Take", () => { if (field.value.trim()) take(field.value.trim()) }) }
}
