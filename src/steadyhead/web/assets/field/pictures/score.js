// The proofs as bars over the visit: each runs while it stands; what was touched since lets it slip. On a telephone one
// block for each proof, read downwards; on a tablet one picture of all of them.

import { el, svg, told } from "../keys.js"
import { plainly } from "../screens/parts.js"

const [WIDTH, LEFT, RIGHT, SLIP] = [358, 6, 352, 9]
const MARK = { valid: "holds", accepted: "due", stale: "slipped", refused: "struck", open: "unknown" }
const WORDS = { valid: "stands", accepted: "accepted", stale: "stale", refused: "refused", open: "open" }
const RANK = ["stale", "refused", "open", "accepted", "valid"]
const TABLET = 700 // width from which all proofs stand in one picture [px]
const [ROW, HEAD, TEXT] = [30, 26, 17] // of the picture of all: height of a row, of its head, of its letters [px]
const LEAST = 22 // of a row [px]
const NARROW = 0.52 // width of a letter against its height, on the wide side. Own measure. [1]

const inOrder = (proofs) => [...proofs].sort((one, other) => RANK.indexOf(one.state) - RANK.indexOf(other.state))

// Return where a time stands between two places.
function scale(view, left, right) {
  const times = [...view.proofs.map((one) => one.at), ...view.touches.map((one) => one.at)].filter(Number.isFinite)
  const [from, to] = [Math.min(...times), Math.max(...times)]
  return (time) => left + (to > from ? (time - from) / (to - from) : 0.5) * (right - left)
}

// Return the proofs on the way, what does not stand first. view: of the run; room: { width, height } of the screen [px];
// words: puts what the judge says without the names that only the plan uses.
export function scoreBlocks(view, room = { width: 0, height: 0 }, words = String) {
  if (room.width >= TABLET && view.proofs.length > 0) return [whole(view, room)]
  const at = scale(view, LEFT, RIGHT - 24)
  return inOrder(view.proofs).map((proof) => proofBlock(view, proof, at, words))
}

function proofBlock(view, proof, at, plain) {
  const words = [el("b", {}, plainly(proof)), `: ${WORDS[proof.state] ?? proof.state}`, proof.when ? `, ${proof.when}` : ""]
  const because = proof.because.length > 0 ? el("p", { class: "because" }, plain(proof.because[0])) : null
  return el("div", { class: "proof" }, told(MARK[proof.state] ?? "unknown", words), bar(view, proof, at), because)
}

const labelOf = (proof) => `${plainly(proof)}: ${WORDS[proof.state] ?? proof.state}`

function bar(view, proof, at) {
  if (!Number.isFinite(proof.at)) return null
  return svg("svg", { class: "draw score", viewBox: `0 0 ${WIDTH} 30`, role: "img", "aria-label": labelOf(proof) },
    barParts(view, proof, at, { top: 0, right: RIGHT }))
}

// One bar. place: { top, right }: where its row begins, where the visit ends.
function barParts(view, proof, at, { top, right }) {
  const x = at(proof.at)
  const upright = svg("path", { class: "line", d: `M${x} ${top + 3}V${top + 19}` })
  if (proof.state !== "stale") {
    return [upright, svg("path", { class: proof.state === "refused" ? "bar-halt" : "bar-grade", d: `M${x} ${top + 11}H${right}` })]
  }
  const rests = new Set(proof.rests)
  const broke = view.touches.find((one) => one.at >= proof.at && one.things.some((thing) => rests.has(thing.name)))
  const end = Math.min(Math.max(broke === undefined ? x + 12 : at(broke.at), x + 6), right - 14)
  return [upright, svg("path", { class: "bar-heed", d: `M${x} ${top + 9}H${end - 4}` }),
    svg("path", { class: "bar-heed", d: `M${end - 4} ${top + 2}L${end + 4} ${top + 16 + SLIP}` }),
    svg("path", { class: "bar-heed dashed", d: `M${end + 6} ${top + 9 + SLIP}H${right}` })]
}

// All of them in one picture, one unit a pixel: in as many columns as it takes to show every one of them.
function whole(view, { width, height }) {
  const proofs = inOrder(view.proofs)
  const columns = Math.max(1, Math.ceil((proofs.length * LEAST + HEAD) / height))
  const rows = Math.ceil(proofs.length / columns)
  const step = Math.max(LEAST, Math.min(ROW, (height - HEAD) / rows))
  const wide = width / columns
  const inner = proofs.map((proof, index) => rowOf(view, proof, { left: Math.floor(index / rows) * wide, wide: wide - 16,
    top: HEAD + (index % rows) * step, columns }))
  const count = (state) => proofs.filter((one) => one.state === state).length
  const words = RANK.filter((state) => count(state) > 0).map((state) => `${count(state)} ${WORDS[state]}`).join(", ")
  const size = { width, height: Math.ceil(HEAD + rows * step + SLIP) }
  return svg("svg", { class: "whole", ...size, viewBox: `0 0 ${size.width} ${size.height}`, role: "img",
    "aria-label": `${proofs.length} proofs: ${words}` }, svg("text", { x: 0, y: 16, class: "strong" }, `${words}.`), inner)
}

function rowOf(view, proof, { left, wide, top, columns }) {
  const share = columns > 1 ? 0.7 : 0.58
  const from = left + share * wide
  const at = scale(view, from, left + wide - 20)
  const most = share * wide - 50
  const state = proof.state === "valid" ? "" : ` ${WORDS[proof.state] ?? proof.state}`
  const long = (plainly(proof).length + state.length) * TEXT * NARROW
  const squeezed = long > most ? { textLength: Math.floor(most), lengthAdjust: "spacingAndGlyphs" } : {}
  const mark = told(MARK[proof.state] ?? "unknown", "").firstChild
  for (const [key, value] of Object.entries({ x: left, y: top + 3, width: 28, height: 16 })) mark.setAttribute(key, value)
  const words = [svg("title", {}, labelOf(proof)), svg("tspan", {}, plainly(proof)),
    state ? svg("tspan", { class: "strong" }, state) : null]
  const line = Number.isFinite(proof.at) ? barParts(view, proof, at, { top, right: left + wide }) : []
  return [mark, svg("text", { x: left + 38, y: top + 17, ...squeezed }, words), ...line]
}
