// The proofs as bars over the visit: each runs while it stands; what was touched since lets it slip.

import { el, svg, told } from "../keys.js"
import { plainly } from "../screens/parts.js"

const [WIDTH, LEFT, RIGHT, SLIP] = [358, 6, 352, 9]
const MARK = { valid: "holds", accepted: "due", stale: "slipped", refused: "struck", open: "unknown" }
const WORDS = { valid: "stands", accepted: "accepted", stale: "stale", refused: "refused", open: "open" }
const RANK = ["stale", "refused", "open", "accepted", "valid"]

// Return one block for each proof on the way, what does not stand first. view: of the run.
export function scoreBlocks(view) {
  const times = [...view.proofs.map((one) => one.at), ...view.touches.map((one) => one.at)].filter(Number.isFinite)
  const [from, to] = [Math.min(...times), Math.max(...times)]
  const at = (time) => LEFT + (to > from ? (time - from) / (to - from) : 0.5) * (RIGHT - LEFT - 24)
  return [...view.proofs].sort((one, other) => RANK.indexOf(one.state) - RANK.indexOf(other.state))
    .map((proof) => proofBlock(view, proof, at))
}

function proofBlock(view, proof, at) {
  const words = [el("b", {}, plainly(proof)), `: ${WORDS[proof.state] ?? proof.state}`, proof.when ? `, ${proof.when}` : ""]
  const because = proof.because.length > 0 ? el("p", { class: "because" }, proof.because[0]) : null
  return el("div", { class: "proof" }, told(MARK[proof.state] ?? "unknown", words), bar(view, proof, at), because)
}

function bar(view, proof, at) {
  if (!Number.isFinite(proof.at)) return null
  const x = at(proof.at)
  const label = `${plainly(proof)}: ${WORDS[proof.state] ?? proof.state}`
  return svg("svg", { class: "draw score", viewBox: `0 0 ${WIDTH} 30`, role: "img", "aria-label": label },
    proof.state === "stale" ? slipped(view, proof, x, at) : standing(proof, x))
}

const standing = (proof, x) => [svg("path", { class: "line", d: `M${x} 3V19` }),
  svg("path", { class: proof.state === "refused" ? "bar-halt" : "bar-grade", d: `M${x} 11H${RIGHT}` })]

// The bar breaks at the first touch of what it rests on, and slips.
function slipped(view, proof, x, at) {
  const rests = new Set(proof.rests)
  const broke = view.touches.find((one) => one.at >= proof.at && one.things.some((thing) => rests.has(thing.name)))
  const end = Math.min(Math.max(broke === undefined ? x + 12 : at(broke.at), x + 6), RIGHT - 14)
  return [svg("path", { class: "line", d: `M${x} 3V19` }), svg("path", { class: "bar-heed", d: `M${x} 9H${end - 4}` }),
    svg("path", { class: "bar-heed", d: `M${end - 4} 2L${end + 4} ${16 + SLIP}` }),
    svg("path", { class: "bar-heed dashed", d: `M${end + 6} ${9 + SLIP}H${RIGHT}` })]
}
