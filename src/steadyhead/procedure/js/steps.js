// Every step of a plan against the entries made at it: the same as fitness.py and steps.py.

import { differing, doubts, inside, isSettled } from "./agreeing.js"
import { Entries, evaluate, holds, names } from "./expression.js"
import { banded } from "./grammar.js"
import { isAnswer, isOf, unfits } from "./fitness.js"
import { minded, refuses } from "./naming.js"
import { SOFT, isNumber, own, taken } from "./record.js"

const BEGINS = ["reading", "observation", "action", "choice"]

const needs = (map, key, none) => own(map, key, none)

export function needed(expression) {
  const found = Object.values(expression).flatMap((parts) =>
    parts.flatMap((part) => (typeof part === "string" ? [part] : needed(part))),
  )
  return [...new Set(found)]
}

export function isMet(expression, done) {
  return Object.entries(expression).every(([operator, parts]) => {
    const met = (part) => (typeof part === "string" ? done.has(part) : isMet(part, done))
    return operator === "all" ? parts.every(met) : parts.length === 0 || parts.some(met)
  })
}

export function ways(procedure, choices) {
  const found = new Map(procedure.nodes.map((node) => [node.id, "on"]))
  for (const choice of procedure.choices) {
    const option = choices.get(choice.id)
    const opened = new Set(choice.options.filter((each) => each.name === option).flatMap((each) => each.opens))
    for (const node of new Set(choice.options.flatMap((each) => each.opens))) {
      if (option === null && found.get(node) === "on") found.set(node, "waits")
      else if (option !== null && !opened.has(node)) found.set(node, "off")
    }
  }
  return found
}

// Every step as it is found, in the order of the plan.
export function look(record) {
  const way = ways(record.procedure, record.choices)
  const steps = new Map(record.procedure.nodes.map((node) => [node.id, blank(node, record, way.get(node.id))]))
  for (const step of steps.values()) sort(step, record)
  const seen = seenBy(record, steps)
  for (const step of steps.values()) judge(step, record, seen, steps)
  return steps
}

function blank(node, record, way) {
  const rows = record.at(node.id)
  return {
    node, rows, way, bands: bandsOf(node, record.choices), given: new Map(), chosen: new Map(), unfit: [], mistyped: [],
    lacks: [], unnoted: [], fires: [], refusals: [], outside: [], first_done: null, base: -1, latest: -1,
    unmet: [], unmet_paper: [], uncovered: [], held: [], differs: null, begun: rows.some((row) => BEGINS.includes(row.entry.kind)),
  }
}

export function isRefused(step) {
  if (step.refusals.length > 0 || step.uncovered.length > 0 || step.held.length > 0 || step.fires.some((one) => !needs(one, "tells", false))) return true
  return step.node.proves.length > 0 && (step.unmet.length > 0 || step.unfit.some((one) => one.counts))
}

function bandsOf(node, choices) {
  const found = {}
  for (const one of node.expect) {
    if (one.where !== null && choices.get(one.where[0]) !== one.where[1]) continue
    const band = own(found, one.input)
    if (band === null) {
      found[one.input] = { low: one.low_si, high: one.high_si, nominal: one.nominal_si }
      continue
    }
    const edges = (a, b, pick) => (a === null ? b : b === null ? a : pick(a, b))
    band.low = edges(band.low, one.low_si, Math.max)
    band.high = edges(band.high, one.high_si, Math.min)
    band.nominal = band.nominal ?? one.nominal_si
  }
  return found
}

function sort(step, record) {
  const photos = step.rows.filter((row) => row.entry.kind === "photo")
  const byInput = new Map(step.node.inputs.map((one) => [one.name, []]))
  for (const row of step.rows) byInput.get(row.input)?.push(row)
  for (const one of step.node.inputs) {
    const isPhoto = one.quantity === "photo"
    const rows = isPhoto ? photos : byInput.get(one.name)
    const right = isPhoto ? rows : rows.filter((row) => isAnswer(one, row) && !isRefusal(record, step.node, one, row)
      && (step.node.proves.length > 0 || isOf(one, row)))
    for (const row of rows) if (!right.includes(row)) step.mistyped.push({ input: one.name, row })
    if (right.length > 0) step.given.set(one.name, right)
  }
  const beside = new Set(step.node.inputs.filter((one) => step.given.has(one.name)).map((one) => one.quantity))
  for (const one of step.node.inputs) if (step.given.has(one.name)) choose(step, one, record, beside)
}

// Whether a bare refusal stands where the plan asks in words who was told, or how it is sealed; anyField: whatever is asked.
export function isRefusal(record, node, one, row, anyField = false) {
  if (one.quantity !== "text") return false
  const asked = (minded(record.procedure).answers ?? []).includes(`${node.id} ${one.name}`)
  return (asked || anyField) && refuses(row.text("value"), asked)
}

function choose(step, one, record, beside) {
  const rows = step.given.get(one.name)
  const judged = one.quantity !== "photo" && step.node.proves.length > 0
  const problems = new Map(rows.map((row) => [row.at, judged ? unfits(one, row, record, beside) : []]))
  const fit = rows.filter((row) => problems.get(row.at).every((each) => each.tells))
  const row = (fit.length > 0 ? fit : rows).at(-1)
  const value = one.quantity === "photo" ? true : row.entry.payload.value
  step.chosen.set(one.name, { value, oldest: row.at, newest: row.at, rows: [row] })
  for (const each of rows) {
    for (const why of problems.get(each.at)) step.unfit.push({ input: one.name, row: each, why, counts: each === row })
  }
  step.differs = step.differs ?? differing(one, rows, own(step.bands, one.name))
}

function seenBy(record, steps) {
  const hidden = new Set()
  for (const step of steps.values()) {
    for (const { input, row, why, counts } of step.unfit) {
      if (!counts && !why.tells && row !== step.chosen.get(input).rows[0]) hidden.add(row.at)
    }
    for (const { row } of step.mistyped) hidden.add(row.at)
  }
  const doubt = doubts(record.rows.map((row) => row.entry))
  return new Entries(record.rows.filter((row) => !hidden.has(row.at)).map((row) => taken(row, doubt)).filter((one) => one !== null))
}

function judge(step, record, seen, steps) {
  const { node } = step
  const context = {
    node: node.id, entries: seen, bands: step.bands, limits: record.procedure.limits, instruments: record.instruments,
  }
  for (const one of node.inputs) {
    if (needs(one, "worked", null) !== null && !step.chosen.has(one.name)) work(step, one, context, seen, steps)
  }
  const leaves = (one) => needs(one, "unless", null) !== null && holds(one.unless, context)
  const needless = new Set(node.inputs.filter(leaves).map((one) => one.name))
  fill(step, record, needless)
  span(step, needless)
  if (!step.begun || step.way === "off") return
  step.fires = node.otherwise.filter((one) => holds(one.when, context))
  step.refusals = needs(node, "refuses", []).filter((one) => holds(one.when, context))
  step.outside = step.fires.every((one) => needs(one, "tells", false)) ? outside(step, toldOf(step)) : []
  tooEarly(step, steps)
}

function work(step, one, context, seen, steps) {
  const value = evaluate(one.worked, context)
  if (value === null) return
  const parts = names(one.worked)
    .map((name) => (typeof name === "string" ? [step.node.id, name] : name))
    .map(([node, wanted]) => steps.get(node)?.chosen.get(wanted))
    .filter((part) => part !== undefined)
  if (parts.length === 0) return
  const rows = [...new Map(parts.flatMap((part) => part.rows).map((row) => [row.at, row])).values()]
  rows.sort((a, b) => a.at - b.at)
  const newest = Math.max(...parts.map((part) => part.newest))
  step.chosen.set(one.name, { value, oldest: Math.min(...parts.map((part) => part.oldest)), newest, rows })
  seen.push({ node: step.node.id, input: one.name, value, time: rows.at(-1).time, order: newest, keys: {} })
}

function fill(step, record, needless) {
  const missing = step.node.inputs.filter((one) => !step.chosen.has(one.name) && !needless.has(one.name))
  const ticked = step.rows.some((row) => row.do === "tick")
  const isSoft = (one) => SOFT.includes(one.quantity)
  const lacks = missing.filter((one) => !isSoft(one) || !ticked).map((one) => one.name)
  const chooses = record.choices.has(step.node.id)
  if (chooses && record.choices.get(step.node.id) === null) lacks.unshift("@choice")
  if (step.node.inputs.length === 0 && !chooses && !step.rows.some((row) => row.do)) lacks.push("@tick")
  step.lacks = lacks
  step.unnoted = ticked ? missing.filter(isSoft).map((one) => one.name) : []
}

function span(step, needless) {
  const hard = step.node.inputs.filter((one) => !SOFT.includes(one.quantity) && !needless.has(one.name))
  const asked = hard.length > 0 ? hard : step.node.inputs.filter((one) => step.chosen.has(one.name))
  if (asked.length > 0 && asked.every((one) => step.chosen.has(one.name))) {
    const picks = asked.map((one) => step.chosen.get(one.name))
    const first = (one) => (step.given.has(one.name) ? step.given.get(one.name)[0].at : step.chosen.get(one.name).newest)
    step.first_done = Math.max(...asked.map(first))
    step.base = Math.min(...picks.map((pick) => pick.oldest))
    step.latest = Math.max(...picks.map((pick) => pick.newest))
  } else if (asked.length === 0) {
    const acts = step.rows.filter((row) => row.do || row.entry.kind === "choice").map((row) => row.at)
    if (acts.length > 0) [step.first_done, step.base, step.latest] = [acts[0], acts.at(-1), acts.at(-1)]
  }
  if (step.differs !== null && isSettled(step.differs, step.rows, step.base, asked.length)) step.differs = null
}

// Inputs of which a remark that only tells says what they mean.
function toldOf(step) {
  const asked = new Set(step.node.inputs.map((one) => one.name))
  const found = new Set()
  for (const { when } of step.fires.filter((one) => needs(one, "tells", false))) {
    const looked = [...new Set(names(when).filter((name) => asked.has(name)))]
    const held = banded(when)
    for (const name of looked.length === 1 ? looked : looked.filter((each) => held.includes(each))) found.add(name)
  }
  return found
}

function outside(step, told) {
  const answers = step.rows.filter((row) => ["note", "deviation"].includes(row.entry.kind)).map((row) => row.at)
  return Object.keys(step.bands).filter((name) => {
    const pick = step.chosen.get(name)
    if (told.has(name) || pick === undefined || !isNumber(pick.value) || inside(pick.value, step.bands[name])) return false
    return !answers.some((at) => at > pick.newest)
  })
}

function tooEarly(step, steps) {
  const start = step.node.proves.length > 0 ? step.base : Math.min(...step.rows.map((row) => row.at))
  if (start < 0 || step.way !== "on") return
  const before = new Set()
  for (const [id, other] of steps) if (other.first_done !== null && other.first_done < start) before.add(id)
  if (isMet(step.node.needs, before)) return
  const wanted = needed(step.node.needs)
  const acts = ({ node }) => ["proves", "touches", "opens", "raises"].some((key) => node[key].length > 0)
  const paper = new Set(wanted.filter((other) => !acts(steps.get(other))))
  const late = wanted.filter((other) => !before.has(other) && steps.get(other).way === "on")
  if (step.node.raises.length > 0 && !isMet(step.node.needs, new Set([...before, ...paper]))) {
    step.unmet = late.filter((other) => !paper.has(other))
  } else step.unmet_paper = late
}
