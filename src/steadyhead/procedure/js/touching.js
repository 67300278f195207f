// What was touched, and on what each proof rests: the same as the first half of touching.py.

import { folded, lowWords, minded, plainly } from "./naming.js"
import { NOTED, own, roundStarts, unique } from "./record.js"
import { ways } from "./steps.js"
import { BACK, BESIDE, CARRIED, CUTS_OFF, FLOWS, GUARDS, LETS_OUT, MOVED, MOVES, NO_TOUCH, OUT_OF_WAY, READY, STANDS, TAKES_OFF, TOUCHES, WIRED, WORKS } from "./words.js"

const meets = (list, set) => list.some((one) => set.has(one))
const ends = (names, end) => names.every((name) => name.split("@")[0].endsWith(`.${end}`))
const keeps = (act, names) => (LETS_OUT.includes(act) && ends(names, "gate")) || (TAKES_OFF.includes(act) && ends(names, "dial"))
const PUTS = ["defeat", "restore"]
export const IN_SERVICE = ["in service", "back in service", "in place", "restored"]

export function owner(name) {
  const bare = name.split("@")[0]
  return bare.includes(".") ? bare.slice(0, bare.lastIndexOf(".")) : ""
}

export const valvesOf = (procedure) => new Set(minded(procedure).things.map(owner))

// The parts that protect by closing themselves.
export function shutOffs(procedure) {
  const { guards = [], things } = minded(procedure)
  return unique(things.filter((name) => name.split("@")[0].endsWith(".feed")).map(owner)).filter((name) => guards.includes(name))
}

export function touches(record) {
  const { nodes } = record.procedure
  const worked = acting(record)
  const [found, stood] = [new Map(), new Map()]
  for (const row of record.rows.filter((each) => ["action", "position"].includes(each.entry.kind))) {
    const touched = worked(row)
    if (touched.length > 0) (row.do ? found : stood).set(row.at, new Set(touched))
  }
  for (const node of nodes.filter((each) => each.touches.length > 0)) {
    const rows = record.at(node.id)
    if (rows.some((row) => meets(node.touches, found.get(row.at) ?? new Set()))) continue
    const asked = asksWhether(node)
    const made = rows.filter((row) => !denies(row, asked))
    for (const row of roundStarts(made, node)) found.set(row.at, new Set([...(found.get(row.at) ?? []), ...node.touches]))
  }
  return [...new Map([...stood, ...found])].sort((a, b) => a[0] - b[0]).map(([at, worked]) => ({ row: record.rows[at], things: worked }))
}

// The question of a step whether it took place at all: where it is no, nothing else is asked.
function asksWhether({ inputs }) {
  if (inputs.length < 2 || inputs[0].quantity !== "yes_no") return ""
  const leftOut = JSON.stringify({ eq: [{ value: inputs[0].name }, false] })
  return inputs.slice(1).every((one) => JSON.stringify(own(one, "unless")) === leftOut) ? inputs[0].name : ""
}

// Whether a row says that its step did not take place: nothing was touched by it.
const denies = (row, asked) => asked !== "" && row.input === asked && own(row.entry.payload, "value") === false

// What tells of each act, or position, by itself which things it touches.
export function acting(record) {
  const { nodes } = record.procedure
  const { things, guards = [] } = minded(record.procedure)
  const proofs = new Set(nodes.flatMap((node) => node.proves))
  const every = [...nodes.flatMap((node) => [...node.touches, ...node.depends_on]), ...things]
  const known = new Set(every.filter((name) => !proofs.has(name)))
  const way = ways(record.procedure, record.choices)
  return (row) => {
    if (isCarried(record, row)) return []
    if (row.entry.kind === "position") return stoodOf(record, row, things)
    if (PUTS.includes(row.do) && known.has(row.thing)) return [row.thing]
    if (GUARDS.includes(row.do)) return guarded(record, row, things, guards, way)
    const node = record.node.get(row.entry.node)
    const planned = way.get(node?.id) === "on" ? node : undefined
    const steps = [() => workedBy(row, node, known, record.names), () => movedBy(row, things, record.names, guards), () => flowed(record, row, planned, things, guards)]
    return steps.reduce((touched, next) => (touched.length > 0 ? touched : next()), [])
  }
}

// Whether a row is about an instrument that was described in the run, put on or taken off.
export function isCarried(record, row) {
  const written = row.text("thing")
  if (!CARRIED.includes(row.do || row.entry.kind) || record.names.part(written) !== "") return false
  return [...record.described.keys()].some((name) => folded(name) === folded(written))
}

// The whole of a part that protects, where water was moved through it beside the steps that prove it; of any valve
// where a line of it was opened that the plan has no name for.
function flowed(record, row, node, things, guards) {
  if (!FLOWS.includes(row.do) || (!guards.includes(row.thing) && !["connect", "disconnect"].includes(row.do))) return []
  const begins = (name) => name.startsWith(`${row.thing}.`)
  return node?.proves.some(begins) && !isBehind(record, node, row) ? [] : things.filter(begins)
}

// Whether an act was entered at a step after people had read it and gone on to another one.
function isBehind(record, node, row) {
  const last = record.at(node.id).findLast((one) => NOTED.includes(one.entry.kind))?.at ?? row.at
  return record.rows.slice(last, row.at).some((one) => !["", node.id].includes(one.entry.node))
}

function workedBy(row, node, known, names) {
  const { do: act, thing } = row
  if (NO_TOUCH.includes(act)) return []
  if (known.has(thing)) return [thing]
  if (MOVES.includes(act)) return []
  if (thing) {
    const part = own(WORKS, act) === null ? "" : `${thing}.${WORKS[act]}`
    if (known.has(part) && (names.isExact(row.text("thing")) || names.parts.length === 0)) return [part]
    const whole = [...known].filter((name) => name.startsWith(`${thing}.`))
    if (whole.length > 0) return keeps(act, whole) ? [] : whole
  }
  return node !== undefined && TOUCHES.includes(act) ? node.touches : []
}

// The whole of a valve of which a part was opened or shut that the plan has no name for; the cock of one that
// protects and does not close by itself.
function movedBy(row, things, names, guards) {
  if (own(STANDS, row.do) === null) return []
  const whole = things.filter((name) => name.startsWith(`${row.thing}.`))
  if (!names.isExact(row.text("thing"))) return whole
  if (!guards.includes(row.thing) || whole.includes(`${row.thing}.feed`)) return []
  return whole.includes(`${row.thing}.cock`) ? [`${row.thing}.cock`] : whole
}

// Whether a position says that a thing stands as it is to be left.
export function isInPlace(record, row) {
  const words = minded(record.procedure).left.find((one) => one.thing === row.thing)?.words ?? IN_SERVICE
  return words.map(plainly).includes(plainly(row.text("is"))) && !isCutOff(record, row)
}

// What was worked where a part of a valve is said to stand otherwise than it is left.
function stoodOf(record, row, things) {
  if (isInPlace(record, row)) return []
  const whole = things.filter((name) => owner(name) === row.thing)
  if (isKept(record, row)) return whole
  if (isCutOff(record, row)) return whole.includes(`${row.thing}.cock`) ? [`${row.thing}.cock`] : whole
  if (things.includes(row.thing) || record.names.isExact(row.text("thing"))) return things.filter((name) => name === row.thing)
  return whole
}

const protects = ({ procedure }, row) => (minded(procedure).guards ?? []).includes(row.thing) && row.thing !== "alarm"

// Whether a position says that a whole part that protects is kept from acting, has a word that nobody knows, or none
// that is known.
function isKept(record, row) {
  const found = lowWords(row.text("is"))
  if (!protects(record, row) || found.length === 0) return false
  const told = found.filter((word) => !BESIDE.includes(word) && !/^[0-9]/.test(word))
  const turned = found.includes("not") && found.some((word) => READY.includes(word))
  return turned || !told.some((word) => MOVED.includes(word)) || told.some((word) => !MOVED.includes(word) && !CUTS_OFF.includes(word))
}

// Whether a position says of a part that protects that a cock of it is shut; the plan may have no name for it.
function isCutOff(record, row) {
  const stands = lowWords(row.text("is"))
  const cock = [...stands, ...lowWords(row.text("thing"))].includes("cock")
  return protects(record, row) && cock && stands.some((word) => CUTS_OFF.includes(word))
}

// What an act touches by which protection, or a warning, is put out of action or back, beside the steps that order it.
function guarded(record, row, things, guards, way) {
  const out = own(BACK, row.do) ?? row.do
  if (!Object.values(BACK).includes(out) || isOrdered(record, row, out, way)) return []
  if (row.do !== out) {
    const part = (one) => owner(one.thing) || one.thing
    const before = record.rows.slice(0, row.at).filter((one) => one.do === out && part(one) === part(row))
    if (before.every((one) => isOrdered(record, one, out, way)) && (before.length > 0 || out === "defeat")) return []
  }
  if (things.includes(row.thing)) return [row.thing]
  const parts = row.thing ? [row.thing] : orderedParts(record, row, out)
  const ofPart = things.filter((name) => parts.includes(owner(name)))
  let told = ofPart.filter(isWired)
  if (guards.includes(row.thing) && told.length === 0) told = things.filter(isWired)
  return out === "defeat" ? unique([...ofPart, ...told]) : told
}

// The parts that the step of an act which names nothing orders out of the way, or warns by.
function orderedParts(record, row, out) {
  const node = record.node.get(row.entry.node)
  if (node === undefined) return []
  const ordered = [...node.opens, ...node.restores].filter((item) => isKind(item, out))
  return (own(OUT_OF_WAY, out) !== null ? ordered : node.depends_on.filter(isWired)).map(owner)
}

// Whether an item is one that a step opens for an act which puts out.
const isKind = (item, out) => (own(OUT_OF_WAY, out) ?? []).includes(item.split("@")[0].split(".").at(-1))
const isWired = (name) => WIRED.includes(name.split("@")[0].split(".").at(-1))

// Whether the step an act stands at, on this way, orders what is put out or back by it: until it was put back,
// and what is put out for a reading before people have gone on.
function isOrdered(record, row, out, way) {
  const node = record.node.get(row.entry.node)
  if (node === undefined || way.get(node.id) !== "on") return false
  const part = (owner(row.thing) || row.thing).toLowerCase()
  const fit = [...node.opens, ...node.restores].filter((item) =>
    isKind(item, out) && (part === "" || owner(item).toLowerCase() === part))
  if (fit.length > 0) {
    const back = record.procedure.nodes.filter((other) => other !== node && fit.some((item) => other.restores.includes(item)))
    return row.do !== out || !back.some((other) => record.at(other.id).some((one) => one.at < row.at))
  }
  const inTime = row.do !== out || !isBehind(record, node, row)
  return out !== "defeat" && node.proves.length > 0 && node.depends_on.some(isWired) && inTime
}

export function restsOf(steps) {
  const gives = new Map()
  for (const [id, step] of steps) {
    for (const name of step.way === "off" ? [] : step.node.proves) gives.set(name, [...(gives.get(name) ?? []), id])
  }
  const found = new Map([...steps].map(([id, step]) => [id, new Set(step.node.depends_on)]))
  for (let grown = true; grown; ) {
    grown = false
    for (const names of found.values()) {
      const size = names.size
      for (const name of [...names]) for (const id of gives.get(name) ?? []) for (const more of found.get(id)) names.add(more)
      grown ||= names.size > size
    }
  }
  return found
}
