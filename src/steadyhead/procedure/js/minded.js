// What was done beside the plan, and what must stand before a step is begun: the same as minded.py and shielding.py.

import { minded } from "./naming.js"
import { meant, misplaced, moves } from "./placing.js"
import { compare, roundStarts } from "./record.js"
import { remark } from "./remarks.js"
import { isRefused, look } from "./steps.js"
import { isCarried, owner, restsOf, touches, valvesOf } from "./touching.js"
import { GUARDS, MOVES, NAMES_ITS_THING, NUTS, ORDERED, SCREW, STROKES, TELLS, TOUCHES } from "./words.js"

const BEGINS = ["reading", "observation", "action", "choice"]
const NEVER = ["RUN-50", "RUN-51", "RUN-57"]

// What stands against *final* although no step of the plan was wrong.
export function besidePlan(record, steps, proofs) {
  if (minded(record.procedure).parts.length === 0) return []
  const rests = restsOf(steps)
  return [...unproved(record, steps, rests), ...unknown(record), ...misplaced(record, steps, rests, proofs)]
}

export function neverAccepted({ code, about }, record) {
  const { may = [] } = minded(record.procedure)
  return NEVER.includes(code) || ![about, owner(about)].some((name) => may.includes(name))
}

function unproved(record, steps, rests) {
  const giving = [...steps.values()].filter((step) => step.way !== "off")
  const proved = new Set(giving.flatMap((step) => ownThings(step, rests)))
  const bare = new Set(minded(record.procedure).things.filter((thing) => !proved.has(thing)))
  const newest = new Map()
  for (const { row, things } of touches(record)) {
    const step = steps.get(row.entry.node)
    const isRead = step?.way === "on" && (step.latest < 0 || row.at <= step.latest)
    const planned = isRead ? step.node.touches : []
    for (const thing of things) if (bare.has(thing) && !planned.includes(thing)) newest.set(thing, row)
  }
  return [...newest.keys()].sort(compare).map((thing) => {
    const row = newest.get(thing)
    return remark("RUN-50", thing, [row.entry.id], { do: row.do })
  })
}

// What the proofs a step gives of a valve rest on in that valve; of a line shared by several, in any.
function ownThings(step, rests) {
  const parts = step.node.proves.map(partOf)
  return [...rests.get(step.node.id)].filter((thing) =>
    parts.length > 0 && (parts.includes(partOf(thing)) || partOf(thing) === "shared"))
}

const partOf = (name) => {
  const bare = name.split("@")[0]
  return bare.includes(".") ? bare.slice(0, bare.lastIndexOf(".")) : ""
}

// The acts and positions of which nobody can tell what they are about, or what was done.
function unknown(record) {
  const { names } = record
  const { called } = minded(record.procedure)
  return record.rows.flatMap((row) => {
    const { kind } = row.entry
    const act = kind === "action" ? row.do || "act" : kind
    if (!["action", "position"].includes(kind) || TELLS.includes(act) || isCarried(record, row)) return []
    const written = row.text("thing")
    let isKnown = names.isExact(written) || names.part(written) !== ""
    if (!(kind === "position" || isVerb(act)) || names.hides(written, called)) isKnown = false
    else if (kind === "action" && (GUARDS.includes(act) || isMeant(record, row, act))) return []
    else if (!written) isKnown = TOUCHES.includes(row.do) && means(record.node.get(row.entry.node)?.touches ?? [], row.do)
    return isKnown ? [] : [remark("RUN-51", written || act, [row.entry.id], { do: act })]
  })
}

// Whether a step tells which of its things a touch means that names none.
function means(touches, act) {
  const ends = touches.map((name) => name.split("@")[0].split(".").at(-1))
  if (ends.length === 0 || act === "turn") return false
  return ORDERED.includes(act) || !ends.some((end) => SCREW.includes(end)) || (NUTS.includes(act) && ends.includes("nut"))
}

const isMeant = (record, row, act) => !row.text("thing") && MOVES.includes(act) && record.node.has(row.entry.node)
  && !NAMES_ITS_THING.includes(act) && (!STROKES.includes(act) || meant(record, row).length > 0)
const isVerb = (act) => [MOVES, TOUCHES, GUARDS, TELLS].some((list) => list.includes(act))

// For each step that was begun without it, the proof it should have been begun under.
export function unshielded(record, steps) {
  const found = new Map()
  const { shields } = minded(record.procedure)
  const touched = shields.length > 0 ? touches(record) : []
  for (const shield of shields) {
    const giving = shield.steps.map((id) => steps.get(id)).filter((step) => step !== undefined && step.way !== "off")
    if (giving.length === 0) continue
    const lost = new Lost(record, shield, touched)
    for (const id of shield.asks) {
      const start = steps.get(id)?.way === "on" ? startOf(steps.get(id)) : null
      if (start === null || giving.some((step) => lost.stands(step, start))) continue
      found.set(id, [...(found.get(id) ?? []), shield.proof])
    }
  }
  return found
}

// What must be proved anew before steps that lack it are begun again: the steps that give it, and those.
export function toProveFirst(record, steps, bare) {
  const { shields } = minded(record.procedure)
  const touched = bare.size > 0 ? touches(record) : []
  return shields.flatMap((shield) => {
    const later = shield.asks.filter((id) => bare.get(id)?.includes(shield.proof))
    if (later.length === 0) return []
    const giving = shield.steps.filter((id) => steps.has(id) && steps.get(id).way !== "off")
    const lost = new Lost(record, shield, touched)
    return giving.some((id) => lost.stands(steps.get(id), record.rows.length)) ? [] : [[giving, later]]
  })
}

// The proofs a step would be begun without if it were begun now.
export function missingNow(record, steps, id) {
  return minded(record.procedure).shields.filter((shield) => {
    const giving = shield.steps.map((name) => steps.get(name)).filter((step) => step !== undefined && step.way !== "off")
    if (!shield.asks.includes(id) || giving.length === 0) return false
    const lost = new Lost(record, shield, touches(record))
    return !giving.some((step) => lost.stands(step, record.rows.length))
  }).map((shield) => shield.proof)
}

function startOf(step) {
  if (step.base >= 0) return step.base
  return roundStarts(step.rows.filter((row) => BEGINS.includes(row.entry.kind)), step.node).at(-1)?.at ?? null
}

class Lost {
  constructor(record, shield, touched) {
    this.record = record
    const [left, valves] = [new Set(minded(record.procedure).left.map((one) => one.thing)), valvesOf(record.procedure)]
    const rows = shield.moved_at.flatMap((id) => record.at(id)).filter((row) => BEGINS.includes(row.entry.kind))
    this.moved = [...rows, ...record.rows.filter((row) => moves(row, shield, left, valves))].map((row) => row.at)
    this.touched = touched
    this.seen = new Map()
  }

  stands(step, at) {
    const key = `${step.node.id} ${at}`
    if (!this.seen.has(key)) this.seen.set(key, this.stood(step, at))
    return this.seen.get(key)
  }

  stood(step, at) {
    const was = asItWas(this.record, step, at)
    if (was.lacks.length > 0 || isRefused(was) || was.base < 0) return false
    const own_ = new Set(was.rows.filter((row) => row.at <= was.latest).map((row) => row.at))
    const rests = step.node.depends_on
    const touched = this.touched.filter((one) => rests.some((thing) => one.things.has(thing)))
    const places = [...this.moved, ...touched.map((one) => one.row.at)]
    return !places.some((place) => was.base < place && place < at && !own_.has(place))
  }
}

function asItWas(record, step, at) {
  const rows = step.rows.filter((row) => row.at < at)
  const node = { ...step.node, needs: { all: [] } }
  const procedure = { ...record.procedure, nodes: [node], choices: [] }
  const rowsOf = (id) => (id === node.id ? rows : [])
  return look({ ...record, procedure, rows, at: rowsOf, node: new Map([[node.id, node]]) }).get(node.id)
}
