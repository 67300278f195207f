// What is on this device before anybody goes down: each thing is read back from the device itself, just now.

import { sha256 } from "../canonical.js"
import { el, key, told } from "../keys.js"
import { NOT_KEPT, askWorker } from "./building.js"
import { backKey, goKey, line } from "./parts.js"

const LITTLE = 50e6 // room that is called little [bytes]. Own estimate: some thirty photos.
const MUCH = 1e9 // room with which a browser hardly clears anything away [bytes]. Own estimate.
const PATIENCE = 20_000 // how long reading the page back may take [ms]. Own estimate.
const SIGNS = ["0", "7", "\u2212", "\u00b3", "\u00b0", "\u00bd", "\u2713"]
const NO_SIGN = "\u{10ffff}"

// The list of it. Whatever is not as it should be stands first, with what to do.
export function ready(desk) {
  const { rows } = desk.at
  const left = backKey(desk, "visits", {}, "Visits")
  if (rows === undefined) {
    const { at } = desk
    checked(desk).then((found) => { if (desk.at === at) desk.show("ready", { rows: found }) })
    return { title: "What is on this device", blocks: [line("Reading back.")], left, right: null }
  }
  const amiss = rows.filter((row) => row.is === false)
  const head = amiss.length === 0 ? `Nothing is amiss: ${readWords(rows)}`
    : `${amiss.length} of ${rows.length} ${amiss.length === 1 ? "is" : "are"} not as it should be: see what to do.`
  const blocks = [...amiss, ...rows.filter((row) => row.is !== false)].map(rowLine)
  return { title: "What is on this device", blocks: [line(head, "quiet"), ...blocks], left,
    middle: amiss.length > 0 ? key("Look again", () => desk.show("ready"), { name: "again" }) : null,
    right: goKey("Go on", () => desk.show("where")) }
}

// How many were read back; the others by name: each line of them says what to do without it.
function readWords(rows) {
  const sound = rows.filter((row) => row.is === true).length
  const without = rows.filter((row) => row.is === null).map((row) => row.what)
  const read = `${sound} read back from this device just now.`
  return without.length === 0 ? read : `${read} Not: ${without.join(", ")}; see there what to do.`
}

const SIGN = { true: "✓ ", false: "✗ ", null: "" }

const rowLine = ({ what, is, words }) => told(is === false ? "slipped" : is === null ? "unknown" : "holds",
  el("b", {}, `${SIGN[is]}${what}: `), words)

async function checked(desk) {
  const { kept, pack } = desk
  const row = await kept.pack(pack.run).catch(() => null)
  return [await plan(desk, row), storage(kept), ...await page(desk), lettering(), await photo(row, pack),
    await causes(row), await room(kept), await entries(desk)].filter((one) => one !== null)
}

async function plan({ kept, pack }, row) {
  const stored = (row?.pack.plan.text ?? "").split("\n")[1] ?? ""
  const isWhole = row !== null && sha256(stored) === pack.plan.sha256
  const version = pack.plan.sha256.slice(0, 8)
  if (kept.isFile && isWhole) return { what: "Plan", is: true, words: `in this file, version ${version}, read back.` }
  const is = kept.kind === "stored" && isWhole
  return { what: "Plan", is, words: is ? `read back, version ${version}, stays with this visit.`
    : row !== null && kept.kind === "stored" ? "read back otherwise than it came. Take the visit along again."
    : "in memory of this page only. Do not close it." }
}

const storage = (kept) => ({ what: "Storage", is: kept.kind === "stored" && kept.why === "",
  words: kept.kind === "stored" && kept.why === "" ? "a trial entry was written and read back." : kept.why })

// Script, styles and pictures, and the worker that opens them without a signal.
async function page({ kept, isKept }) {
  if (kept.isFile) return [{ what: "Page", is: true, words: "script and pictures are in this file." }]
  if (isKept === null) return [await scripts()]
  const why = await isKept
  if (why !== "") return [{ what: "Without a signal", is: false, words: why }]
  const found = await askWorker({ say: "read back" }, "shown", PATIENCE)
  const wrong = found === null ? -1 : found.wrong.length
  const is = wrong === 0 && found.count > 0
  const words = is ? `${found.count} files read back as the office has them.`
    : wrong < 0 ? "the device does not answer. Open the page again where there is a signal."
    : `${wrong} of ${found.count} files are amiss. Open the page again where there is a signal.`
  const isHeld = Boolean(globalThis.navigator.serviceWorker.controller)
  return [{ what: "Script and pictures", is, words }, { what: "Without a signal", is: isHeld,
    words: isHeld ? "this page opens again." : NOT_KEPT.late }]
}

// Of a page that no worker looks after: which of its files some store of the browser has.
async function scripts() {
  const files = performance.getEntriesByType("resource").map((one) => one.name)
    .filter((name) => /\.(js|css)$/.test(new URL(name).pathname))
  let here = 0
  for (const name of globalThis.caches ? files : []) if (await caches.match(name).catch(() => undefined)) here += 1
  const is = here === files.length && here > 0
  return { what: "Page", is, words: is ? `script and pictures, ${here} files read back.`
    : `${here} of ${files.length} files are kept. Keep the page open.` }
}

// The page brings no letters along: those of the device must draw every sign it needs.
function lettering() {
  const blank = drawn(NO_SIGN)
  const missing = blank === "" ? [] : SIGNS.filter((sign) => drawn(sign) === blank)
  return { what: "Lettering", is: missing.length === 0, words: missing.length === 0
    ? "this device draws every sign the page needs."
    : `this device cannot draw ${missing.join(" ")}. Use another device, or the paper plan.` }
}

function drawn(sign) {
  const sheet = document.createElement("canvas")
  sheet.width = 40
  sheet.height = 40
  const pen = sheet.getContext("2d", { willReadFrequently: true })
  if (pen === null) return ""
  pen.font = `28px ${getComputedStyle(document.body).fontFamily || "sans-serif"}`
  pen.fillText(sign, 2, 30)
  return pen.getImageData(0, 0, 40, 40).data.join()
}

async function photo(row, pack) {
  const station = row?.pack.station ?? pack.station ?? {}
  if (!station.photo_data) {
    return { what: "Photo of the station", is: null,
      words: `${station.photo ? "too large to come along." : "none in the office."} Go by name and code.` }
  }
  const picture = new Image()
  picture.src = station.photo_data
  const is = await picture.decode().then(() => picture.naturalWidth > 0, () => false)
  return { what: "Photo of the station", is, words: is ? "read back." : "cannot be shown. Compare name and code instead." }
}

// Causes behind readings, worked out in the office for the steps that have a band.
async function causes(row) {
  if (row === null || row.pack.causes === undefined) return null
  const count = Object.keys(row.pack.causes).length
  return count > 0 ? { what: "Causes", is: true, words: `worked out for ${count} steps.` }
    : { what: "Causes", is: null, words: `${row.pack.causes_lack || "none are worked out for this plan."} `
      + "Go by what each step says under What I see is different." }
}

// Whether the browser may clear it away, and how much room there is.
async function room(kept) {
  if (kept.kind !== "stored") return null
  const isLasting = await kept.askToPersist()
  const told = await globalThis.navigator?.storage?.estimate?.().catch(() => null)
  const free = told ? told.quota - told.usage : Infinity
  if (free < LITTLE) {
    return { what: "Room", is: false, words: `${Math.max(0, free / 1e6).toFixed(0)} MB are left. Make room, or save the file`
      + " after each step." }
  }
  const size = Number.isFinite(free) ? `${free > 2e9 ? "over 2 GB" : `${(free / 1e6).toFixed(0)} MB`} free; ` : ""
  if (isLasting === true) return { what: "Room", is: true, words: `${size}the browser keeps it until told otherwise.` }
  return { what: "Room", is: free < MUCH ? false : null,
    words: `${size}the browser does not promise to keep it. Send or save early.` }
}

async function entries({ kept, pack, counts }) {
  const here = (await kept.entries(pack.run)).length
  const came = (pack.entries ?? []).length
  return { what: "Entries", is: here >= came, words: here >= came ? `${here} of this visit are here, ${counts.unsent} not sent.`
    : `${here} of ${came} are here. Take the visit along again.` }
}
