// The frame every screen stands in: station and step above, the keys below, pages of what does not fit at once.

import { el, key, mark } from "../keys.js"
import { capital } from "./parts.js"

const MOST_BESIDE = 3 // keys in one row of a telephone, each wide enough for a glove. [1]
const [HEADS, BELOW] = [15.5, 16] // station, sync line, title and one row of keys [em]; room about them [px]
const MOST_NAME = 36 // signs of a station's name above every screen of a telephone: two lines. Own choice. [1]
const NARROW = 700 // below this it is a telephone [px]
const OF_THE_VISIT = ["final", "signature", "hand", "certificate", "statement", "stated"] // screens of no step
const MARK = { idle: "holds", sending: "due", waits: "due" }

// Make the frame in an element of the page. Returns its parts. Where that is a main, a plain one takes its place: the
// frame brings its own.
export function frameIn(place) {
  const root = place.tagName === "MAIN" ? el("div", { id: place.id }) : place
  if (root !== place) place.replaceWith(root)
  const station = el("b", {})
  const step = el("span", {})
  const line = el("span", { class: "net" })
  const said = el("p", { class: "unseen", role: "status", "aria-live": "polite" })
  const header = el("header", { class: "above" }, station, step, line, said)
  const main = el("main", { tabindex: "-1" })
  const below = el("footer", { class: "below", "aria-label": "Keys" })
  root.classList.add("field")
  root.replaceChildren(header, main, below)
  return { root, station, step, line, said, main, below }
}

// The room there is for one picture under a title, with one row of keys below. [px]
export function roomOf({ root, main }) {
  const style = getComputedStyle(main)
  const beside = parseFloat(style.paddingLeft) + parseFloat(style.paddingRight)
  const em = parseFloat(getComputedStyle(document.documentElement).fontSize)
  return { width: root.clientWidth - beside, height: root.clientHeight - HEADS * em - BELOW }
}

// Write the station's name above the screen. On a telephone a long one is told by its two ends, where names that look alike
// differ: two lines, so that the screen below keeps its room. The whole of it stands where it is asked whether it is this station.
export function nameStation({ root, station }, name) {
  const isLong = root.clientWidth < NARROW && name.length > MOST_NAME
  station.textContent = isLong ? bothEnds(name) : name
  station.title = isLong ? name : ""
}

// Write the step above the screen; none where the screen is of the whole visit.
export function nameStep(frame, screen, step) {
  const isShown = step !== null && !OF_THE_VISIT.includes(screen)
  frame.step.textContent = isShown ? `${step.id} · step ${step.number} of ${step.of}` : ""
}

// Whole words from both ends in turn, the last one first; where the words are too long, signs.
function bothEnds(name) {
  const [words, head, tail] = [name.split(" "), [], []]
  const length = () => [...head, "…", ...tail].join(" ").length
  while (words.length > 0) {
    const isTail = tail.length <= head.length
    const word = isTail ? words.at(-1) : words[0]
    if (length() + 1 + word.length > MOST_NAME) break
    if (isTail) tail.unshift(words.pop())
    else head.push(words.shift())
  }
  return head.length > 0 ? [...head, "…", ...tail].join(" ") : `${name.slice(0, MOST_NAME / 2 - 2)} … ${name.slice(2 - MOST_NAME / 2)}`
}

// Say how it stands with what is kept and what is sent.
export function syncLine(frame, told, counts, isStored) {
  const many = (count, what) => `${count} ${count === 1 ? "entry" : "entries"} ${what}`
  const kept = isStored ? many(counts.kept ?? counts.all, "kept on this device") : many(counts.all, "in memory")
  const photos = (count) => `${count} ${count === 1 ? "photo" : "photos"}`
  const open = counts.unsaved > 0 ? `${unsavedWords(counts)}: save the file`
    : told.state === "local" ? ""
    : counts.unsent > 0 ? `${counts.unsent} not sent` : counts.photos > 0 ? `${photos(counts.photos)} not sent` : ""
  const short = told.words.replace(" Everything stays on this device.", "")
  const refused = counts.refused > 0 ? many(counts.refused, "refused by the server") : ""
  const words = [short, `${[kept, open, refused].filter(Boolean).join(", ")}.`].filter(Boolean).join(" ")
  const kind = counts.unsaved > 0 ? "slipped" : MARK[told.state] ?? "unknown"
  frame.line.replaceChildren(mark(kind), el("span", {}, words))
}

// What is neither on this disk nor in a saved file, in words.
export function unsavedWords({ unsaved, unsavedPhotos = 0 }) {
  const entries = unsaved - unsavedPhotos
  const told = [[entries, entries === 1 ? "entry" : "entries"], [unsavedPhotos, unsavedPhotos === 1 ? "photo" : "photos"]]
  return `${told.filter(([count]) => count > 0).map(([count, words]) => `${count} ${words}`).join(", ")} not saved`
}

// Draw a screen. spec: { title, alarm, blocks, pad, extra, left, middle, right }; page: which page of it; turn(page): show
// another. Returns whether it is the last one.
export function draw(frame, spec, page, turn) {
  const focus = document.activeElement?.getAttribute?.("data-key") ?? null
  frame.root.classList.toggle("with-pad", Boolean(spec.pad))
  const isLast = fill(frame, spec, page, turn)
  const again = focus === null ? null : frame.root.querySelector(`[data-key="${CSS.escape(focus)}"]`)
  if (again !== null && !again.disabled) again.focus()
  return isLast
}

// The keys of one page: the way back to the page before stands in the middle, or above where that place is taken.
function keysOf(spec, page, isLast, turn, count = 0) {
  if (spec.pad) return [spec.pad]
  const extra = (spec.extra ?? []).filter(Boolean)
  const on = isLast ? spec.right
    : key("Read on", () => turn(page + 1), { kind: "go", small: `page ${page + 2}${count > 0 ? ` of ${count}` : ""}`, name: "right" })
  const before = page > 0 ? key("Page before", () => turn(page - 1), { name: "before" }) : null
  const isLeft = before !== null && (!spec.middle || spec.middle.getAttribute("data-key") === "back")
  const above = before !== null && !isLeft ? [before, ...extra] : extra
  const rows = above.length > MOST_BESIDE ? [above.slice(0, 2), above.slice(2)] : [above]
  return [...rows.filter((row) => row.length > 0).map((row) => el("div", { class: "bar" }, row)),
    el("div", { class: "bar" }, spec.left, isLeft ? before : spec.middle, on ?? el("span", { class: "room" }))]
}

// Fill the room with the blocks of one page; whether it is the last one. Nothing is scrolled: what does not fit follows,
// and the title says which page of how many it is. A page past the last one is the last one.
function fill({ main, below }, spec, page, turn) {
  const head = [spec.alarm ? el("div", { class: "alarm" }, el("h1", {}, "Stop."), el("p", {}, spec.alarm)) : null,
    spec.title && !spec.alarm ? el("h1", { class: spec.title.length > 52 ? "long" : "" }, capital(spec.title))
      : null].filter(Boolean)
  const blocks = (spec.blocks ?? []).filter(Boolean)
  const lay = (number, isLast, count = 0) => {
    below.replaceChildren(...keysOf(spec, number, isLast, turn, count))
    main.classList.remove("dense", "over")
    main.replaceChildren(...head)
    if (count > 1 && head.length > 0) head[0].append(el("small", { class: "which" }, ` ${number + 1} of ${count}`))
    fitWords(below)
  }
  lay(0, true)
  if (allFit(main, blocks)) return true
  const starts = [0]
  for (let at = 0; at < blocks.length;) {
    for (const isLast of [true, false]) {
      lay(starts.length - 1, isLast)
      at = onePage(main, blocks, starts.at(-1))
      if (at >= blocks.length) break
    }
    if (at < blocks.length) starts.push(at)
  }
  const shown = Math.min(page, starts.length - 1)
  lay(shown, shown === starts.length - 1, starts.length)
  onePage(main, blocks.slice(0, starts[shown + 1]), starts[shown])
  return shown === starts.length - 1
}

// Whether all blocks fit on one page, set closer where that helps.
function allFit(main, blocks) {
  const isOver = () => main.scrollHeight > main.clientHeight + 1
  main.append(...blocks)
  fitWords(main)
  if (isOver()) main.classList.add("dense")
  return !isOver()
}

// Words on keys are set smaller where the longest of them is wider than its key: none is broken inside.
function fitWords(place) {
  for (const one of place.querySelectorAll(".key")) {
    for (const size of ["long", "longest", "tiny"]) {
      if (one.scrollWidth <= one.clientWidth) break
      one.classList.add(size)
    }
  }
}

function onePage(main, blocks, from) {
  const isOver = () => main.scrollHeight > main.clientHeight + 1
  let at = from
  while (at < blocks.length) {
    main.append(blocks[at])
    fitWords(main)
    if (isOver()) {
      if (at > from) {
        blocks[at].remove()
        return at
      }
      main.classList.add("dense")
      if (isOver()) main.classList.add("over")
    }
    at += 1
  }
  return at
}
