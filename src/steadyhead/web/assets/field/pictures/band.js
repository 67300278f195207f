// The band line: where a reading is expected, where it lies, and the wall. Geometry of the look's field mock-ups.

import { svg } from "../keys.js"
import { bandWords, edges, fromSi, ownUnit, say } from "../units.js"

const [WIDTH, HEIGHT, LEFT, RIGHT, LINE] = [358, 88, 6, 352, 50]
const TICKS = 9
const ROOM = 4 // the line is as many times as wide as the band, where no reading lies further off. Own choice. [1]

let drawn = 0

// Return the picture. given: table, kind, unit, band { low, high } [SI], value [SI] or null, stop [SI] or null.
export function bandLine({ table, kind, unit, band, value = null, stop = null }) {
  const symbol = unit || ownUnit(table, kind)
  const [low, high] = ends(band, value, stop)
  const at = (si) => LEFT + ((si - low) / (high - low)) * (RIGHT - LEFT)
  const [from, to] = edges(table, band.low, band.high, kind)
  const words = shortWords(from, to)
  const read = value === null ? "" : ` Read ${say(table, value, kind)}.`
  drawn += 1
  const ids = [`expected-${drawn}`, `forbidden-${drawn}`]
  return svg("svg", { class: "draw band", viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img",
    "aria-label": `Expected: ${words}.${read}` },
  hatches(ids), expected(band, at, ids[0], words), wall(stop, at, ids[1], { table, kind, symbol }),
  scale(), ring(value, at, { table, kind }))
}

// Say a band in words from its edges in words, its unit once.
function shortWords(from, to) {
  const [figure, unit] = [from.split(" "), to.split(" ")]
  const isSame = figure.length === 2 && unit.length === 2 && figure[1] === unit[1]
  return isSame ? `${figure[0]} to ${to}` : bandWords(from, to)
}

// Which stretch is shown: the band in the middle, everything on it.
function ends(band, value, stop) {
  const marks = [band.low, band.high, value, stop].filter((one) => one !== null && Number.isFinite(one))
  const [least, most] = [Math.min(...marks), Math.max(...marks)]
  const width = band.low !== null && band.high !== null ? band.high - band.low : 0.2 * Math.max(Math.abs(most), 1)
  const middle = band.low !== null && band.high !== null ? 0.5 * (band.low + band.high) : 0.5 * (least + most)
  const half = Math.max(0.5 * ROOM * width, 1.15 * (most - middle), 1.15 * (middle - least), 1e-9)
  return [middle - half, middle + half]
}

function hatches([expectedId, forbiddenId]) {
  const hatch = (id, turn, tone) => svg("pattern", { id, width: 7, height: 7, patternUnits: "userSpaceOnUse",
    patternTransform: `rotate(${turn})` }, svg("path", { class: tone, d: "M0 0V7" }))
  return svg("defs", {}, hatch(expectedId, -45, "hatch-twin"), hatch(forbiddenId, 45, "hatch-halt"))
}

function expected(band, at, id, words) {
  const from = band.low === null ? LEFT : at(band.low)
  const to = band.high === null ? RIGHT : at(band.high)
  const edge = (si) => (si === null ? null : svg("path", { class: "edge-twin", d: `M${at(si)} ${LINE - 26}V${LINE}` }))
  const middle = Math.min(Math.max(0.5 * (from + to), 80), WIDTH - 80)
  const box = { x: from, y: LINE - 22, width: Math.max(to - from, 1), height: 22 }
  return [svg("rect", { ...box, class: "wash-twin" }), svg("rect", { ...box, fill: `url(#${id})` }), edge(band.low),
    edge(band.high), svg("text", { x: middle, y: 17, class: "mid twin strong" }, words)]
}

function wall(stop, at, id, { table, kind }) {
  if (stop === null) return null
  const x = at(stop)
  return [svg("rect", { x: x - 5, y: LINE - 30, width: 5, height: 36, class: "solid-halt" }),
    svg("rect", { x, y: LINE - 24, width: Math.max(RIGHT - x, 0), height: 24, fill: `url(#${id})` }),
    svg("text", { x: WIDTH, y: 82, class: "end halt strong" }, `stop ${say(table, stop, kind)}`)]
}

function scale() {
  const step = (RIGHT - LEFT) / TICKS
  const ticks = Array.from({ length: TICKS + 1 }, (_, n) => `M${LEFT + n * step} ${LINE}v${n % 4 === 0 ? 9 : 5}`)
  return svg("path", { class: "line", d: `M${LEFT} ${LINE}H${RIGHT}${ticks.join("")}` })
}

function ring(value, at, { table, kind }) {
  if (value === null) return null
  const x = at(value)
  const place = Math.min(Math.max(x, 62), WIDTH - 62)
  return [svg("circle", { cx: x, cy: LINE, r: 8, class: "ring" }),
    svg("text", { x: place, y: 82, class: "mid grade strong" }, `read ${say(table, value, kind)}`)]
}

// Return a figure of a pressure without its unit. [SI]
export const bare = (table, si, kind) => say(table, si, kind).split(" ")[0]

// Return a value in a unit, as a number. [SI]
export const inUnit = (table, si, kind, unit) => fromSi(table, si, kind, unit || ownUnit(table, kind))
