// A disk for a device that runs in Node: what the database of a browser promises, kept in one file. A transaction is
// on the file whole or not at all; a process that is killed in the middle leaves half a line, which counts for nothing.
// One process is one browser: its tabs ask by messages, so that a tab that is closed takes its open transactions along.

import { createHash } from "node:crypto"
import { closeSync, existsSync, openSync, readFileSync, truncateSync, writeSync } from "node:fs"

const marked = (text) => `${createHash("sha256").update(text).digest("hex").slice(0, 16)} ${text}\n`
// What is no JSON by itself: the bytes of a photo.
const text = (what) => JSON.stringify(what, (_, value) => (value instanceof Uint8Array
  ? { base64: Buffer.from(value).toString("base64") } : value))
const parsed = (line) => JSON.parse(line, (_, value) => (typeof value?.base64 === "string"
  ? Uint8Array.from(Buffer.from(value.base64, "base64")) : value))
const refusal = (name) => ({ name, message: "The disk says no." })

export class Disk {
  // path: of the file; die(where): called at "before commit", "amid commit", "after commit" where a trap is set.
  constructor(path, die) {
    Object.assign(this, { die, version: 0, stores: {}, rows: new Map(), room: Infinity, isLate: false, trap: "",
      queue: [], torn: 0 })
    this.load(path)
    this.file = openSync(path, "a")
  }

  load(path) {
    if (!existsSync(path)) return
    const bytes = readFileSync(path)
    let good = 0
    for (let from = 0; from < bytes.length;) {
      const end = bytes.indexOf(10, from)
      const line = end < 0 ? "" : bytes.toString("utf-8", from, end)
      if (end < 0 || `${line}\n` !== marked(line.slice(17))) break
      this.play(parsed(line.slice(17)))
      from = end + 1
      good = from
    }
    if (good < bytes.length) {
      this.torn = bytes.length - good
      truncateSync(path, good)
    }
  }

  close() { closeSync(this.file) }

  play({ version, stores, rows }) {
    if (version) Object.assign(this, { version, stores })
    for (const [store, row] of rows ?? []) this.of(store).set(row[this.stores[store].key], row)
  }

  of(store) {
    if (!this.rows.has(store)) this.rows.set(store, new Map())
    return this.rows.get(store)
  }

  // Take a message of a tab. answer: how it hears back.
  take(tab, message, answer) {
    const { tx } = message
    if (message.begin) {
      this.queue.push({ tab, tx, answer, mode: message.begin, asked: [], fresh: new Map(), isEnding: false })
    } else {
      const found = this.queue.find((one) => one.tab === tab && one.tx === tx)
      if (found === undefined) return
      if (message.abort) this.drop(found, null)
      else found.asked.push(message)
    }
    this.turn()
  }

  // A tab is gone: what it had not handed in whole is as if it had never been.
  gone(tab) {
    this.queue = this.queue.filter((one) => one.tab !== tab || one.asked.some((each) => each.commit))
    for (const one of this.queue) if (one.tab === tab) one.answer = () => {}
    this.turn()
  }

  drop(one, error) {
    this.queue = this.queue.filter((each) => each !== one)
    one.answer({ tx: one.tx, aborted: true, error })
  }

  // One transaction after the other, each from its beginning to its end.
  turn() {
    for (let one = this.queue[0]; one !== undefined && one.asked.length > 0; one = this.queue[0]) {
      const next = one.asked.shift()
      if (next.commit) this.commit(one)
      else one.answer({ tx: one.tx, request: next.request, ...this.done(one, next) })
    }
  }

  done(one, { op, store, key, row, run, version, stores }) {
    if (op === "version") return { result: this.version }
    if (op === "upgrade") {
      one.upgrade = { version, stores }
      return { result: null }
    }
    const mine = one.fresh.get(store) ?? new Map()
    if (op === "get") return { result: mine.get(key) ?? this.of(store).get(key) }
    if (op === "all") {
      const every = [...new Map([...this.of(store), ...mine]).values()]
      return { result: run === undefined ? every : every.filter((each) => each.run === run) }
    }
    if (!this.isLate && this.size(one) + text(row).length > this.room) {
      return { error: refusal("QuotaExceededError") }
    }
    one.fresh.set(store, mine.set(row[this.stores[store].key], row))
    return { result: null }
  }

  size(one) {
    return [...one.fresh.values()].reduce((sum, rows) => sum + text([...rows.values()]).length, 0)
  }

  commit(one) {
    const size = one.fresh.size > 0 ? this.size(one) : 0
    if (size > this.room) {
      this.drop(one, refusal("QuotaExceededError"))
      return
    }
    if (one.mode === "readwrite" && (size > 0 || one.upgrade)) this.write(one)
    this.room -= size
    this.queue = this.queue.filter((each) => each !== one)
    one.answer({ tx: one.tx, complete: true })
  }

  write(one) {
    const rows = [...one.fresh].flatMap(([store, found]) => [...found.values()].map((row) => [store, row]))
    const isTrapped = this.trap !== "" && one.fresh.has("entries")
    const told = { ...one.upgrade, rows }
    const bytes = Buffer.from(marked(text(told)))
    const half = isTrapped ? Math.floor(bytes.length / 2) : 0
    if (isTrapped && this.trap === "before commit") this.die()
    if (half > 0) writeSync(this.file, bytes.subarray(0, half))
    if (isTrapped && this.trap === "amid commit") this.die()
    writeSync(this.file, bytes.subarray(half))
    if (isTrapped && this.trap === "after commit") this.die()
    this.play(told)
  }
}
