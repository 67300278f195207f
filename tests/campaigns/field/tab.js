// One tab of a device: the store and the sender as they are served, under a clock that can be set.

import { parentPort, workerData } from "node:worker_threads"
import { factoryOf } from "./shelf_of_tab.js"

const { modules, address, run, pack, who } = workerData
const at = (name) => import(`${modules}/field/${name}.js`)
const [{ openKept }, { made }, clocks, { Outbox, judgedOf }, { planOf }, { sha256 }] = await Promise.all(
  ["kept", "making", "clock", "outbox", "view", "canonical"].map(at))
const factory = factoryOf((message) => parentPort.postMessage({ disk: message }))
const truth = Date.now
const set = { shift: 0, pace: 100, cookie: "" }
Date.now = () => truth() + set.shift
const plan = planOf(pack)
const waiting = new Map()
// The locks of a browser, which the device holds for its tabs.
const locks = {
  request(name, how, work) {
    return new Promise((done) => {
      waiting.set(name, done)
      parentPort.postMessage({ lock: name })
    }).then(async (isMine) => {
      try {
        return await work(isMine ? {} : null)
      } finally {
        if (isMine) parentPort.postMessage({ unlock: name })
      }
    })
  },
}
let [kept, clock, box] = [null, null, null]

const now = () => { clock = clocks.goOn(clock, Date.now(), performance.now()); return clock }

// The browser's own words beside a request, and the cookie it would hold.
async function asks(path, how) {
  const headers = { ...how.headers, origin: address, "sec-fetch-site": "same-origin", cookie: set.cookie }
  return fetch(`${address}${path}`, { ...how, headers })
}

const ways = {
  async begin({ shift }) {
    set.shift = shift
    kept = await openKept({ factory, name: "steadyhead-field" })
    clock = clocks.newClock(Date.now(), performance.now(), await kept.state("clock"))
    const here = await kept.pack(run)
    if (here === null) await kept.keepPack(run, pack, Date.now())
    box = new Outbox({ kept, run, address: `/stations/${workerData.key}/runs/${run}/sync`, who: () => who, 
      locks: workerData.hasLocks ? locks : null, asks,
      later: (work, ms) => setTimeout(work, ms / set.pace), judged: async (entries) => judgedOf(pack, plan, entries),
      clock: { get: now, set: (found) => { clock = found; kept.setState("clock", clocks.keptOf(clock)) } } })
    return { device: kept.device, kind: kept.kind }
  },
  set: (more) => { Object.assign(set, more) },
  async add({ drafts }) {
    const by = { run, who, clock: now() }
    const found = await kept.add(run, (last, device) => {
      const entries = made(drafts, { ...by, last, device })
      parentPort.postMessage({ made: entries.map((entry) => JSON.stringify(entry)) })
      return entries
    })
    await kept.setState("clock", clocks.keptOf(clock))
    const ids = new Set(found.entries.map((entry) => entry.id))
    const rows = found.kept ? (await kept.entries(run)).filter((row) => ids.has(row.id)) : []
    parentPort.postMessage({ kept: rows.filter((row) => row.isKept).map((row) => row.line) })
    return { kept: found.kept, why: found.why }
  },
  // Take a photo, as the key of the page does: its bytes first, then the entry that names it.
  async photo({ base64, name }) {
    const bytes = Uint8Array.from(Buffer.from(base64, "base64"))
    const given = { sha256: sha256(bytes), name }
    parentPort.postMessage({ taken: [given.sha256] })
    const isHere = await kept.keepPhoto(run, { ...given, media: "image/png", bytes })
    const found = await ways.add({ drafts: [{ kind: "photo", payload: { of: "what I see", ...given }, node: "" }] })
    const isKept = isHere && found.kept
    if (isKept) parentPort.postMessage({ shot: [given.sha256] })
    return { kept: isKept, why: found.why }
  },
  async send() {
    const told = await box.send()
    const { unsent, refused, photos } = await kept.counts(run)
    return { state: told.state, waits: unsent - refused + photos, words: told.words, differs: told.server?.differs ?? null, problem: told.problem ?? "" }
  },
  take: async ({ lines }) => kept.takeIn(run, lines, "file"),
  async here() {
    const rows = await kept.entries(run)
    const judged = judgedOf(pack, plan, rows.map((row) => row.entry))
    const photos = (await kept.photos(run)).map(({ bytes, ...photo }) => photo)
    return { rows: rows.map(({ entry, ...row }) => row), photos, counts: await kept.counts(run), judged, clock: now() }
  },
}

parentPort.on("message", async ({ disk, lock, ask, ...told }) => {
  if (lock !== undefined) {
    waiting.get(lock)?.(told.isMine)
    return
  }
  if (disk !== undefined) {
    factory.hear(disk)
    return
  }
  try {
    parentPort.postMessage({ answer: ask, found: await ways[told.do](told) ?? null })
  } catch (problem) {
    parentPort.postMessage({ answer: ask, fault: `${problem.stack ?? problem}` })
  }
})
parentPort.postMessage({ ready: true })
