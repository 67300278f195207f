// The entries of a run on this device, laid beside its plan: the same union as procedure/ledger.py, and what a book holds.

import { Names, minded } from "../procedure/naming.js"
import { compare, inOrder, isMap, merge, standing, unique } from "../procedure/record.js"
import { lineOf } from "./canonical.js"

// Return what a line says as an entry; null where it is none.
export function entryOf(line) {
  let found = null
  try {
    found = JSON.parse(line)
  } catch {
    return null
  }
  const isEntry = isMap(found) && isMap(found.payload) && ["id", "run", "device", "kind", "t_device"]
    .every((key) => typeof found[key] === "string" && found[key] !== "")
  return isEntry && Number.isInteger(found.device_seq) ? found : null
}

// Return the union of lists of entries: `entries` of one content each, in the order of judging; `clashes`: ids with
// several contents, judged in none of them; `forms`: all of them.
export function gathered(...lists) {
  const found = merge(lists, (one, other) => lineOf(one) === lineOf(other))
  const clashes = found.clashes.map((clash) => ({ ...clash, run: clash.forms[0].run }))
  const others = clashes.flatMap((clash) => clash.forms)
  return { ...found, clashes, forms: others.length > 0 ? inOrder([...found.entries, ...others]) : found.entries }
}

// A plan and the entries of its run.
export class Book {
  // plan: as data; sha256: of its bytes; run: id; ledger: from `gathered`.
  constructor(plan, sha256, run, ledger) {
    this.plan = plan
    this.sha256 = sha256
    this.run = run
    this.forms = ledger.forms.filter((entry) => entry.run === run)
    this.entries = ledger.entries.filter((entry) => entry.run === run)
    this.clashes = ledger.clashes.filter((clash) => clash.forms.some((entry) => entry.run === run))
    this.standing = standing(this.entries)
    this.node = new Map(plan.nodes.map((node) => [node.id, node]))
    this.names = new Names(plan)
  }

  // Payload by name of what was described: "instrument" or "person".
  described(kind) {
    const rows = this.standing.filter((entry) => entry.kind === kind)
    return new Map(rows.map((entry) => [String(entry.payload.name), entry.payload]))
  }

  get instruments() { return this.described("instrument") }

  get persons() { return [...this.described("person").keys()] }

  get isBegun() { return this.standing.some((entry) => entry.kind === "run") }

  // The plan the run says it was begun with, where that is another one; else empty.
  get otherPlan() {
    const told = this.standing.filter((entry) => entry.kind === "run").map((entry) => entry.payload.plan)
    return String(told.filter((hash) => hash && hash !== this.sha256).at(-1) ?? "")
  }

  input(step, name) { return this.node.get(step)?.inputs.find((one) => one.name === name) }

  entry(id) { return this.forms.find((entry) => entry.id === id) }

  // An entry as it stands, corrections applied; undefined where it is void.
  stands(id) { return this.standing.find((entry) => entry.id === id) }

  // Everything an act may name, in the order of names: things, their parts, restore items, valves and drains.
  get things() {
    const { nodes, left } = this.plan
    const proofs = new Set(nodes.flatMap((node) => node.proves))
    const worked = [...nodes.flatMap((node) => [...node.touches, ...node.depends_on]), ...minded(this.plan).things]
    const every = worked.filter((name) => !proofs.has(name))
    const wholes = every.map((name) => name.slice(0, Math.max(name.lastIndexOf("."), 0)))
    const items = nodes.flatMap((node) => [...node.opens, ...node.restores])
    const valves = (left ?? []).map((one) => one.part)
    return unique([...every, ...wholes, ...items, ...valves]).filter(Boolean).sort(compare)
  }
}
