// What happened at one screw, out of the entries of a run: the same as visits/advising/history.py, step by step.

import { doubts, unsure } from "../procedure/agreeing.js"
import { Acts, AT_ACTION, AT_TRICKLE, NOT_SETTLED, NO_PRESSURE, SEEN_AT, TRICKLES, WITH_FLOW, base, before, behind, feeds,
  plain, turnsOf } from "./acts.js"

const ACTED = ["acted", "acts"]
const TOLD = ["seen"]
const OPEN = ["open", "shut_off_open"]
const UNTOLD = 4
const REST = "C1S"
const SUMMARY = "turns"
const SAME_TURNS = 1 / 16
const MOMENT = 1
const NOTED_WITH = [...AT_ACTION, "hold", "T3", "reading"]

const isNumber = (value) => typeof value === "number"
const nameOf = (payload) => before(String(payload.input ?? ""), ".")

// Return what happened at a screw, in the order of judging. entries: those that stand, in order, with their `micros`.
export function events(advising, aim, screw, listed, plan) {
  const follower = new Follower(advising, aim, screw, plan)
  const [entries, unclear] = worstOrder(follower, listed)
  const [noted, worked] = [notedIn(follower, entries), workedIn(follower, entries)]
  entries.forEach((entry, at) => {
    if (noted.has(at)) follower.summed(entry.node, noted.get(at))
    if (worked.has(at) || unclear.has(entry.id)) follower.lose()
    if (!unclear.has(entry.id)) follower.take(entry)
  })
  follower.ask()
  return follower.found
}

// The entries with each turn behind the last reading it may have been made after, by the clocks. A shut-off's turn
// upwards stands where it stood; a reducer's downwards leaves the setting unknown: the ids of these.
function worstOrder(follower, entries) {
  const doubt = doubts(entries)
  const { sees } = follower.screw
  const timed = (entry) => ({ entry, time: entry.micros / 1e6 })
  const tells = (one, other) => ["reading", "observation"].includes(other.kind) && unsure(timed(one), timed(other), doubt)
  const [behind, moved, unclear] = [new Map(), new Set(), new Set()]
  entries.forEach((entry, at) => {
    const effect = entry.kind === "action" ? follower.effect(entry) : "none"
    const turn = effect === "turn" ? turnsOf(entry.payload) || 0 : 0
    if (effect === "none" || (sees === "act" && turn > 0)) return
    const last = entries.findLastIndex((other, to) => to > at && tells(entry, other))
    if (last < 0) return
    moved.add(at)
    behind.set(last, [...(behind.get(last) ?? []), entry])
    if (sees === "gauge" && turn < 0) unclear.add(entry.id)
  })
  return [entries.flatMap((entry, at) => [...(moved.has(at) ? [] : [entry]), ...(behind.get(at) ?? [])]), unclear]
}

function notedIn(follower, entries) {
  const counted = new Map()
  for (const one of entries) {
    if (one.kind !== "action" || follower.effect(one) !== "turn") continue
    counted.set(one.node, [...(counted.get(one.node) ?? []), turnsOf(one.payload) || 0])
  }
  const found = new Map()
  entries.forEach((entry, at) => {
    const { payload, node } = entry
    if (entry.kind !== "reading" || payload.input !== SUMMARY || !follower.isOwn(node)) return
    const noted = isNumber(payload.value) ? payload.value : 0
    if (payload.value === 0 || sums(counted.get(node) ?? []).some((one) => Math.abs(noted - one) <= SAME_TURNS)) return
    found.set(counted.has(node) ? at : placeBefore(follower, entries, at), counted.has(node) ? 0 : noted)
  })
  return found
}

function sums(turns) {
  const total = (list) => list.reduce((all, one) => all + one, 0)
  const [up, down] = [total(turns.filter((one) => one > 0)), -total(turns.filter((one) => one < 0))]
  return turns.length > 0 ? [up, down, Math.abs(up - down), up + down] : []
}

function workedIn(follower, entries) {
  const found = new Set()
  for (let start = 0; start < entries.length; ) {
    let end = start
    while (end < entries.length && entries[end].node === entries[start].node) end += 1
    const places = Array.from({ length: end - start }, (_, index) => start + index)
    const mine = places.filter((at) => ["action", "reading", "observation"].includes(entries[at].kind))
    const isTurned = mine.some((at) => follower.effect(entries[at]) === "turn")
    if (follower.implied.has(entries[start].node) && !isTurned && mine.length > 0) found.add(mine[0])
    start = end
  }
  return found
}

function placeBefore(follower, entries, at) {
  const note = entries[at]
  const isSame = (one) => one.node === note.node && one.kind === "reading" && NOTED_WITH.includes(nameOf(one.payload))
  let same = [...entries.keys()].filter((place) => isSame(entries[place]))
  if (follower.acts_()) same = same.filter((place) => AT_ACTION.includes(nameOf(entries[place].payload)))
  else same = same.filter((place) => Math.abs(entries[place].micros / 1e6 - note.micros / 1e6) < MOMENT)
  return same.reduce((best, place) => (best === null || Math.abs(place - at) < Math.abs(best - at) ? place : best), null) ?? at
}

// Follows one screw through the entries; a shut-off that acted is not read until it stands open again.
class Follower {
  constructor(advising, aim, screw, plan) {
    Object.assign(this, { aim, screw, plan, found: [], last: null, gauge: "", isShut: false, isLive: true })
    this.aims = new Map(advising.aims.map((one) => [one.step, one]))
    const mine = advising.aims.filter((one) => one.valve === aim.valve)
    this.live = new Map(mine.map((one) => [one.step, (one.trip ?? null) !== null]))
    this.acts = new Acts(aim.valve, advising.screws.map((one) => one.valve), plan)
    this.inputs = new Map(plan.nodes.map((node) => [node.id, new Set(node.inputs.map((one) => one.name))]))
    this.still = new Map(plan.nodes.flatMap((node) => node.inputs.map((one) => [`${node.id} ${one.name}`, one.stable_within_si])))
    this.setting = `${plain(aim.valve)}.setting`
    const implied = [...this.acts.works].filter(([step, works]) =>
      works.has(this.setting) && !this.aims.has(step) && !this.isRest(step))
    this.implied = new Set(implied.map(([step]) => step))
    this.streams = plan.streams ?? {}
    const stream = this.streams[aim.step] ?? ""
    const named = stream ? plan.limits[`trickle_flow@${stream}`] : undefined
    this.trickle = TRICKLES * (named ?? plan.limits.trickle_flow ?? 0)
  }

  acts_() { return this.screw.sees === "act" }

  effect(entry) { return this.acts.effect(entry.node, entry.payload) }

  isOwn(node) {
    const aim = this.aims.get(node)
    return aim === undefined ? this.acts.works.get(node)?.has(this.setting) ?? false : aim.valve === this.aim.valve
  }

  isRest(node) { return base(node) === REST && plain(behind(node, ".")) === plain(this.aim.valve) }

  isHere(node) {
    const [mine, other] = [this.streams[this.aim.step] ?? "", this.streams[node] ?? ""]
    return !mine || !other || mine === other
  }

  push(what, amount, live = true) { this.found.push({ what, amount, live }) }

  take(entry) {
    const { payload, node } = entry
    this.isLive = this.live.get(node) ?? this.isLive
    if (this.isRest(node)) this.rest(entry, payload)
    else if (entry.kind === "action") this.act(node, payload)
    else if (entry.kind === "reading" && this.isHere(node)) this.read(node, payload)
    else if (entry.kind === "observation" && this.isHere(node)) this.observe(payload)
  }

  rest(entry, payload) {
    const effect = entry.kind === "action" ? this.effect(entry) : "none"
    if (effect === "lost") this.lose()
    else if (effect === "turn" || payload.input === SUMMARY || plain(payload.do) === "tick") {
      this.push("rest", 0)
      Object.assign(this, { last: null, isShut: false })
    }
  }

  act(node, payload) {
    const act = plain(payload.do)
    if (act === "reset" && this.isHere(node)) this.isShut = false
    if (act === "trip" && this.isHere(node)) this.shut(this.last)
    const effect = this.acts.effect(node, payload)
    if (effect === "lost" || (effect === "nut" && !this.acts_())) this.lose()
    else if (effect === "turn") this.turn(turnsOf(payload))
  }

  turn(turn) {
    if (this.acts_() && turn < 0) this.ask()
    this.push("turn", turn, this.isLive)
  }

  lose() {
    this.push("lost", 0)
    this.last = null
  }

  summed(node, turns) {
    if (this.isRest(node)) return
    if (this.acts_() && turns > 0 && this.aims.has(node)) this.turn(-turns)
    else this.lose()
  }

  read(node, payload) {
    const value = this.atTap(node, payload)
    if (value === null || NO_PRESSURE.includes(payload.as)) return
    const atAction = AT_ACTION.includes(nameOf(payload)) || AT_ACTION.includes(payload.as)
    if (atAction && !this.acts_()) return void this.shut(value)
    if (NOT_SETTLED.includes(payload.as) || this.moves(node, payload) || !this.tells(node, payload)) this.high(node, value)
    else if (this.acts_()) this.ofShutOff(value, atAction)
    else this.shown(value, String(payload.instrument ?? ""))
  }

  // Whether a reading swung, or moved on by more than its step lets it while it was watched.
  moves(node, payload) {
    const within = payload.steady_within, most = this.still.get(`${node} ${payload.input}`) ?? 0
    return swings(payload.swing) || (isNumber(within) && most > 0 && most * (1 + 1e-9) < within)
  }

  atTap(node, payload) {
    const { value, tap } = payload
    if (!isNumber(value)) return null
    if (tap === this.aim.tap) return value
    const beside = this.aim.beside ?? null
    const isBeside = beside !== null && tap === beside[0] && feeds(node).includes(String(payload.input))
    return isBeside ? value + beside[1] : null
  }

  tells(node, payload) {
    const [{ flow }, name] = [payload, String(payload.input ?? "")]
    const head = before(name, ".")
    if (WITH_FLOW.includes(name) && !isNumber(flow)) return false
    if (isNumber(flow) && this.trickle > 0 && !(flow > 0 && flow <= this.trickle)) return false
    if (feeds(node).includes(name) || feeds(node).includes(head)) {
      this.isShut = this.isShut && this.acts_()
      return true
    }
    if (!this.aims.has(node) && !SEEN_AT.includes(base(node))) return false
    const isAsked = this.inputs.get(node)?.has(name) ?? false
    if (this.acts_()) return !isAsked || AT_ACTION.includes(head)
    return !isAsked && this.aims.has(node) && !this.isShut
  }

  high(node, value) {
    if (!node || this.aims.has(node) || SEEN_AT.includes(base(node)) || base(node) in AT_TRICKLE) this.push("high", value)
  }

  ofShutOff(value, atAction) {
    if (atAction) this.actionAt(value, this.screw.tell > 0)
    else if (!this.isShut) {
      this.last = value
      this.push("open", value)
    }
  }

  shown(value, gauge) {
    const seen = this.found.filter((one) => one.what !== "high"), isWatched = seen.at(-1)?.what === "read"
    const old = seen.findLast((one) => one.what !== "shut")
    const isSame = !gauge || !this.gauge || plain(gauge) === this.gauge
    if (gauge && this.gauge && plain(gauge) !== this.gauge) this.lose()
    this.gauge = plain(gauge) || this.gauge
    if (old?.what === "read" && Math.abs(value - old.amount) > UNTOLD * this.screw.reading) {
      this.lose()
      if (isWatched && isSame && value < old.amount) return // it counts once it is read again
    }
    this.push("read", value)
    this.last = value
  }

  observe(payload) {
    const { input: name, value } = payload
    if (OPEN.includes(name) && value === true) this.isShut = false
    if (ACTED.includes(name) && value === true) this.shut(this.last)
    else if ([...ACTED, ...TOLD].includes(name) && value === false) this.ask()
    else if (this.acts_() && TOLD.includes(name) && value === true && this.last !== null && !this.ended()) {
      this.actionAt(this.last, this.screw.tell > 0)
    }
  }

  actionAt(value, isSign) {
    if (this.ended() && this.found.length > 0) {
      const { what } = this.found.pop()
      this.push(what, value)
    } else if (isSign) {
      this.dropOpen()
      this.push("sign", value)
    } else this.shut(value)
  }

  shut(value) {
    if (!this.acts_()) {
      this.isShut = true
      if (value !== null) this.push("shut", value)
      return
    }
    if (value === null || this.isShut) return
    this.dropOpen()
    if (this.ended()) this.found.pop()
    this.push("shut", value)
    this.isShut = true
  }

  ask() {
    const isTurned = this.found.at(-1)?.what === "turn"
    if (this.acts_() && isTurned && !this.isShut && this.last !== null) this.push("open", this.last)
  }

  dropOpen() {
    if (this.found.length > 1 && this.found.at(-1).what === "open" && this.found.at(-2).what === "turn") this.found.pop()
  }

  ended() { return ["sign", "shut"].includes(this.found.at(-1)?.what) }
}

// Whether a reading is one that swings: an empty note of it is none.
const swings = (swing) => (typeof swing === "object" && swing !== null ? Object.keys(swing).length > 0 : Boolean(swing))
