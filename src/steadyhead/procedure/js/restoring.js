// What was put out of its place and must be put back: the same as restoring.py.

import { doubts, unsure } from "./agreeing.js"
import { folded, minded } from "./naming.js"
import { own, roundStarts, unique } from "./record.js"
import { isRefused } from "./steps.js"
import { valvesOf } from "./touching.js"
import { FITS, HELD, OUT, PAIRS, UNDOES } from "./words.js"

const trimmed = (text) => text.replace(/^\s+|\s+$/g, "")

// The name of the item that an act puts out of action, or back; a bridge has one of its own.
function itemName({ names, procedure }, row, out) {
  const written = row.text("thing")
  const thing = names.known.get(folded(written)) ?? written
  const planned = procedure.nodes.some((node) => node.opens.includes("alarm_test"))
  if (out === "alarm to test" && beginsWith(thing || "alarm") === "alarm" && planned) return "alarm_test"
  if (own(OUT, out) !== null) return trimmed(`${HELD.includes(out) ? row.thing : thing} ${OUT[out]}`)
  return thing || out
}

// The part an item belongs to; of alarm_test, the alarm.
const beginsWith = (name) => name.split("@")[0].split(".")[0].split("_")[0].toLowerCase()

// Whether an act puts something out of action; a valve worked by hand may be locked.
export function isPutOut({ procedure }, row) {
  const works = (minded(procedure).guards ?? []).includes(row.thing) || valvesOf(procedure).has(row.thing)
  return own(PAIRS, row.do) !== null && (!HELD.includes(row.do) || works)
}

// Whether an act beside the plan opened an item; nobody accepts that it stays open.
export function isByAct(record, steps, item) {
  const { nodes } = record.procedure
  const opener = record.rows.find((row) => row.entry.id === item.opened)
  const byAct = opener !== undefined && own(PAIRS, opener.do) !== null && plannedItem(record, steps, opener) === ""
  return minded(record.procedure).parts.length > 0 && (byAct || !nodes.some((node) => node.opens.includes(item.name)))
}

// The item by which the step an act stands at, on this way, orders it; empty: it orders none.
export function plannedItem(record, steps, row) {
  if (minded(record.procedure).parts.length === 0 || steps.get(row.entry.node)?.way !== "on") return ""
  const begins = beginsWith(row.thing || (row.do === "alarm to test" ? "alarm" : ""))
  const { opens } = record.node.get(row.entry.node)
  return opens.find((item) => fits(item, row.do) && (begins === "" || beginsWith(item) === begins)) ?? ""
}

// Whether a step that opens an item orders an act by it.
const fits = (item, out) => (own(FITS, out) ?? []).includes(item.split("@")[0].split(".").at(-1))

// The items an act opens and puts back.
function byAct(record, steps, row, opened, restored) {
  const { nodes } = record.procedure
  const isMinded = minded(record.procedure).parts.length > 0
  const planned = plannedItem(record, steps, row)
  const byAnyStep = !isMinded && (record.node.get(row.entry.node)?.opens ?? []).length > 0
  if (planned !== "") opened(planned, row)
  else if (isPutOut(record, row) && !byAnyStep) opened(itemName(record, row, row.do), row)
  const out = own(UNDOES, row.do)
  if (out === null) return
  if (own(PAIRS, out) !== null) restored(itemName(record, row, out), row)
  if (!row.thing || !isMinded) return
  for (const item of nodes.flatMap((node) => node.opens)) {
    if (fits(item, out) && beginsWith(item) === beginsWith(row.thing)) restored(item, row)
  }
}

// What was put out of its place and must be put back: by what surely came after everything that put it out.
export function items(record, steps) {
  const names = record.procedure.nodes.flatMap((node) => node.opens)
  const [opened, restored] = [new Map(), new Map()]
  const [open, restore] = [opened, restored].map((found) => (name, row) => {
    found.set(name, [...(found.get(name) ?? []), row])
  })
  for (const step of steps.values()) {
    const start = roundStarts(step.rows, step.node).at(-1)
    if (start !== undefined) for (const name of step.node.opens) open(name, start)
    if (step.first_done === null || step.lacks.length > 0 || isRefused(step)) continue
    const last = step.rows.findLast((row) => row.at <= step.latest)
    if (last !== undefined) for (const name of step.node.restores) restore(name, last)
  }
  for (const row of record.rows) byAct(record, steps, row, open, restore)
  const doubt = doubts(record.rows.map((row) => row.entry))
  const newest = (rows) => rows.reduce((one, other) => (other.at > one.at ? other : one))
  return unique([...names, ...opened.keys()]).map((name) => {
    const outs = opened.get(name) ?? []
    if (outs.length === 0) return { name, state: "not opened", opened: "", restored: "", accepted: "" }
    const out = newest(outs)
    const backs = (restored.get(name) ?? []).filter((row) => row.at >= out.at
      && !outs.some((one) => one.at !== row.at && unsure(one, row, doubt)))
    const back = backs.length > 0 ? newest(backs) : null
    return { name, state: back === null ? "open" : "restored", opened: out.entry.id, restored: back?.entry.id ?? "", accepted: "" }
  })
}
