// The judge (agreements A8, A9): the same as touching.py, restoring.py, accepting.py, remarks.py and judging.py.
// judge(procedure, entries, now, clashes) gives what plain_judgement gives in Python.

import { Deviations } from "./accepting.js"
import { doubts, unsure } from "./agreeing.js"
import { misledNow } from "./fitness.js"
import { broken, dryNow, tooFarNow, unread } from "./holding.js"
import { besidePlan, missingNow, neverAccepted, toProveFirst, unshielded } from "./minded.js"
import { minded } from "./naming.js"
import { takenBack } from "./recanting.js"
import { compare, inOrder, lay, rowOf, standing, unique } from "./record.js"
import { formsOf, ofStep, remark, toldOfRecord, toldOfStep } from "./remarks.js"
import { isByAct, items } from "./restoring.js"
import { signs } from "./signing.js"
import { isMet, isRefused, look } from "./steps.js"
import { restsOf, touches } from "./touching.js"
import { tried } from "./trials.js"

const meets = (list, set) => list.some((one) => set.has(one))

export function judge(procedure, entries, now = null, clashes = []) {
  const all = inOrder(entries)
  const run = runOf(all, clashes)
  const mine = all.filter((entry) => entry.run === run)
  const record = { ...lay(procedure, standing(mine)), run }
  const steps = look(record)
  const bare = unshielded(record, steps)
  for (const [id, lacking] of bare) steps.get(id).uncovered = lacking
  const [refusing, moved, answered] = broken(record, steps)
  for (const [id, told] of refusing) steps.get(id).held = told
  const [proofs, found] = [prove(record, steps, moved), items(record, steps)]
  const deviations = new Deviations(record)
  const [unagreed, taken] = takenBack(record, mine, (entry) => rowOf(entry, record.names))
  const trials = tried(record, steps)
  const own = clashes.filter(({ forms }) => forms.some((form) => form.run === run)).sort((a, b) => compare(a.id, b.id))
  const blocks = blocksOf(record, steps, proofs, found, deviations, own, unagreed, trials)
  const accepted = acceptedBy(blocks)
  const states = [...steps.values()].map((step) => stepState(step, accepted))
  const done = new Set(states.filter((one) => one.state === "done" || one.state === "accepted").map((one) => one.id))
  for (const state of states) state.ready = isMet(record.node.get(state.id).needs, done)
  return {
    run, now, choices: Object.fromEntries(record.choices), steps: states,
    proofs: proofs.map((one) => proofState(one, accepted, blocks)),
    items: found.map((one) => (one.state === "open" && accepted.has(one.name)
      ? { ...one, state: "accepted", accepted: accepted.get(one.name) } : one)),
    blocks,
    told: [...deviations.overdue(blocks, now), ...[...steps.values()].flatMap((step) => toldOfStep(step, record)), ...toldOfRecord(all, clashes, mine, record, steps, now), ...taken, ...unread(record, steps), ...answered, ...trials.told,
      ...deviations.told(blocks)],
    signs: signs(record, mine, blocks),
    next: next(record, steps, states, proofs, blocks, toProveFirst(record, steps, bare)),
    format: "steadyhead/judgement/1",
    is_final: blocks.every((block) => block.accepted),
  }
}

// What a step would be begun without if it were begun now, proofs and the opening of the inlet valve: no turn is advised at it before they stand.
export function missingBefore(procedure, entries, step, clashes = []) {
  const all = inOrder(entries), run = runOf(all, clashes)
  const record = { ...lay(procedure, standing(all.filter((entry) => entry.run === run))), run }
  const steps = look(record)
  return [...missingNow(record, steps, step), ...tooFarNow(record, steps, step), ...dryNow(record, step),
    ...misledNow(record, step)]
}

// The run first begun, or of the first entry; one id with several contents tells only where there is nothing else.
function runOf(all, clashes) {
  const begun = all.filter((entry) => entry.kind === "run")
  return [...begun, ...all, ...formsOf(clashes)][0]?.run ?? ""
}

function blocksOf(record, steps, proofs, found, deviations, clashes, unagreed, trials) {
  const never = new Set(record.procedure.never)
  const blocks = clashes.map(({ id, forms }) => (
    { remark: remark("RUN-02", id, [id], { forms: forms.length }), may_accept: false, accepted: "" }))
  blocks.push(...unagreed.map((one) => ({ remark: one, may_accept: false, accepted: "" })))
  for (const step of steps.values()) {
    const names = [step.node.id, ...step.node.proves]
    const may = !meets([...names, ...step.node.restores], never)
    const fixed = ["RUN-48", "RUN-53", ...((minded(record.procedure).stops ?? []).includes(step.node.id) ? ["RUN-08"] : [])]
    blocks.push(...ofStep(step, record).map((one) => deviations.weigh(one, names, may && !fixed.includes(one.code))))
    const tried = trials.against.get(step.node.id) ?? []
    blocks.push(...tried.map((one) => deviations.weigh(one, names, trials.may.has(one.entries[0]))))
  }
  for (const proof of proofs.filter((one) => one.state === "stale" || one.state === "open")) {
    const names = [proof.name, ...proof.steps]
    blocks.push(...proof.because.map((one) => deviations.weigh(one, names, !never.has(proof.name))))
  }
  for (const one of besidePlan(record, steps, proofs)) {
    blocks.push(deviations.weigh(one, [one.about], !neverAccepted(one, record)))
  }
  for (const item of found.filter((one) => one.state === "open")) {
    const may = !never.has(item.name) && !isByAct(record, steps, item)
    blocks.push(deviations.weigh(remark("RUN-13", item.name, [item.opened]), [item.name], may))
  }
  return blocks.filter((block) => !record.procedure.after.includes(block.remark.about))
}

function acceptedBy(blocks) {
  const found = new Map()
  for (const name of unique(blocks.map((block) => block.remark.about))) {
    const about = blocks.filter((block) => block.remark.about === name)
    if (about.every((block) => block.accepted)) found.set(name, about.at(-1).accepted)
  }
  return found
}

function stepState(step, accepted) {
  const { id } = step.node
  let state = step.way === "waits" ? "waits" : step.way === "off" ? "not on this way" : "done"
  if (step.way === "on" && isRefused(step)) state = "refused"
  else if (step.way === "on" && step.lacks.length > 0) state = "open"
  if ((state === "open" || state === "refused") && accepted.has(id)) state = "accepted"
  return {
    id, state, ready: false, lacks: state === "not on this way" ? [] : step.lacks, unnoted: step.unnoted,
    first: step.rows[0]?.time ?? null, last: step.rows.at(-1)?.time ?? null,
    entries: step.rows.map((row) => row.entry.id), accepted: accepted.get(id) ?? "",
  }
}

function proofState(proof, accepted, blocks) {
  const names = [proof.name, ...proof.steps]
  const found = names.find((name) => accepted.has(name))
  const stands = blocks.some((block) => names.includes(block.remark.about) && !block.accepted)
  if (found === undefined || stands || !["open", "stale", "refused"].includes(proof.state)) return proof
  return { ...proof, state: "accepted", accepted: accepted.get(found) }
}

// first: steps that must be proved anew before others are, with those others.
function next(record, steps, states, proofs, blocks, first) {
  const { procedure } = record
  const again = new Set(proofs.filter((proof) => proof.state === "stale").flatMap((proof) => proof.steps))
  for (const [step, choice, option] of minded(procedure).instead ?? []) {
    if (again.delete(step) && record.choices.get(choice) !== option) again.add(choice)
  }
  const wait = new Set(first.flatMap(([, later]) => later))
  for (const [giving] of first) for (const id of giving) again.add(id)
  for (const { remark: { code, about }, accepted } of blocks) if (code === "RUN-14" && !accepted) again.add(about)
  // what was seen at a step asks for another way: its choice is next, not the step
  const ended = new Map([...steps].filter(([, step]) => step.way === "on").map(([id, step]) =>
    [id, step.fires.find((one) => one.instead && one.tells !== true)?.instead ?? ""]).filter(([, choice]) => choice))
  const ways = new Set(ended.values())
  // nor is any step of the way that was chosen before
  const over = new Set(procedure.choices.filter(({ id }) => ways.has(id)).flatMap(({ id, options }) =>
    options.filter(({ name }) => name === record.choices.get(id)).flatMap(({ opens }) => opens)))
  const isDue = ({ id, state }) => state === "open" || state === "refused"
    || ((again.has(id) || ways.has(id)) && state === "done")
  const due = states.filter((one) => (one.ready || ways.has(one.id)) && isDue(one) && !wait.has(one.id)
    && !ended.has(one.id) && !over.has(one.id)).map((one) => one.id)
  const isAfter = (id) => procedure.after.includes(id)
  return [...due.filter((id) => !isAfter(id)), ...due.filter(isAfter)]
}

// Which proofs no longer stand because of what was touched.
function prove(record, steps, moved) {
  const [touched, doubt] = [touches(record), doubts(record.rows.map((row) => row.entry))]
  const rests = restsOf(steps)
  const single = []
  for (const step of [...steps.values()].filter((each) => each.way !== "off")) {
    for (const name of step.node.proves) single.push({ name, step, rests: rests.get(step.node.id), because: [], state: first(step) })
  }
  const keeps = minded(record.procedure).keeps ?? []
  for (const proof of single.filter((each) => each.state === "valid" && !keeps.includes(each.name))) {
    const meanwhile = (moved.get(proof.step.node.id) ?? []).map((one) => ({ ...one, about: proof.name }))
    proof.because = [...stale(proof, touched, doubt), ...meanwhile]
    if (proof.because.length > 0) proof.state = "stale"
  }
  restOnProofs(single)
  const every = unique(record.procedure.nodes.flatMap((node) => node.proves))
  return every.map((name) => together(name, single.filter((proof) => proof.name === name)))
}

function first(step) {
  if (isRefused(step) || step.fires.some((one) => one.instead)) return "refused"
  return step.way === "waits" || step.lacks.length > 0 || !step.begun ? "open" : "valid"
}

function stale({ name, step, rests }, touched, doubt) {
  const counted = [...step.chosen.values()].flatMap((pick) => pick.rows)
  const oldest = counted.find((row) => row.at === step.base)
  const found = new Map()
  for (const touch of touched) {
    const { entry, at } = touch.row
    for (const thing of [...touch.things].filter((one) => rests.has(one)).sort(compare)) {
      const isOwn = entry.node === step.node.id && step.node.touches.includes(thing)
      const after = at > (isOwn ? step.latest : step.base)
      if (!after && (isOwn || oldest === undefined || !unsure(touch.row, oldest, doubt))) continue
      found.set(thing, remark(after ? "RUN-12" : "RUN-15", name, [entry.id], { thing, step: step.node.id }))
    }
  }
  return [...found.values()]
}

function restOnProofs(single) {
  for (let changed = true; changed; ) {
    changed = false
    for (const proof of single.filter((each) => each.state === "valid")) {
      for (const name of proof.step.node.depends_on) {
        const under = single.filter((other) => other.name === name)
        if (under.length === 0 || under.some((other) => other.state === "valid")) continue
        proof.state = under.some((other) => other.state === "stale") ? "stale" : "open"
        proof.because = [remark("RUN-11", proof.name, [], { on: name, step: proof.step.node.id })]
        changed = true
        break
      }
    }
  }
}

function together(name, single) {
  const valid = single.filter((proof) => proof.state === "valid")
  const good = (proof) => valid.some((other) =>
    other.step.latest > proof.step.latest && [...proof.rests].every((thing) => other.rests.has(thing)))
  const lost = single.filter((proof) => (proof.state === "stale" || proof.state === "refused") && !good(proof))
  const state = (is, at = null, because = []) =>
    ({ name, state: is, steps: single.map((proof) => proof.step.node.id), at, because, accepted: "" })
  const because = lost.flatMap((proof) => proof.because)
  if (single.length === 0) return state("not on this way")
  if (lost.some((proof) => proof.state === "refused")) return state("refused", null, because)
  if (lost.length > 0) return state("stale", null, because)
  if (valid.length === 0) return state("open", null, single.flatMap((proof) => proof.because))
  const { step } = valid.reduce((a, b) => (b.step.latest > a.step.latest ? b : a))
  return state("valid", step.rows.findLast((row) => row.at <= step.latest)?.time ?? null)
}
