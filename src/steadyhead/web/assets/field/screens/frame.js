// The frame every screen stands in: station and step above, the keys below, pages of what does not fit at once.

import { el, key, mark } from "../keys.js"

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

// Say how it stands with what is kept and what is sent.
export function syncLine(frame, told, counts, isStored) {
  const many = (count, what) => `${count} ${count === 1 ? "entry" : "entries"} ${what}`
  const kept = isStored ? many(counts.all, "kept on this device") : many(counts.all, "in memory")
  const open = counts.unsaved > 0 ? `${many(counts.unsaved, "not saved")}: save the file`
    : counts.unsent > 0 && told.state !== "local" ? `${counts.unsent} not sent` : ""
  const short = told.words.replace(" Everything stays on this device.", "")
  const refused = counts.refused > 0 ? many(counts.refused, "refused by the server") : ""
  const words = [short, `${[kept, open, refused].filter(Boolean).join(", ")}.`].filter(Boolean).join(" ")
  const kind = counts.unsaved > 0 ? "slipped" : MARK[told.state] ?? "unknown"
  frame.line.replaceChildren(mark(kind), el("span", {}, words))
}

// Draw a screen. spec: { title, alarm, blocks, pad, extra, left, middle, right }; page: which page of it; turn(page): show another.
// Returns how many blocks are shown up to here.
export function draw(frame, spec, page, turn) {
  const focus = document.activeElement?.getAttribute?.("data-key") ?? null
  const isPad = Boolean(spec.pad)
  frame.root.classList.toggle("with-pad", isPad)
  frame.below.replaceChildren(...keysOf(spec, isPad, null))
  const isLast = fill(frame.main, spec, page)
  if (!isPad && (!isLast || page > 0)) frame.below.replaceChildren(...keysOf(spec, isPad, { page, isLast, turn }))
  const again = focus === null ? null : frame.root.querySelector(`[data-key="${CSS.escape(focus)}"]`)
  if (again !== null && !again.disabled) again.focus()
  return isLast
}

function keysOf(spec, isPad, pages) {
  if (isPad) return [spec.pad]
  const extra = (spec.extra ?? []).filter(Boolean)
  const { right } = spec
  const on = pages === null || pages.isLast ? right
    : key("Read on", () => pages.turn(pages.page + 1), { kind: "go", small: `page ${pages.page + 1}`, name: "right" })
  const before = pages !== null && pages.page > 0 ? key("Page before", () => pages.turn(pages.page - 1), {}) : null
  const above = before === null ? extra : [before, ...extra].slice(0, 3)
  return [...(above.length > 0 ? [el("div", { class: "bar" }, above)] : []),
    el("div", { class: "bar" }, spec.left, spec.middle, on ?? el("span", { class: "room" }))]
}

// Fill the room with the blocks of one page; whether it is the last one. Nothing is scrolled: what does not fit follows.
function fill(main, spec, page) {
  const head = [spec.alarm ? el("div", { class: "alarm" }, el("h1", {}, "Stop."), el("p", {}, spec.alarm)) : null,
    spec.title && !spec.alarm ? el("h1", { class: spec.title.length > 52 ? "long" : "" }, spec.title)
      : null].filter(Boolean)
  const blocks = (spec.blocks ?? []).filter(Boolean)
  let at = 0
  for (let count = 0; count <= page; count += 1) {
    main.classList.remove("dense", "over")
    main.removeAttribute("role")
    main.replaceChildren(...head)
    at = onePage(main, head, blocks, at)
    if (at >= blocks.length) break
  }
  return at >= blocks.length
}

function onePage(main, head, blocks, from) {
  const isOver = () => main.scrollHeight > main.clientHeight + 1
  let at = from
  while (at < blocks.length) {
    main.append(blocks[at])
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
