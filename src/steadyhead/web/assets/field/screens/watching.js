// The stopwatch: how long a reading stood, with its window; how long something took, with its band.

import { answers, note } from "../entering.js"
import { el, key } from "../keys.js"
import { bandLine } from "../pictures/band.js"
import { say } from "../units.js"
import { after, showAsk } from "./asking.js"
import { backOutKey, goKey, capital, labelled, leaveKey, line, problems } from "./parts.js"

const PLACES = 1 // decimals of a time taken by hand. [1]

const goneSince = (begun) => (begun === undefined ? 0 : (performance.now() - begun) / 1000)

function start(desk) {
  desk.at.begun = performance.now()
  desk.draw()
}

// Counts up to the window; the person says whether the needle stood. at: { input, begun }; isFree: for anything else.
export function watch(desk) {
  const { at, draft } = desk
  if (at.isFree) return timed(desk, { title: "Stopwatch", words: "Note it", band: null, take: (seconds) => noted(desk, seconds) })
  const input = desk.view.step.inputs.find((one) => one.name === at.input)
  const need = input.hold_s
  const gone = goneSince(at.begun)
  const isLong = at.begun !== undefined && gone >= need
  const shown = el("p", { class: "watch", role: "timer" }, `${gone.toFixed(0)} s`)
  const bar = el("progress", { max: need, value: Math.min(gone, need), "aria-label": `of ${need} s` })
  const tick = () => {
    const now = goneSince(at.begun)
    shown.textContent = `${now.toFixed(0)} s`
    bar.value = Math.min(now, need)
    if (!isLong && now >= need) desk.draw()
  }
  const stood = () => {
    draft.stood = { typed: String(Math.floor(goneSince(at.begun))), unit: "s" }
    showAsk(desk, at.input)
  }
  const moved = key("It did not stand", () => desk.show("unsteady", { input: at.input }),
    { small: "it swings, or goes one way", name: "moved" })
  const title = `${capital(labelled(input.label))} wait until it stands`
  return { title, extra: [moved], left: backOutKey(desk), middle: leaveKey(() => desk.show("step"), "Back"),
    right: isLong ? goKey("It stood", stood, `${need} s`) : goKey(at.begun === undefined ? "Start" : "Start again",
      () => start(desk)), tick: at.begun === undefined ? null : tick,
    blocks: [line(`${need} s, the needle within ${say(desk.table, input.within_si, "pressure")}.`), shown, bar,
      isLong ? line("Long enough. Did it stand all the while?", "large") : null] }
}

// How long something took, answered by the stopwatch itself. at: { input, begun, ended }.
export function timing(desk) {
  const { at, view, table, book } = desk
  const input = view.step.inputs.find((one) => one.name === at.input)
  const take = async (seconds) => {
    const amount = { typed: seconds.toFixed(PLACES), unit: "s" }
    if (await desk.enter(() => answers(table, book, view.step.id, { [input.name]: amount }))) after(desk)
  }
  const typed = key("Type it", () => desk.show("read", { input: input.name }), { small: "timed by another watch", name: "type" })
  return timed(desk, { title: capital(input.label), words: "Take", band: input.band, take, extra: [typed] })
}

// Start, stop, take. what: { title, words, band, take(seconds), extra }.
function timed(desk, { title, words, band, take, extra = [] }) {
  const { at, table } = desk
  const isRunning = at.begun !== undefined && at.ended === undefined
  const seconds = () => (at.ended === undefined ? goneSince(at.begun) : (at.ended - at.begun) / 1000)
  const shown = el("p", { class: "watch", role: "timer" }, `${seconds().toFixed(PLACES)} s`)
  const stop = () => { at.ended = performance.now(); desk.draw() }
  const again = key("From nought", () => desk.show(at.screen, { ...at, begun: undefined, ended: undefined }), { name: "again" })
  const right = at.begun === undefined ? goKey("Start", () => start(desk)) : isRunning ? goKey("Stop the watch", stop)
    : goKey(words, () => take(seconds()), `${seconds().toFixed(PLACES)} s`)
  const value = at.ended === undefined ? null : seconds()
  return { title, middle: leaveKey(() => desk.show("step"), "Back"), extra: [...extra, ...(at.ended === undefined ? [] : [again])], left: backOutKey(desk), right,
    tick: isRunning ? () => { shown.textContent = `${seconds().toFixed(PLACES)} s` } : null,
    blocks: [...problems(desk), shown, band === null ? null : bandLine({ table, kind: "time", unit: "s", band, value })] }
}

async function noted(desk, seconds) {
  const words = `stopwatch ${seconds.toFixed(PLACES)} s`
  if (await desk.enter(() => note(desk.book, desk.view.step?.id ?? "", words))) after(desk)
}
