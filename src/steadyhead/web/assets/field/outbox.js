// Sends what this device holds to the server, and takes what others entered. An entry is *sent* only once the server's
// `held` names it. Repeated, cut off or doubled, a sync changes nothing twice; whatever fails, everything stays here.

import { judge } from "../procedure/judge.js"
import { canonical, rounded, sha256 } from "./canonical.js"
import { compared, timeOf, withinNow } from "./clock.js"
import { Book, gathered } from "./ledger.js"

export const FORMAT = "steadyhead/sync/1"
const MOST_ENTRIES = 400 // of one request; the server takes 4 MB at once. Own estimates.
const MOST_CHARACTERS = 1_000_000
const PAUSES = [2, 5, 15, 40, 90, 180, 300] // after the first, second, ... try without success [s]. Own estimates.
const LISTENS = 30 // after everything is sent, how often it asks what others entered: a Stop of theirs, say [s]. Own estimate.
const PATIENCE = 60_000 // how long one request may take. Own estimate. [ms]
const LISTENING = ["idle", "refused"] // nothing is left to be sent
const REFUSES = [413, 415, 422] // a photo that the server will never take
// How long one tab may be the sender without a word, where the browser has no locks: a tab that was ended holds up no
// longer. Each request says it anew; one that lasts longer lets another tab send beside it, which changes nothing twice.
const HELD_FOR = 20_000 // own estimate [ms]

export const WORDS = {
  idle: "Everything is sent.",
  sending: "Sending.",
  waits: "Not sent yet.",
  offline: "No signal. Everything stays on this device.",
  "no answer": "No answer in time. Everything stays on this device.",
  "not now": "The server does not take it now. Everything stays on this device.",
  "signed out": "Sign in again, nothing is lost.",
  "not allowed": "Your role does not reach: ask for the right to record. Nothing is lost.",
  gone: "The server has no such visit. Everything stays here: save the file.",
  refused: "The server refused some of it. It stays here and is shown.",
  "not taken": "The server does not take what was sent. Everything stays here: save the file.",
  elsewhere: "Another page of this device is sending. This one looks again by itself.",
}

// Return what the device judged, as the server can hold it against its own verdict; null while an id has two contents.
// judged: the judgement with nothing held against the clock; ids: of the entries it is about.
export function verdictOf(judged, ids, clashes) {
  if (clashes.length > 0) return null
  const states = (list, name) => Object.fromEntries(list.map((one) => [one[name], one.state]))
  const gist = { is_final: judged.is_final, next: judged.next, steps: states(judged.steps, "id"),
    proofs: states(judged.proofs, "name"), items: states(judged.items, "name"),
    blocks: judged.blocks.map((one) => `${one.remark.code} ${one.remark.about}`),
    signs: judged.signs.map((one) => `${one.entry} ${one.stands}`) }
  const verdict = sha256(canonical(rounded({ ...judged, now: null })))
  return { entries: sha256(canonical([...ids].sort())), verdict, gist }
}

// Return the verdict of this device on entries, for `judged` of an outbox.
export function judgedOf(pack, plan, entries) {
  const book = new Book(plan, pack.plan.sha256, pack.run, gathered(entries))
  const ids = book.entries.map((entry) => entry.id)
  return verdictOf(judge(plan, book.entries, null, book.clashes), ids, book.clashes)
}

// One outbox for one run. kept: from kept.js; address: `/stations/KEY/runs/RUN/sync`; who(): the person named on the
// device; clock: { get(), set(clock) } with a clock gone on to now; judged(entries): from `judgedOf`, or null. The rest is
// the browser's: asks (fetch), wall (Date.now), later (setTimeout), never (clearTimeout), random. tell: is given `told`
// whenever it changes: { state, words, server, again: seconds or null, refused }.
export class Outbox {
  constructor({ kept, run, address, who = () => "", clock, judged = async () => null, asks = null, wall = () => Date.now(),
    later = (work, ms) => setTimeout(work, ms), never = (timer) => clearTimeout(timer), random = Math.random,
    locks = globalThis.navigator?.locks ?? null, tell = () => {} }) {
    Object.assign(this, { kept, run, address, who, clock, judged, wall, later, never, random, locks, tell })
    this.asks = asks ?? ((...given) => globalThis.fetch(...given))
    this.mine = `${kept.device} ${Math.floor(random() * 1e9)}`
    this.tries = 0
    this.most = MOST_ENTRIES // of one request: fewer after one that was not answered in time
    this.timer = null
    this.under = null
    this.told = { state: "waits", words: WORDS.waits, server: null, again: null, refused: [] }
  }

  // Send now, once; a second call while one is under way waits for that one. Resolves to what is told of it.
  send() {
    this.under ??= this.once().finally(() => { this.under = null })
    return this.under
  }

  // Send, and go on by itself: sooner or later again where it did not go through, and to hear what others entered.
  async start() {
    this.isGoing = true
    globalThis.addEventListener?.("online", this.online ??= () => this.send())
    return this.send()
  }

  stop() {
    this.isGoing = false
    if (this.online) globalThis.removeEventListener?.("online", this.online)
    this.never(this.timer)
  }

  async once() {
    this.never(this.timer)
    const key = `sender ${this.run}`
    const elsewhere = () => this.say("elsewhere", true)
    try {
      if (this.locks === null || this.kept.kind === "memory") return await this.byLease(key, elsewhere)
      const how = { ifAvailable: true }
      return await this.locks.request(`${this.kept.name} ${key}`, how, (lock) => (lock ? this.all() : elsewhere()))
    } catch (problem) {
      this.told.problem = String(problem)
      return this.say(problem?.failed ?? "offline", problem?.again ?? true)
    }
  }

  // Where the browser has no locks: a note in the store, which ends by itself where its page does.
  async byLease(key, elsewhere) {
    // a disk that is full takes no note: two that send at once do no harm, nobody who sends does
    const hold = () => this.kept.hold(key, this.mine, this.wall() + HELD_FOR, this.wall()).catch(() => true)
    if (!await hold()) return elsewhere()
    this.stays = hold
    try {
      return await this.all()
    } finally {
      this.stays = null
      await this.kept.letGo(key, this.mine).catch(() => {})
    }
  }

  async all() {
    const counts = await this.kept.counts(this.run)
    const isListening = LISTENING.includes(this.told.state) && counts.unsent === counts.refused && counts.photos === 0
    const was = JSON.stringify(this.told.server)
    if (!isListening) this.say("sending")
    let [passed, most, isWhole] = [new Set(), this.most, false]
    while (!isWhole) {
      const every = await this.kept.entries(this.run)
      const waiting = every.filter((one) => !one.isSent && !one.refused && !passed.has(one.key))
      const batch = batchOf(waiting, most)
      const have = await this.kept.state(`seen ${this.run}`) ?? 0
      const answer = await this.ask(batch, every, have, batch.length === waiting.length && !isListening).catch((cut) => {
        if (cut?.failed === "no answer" && batch.length > 1) this.most = Math.floor(batch.length / 2)
        throw cut
      })
      if (answer === null) {
        most = Math.floor(Math.min(most, batch.length) / 2)
        if (most < 1) throw Object.assign(new Error("too much"), { failed: "not taken", again: false })
        continue
      }
      await this.take(batch, answer)
      for (const one of batch) passed.add(one.key)
      isWhole = batch.length === waiting.length
      if (answer.last < have) {
        // the register was put back to an earlier state: all that is here is sent once more
        await this.kept.markSent(every.map((one) => one.key), false)
        for (const photo of await this.kept.photos(this.run)) await this.kept.markPhoto(photo.key, { isSent: false })
        passed = new Set()
        isWhole = false
      }
    }
    this.most = MOST_ENTRIES
    this.tries = 0
    if (isListening && JSON.stringify(this.told.server) === was && await this.isQuiet(counts)) return this.heardNothing()
    await this.photos()
    const every = [...await this.kept.entries(this.run), ...await this.kept.photos(this.run)]
    const open = every.filter((one) => !one.isSent)
    const [isRefused, waits] = [open.some((one) => one.refused), open.some((one) => !one.refused)]
    return this.say(open.length === 0 ? "idle" : isRefused ? "refused" : "waits", waits)
  }

  // Ask the server once. Null where it says that this was too much at once.
  async ask(batch, every, have, isLast) {
    const clock = this.clock.get()
    const asked = this.wall()
    const entries = every.map((one) => one.entry).filter((entry) => entry !== null)
    const mine = new Set(every.filter((one) => one.device === this.kept.device).map((one) => one.id)).size
    const body = { format: FORMAT, device: this.kept.device, who: this.who(), sent_at: timeOf(clock),
      offset: clock.offset, within: withinNow(clock), entries: batch.map((one) => one.line), have, mine,
      judged: isLast ? await this.judged(entries) : null }
    const headers = { "content-type": "application/json", accept: "application/json" }
    // who only listens is not told again what stands; an older server does not know this and tells all of it
    if (batch.length === 0 && body.judged === null && this.told.server?.known) headers["x-run-state"] = this.told.server.known
    const answer = await this.reach(this.address, { method: "POST", headers, body: JSON.stringify(body) })
    if (answer.status === 413) return null
    if (!answer.ok) throw failed(answer.status)
    const found = answer.told
    if (found?.format !== FORMAT) throw failed(0)
    this.clock.set(compared(this.clock.get(), asked, this.wall(), 1000 * found.server_time))
    return found
  }

  // Ask an address; whether it came in time counts for the whole answer. Returns { status, ok, told: its data, else null }.
  async reach(address, how) {
    await this.stays?.()
    const stop = typeof AbortController === "function" ? new AbortController() : null
    let isLate = false
    const timer = this.later(() => { isLate = true; stop?.abort() }, PATIENCE)
    const late = (cut) => { throw isLate ? Object.assign(new Error("no answer in time"), { failed: "no answer" }) : cut }
    try {
      const answer = await this.asks(address, { credentials: "same-origin", signal: stop?.signal, redirect: "manual", ...how })
      return { status: answer.status, ok: answer.ok, told: await answer.json().catch(() => (isLate ? late() : null)) }
    } catch (cut) {
      return late(cut)
    } finally {
      this.never(timer)
    }
  }

  // What the server holds is sent; what it refuses is kept and named; what others entered comes beside.
  async take(batch, answer) {
    const refused = new Map((answer.refused ?? []).filter((one) => one.id).map((one) => [one.id, one.why]))
    const held = new Set(answer.held ?? [])
    await this.kept.takeIn(this.run, answer.entries ?? [], "server", answer.last)
    await this.kept.markSent(batch.filter((one) => held.has(one.id) && !refused.has(one.id)).map((one) => one.key))
    const no = batch.filter((one) => refused.has(one.id)).map((one) => ({ key: one.key, why: refused.get(one.id) }))
    if (no.length > 0) await this.kept.markRefused(no)
    const heard = (await this.kept.entries(this.run)).filter((one) => one.isSent).map((one) => one.id)
    this.told.server = answer.run_state === null && this.told.server !== null ? { ...this.told.server, heard }
      : { ...answer.run_state, known: answer.known ?? "", differs: answer.differs ?? null, heard }
    await this.kept.setState(`server ${this.run}`, this.told.server)
    this.told.refused = [...this.told.refused, ...no]
  }

  // Send the photos the server lacks: each is sent only once the server answered for its digest. One that it refuses
  // stays here and holds up no other.
  async photos() {
    for (const photo of (await this.kept.photos(this.run)).filter((one) => !one.isSent && !one.refused)) {
      const address = this.address.replace(/\/sync$/, `/photos/${photo.sha256}`)
      const media = photo.media || "application/octet-stream"
      const answer = await this.reach(address, { method: "PUT",
        headers: { "content-type": media, accept: "application/json" }, body: photo.bytes }).catch((cut) => this.whyCut(cut))
      const { told } = answer
      if (REFUSES.includes(answer.status)) {
        const why = told?.problems?.[0]?.problem ?? told?.words ?? "The server refused it."
        await this.kept.markPhoto(photo.key, { isSent: false, refused: String(why) })
        continue
      }
      if (!answer.ok) throw failed(answer.status)
      if (told?.sha256 !== photo.sha256) throw failed(0)
      await this.kept.markPhoto(photo.key, { isSent: true })
    }
  }

  // A line closed amid a photo may be no signal, or a server that wants a sign-in before it reads so much: ask it shortly.
  async whyCut(cut) {
    await this.ask([], await this.kept.entries(this.run), await this.kept.state(`seen ${this.run}`) ?? 0, false)
    throw cut
  }

  // Whether nothing was entered here meanwhile: `send` did not send that, for it waited for this one.
  async isQuiet(before) {
    const { unsent, photos } = await this.kept.counts(this.run)
    return unsent === before.unsent && photos === 0
  }

  // Everything was sent before, and nobody entered anything: nothing is told anew.
  heardNothing() {
    this.told.sentAt = this.wall()
    this.listens()
    return this.told
  }

  listens() {
    if (this.isGoing) this.timer = this.later(() => this.send(), 1000 * LISTENS)
  }

  // Tell how it stands, and come back to it after a pause that grows, where asked.
  say(state, again = false) {
    if (again) this.tries += 1
    const pause = PAUSES[Math.min(this.tries, PAUSES.length) - 1] * (0.8 + 0.4 * this.random())
    this.told = { ...this.told, state, words: WORDS[state], again: again ? pause : null }
    if (state === "idle") this.told.sentAt = this.wall()
    if (LISTENING.includes(state) && !again) this.listens()
    if (again) this.timer = this.later(() => this.send(), 1000 * pause)
    this.tell(this.told)
    return this.told
  }
}

// One entry of each id at the most: the server answers by id.
function batchOf(waiting, most) {
  const [found, ids] = [[], new Set()]
  let size = 0
  for (const one of waiting) {
    if (ids.has(one.id)) continue
    if (found.length >= most || (found.length > 0 && size + one.line.length > MOST_CHARACTERS)) break
    ids.add(one.id)
    found.push(one)
    size += one.line.length
  }
  return found
}

// Whoever is signed out, or may not, is told; everything else is tried again.
function failed(status) {
  const state = { 401: "signed out", 403: "not allowed", 404: "gone", 422: "not taken", 400: "not taken" }[status] ?? "not now"
  return Object.assign(new Error(`answered ${status}`), { failed: state, again: state === "not now" })
}
