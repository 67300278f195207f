// The turn dial: the present slot at twelve, the turn that is allowed as a solid arc, the wall where it ends.

import { svg } from "../keys.js"
import { bare } from "./band.js"

const [X, Y, OUTER, INNER, CORE] = [179, 206, 132, 99, 88]
const EIGHTHS = ["", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞"]

let drawn = 0

// Return the size of a turn rounded down to an eighth; below an eighth as it is. [turn]
export const downToEighth = (turn) => (Math.abs(turn) >= 0.125 ? Math.floor(Math.abs(turn) * 8 + 1e-9) / 8 : Math.abs(turn))

// Return a turn as it is written in the middle of the dial. size: [turn]
export function sizeWords(size) {
  if (size < 0.125) return `${Math.round(size * 360)}°`
  const [whole, part] = [Math.floor(size), Math.round((size % 1) * 8)]
  return `${whole || ""}${EIGHTHS[part]} ${whole > 1 || (whole === 1 && part > 0) ? "turns" : "turn"}`
}

const wayWords = (isClockwise) => (isClockwise === null ? "way: read the plate" : isClockwise ? "clockwise" : "anticlockwise")

// Return the picture. given: table, size [turn] > 0, isClockwise or null, verb, now [SI] or null, after [SI] or null, wait: words,
// foot: [words at the left, words at the right], screw: whose screw.
export function dial({ table, size, isClockwise, verb, now, after, wait, foot, screw }) {
  drawn += 1
  const id = `rest-${drawn}`
  const way = isClockwise === false ? -1 : 1
  const angle = way * Math.min(size, 0.98) * 360
  const label = `${verb} ${wayWords(isClockwise)}, at most ${sizeWords(size)}.`
  return svg("svg", { class: "draw dial", viewBox: "0 0 358 412", role: "img", "aria-label": label },
    svg("defs", {}, svg("pattern", { id, width: 8, height: 8, patternUnits: "userSpaceOnUse",
      patternTransform: "rotate(45)" }, svg("path", { class: "hatch-plain", d: "M0 0V8" }))),
    svg("circle", { cx: X, cy: Y, r: OUTER, class: "body" }),
    svg("path", { d: sector(angle, way * 359.9, way), fill: `url(#${id})` }),
    svg("path", { d: sector(0, angle, way), class: "solid-twin" }), wallAt(angle), ticks(),
    ...(isClockwise === null ? [] : [arrow(angle, way)]),
    svg("path", { class: "solid", d: `M${X} ${Y - OUTER + 2}l-9 -16h18z` }),
    svg("circle", { cx: X, cy: Y, r: CORE, class: "body" }),
    middle(verb, isClockwise, size, wait), figures(table, now, after, angle), corners(screw, foot))
}

const spot = (radius, degrees) => {
  const turn = ((degrees - 90) * Math.PI) / 180
  return [X + radius * Math.cos(turn), Y + radius * Math.sin(turn)]
}

const point = (radius, degrees) => spot(radius, degrees).map((one) => one.toFixed(2)).join(" ")

function sector(from, to, way) {
  const large = Math.abs(to - from) > 180 ? 1 : 0
  const [ahead, back] = way > 0 ? [1, 0] : [0, 1]
  return `M${point(OUTER, from)}A${OUTER} ${OUTER} 0 ${large} ${ahead} ${point(OUTER, to)}`
    + `L${point(INNER, to)}A${INNER} ${INNER} 0 ${large} ${back} ${point(INNER, from)}Z`
}

const wallAt = (angle) => svg("path", { class: "wall", d: `M${point(INNER - 8, angle)}L${point(OUTER + 16, angle)}` })

const ticks = () => svg("path", { class: "line",
  d: [0, 1, 2, 3, 4, 5, 6, 7].map((n) => `M${point(OUTER, 45 * n)}L${point(OUTER + 8, 45 * n)}`).join("") })

function arrow(angle, way) {
  const [x, y] = spot((OUTER + INNER) / 2, angle * 0.6)
  const turn = angle * 0.6 + (way > 0 ? 0 : 180)
  return svg("path", { class: "arrow", d: "M-9 -9L7 0L-9 9", transform: `translate(${x} ${y}) rotate(${turn})` })
}

function middle(verb, isClockwise, size, wait) {
  return [svg("text", { x: X, y: Y - 30, class: "mid" }, wayWords(isClockwise)),
    svg("text", { x: X, y: Y - 12, class: "mid" }, `${verb}, at most`),
    svg("text", { x: X, y: Y + 32, class: "mid largest strong" }, sizeWords(size)),
    svg("text", { x: X, y: Y + 58, class: "mid" }, wait)]
}

// The reading now, and what is expected at each eighth on the way; the last one strong.
function figures(table, now, after, angle) {
  if (now === null) return []
  const found = [svg("text", { x: X, y: 36, class: "mid large" }, "now ",
    svg("tspan", { class: "grade strong" }, bare(table, now, "pressure")))]
  if (after === null) return found
  const [size, way] = [Math.abs(angle) / 360, Math.sign(angle)]
  const stops = [0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875].filter((one) => one < size - 1e-6)
  const label = (turn, tone) => {
    const degrees = way * turn * 360
    const [x, y] = spot(OUTER + 12, degrees)
    const [right, down] = [Math.sin((degrees * Math.PI) / 180), -Math.cos((degrees * Math.PI) / 180)]
    const side = right > 0.3 ? "" : right < -0.3 ? "end" : "mid"
    const place = { x: x + 4 * right, y: Math.abs(down) < 0.3 ? y - 10 : y + (down > 0 ? 14 : 2) }
    const value = bare(table, now + (turn / size) * (after - now), "pressure")
    return svg("text", { ...place, class: `twin halo ${side} ${tone}` }, value)
  }
  return [...found, ...stops.map((one) => label(one, "")), label(Math.min(size, 0.98), "strong")]
}

function corners(screw, [left, right]) {
  return [svg("text", { x: 0, y: 22 }, "screw of"), svg("text", { x: 0, y: 41, class: "strong" }, screw),
    svg("text", { x: 0, y: 406, class: "strong" }, left), svg("text", { x: 358, y: 406, class: "end quiet" }, right)]
}
