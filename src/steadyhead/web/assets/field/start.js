// Starts the field page: with a pack in hand, or with the visits that were taken along.

import { openKept } from "./kept.js"
import { again } from "./screens/again.js"
import { dayAgain, sizeAgain } from "./screens/anew.js"
import { beside, besideAs, unsteady } from "./screens/beside.js"
import { code } from "./screens/codes.js"
import { causes, seen } from "./screens/different.js"
import { Desk } from "./screens/desk.js"
import { doing, standing } from "./screens/doing.js"
import { deviate, final, hand, proofs, signature } from "./screens/ending.js"
import { falls } from "./screens/falling.js"
import { figure } from "./screens/figure.js"
import { gauge, gaugeNumbers } from "./screens/gauges.js"
import { certificate, grant, statedHere, statementOf } from "./screens/handing.js"
import { correct, entries, entry, why } from "./screens/listing.js"
import { agree, lastLook } from "./screens/looking.js"
import { cocksAgain, morning, today } from "./screens/morning.js"
import { before, cocks, notes, type, where, who } from "./screens/opening.js"
import { safe } from "./screens/parts.js"
import { ready } from "./screens/readiness.js"
import { answer, read } from "./screens/reading.js"
import { back, more, rules, step, steps } from "./screens/step.js"
import { stopAgreed, stopSeen, stopped } from "./screens/stopped.js"
import { record, stop } from "./screens/stopping.js"
import { isThere } from "./screens/saving.js"
import { taking } from "./screens/taking.js"
import { turn, turned } from "./screens/turning.js"
import { visits } from "./screens/visits.js"
import { timing, watch } from "./screens/watching.js"

const SCREENS = { visits, taking, ready, where, code, before, notes, cocks, step, more, rules, back, read, answer, watch, turn, stop, record,
  causes, stopped, stopSeen, stopAgreed, isThere,
  seen, proofs, final, hand, certificate: safe(certificate),
  statement: safe(statementOf), stated: safe(statedHere), who: safe(who), type: safe(type), steps: safe(steps), gauge: safe(gauge),
  gaugeNumbers: safe(gaugeNumbers), turned: safe(turned), deviate: safe(deviate), signature: safe(signature),
  lastLook, agree, again, figure, falls, beside, besideAs, unsteady, doing, standing, entries, entry, correct, why, timing, morning,
  cocksAgain, today, dayAgain, sizeAgain }

// Start in an element of the page. pack: `steadyhead/field-pack/1`, or null for the visits on this device.
// storage: what `openKept` gave, or what it is opened with; address: where the visit is sent, "" for nowhere, null for
// the address of its run on the server this page came from; isKept: promise of "" once the browser keeps the page, or of why
// it does not; isFile: this page is a job file: what is not in a saved file is not saved. Returns the desk.
export async function startField(root, pack = null, { storage = null, address = null, isKept = null, isFile = false } = {}) {
  root.ownerDocument.documentElement.dataset.mode = "field"
  const kept = typeof storage?.add === "function" ? storage : await openKept(storage ?? {})
  kept.isFile = isFile
  const sent = (one) => address ?? (one.station?.key ? `/stations/${one.station.key}/runs/${one.run}/sync` : "")
  const desk = new Desk(root, kept, SCREENS, sent)
  desk.isKept = isKept
  desk.granted = grant
  await desk.begin()
  if (pack !== null) await desk.open(pack)
  keepAwake()
  root.ownerDocument.addEventListener("keydown", (event) => byKeyboard(desk, event))
  globalThis.addEventListener("resize", () => desk.draw())
  globalThis.addEventListener("beforeunload", (event) => { if (desk.counts.unsaved > 0) event.preventDefault() })
  return desk
}

// Keep the screen on, where the browser can.
function keepAwake() {
  const lock = () => globalThis.navigator?.wakeLock?.request("screen").catch(() => null)
  lock()
  document.addEventListener("visibilitychange", () => { if (!document.hidden) lock() })
}

// Digits of a keyboard go to the ten keys; Backspace clears.
function byKeyboard(desk, event) {
  const isTyping = ["INPUT", "TEXTAREA"].includes(event.target?.tagName)
  if (isTyping || event.ctrlKey || event.metaKey || event.altKey || !desk.spec?.press) return
  if (/^\d$/.test(event.key)) desk.spec.press(event.key)
  else if (event.key === "Backspace" || event.key === "Delete") desk.spec.clear()
}
