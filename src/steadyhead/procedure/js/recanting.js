// What was entered and then taken back: the same as recanting.py.

import { byHand } from "./agreeing.js"
import { calls, folded, minded, OUTSIDE, wordsOf } from "./naming.js"
import { amended, CLOCK_SET, compare, inOrder, lay, NOTED, own, standing } from "./record.js"
import { AGREES, peopleOf, remark } from "./remarks.js"
import { isPutOut } from "./restoring.js"
import { look } from "./steps.js"
import { acting, isInPlace, owner } from "./touching.js"
import { unanswered } from "./trials.js"
import { MOVES, TELLS } from "./words.js"

const SHOWN = 60
const text = (entry, key) => {
  const found = own(entry.payload, key)
  return typeof found === "string" ? found : ""
}

// What stands against *final* because nobody else agreed, and what is told.
export function takenBack(record, mine, rowOf) {
  const byId = new Map(mine.map((entry) => [entry.id, entry]))
  const amends = amendedBy(mine, byId)
  if (amends.size === 0) return [[], []]
  const stands = new Map(record.rows.map((row) => [row.entry.id, row]))
  const { guards = [], called = [] } = minded(record.procedure)
  const worked = acting(record)
  const works = (row) => (row === null ? [] : [...worked(row), ...putOut(record, row)])
  const [against, told] = [[], []]
  const people = peopleOf(record)
  for (const [id, chain] of amends) {
    const last = chain.at(-1)
    const [old, now] = [byId.get(id), stands.get(id) ?? null]
    let [what, parts] = ["", []]
    if (old.kind === "note") [what, parts] = noteOf(old, now, guards, called)
    else if (old.kind === "action") [what, parts] = actOf(old, now, works(rowOf(old)), works(now))
    else if (old.kind === "position") [what, parts] = positionOf(record, rowOf(old), now)
    else if (NOTED.includes(old.kind)) [what, parts] = readingOf(record, mine, old, now, chain)
    if (!what) continue
    const params = { what, how: now === null ? "made void" : "corrected", reason: text(last, "reason") }
    told.push(remark("RUN-55", old.node || "run", [old.id, last.id], params))
    if (parts.some((part) => guards.includes(part)) && !agreed(record, old, last, people)) {
      against.push(remark("RUN-56", "run", [old.id, last.id], params))
    }
  }
  return [against, told]
}

// The entries that something came to, each with what came to it, in order.
function amendedBy(mine, byId) {
  const found = new Map()
  for (const entry of mine.filter(({ kind }) => kind === "correction" || kind === "void")) {
    const about = amended(entry, byId)
    if (about !== null) found.set(about.id, [...(found.get(about.id) ?? []), entry])
  }
  return found
}

function noteOf(old, now, guards, called) {
  const said = text(old, "text")
  if (now !== null && now.text("text") === said) return ["", []]
  const named = calls(said, called) ? guards : guards.filter((one) => wordsOf(said).has(one))
  return [`note: ${[...said].slice(0, SHOWN).join("")}`, named]
}

function positionOf(record, old, now) {
  const said = `${old.text("thing")}=${old.text("is")}`
  if (now !== null && `${now.text("thing")}=${now.text("is")}` === said) return ["", []]
  return [`position ${said}`, isInPlace(record, old) ? [] : [record.names.part(old.text("thing"))]]
}

// What was read to prove a part that protects and is read no longer, and the parts it failed.
function readingOf(record, mine, old, now, chain) {
  const { guards = [], stops = [] } = minded(record.procedure)
  const proved = (record.node.get(old.node)?.proves ?? []).map(owner).filter((part) => guards.includes(part))
  const parts = stops.includes(old.node) ? guards : proved
  if (parts.length === 0) return ["", []]
  const failed = chain.some((one) => isFailed(record, mine, old, one))
  if (now !== null && !failed) return ["", []]
  return [`${old.kind} ${text(old, "input")} at ${old.node}`, failed ? parts : []]
}

// Whether its step spoke against a reading up to when it was taken back, and not without it.
function isFailed(record, mine, old, amending) {
  const before = mine.filter((entry) => isLater(amending, entry))
  const [found, without] = [before, before.filter((entry) => entry.id !== old.id)].map((entries) => {
    const laid = lay(record.procedure, standing(inOrder(entries)))
    const steps = look(laid)
    const step = steps.get(old.node)
    const fires = step.fires.filter((one) => one.tells !== true)
    return [...step.refusals, ...fires, ...step.outside, ...unanswered(laid, steps, old.node)]
  })
  return found.some((one) => !without.includes(one))
}

function actOf(old, now, before, after) {
  const [act, thing] = [text(old, "do"), text(old, "thing")]
  const lost = before.filter((name) => !after.includes(name))
  if (lost.length === 0 && (now !== null || TELLS.includes(act) || MOVES.includes(act))) return ["", []]
  return [thing || act ? [act, thing].join(" ").replace(/^\s+|\s+$/g, "") : "", lost.map((name) => owner(name) || name)]
}

function putOut(record, row) {
  return !isPutOut(record, row) ? [] : [record.names.part(row.thing) || "alarm"]
}

function agreed(record, old, last, people) {
  return record.rows.some((row) => {
    const lookedAt = [old, last].find((one) => row.do === AGREES && one.id === row.text("to"))
    const who = folded(row.entry.who)
    return lookedAt !== undefined && people.has(who) && ![last, lookedAt].some((one) => folded(one.who) === who)
      && record.names.part(row.text("thing")) !== OUTSIDE && isLater(row.entry, last)
  })
}

function isLater(a, b) {
  const own = a.device === b.device && a.device_seq !== b.device_seq && !byHand(a) && !byHand(b)
  if (own && Math.abs(a.micros - b.micros) <= CLOCK_SET) return a.device_seq > b.device_seq
  const order = a.micros - b.micros || compare(a.device, b.device) || a.device_seq - b.device_seq || compare(a.id, b.id)
  return order > 0
}
