// What this device holds: entries, photos, packs, its name and number. An entry is *kept* only after the browser said that
// it is on the disk and it was read back. Nothing is ever deleted.

import { canonical, lineOf, sha256 } from "./canonical.js"
import { entryOf } from "./ledger.js"
import { newDevice } from "./making.js"
import { MemoryShelf, openShelf } from "./shelf.js"

const FORMAT = "steadyhead/entries/1"
const DATABASE = "steadyhead-field"
const PATIENCE = 10_000 // how long the browser may take to open its database, or to say no. Own estimate. [ms]

// What is said where something was not kept.
export const WORDS = {
  refused: "This browser keeps nothing. Entries stay in memory until the page is closed. Save the file after each step.",
  full: "The storage of this device is full. What was kept before stays; the rest is in memory only. Save the file.",
  failed: "The device could not write to its disk. What was kept before stays; the rest is in memory only. Save the file.",
}

// Return the key an entry is kept under: the same id with other bytes is another one.
export const keyOf = (run, id, line) => `${run} ${id} ${sha256(line).slice(0, 16)}`

// Open what this device holds. A trial is written and read back first; where that fails, memory stands in.
export async function openKept({ name = DATABASE, factory = globalThis.indexedDB, memory = false } = {}) {
  if (!memory && factory) {
    try {
      const shelf = await within(PATIENCE, openShelf(name, factory))
      const kept = new Kept(shelf, "stored", name)
      if (await within(PATIENCE, kept.tried())) return kept.ready()
    } catch {
      // told by `why`
    }
  }
  return new Kept(new MemoryShelf(), "memory", name).ready()
}

function within(most, promise) {
  let timer = null
  const late = new Promise((_, failed) => { timer = setTimeout(() => failed(new Error("no answer")), most) })
  return Promise.race([promise, late]).finally(() => clearTimeout(timer))
}

class Kept {
  // kind: "stored", or "memory" where the browser keeps nothing.
  constructor(shelf, kind, name) {
    Object.assign(this, { shelf, kind, name, device: "", loose: [], saved: new Set(), isPersistent: null, listeners: [],
      heard: new Map(), spurned: new Map() })
    this.why = kind === "memory" ? WORDS.refused : ""
    this.channel = null
    this.before = Promise.resolve() // one after the other, also where the disk refuses
  }

  // Write something and read it back, before the first step.
  async tried() {
    const value = newDevice()
    await this.shelf.write(["state"], (hand) => hand.put("state", { name: "trial", value }))
    const found = await this.shelf.read(["state"], (hand) => hand.get("state", "trial"))
    return found?.value === value
  }

  async ready() {
    this.device = await this.shelf.write(["state"], async (hand) => {
      const found = await hand.get("state", "device")
      if (found !== undefined) return found.value
      const value = newDevice()
      await hand.put("state", { name: "device", value })
      return value
    })
    if (this.kind === "stored" && typeof BroadcastChannel === "function") {
      this.channel = new BroadcastChannel(this.name)
      this.channel.onmessage = ({ data }) => this.tell(data)
      this.channel.unref?.()
    }
    return this
  }

  close() {
    this.channel?.close()
    this.shelf.database?.close()
  }

  // Ask the browser not to clear this away by itself; true, false, or null where it cannot be asked.
  async askToPersist(storage = globalThis.navigator?.storage) {
    try {
      this.isPersistent = await storage.persisted() || await storage.persist()
    } catch {
      this.isPersistent = null
    }
    return this.isPersistent
  }

  // Be told of each run that changed, in this tab or another one.
  listen(listener) { this.listeners.push(listener) }

  tell(run) { for (const listener of this.listeners) listener(run) }

  changed(run) {
    this.channel?.postMessage(run)
    this.tell(run)
  }

  // Make entries and keep them. make(last, device) gives them from the highest number used so far: number and entries are
  // written in one transaction, so that no two tabs and no crash give one number twice.
  // Returns { entries, kept, why }; where it was not kept, the entries are held in memory and count as unsaved.
  add(run, make) {
    const mine = this.before.then(() => this.addNow(run, make))
    this.before = mine.catch(() => {})
    return mine
  }

  async addNow(run, make) {
    let fresh = []
    try {
      const rows = await this.shelf.write(["entries", "sent", "state"], async (hand) => {
        const last = Math.max((await hand.get("state", "number"))?.value ?? 0, ...this.numbers(this.loose))
        fresh = make(last, this.device)
        const every = [...this.loose, ...fresh.map((entry) => rowOf(run, entry, "own"))]
        for (const row of every) await putRow(hand, row)
        await hand.put("state", { name: "number", value: Math.max(last, ...this.numbers(every)) })
        return every
      })
      await this.readBack(rows)
      this.loose = []
      this.why = this.kind === "memory" ? WORDS.refused : ""
      this.changed(run)
      return { entries: fresh, kept: this.kind === "stored", why: this.why }
    } catch (problem) {
      const last = Math.max(await this.lastNumber(), ...this.numbers(this.loose))
      if (fresh.length === 0) fresh = make(last, this.device)
      this.letLoose(run, fresh.map((entry) => rowOf(run, entry, "own")), problem)
      return { entries: fresh, kept: false, why: this.why }
    }
  }

  // The numbers this device gave among rows.
  numbers(rows) { return rows.filter((row) => row.device === this.device).map((row) => row.seq) }

  // Hold in memory what the disk did not take, until it does.
  letLoose(run, rows, problem) {
    const held = new Set(this.loose.map((row) => row.key))
    this.loose.push(...rows.filter((row) => !held.has(row.key)))
    this.why = problem?.name === "QuotaExceededError" ? WORDS.full : WORDS.failed
    this.tell(run)
  }

  async lastNumber() {
    try {
      return (await this.shelf.read(["state"], (hand) => hand.get("state", "number")))?.value ?? 0
    } catch {
      return 0
    }
  }

  async readBack(rows) {
    const found = await this.shelf.read(["entries"], (hand) =>
      Promise.all(rows.map((row) => hand.get("entries", row.key))))
    if (rows.some((row, at) => found[at]?.line !== row.line)) throw new Error("read back otherwise than written")
  }

  // Lay lines from elsewhere beside those that are here: a union, nothing is overwritten. from: "server" or "file"; seen:
  // number of the server's last entry, kept in the same transaction. What the disk does not take is held in memory.
  // Returns { fresh, known, faults }.
  async takeIn(run, lines, from, seen = null) {
    const found = lines.map((line) => ({ line, entry: entryOf(line) }))
    const rows = found.filter(({ entry }) => entry?.run === run).map(({ entry }) => rowOf(run, entry, from))
    const faults = found.filter(({ entry }) => entry?.run !== run).map(({ line }) => line.slice(0, 60))
    let fresh = rows.length
    try {
      fresh = await this.shelf.write(["entries", "sent", "state"], async (hand) => {
        let count = 0
        for (const row of rows) {
          if (await hand.get("entries", row.key) === undefined) count += 1
          await putRow(hand, row)
        }
        const last = (await hand.get("state", "number"))?.value ?? 0
        const most = Math.max(last, ...this.numbers(rows))
        if (most > last) await hand.put("state", { name: "number", value: most })
        if (seen !== null) await hand.put("state", { name: `seen ${run}`, value: seen })
        return count
      })
    } catch (problem) {
      this.letLoose(run, rows, problem)
    }
    if (fresh > 0) this.changed(run)
    return { fresh, known: rows.length - fresh, faults }
  }

  // Every entry of a run that is here: { key, id, line, entry, from, isKept, isSent, refused: why or "" }, in the order in
  // which this device made or got them.
  async entries(run) {
    const [rows, sent, refused] = await this.shelf.read(["entries", "sent", "refused"], (hand) =>
      Promise.all([hand.all("entries", run), hand.all("sent"), hand.all("refused")]))
    const isSent = this.sentOf(sent)
    const why = new Map([...refused.map((row) => [row.key, row.why]), ...this.spurned])
    const told = (row, isKept) => ({ ...row, entry: entryOf(row.line), isKept, isSent: isSent.has(row.key),
      refused: isSent.has(row.key) ? "" : why.get(row.key) ?? "" })
    const here = new Set(rows.map((row) => row.key))
    const loose = this.loose.filter((row) => row.run === run && !here.has(row.key)).map((row) => told(row, false))
    return [...rows.map((row) => told(row, this.kind === "stored")), ...loose].sort(byMaking)
  }

  sentOf(rows) {
    const found = new Map([...rows.map((row) => [row.key, row.is]), ...this.heard])
    for (const row of this.loose) if (row.from === "server") found.set(row.key, true)
    return new Set([...found].filter(([, is]) => is).map(([key]) => key))
  }

  // How things stand: entries here, not sent yet, refused by the server, and neither on this disk nor in a saved file.
  async counts(run) {
    const every = await this.entries(run)
    const count = (is) => every.filter(is).length
    return { all: every.length, unsent: count((one) => !one.isSent), refused: count((one) => one.refused !== ""),
      unsaved: count((one) => !one.isKept && !one.isSent && !this.saved.has(one.key)) }
  }

  // Runs with entries that are not sent yet.
  async unsentRuns() {
    const [rows, sent] = await this.shelf.read(["entries", "sent"], (hand) =>
      Promise.all([hand.all("entries"), hand.all("sent")]))
    const isSent = this.sentOf(sent)
    return [...new Set([...rows, ...this.loose].filter((row) => !isSent.has(row.key)).map((row) => row.run))]
  }

  // The entries of a run as a file that the run's page takes, and `steadyhead run` reads.
  async file(run) {
    const every = await this.entries(run)
    const lines = [canonical({ format: FORMAT }), ...every.map((one) => one.line)]
    return { name: `${run}.jsonl`, text: lines.map((line) => `${line}\n`).join(""), keys: every.map((one) => one.key) }
  }

  // The person saved a file that `file` gave.
  markSaved(keys) { for (const key of keys) this.saved.add(key) }

  // What the server said of entries. is: false where it lost what it had, so that it is sent again. Where the disk does
  // not take that, it is known until the page is closed, and asked again after it.
  async markSent(keys, is = true) {
    for (const key of keys) this.heard.set(key, is)
    const isNoted = await this.noted(() => this.shelf.write(["sent"], async (hand) => {
      for (const key of keys) await hand.put("sent", { key, is })
    }))
    for (const key of isNoted ? keys : []) this.heard.delete(key)
  }

  async markRefused(rows) {
    for (const { key, why } of rows) this.spurned.set(key, why)
    const isNoted = await this.noted(() => this.shelf.write(["refused"], async (hand) => {
      for (const row of rows) await hand.put("refused", row)
    }))
    for (const { key } of isNoted ? rows : []) this.spurned.delete(key)
  }

  // Do what may be done without: a disk that is full says so, and nothing else is lost by it.
  async noted(work) {
    try {
      await work()
      return true
    } catch (problem) {
      this.why = problem?.name === "QuotaExceededError" ? WORDS.full : WORDS.failed
      return false
    }
  }

  async state(name) { return (await this.shelf.read(["state"], (hand) => hand.get("state", name)))?.value ?? null }

  async setState(name, value) {
    await this.noted(() => this.shelf.write(["state"], (hand) => hand.put("state", { name, value })))
  }

  // Take hold of something for a while, one tab at a time: true where it is ours. until, now: [ms]. Whoever holds it
  // beyond `until` wrote that before the clock was set back, and holds nothing.
  async hold(name, mine, until, now) {
    return this.shelf.write(["state"], async (hand) => {
      const held = (await hand.get("state", name))?.value
      if (held && held.mine !== mine && held.until > now && held.until <= until) return false
      await hand.put("state", { name, value: { mine, until } })
      return true
    })
  }

  async letGo(name, mine) {
    await this.shelf.write(["state"], async (hand) => {
      if ((await hand.get("state", name))?.value?.mine === mine) await hand.put("state", { name, value: null })
    })
  }

  // Keep a pack with the entries it brings along, and return it as it was read back. at: when [ms since 1970].
  async keepPack(run, pack, at) {
    await this.shelf.write(["packs"], (hand) => hand.put("packs", { run, pack, at }))
    if (pack.entries?.length > 0) await this.takeIn(run, pack.entries, "server", pack.entries.length)
    return this.pack(run)
  }

  async pack(run) { return (await this.shelf.read(["packs"], (hand) => hand.get("packs", run))) ?? null }

  async packs() { return this.shelf.read(["packs"], (hand) => hand.all("packs")) }

  // Keep the bytes of a photo. Returns whether they are kept; they are in memory for this page in any case.
  async keepPhoto(run, { sha256: hash, name, media, bytes }) {
    const key = `${run} ${hash}`
    try {
      const row = { key, run, sha256: hash, name, media, bytes, isSent: false }
      await this.shelf.write(["photos"], (hand) => hand.put("photos", row))
      const found = await this.shelf.read(["photos"], (hand) => hand.get("photos", key))
      return this.kind === "stored" && sha256(found.bytes) === hash
    } catch (problem) {
      this.why = problem?.name === "QuotaExceededError" ? WORDS.full : WORDS.failed
      return false
    }
  }

  async photos(run) { return this.shelf.read(["photos"], (hand) => hand.all("photos", run)) }

  async markPhotoSent(key) {
    await this.shelf.write(["photos"], async (hand) => {
      const row = await hand.get("photos", key)
      if (row !== undefined) await hand.put("photos", { ...row, isSent: true })
    })
  }
}

function rowOf(run, entry, from) {
  const line = lineOf(entry)
  return { key: keyOf(run, entry.id, line), run, id: entry.id, line, from, device: entry.device, seq: entry.device_seq }
}

// Put a row where it is not there yet; what the server gave is sent.
async function putRow(hand, row) {
  if (await hand.get("entries", row.key) === undefined) await hand.put("entries", row)
  if (row.from === "server") await hand.put("sent", { key: row.key, is: true })
}

// By the time in their ids, then as each device counted.
function byMaking(a, b) {
  const [one, other] = [a, b].map((row) => row.id.slice(0, 13))
  if (one !== other) return one < other ? -1 : 1
  if (a.device !== b.device) return a.device < b.device ? -1 : 1
  return a.seq - b.seq || (a.key < b.key ? -1 : 1)
}
