// What this device holds: entries, photos, packs, its name and number. An entry is *kept* only after the browser said that
// it is on the disk and it was read back. Nothing is ever deleted.

import { canonical, lineOf, sha256 } from "./canonical.js"
import { entryOf } from "./ledger.js"
import { newDevice } from "./making.js"
import { MemoryShelf, openShelf } from "./shelf.js"

const FORMAT = "steadyhead/entries/1"
const PIECE = 0x2000
// Numbers that one page may give to entries in memory (own estimate: many more than a visit has), and of how many places one
// is drawn for it: two pages that were ended with a full disk, each with entries sent from memory only, come to one place
// once in so many times.
const SPARE = 1000
const PAGES = 100_000
const DATABASE = "steadyhead-field"
const MOST_FILE = 28_000_000 // of a file; the server takes 32 MB at once [characters]
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
      if (await within(PATIENCE, kept.tried())) return await kept.ready()
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
    Object.assign(this, { shelf, kind, name, device: "", loose: [], loosePhotos: new Map(), saved: new Set(),
      isPersistent: null, listeners: [], heard: new Map(), spurned: new Map(),
      page: newDevice(), place: 1 + Math.floor(Math.random() * (PAGES - 1)), given: 0 })
    this.isFile = false // whether only a saved file leaves this device: what is in none is unsaved then
    this.why = kind === "memory" ? WORDS.refused : ""
    this.channel = null
    this.before = Promise.resolve() // one after the other, also where the disk refuses
  }

  // Write something and read it back, before the first step.
  // A disk that has become full still tells what it took before: then it is said that it takes nothing more.
  async tried() {
    const value = newDevice()
    const isWritten = await this.noted(() => this.shelf.write(["state"], (hand) =>
      hand.put("state", { name: "trial", value })))
    if (!isWritten) return await this.state("device") !== null
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
    await this.claim()
    for (const key of await this.state("saved") ?? []) this.saved.add(key)
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
        fresh = this.numbered(make, await hand.get("state", "number"))
        const every = [...this.loose, ...fresh.map((entry) => rowOf(run, entry, "own"))]
        for (const row of every) await putRow(hand, row)
        await hand.put("state", { name: "number", value: Math.max(this.given, ...this.numbers(every)), page: this.page })
        return every
      })
      await this.readBack(rows)
      const held = new Set(rows.map((row) => row.key))
      this.loose = this.loose.filter((row) => !held.has(row.key))
      this.why = this.kind === "memory" ? WORDS.refused : ""
      this.changed(run)
      return { entries: fresh, kept: this.kind === "stored", why: this.why }
    } catch (problem) {
      if (fresh.length === 0) fresh = this.numbered(make, await this.numberRow())
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

  // The highest number used so far, by the row that tells it. Where another page wrote that, it may hold some more in
  // memory, or held them when it was ended, and so may others: this page goes on from a place of its own behind them.
  lastOf(row) { return row === undefined ? 0 : row.page === this.page ? row.value : row.value + SPARE * (PAGES + this.place) }

  // Make entries that go on behind every number that this page gave, and a place of its own behind those of other pages
  // that came back by the server or a file: such a page may have given more since.
  numbered(make, row) {
    const of = (isOwn) => Math.max(0, ...this.numbers(this.loose.filter((one) => (one.from === "own") === isOwn)))
    const own = Math.max(this.given, this.lastOf(row), of(true))
    const fresh = make(of(false) > own ? this.lastOf({ value: of(false), page: "" }) : own, this.device)
    this.given = Math.max(own, ...fresh.map((entry) => entry.device_seq))
    return fresh
  }

  // Where nothing can be read, the numbers of this page's own place are the ones that nobody has.
  async numberRow() {
    try {
      return await this.shelf.read(["state"], (hand) => hand.get("state", "number"))
    } catch {
      return { value: 0, page: "" }
    }
  }

  // The numbers behind all that other pages may have given are this page's.
  claim() {
    return this.noted(() => this.shelf.write(["state"], async (hand) => {
      const row = await hand.get("state", "number")
      const value = row === undefined ? 0 : row.value + 2 * SPARE * PAGES
      await hand.put("state", { name: "number", value, page: this.page })
    }))
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
        const row = await hand.get("state", "number") ?? { name: "number", value: 0, page: this.page }
        const most = Math.max(row.value, ...this.numbers(rows))
        // numbers of another page of this device: it may have given more since, so nobody goes on right behind them
        if (most > row.value) await hand.put("state", { ...row, value: most, page: "" })
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

  // How things stand: entries here, of them on this disk (`kept`), not sent yet, refused by the server, and neither on this
  // disk nor in a saved file (of a job file: in no saved file). `unsaved` counts photos too; `photos`: not sent yet,
  // `unsavedPhotos`: of `unsaved`.
  async counts(run) {
    const [every, photos] = [await this.entries(run), await this.photos(run)]
    const count = (is) => every.filter(is).length
    const isUnsaved = (one) => !one.isSent && !this.saved.has(one.key) && (this.isFile || !one.isKept)
    const unsavedPhotos = photos.filter(isUnsaved).length
    return { all: every.length, kept: count((one) => one.isKept), unsent: count((one) => !one.isSent),
      refused: count((one) => one.refused !== ""),
      unsaved: count(isUnsaved) + unsavedPhotos, unsavedPhotos, photos: photos.filter((one) => !one.isSent).length }
  }

  // Runs with entries or photos that are not sent yet.
  async unsentRuns() {
    const [rows, sent, photos] = await this.shelf.read(["entries", "sent", "photos"], (hand) =>
      Promise.all([hand.all("entries"), hand.all("sent"), hand.all("photos")]))
    const isSent = this.sentOf(sent)
    const waits = [...rows, ...this.loose].filter((row) => !isSent.has(row.key))
    waits.push(...[...photos, ...this.loosePhotos.values()].filter((row) => !row.isSent))
    return [...new Set(waits.map((row) => row.run))]
  }

  // The entries of a run as a file that the run's page takes, and `steadyhead run` reads; the photos the server lacks
  // come with them, those in no file yet first. left: how many photos found no room: they come with the next file.
  async file(run) {
    const every = await this.entries(run)
    const lines = [canonical({ format: FORMAT }), ...every.map((one) => one.line)]
    const keys = every.map((one) => one.key)
    const photos = (await this.photos(run)).filter((one) => !one.isSent)
    const isNew = (one) => !this.saved.has(one.key)
    let room = MOST_FILE - lines.reduce((sum, line) => sum + line.length, 0)
    let left = 0
    for (const one of [...photos.filter(isNew), ...photos.filter((each) => !isNew(each))]) {
      const size = Math.ceil(one.bytes.length / 3) * 4 + 200
      if (size > room) {
        left += isNew(one) ? 1 : 0
        continue
      }
      room -= size
      lines.push(canonical({ photo: { base64: base64Of(one.bytes), sha256: one.sha256 } }))
      keys.push(one.key)
    }
    return { name: `${run}.jsonl`, text: lines.map((line) => `${line}\n`).join(""), keys, left }
  }

  // The person saved a file that `file` gave; it is known after a restart too.
  async markSaved(keys) {
    for (const key of keys) this.saved.add(key)
    await this.setState("saved", [...this.saved])
  }

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
    const row = { key, run, sha256: hash, name, media, bytes, isSent: false }
    try {
      await this.shelf.write(["photos"], async (hand) => {
        if (await hand.get("photos", key) === undefined) await hand.put("photos", row)
      })
      const found = await this.shelf.read(["photos"], (hand) => hand.get("photos", key))
      if (sha256(found.bytes) === hash) {
        this.loosePhotos.delete(key)
        return this.kind === "stored"
      }
      this.why = WORDS.failed
    } catch (problem) {
      this.why = problem?.name === "QuotaExceededError" ? WORDS.full : WORDS.failed
    }
    this.loosePhotos.set(key, row)
    return false
  }

  // The photos of a run: { key, run, sha256, name, media, bytes, isKept, isSent, refused: why or "" }.
  async photos(run) {
    const rows = await this.shelf.read(["photos"], (hand) => hand.all("photos", run))
    const told = (row, isKept) => ({ refused: "", ...row, isKept })
    const loose = [...this.loosePhotos.values()].filter((row) => row.run === run).map((row) => told(row, false))
    const held = new Set(loose.map((row) => row.key))
    return [...rows.filter((row) => !held.has(row.key)).map((row) => told(row, this.kind === "stored")), ...loose]
  }

  // What the server said of a photo: it holds it (`isSent`), lost it (not `isSent`), or refused it, and why. Where the
  // disk does not take that, it is asked again after the page was closed.
  async markPhoto(key, { isSent, refused = "" }) {
    const loose = this.loosePhotos.get(key)
    if (loose !== undefined) this.loosePhotos.set(key, { ...loose, isSent, refused })
    await this.noted(() => this.shelf.write(["photos"], async (hand) => {
      const row = await hand.get("photos", key)
      if (row !== undefined) await hand.put("photos", { ...row, isSent, refused })
    }))
  }
}

// Bytes in the signs of base 64, in pieces: a call takes so many arguments and no more.
function base64Of(bytes) {
  const pieces = []
  for (let at = 0; at < bytes.length; at += PIECE) pieces.push(String.fromCharCode(...bytes.subarray(at, at + PIECE)))
  return btoa(pieces.join(""))
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
