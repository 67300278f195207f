// What the screen shows: a pure function of pack, entries and time. The judge is that of procedure/js; the words are those
// of saying.js. No DOM, no clock, no store: the same input gives the same view in Node and in a browser.

import { inside } from "../procedure/agreeing.js"
import { judge } from "../procedure/judge.js"
import { isMap, isNumber, lay, zoneMinutes } from "../procedure/record.js"
import { look } from "../procedure/steps.js"
import { restsOf, touches } from "../procedure/touching.js"
import { feeds } from "./acts.js"
import { adviseRun, isAimed } from "./advising.js"
import { Book, gathered } from "./ledger.js"
import { tooHigh } from "./danger.js"
import { stopsOf } from "./stops.js"
import { closedWays, endsBy } from "./options.js"
import { Speaker, adviceLines, clockWords, datedWords, lacksWords, momentWords, staleTold, textOf } from "./saying.js"
import { edges, fromSi, inWords, isKind, ownUnit, toSi } from "./units.js"

const OFF = "not on this way"
const [OUTSIDE, STOP_RULE, STALE, LACKS, STOOD, SAID] = ["RUN-14", "RUN-08", "RUN-12", "RUN-07", "RUN-48", "RUN-92"]
// Told as what they are: steps not done, proofs and items that changed.
const TOLD_APART = ["RUN-07", "RUN-11", "RUN-12", "RUN-13", "RUN-15"]
const MIXED_UP = ["bar", "psi", "m head", "kPa"] // units of pressure that are typed for one another
const WORDS_TYPED = ["note", "observation"]

// Return the plan of a pack as data: the second line of its text. Throws where it is none.
export function planOf(pack) {
  const [, stored] = pack.plan.text.split("\n")
  return JSON.parse(stored)
}

// Return everything a screen needs of a run.
//
// pack: `steadyhead/field-pack/1`; plan: from `planOf`, made once; entries: as kept, of every device; now: true time [s
// since 1970-01-01 UTC], null where nothing is held against the clock. options: step, the one a person picked; server,
// what the server said at the last sync: { is_final, against, heard: ids it had judged }.
export function see(pack, plan, entries, now, options = {}) {
  const book = new Book(plan, pack.plan.sha256, pack.run, gathered(entries))
  const judged = judge(plan, book.entries, now, book.clashes)
  const record = lay(plan, book.standing)
  const steps = look(record)
  const speaker = new Speaker(pack, plan, book.forms)
  const read = { pack, plan, book, judged, record, steps, speaker, zone: zoneOf(book) }
  const states = new Map(judged.steps.map((step) => [step.id, step]))
  const onWay = judged.steps.filter((step) => step.state !== OFF)
  const picked = states.has(options.step) && states.get(options.step).state !== OFF ? options.step : ""
  const id = picked || (judged.next[0] ?? "")
  const [against, accepted] = againstFinal(read)
  const told = judged.told.map((one) => speaker.finding(one, "heed"))
  return {
    run: pack.run, judged, book,
    step: id ? stepView(read, states.get(id), onWay) : null,
    next: judged.next, also: judged.next.filter((one) => one !== id).map((one) => ({ id: one, title: title(read, one) })),
    waits: onWay.filter((step) => step.state === "waits").map((step) => step.id),
    steps: onWay.map((step) => ({ id: step.id, title: title(read, step.id), state: step.state, lacks: lacking(step) })),
    against, accepted, told, final: finalOf(read, against, options.server ?? null),
    proofs: proofsOf(read), touches: touchesOf(read),
    items: judged.items.filter((one) => one.state !== "not opened")
      .map((one) => ({ name: one.name, words: speaker.name(one.name), state: one.state })),
    advice: adviceOf(read, id),
    stops: stopsOf(book.standing, stoppedOf(read, onWay)),
    signs: judged.signs.map((one) => ({ ...one, who: book.entry(one.entry)?.who ?? "" })),
    people: book.persons, instruments: Object.fromEntries(book.instruments),
  }
}

// Steps stopped by what was read or answered at them, whichever is shown: a screw on its way up stops none; a pressure that
// stands too high stops, whatever a remark says of it, and so does a raise against an inlet valve said to stand open (RUN-48).
function stoppedOf(read, onWay) {
  const stood = new Set(read.judged.blocks.filter((one) => one.remark.code === STOOD && !one.accepted).map((one) => one.remark.about))
  return onWay.filter((state) => {
    const step = read.steps.get(state.id)
    if (step.way !== "on" || !step.begun) return false
    const raised = step.outside.length > 0 ? raisedAt(read, state) : []
    const comes = (name) => raised.includes(name) && step.bands[name].low !== null && step.chosen.get(name).value < step.bands[name].low
    return step.fires.some((one) => one.tells !== true) || step.refusals.length > 0 || step.outside.some((name) => !comes(name))
      || stood.has(state.id) || tooHigh(read.plan, { id: state.id, inputs: readAt(read, step) }).length > 0
  }).map(({ id }) => ({ id, title: title(read, id) }))
}

// What was read at a step, as far as danger is told by it.
function readAt(read, step) {
  return step.node.inputs.filter((one) => step.chosen.has(one.name)).map((one) => ({ name: one.name, kind: one.quantity,
    isWorked: (one.worked ?? null) !== null, band: step.bands[one.name] ?? null,
    verdict: verdictOf(read.pack.units, step, one, step.bands[one.name] ?? null, [], read.book) }))
}

const zoneOf = (book) => (book.entries.length > 0 ? zoneMinutes(book.entries.at(-1).t_device) : 0)
const title = ({ pack, record }, id) => textOf(pack, record.node.get(id).title)
const lacking = (step) => (["open", "refused"].includes(step.state) ? step.lacks.map(lacksWords) : [])

// What stands against *final*, and what a deviation accepts: in the order of the judgement, stale proofs of one touch as
// one; then another plan, and the Stops that were said and stand.
function againstFinal({ judged, speaker, book }) {
  const told = judged.blocks.map(({ remark, may_accept: may, accepted }) => {
    const { input = "", step = "" } = remark.params
    return { ...speaker.finding(remark, may ? "ask" : "stop"), accepted, input, step }
  })
  const open = told.filter((one) => !one.accepted && one.code !== STALE)
  const strays = []
  if (book.otherPlan) {
    const params = { why: "other plan", got: book.otherPlan.slice(0, 12), asked: book.sha256.slice(0, 12) }
    const remark = { code: "RUN-05", about: "run", entries: [], params, message: null }
    strays.push({ ...speaker.finding(remark, "stop"), accepted: "" })
  }
  return [[...staleTold(judged, speaker), ...open, ...strays, ...saidAgainst(book, speaker)], told.filter((one) => one.accepted)]
}

// Stops that were said and that nobody lifted, as the office tells them too.
function saidAgainst({ standing }, speaker) {
  return stopsOf(standing, []).map((one) => ({ ...speaker.finding({ code: SAID, about: one.step || "run", entries: [one.entry],
    params: { words: one.words || "no words", device: one.device, number: String(one.number) }, message: null }, "stop"), accepted: "" }))
}

// Whether nothing stands against *final*. unread: ids of notes and words that no server has read yet, which may tell of a
// touch that no entry says; server: what the server found besides, once it had judged all that is here.
function finalOf({ judged, book }, against, server) {
  const heard = new Set(server?.heard ?? [])
  const isWords = (one) => one.kind === "note" || typeof one.payload.value === "string"
  const words = book.standing.filter((one) => WORDS_TYPED.includes(one.kind) && isWords(one))
  const isCurrent = server !== null && book.entries.every((one) => heard.has(one.id))
  const mine = new Set(against.map((one) => one.code))
  const found = isCurrent ? (server.against ?? []).filter((one) => !mine.has(one.code)) : []
  const isStopped = mine.has(SAID)
  return { is: judged.is_final && book.otherPlan === "" && !isStopped && found.length === 0, because: against, server: found,
    unread: words.filter((one) => !heard.has(one.id)).map((one) => one.id) }
}

function proofsOf({ judged, speaker, steps, zone }) {
  const rests = restsOf(steps)
  return judged.proofs.filter((one) => one.state !== OFF).map((one) => ({
    name: one.name, words: speaker.name(one.name), state: one.state, at: one.at, steps: one.steps,
    when: one.at === null ? "" : momentWords(one.at, zone),
    rests: [...new Set(one.steps.flatMap((step) => [...(rests.get(step) ?? [])]))],
    because: one.because.map((remark) => speaker.finding(remark, "stop").statement),
  }))
}

function touchesOf({ record, speaker }) {
  return touches(record).map(({ row, things }) => ({ entry: row.entry.id, at: row.time, who: row.entry.who,
    do: row.do, things: [...things].map((name) => ({ name, words: speaker.name(name) })) }))
}

// One step: what to do, what is asked, where it lies, what is lacking, what stands against it.
function stepView(read, state, onWay) {
  const { pack, plan, judged, speaker } = read
  const step = read.steps.get(state.id)
  const { node } = step
  const choice = plan.choices.find((one) => one.id === node.id)
  const raised = raisedAt(read, state)
  const told = (one) => inputView(read, step, one, raised)
  const inputs = node.inputs.map(told)
  const coming = inputs.filter((one) => one.verdict?.where === "on the way").map((one) => one.name)
  const comes = ({ code, params }) => code === OUTSIDE && coming.includes(params.input)
  const mine = judged.blocks.filter(({ remark, accepted }) =>
    !accepted && remark.code !== LACKS && !comes(remark) && concerns(plan, judged, remark, node.id))
  return {
    id: node.id, title: textOf(pack, node.title), number: onWay.findIndex((one) => one.id === node.id) + 1, of: onWay.length,
    state: state.state, ready: state.ready, isTick: state.lacks.includes("@tick"),
    do: node.do.map((one) => datedWords(textOf(pack, one))),
    hazards: node.hazards.map((one) => ({ tag: one.tag, words: textOf(pack, one.caution) })),
    inputs: inputs.filter((one) => !one.isWorked), worked: inputs.filter((one) => one.isWorked),
    choice: choice === undefined ? null : { question: textOf(pack, choice.question), chosen: judged.choices[choice.id],
      options: optionsOf(read, choice) },
    lacks: state.lacks, missing: lacking(state),
    why: mine.map((one) => speaker.finding(one.remark, one.may_accept ? "ask" : "stop")),
    isStopped: step.outside.some((name) => !coming.includes(name))
      || step.fires.some((one) => one.tells !== true) || step.refusals.length > 0
      || step.uncovered.length > 0 || step.unmet.length > 0 || mine.some(({ remark }) => remark.code === STOOD),
    otherwise: node.otherwise.map((one, index) => ({ index, see: textOf(pack, one.see), means: textOf(pack, one.meaning),
      then: textOf(pack, one.then), tells: one.tells === true, fires: step.fires.includes(one) })),
    refusals: step.refusals.map((one) => textOf(pack, one.message)),
    backOut: node.back_out.map((one) => ({ state: one.state, words: textOf(pack, one.do) })),
    stopRules: plan.stop_rules.map((one) => textOf(pack, one)),
    touches: node.touches, proves: node.proves, opens: node.opens, raises: node.raises, minutes: node.minutes,
    instead: insteadOf(plan, judged, node.id), ended: endsBy(step)?.instead ?? "", anew: anewOf(read, node.id),
  }
}

// The options of a choice; closed: why a way is not open, null for one that is.
function optionsOf({ pack, plan, book }, choice) {
  const closed = closedWays(plan, book, choice)
  return choice.options.map(({ name, words }) => ({ name, words: textOf(pack, words), closed: closed[name] === undefined ? null
    : { step: closed[name].step, see: textOf(pack, closed[name].rule.see), then: textOf(pack, closed[name].rule.then) } }))
}

// What asks for another way than the one that was chosen at a step, as { step, see }.
const anewOf = ({ pack, steps }, id) => [...steps.values()].filter((one) => one.way === "on" && endsBy(one)?.instead === id)
  .map((one) => ({ step: one.node.id, see: textOf(pack, endsBy(one).see) }))

// Whether a remark is about a step: named by it, or to be done again because of it.
function concerns(plan, judged, remark, id) {
  const steps = [id, ...insteadOf(plan, judged, id).map((one) => one.step)]
  return remark.about === id || steps.includes(remark.params.step)
}

// Steps that are gone through once and were lost: the option of the choice that does them anew.
function insteadOf(plan, judged, id) {
  const lost = new Set(judged.proofs.filter((one) => one.state === "stale").flatMap((one) => one.steps))
  return (plan.minding?.instead ?? []).filter(([step, choice]) => choice === id && lost.has(step))
    .map(([step, , option]) => ({ step, option }))
}

// Inputs of a step a screw is raised to, while answers still lack and no stop rule fired.
function raisedAt({ plan, judged }, state) {
  const stops = judged.blocks.some((one) => !one.accepted && one.remark.code === STOP_RULE && one.remark.about === state.id)
  return isAimed(plan, state.id) && state.lacks.length > 0 && !stops ? feeds(state.id) : []
}

function inputView(read, step, one, raised) {
  const { pack, plan, book } = read
  const table = pack.units
  const ready = pack.steps?.[step.node.id]?.inputs?.find((each) => each.name === one.name) ?? {}
  const label = plan.names[`${step.node.id}/${one.name}`]
  const band = step.bands[one.name] ?? null
  const kinds = isKind(table, one.quantity) ? table.kinds[one.quantity] : []
  const unit = ready.unit ?? ownUnit(table, one.quantity)
  return {
    ...ready, name: one.name, label: label === undefined ? one.name : textOf(pack, label), kind: one.quantity,
    tap: one.tap,
    unit, units: kinds.map((each) => each.unit).filter(Boolean),
    digits: ready.digits ?? kinds.find((each) => each.unit === unit)?.digits ?? 0,
    isWorked: (one.worked ?? null) !== null, instrument: one.instrument, isTraced: one.traced === true,
    hold_s: one.stable_for_s, within_si: one.stable_within_si,
    needsFlow: (one.carries ?? []).includes("flow") && step.node.inputs.every((each) => each.name !== "flow"),
    carries: one.carries ?? [], notWith: gaveTheOther(step, one),
    band: band === null ? null : { ...band, words: edges(table, band.low, band.high, one.quantity) },
    given: (step.given.get(one.name) ?? []).map((row) => row.entry.id),
    uncounted: step.chosen.has(one.name) ? "" : step.unfit.findLast((each) => each.input === one.name)?.why.why ?? "",
    unfit: step.unfit.filter((each) => each.input === one.name && each.counts && !each.why.tells).map((each) => each.why.why),
    verdict: verdictOf(table, step, one, band, raised, book),
  }
}

// The instruments that gave what an input is compared with: the step refuses one gauge read twice.
function gaveTheOther(step, one) {
  const asked = (each) => (Array.isArray(each?.instrument) ? each.instrument[0] : "")
  const pairs = (step.node.refuses ?? []).map(({ when }) => (when?.eq ?? []).map(asked))
  const others = pairs.filter((pair) => pair.includes(one.name)).flat().filter((name) => name && name !== one.name)
  return others.flatMap((name) => step.chosen.get(name)?.rows ?? []).map((row) => row.text("instrument")).filter(Boolean)
}

// Where the value that counts lies; null where nothing was noted.
function verdictOf(table, step, one, band, raised, book) {
  const pick = step.chosen.get(one.name)
  if (pick === undefined || pick.value === null) return null
  const words = one.quantity === "photo" ? "photo" : inWords(table, pick.value, one.quantity)
  const told = { value: pick.value, words, where: "", otherUnit: "", entries: pick.rows.map((row) => row.entry.id),
    by: byWords(pick.rows, book), isSwinging: pick.rows.some((row) => isMap(row.entry.payload.swing)) }
  if (band === null || !isNumber(pick.value)) return told
  const comes = raised.includes(one.name) && band.low !== null && pick.value < band.low
  const where = inside(pick.value, band) ? "inside" : comes ? "on the way" : "outside"
  return { ...told, where, otherUnit: where === "outside" ? meantUnit(table, pick, one, band, book) : "" }
}

// Who noted it, and when: with its day where that is not the day of the newest entry.
function byWords(rows, { entries }) {
  const last = rows.at(-1)?.entry
  if (last === undefined) return ""
  const [words, newest] = [clockWords(last), clockWords(entries.at(-1))]
  const day = words.slice(0, -9) === newest.slice(0, -9) ? "" : `${words.slice(0, -14)} `
  return `${[...new Set(rows.map((row) => row.entry.who))].join(", ")}, ${day}${words.slice(-8, -3)}`
}

// A unit in which the figure as typed would lie inside; empty where there is none.
function meantUnit(table, pick, one, band, book) {
  const unit = pick.rows.length === 1 ? book.stands(pick.rows[0].entry.id)?.payload.unit : ""
  if (one.quantity !== "pressure" || !MIXED_UP.includes(unit)) return ""
  const figure = fromSi(table, pick.value, "pressure", unit)
  if (figure <= 0) return ""
  return MIXED_UP.find((other) => other !== unit && inside(toSi(table, figure, "pressure", other), band)) ?? ""
}

// The next turn at the step that is shown; null where it turns no screw.
function adviceOf(read, id) {
  const { pack, plan, judged, book } = read
  if (!isAimed(plan, id)) return null
  const found = adviseRun({ plan, judged, entries: book.entries, standing: book.standing, clashes: book.clashes })
  const one = found.find((each) => each.step === id)
  if (one === undefined) return null
  const called = (name) => (plan.names[name] === undefined ? name : textOf(pack, plan.names[name]))
  const step = (name) => (read.record.node.has(name) ? `${title(read, name)} (${name})` : called(name))
  const told = { ...one, waits: one.waits.map(step), feeds: one.feeds.map((name) => called(`${id}/${name}`)) }
  return { ...one, lines: adviceLines(pack, told) } // in words: names of the plan are for machines
}

// Return what entries that were just made mean: before and after are views; fresh: their ids. As
// services/entering/meaning.py: bands of what was read, what is amiss now and was not, proofs and items that changed.
export function meant(before, after, fresh) {
  const ids = new Set(fresh)
  const said = (one) => `${one.code} ${one.subject} ${one.statement}`
  const old = new Set([...before.against, ...before.told].map(said))
  const bands = after.step === null ? [] : [...after.step.inputs, ...after.step.worked]
    .filter((one) => one.band !== null && one.verdict?.entries.some((id) => ids.has(id)))
  const coming = bands.filter((one) => one.verdict.where === "on the way").map((one) => one.name)
  const isNew = (one) => !TOLD_APART.includes(one.code) && !old.has(said(one))
  const comes = (one) => one.code === OUTSIDE && one.about === after.step?.id && coming.includes(one.input)
  const was = (list, name) => list.find((one) => one.name === name)?.state
  return {
    bands, amiss: after.against.filter((one) => isNew(one) && !comes(one)), told: after.told.filter(isNew),
    proofs: after.proofs.filter((one) => one.state !== (was(before.proofs, one.name) ?? "open"))
      .map((one) => ({ name: one.name, words: one.words, before: was(before.proofs, one.name) ?? "open", now: one.state })),
    items: after.items.filter((one) => one.state !== was(before.items, one.name)),
  }
}
