// A square code of words (ISO/IEC 18004): bytes of UTF-8, level M, versions 1 to 40. No DOM but in `codePicture`.

import { svg } from "../keys.js"

const [DARK, LIGHT, FREE] = [1, 0, 2]
const QUIET = 4 // light margin the standard asks for [modules]
const CHECKS = [10, 16, 26, 18, 24, 16, 18, 22, 22, 26, 30, 22, 22, 24, 24, 28, 28, 26, 26, 26, 26,
  ...new Array(19).fill(28)] // check bytes of each block at level M, by version
const BLOCKS = [1, 1, 1, 2, 2, 4, 4, 4, 5, 5, 5, 8, 9, 9, 10, 10, 11, 13, 14, 16, 17, 17, 18, 20, 21, 23, 25, 26, 28, 29,
  31, 33, 35, 37, 38, 40, 43, 45, 47, 49] // blocks at level M, by version
const [FIELD, FORMAT, VERSION] = [0x11d, 0x537, 0x1f25] // generators: of the field, of the two words about the code
const FORMAT_MASK = 0x5412
const BYTES = 4 // mode: bytes
const FILLS = [0xec, 0x11]
const MASKS = [(y, x) => (y + x) % 2, (y) => y % 2, (y, x) => x % 3, (y, x) => (y + x) % 3,
  (y, x) => (Math.floor(y / 2) + Math.floor(x / 3)) % 2, (y, x) => ((y * x) % 2) + ((y * x) % 3),
  (y, x) => (((y * x) % 2) + ((y * x) % 3)) % 2, (y, x) => (((y + x) % 2) + ((y * x) % 3)) % 2]
const LIKE_A_CORNER = ["10111010000", "00001011101"]

const sideOf = (version) => 17 + 4 * version

// Centres of the small squares of a version, along one side.
function centres(version) {
  if (version === 1) return []
  const [count, last] = [Math.floor(version / 7) + 2, sideOf(version) - 7]
  const step = version === 32 ? 26 : 2 * Math.ceil((last - 6) / (count - 1) / 2)
  return [6, ...Array.from({ length: count - 1 }, (_, at) => last - step * (count - 2 - at))]
}

// Modules that data may take. [1]
function roomOf(version) {
  const marks = version === 1 ? 0 : Math.floor(version / 7) + 2
  const small = marks === 0 ? 0 : 25 * (marks * marks - 3) - 10 * (marks - 2)
  return sideOf(version) ** 2 - 3 * 64 - 31 - 2 * (sideOf(version) - 16) - small - (version > 6 ? 36 : 0)
}

// Bytes of data a version takes at level M.
const dataOf = (version) => Math.floor(roomOf(version) / 8) - CHECKS[version - 1] * BLOCKS[version - 1]

// Bytes of words a version takes: mode and count stand before them.
export const mostBytes = (version) => dataOf(version) - (version > 9 ? 3 : 2)

// Tables of the field: powers of two and their logarithms.
const POWERS = new Uint8Array(255)
const LOGS = new Uint8Array(256)
for (let at = 0, value = 1; at < 255; at += 1) {
  POWERS[at] = value
  LOGS[value] = at
  value = value < 128 ? value << 1 : (value << 1) ^ FIELD
}
const times = (a, b) => (a === 0 || b === 0 ? 0 : POWERS[(LOGS[a] + LOGS[b]) % 255])

// Coefficients of the generator of so many check bytes, the highest left out.
function generator(count) {
  let found = [1]
  for (let root = 0; root < count; root += 1) {
    const next = new Array(found.length + 1).fill(0)
    found.forEach((one, at) => {
      next[at] ^= one
      next[at + 1] ^= times(one, POWERS[root])
    })
    found = next
  }
  return found.slice(1)
}

function checksOf(block, divisor) {
  const rest = new Array(divisor.length).fill(0)
  for (const byte of block) {
    const lead = byte ^ rest.shift()
    rest.push(0)
    divisor.forEach((one, at) => { rest[at] ^= times(one, lead) })
  }
  return rest
}

// Mode, count, words, end, fill: the bytes of data of a version.
function dataBytes(words, version) {
  const bits = []
  const put = (value, count) => { for (let at = count - 1; at >= 0; at -= 1) bits.push((value >> at) & 1) }
  put(BYTES, 4)
  put(words.length, version > 9 ? 16 : 8)
  for (const byte of words) put(byte, 8)
  const most = 8 * dataOf(version)
  put(0, Math.min(4, most - bits.length))
  put(0, (8 - (bits.length % 8)) % 8)
  for (let at = 0; bits.length < most; at += 1) put(FILLS[at % 2], 8)
  return Array.from({ length: most / 8 }, (_, at) => bits.slice(8 * at, 8 * at + 8).reduce((all, bit) => 2 * all + bit, 0))
}

// Data and check bytes of all blocks, one of each in turn.
function interleaved(data, version) {
  const [count, divisor] = [BLOCKS[version - 1], generator(CHECKS[version - 1])]
  const [short, longer] = [Math.floor(data.length / count), data.length % count]
  const blocks = []
  for (let at = 0, from = 0; at < count; at += 1) {
    const size = short + (at >= count - longer ? 1 : 0)
    blocks.push(data.slice(from, from + size))
    from += size
  }
  const checks = blocks.map((block) => checksOf(block, divisor))
  const inTurn = (lists, most) => Array.from({ length: most }, (_, at) => lists.filter((one) => at < one.length)
    .map((one) => one[at])).flat()
  return [...inTurn(blocks, short + 1), ...inTurn(checks, divisor.length)]
}

// Value and remainder behind it, of a word about the code.
function guarded(value, divisor, checks) {
  let rest = value << checks
  for (let bit = 31 - Math.clz32(rest); bit >= checks; bit -= 1) {
    if ((rest >> bit) & 1) rest ^= divisor << (bit - checks)
  }
  return (value << checks) | rest
}

// The patterns every code of a version has; what they leave is free.
function frameOf(version) {
  const side = sideOf(version)
  const rows = Array.from({ length: side }, () => new Uint8Array(side).fill(FREE))
  const square = (y, x, reach, isDark) => {
    for (let dy = -reach; dy <= reach; dy += 1) {
      for (let dx = -reach; dx <= reach; dx += 1) {
        const [row, far] = [rows[y + dy], Math.max(Math.abs(dy), Math.abs(dx))]
        if (row?.[x + dx] !== undefined) row[x + dx] = isDark(far) ? DARK : LIGHT
      }
    }
  }
  for (let at = 0; at < side; at += 1) rows[6][at] = rows[at][6] = at % 2 === 0 ? DARK : LIGHT
  for (const [y, x] of [[3, 3], [3, side - 4], [side - 4, 3]]) square(y, x, 4, (far) => far !== 2 && far !== 4)
  const places = centres(version)
  const last = places.at(-1)
  for (const y of places) {
    for (const x of places) {
      const isCorner = (y === 6 && (x === 6 || x === last)) || (x === 6 && y === last)
      if (!isCorner) square(y, x, 2, (far) => far !== 1)
    }
  }
  noteFormat(rows, 0)
  noteVersion(rows, version)
  return rows
}

// Level M and the mask, twice.
function noteFormat(rows, mask) {
  const [side, word] = [rows.length, guarded(mask, FORMAT, 10) ^ FORMAT_MASK]
  for (let bit = 0; bit < 15; bit += 1) {
    const value = (word >> bit) & 1
    if (bit < 6) rows[bit][8] = value
    else if (bit < 8) rows[bit + 1][8] = value
    else if (bit === 8) rows[8][7] = value
    else rows[8][14 - bit] = value
    if (bit < 8) rows[8][side - 1 - bit] = value
    else rows[side - 15 + bit][8] = value
  }
  rows[side - 8][8] = DARK
}

function noteVersion(rows, version) {
  if (version < 7) return
  const [side, word] = [rows.length, guarded(version, VERSION, 12)]
  for (let bit = 0; bit < 18; bit += 1) {
    const [one, other] = [Math.floor(bit / 3), side - 11 + (bit % 3)]
    rows[one][other] = rows[other][one] = (word >> bit) & 1
  }
}

// Free places in the order in which bits are laid: up and down, two columns at a time, from the right.
function* places(frame) {
  const side = frame.length
  let isUp = true
  for (let right = side - 1; right > 0; right -= 2) {
    if (right === 6) right = 5
    for (let step = 0; step < side; step += 1) {
      const y = isUp ? side - 1 - step : step
      for (const x of [right, right - 1]) if (frame[y][x] === FREE) yield [y, x]
    }
    isUp = !isUp
  }
}

function masked(frame, bits, mask) {
  const rows = frame.map((row) => Uint8Array.from(row))
  let at = 0
  for (const [y, x] of places(frame)) {
    rows[y][x] = (bits[at] ?? 0) ^ (MASKS[mask](y, x) === 0 ? 1 : 0)
    at += 1
  }
  noteFormat(rows, mask)
  return rows
}

// How hard a code is to read: runs, blocks, patterns like a corner, too dark or too light.
function penalty(rows) {
  const columns = rows.map((_, x) => rows.map((row) => row[x]))
  let found = 0
  for (const line of [...rows, ...columns]) {
    const text = Array.from(line).join("")
    for (const run of text.match(/0{5,}|1{5,}/g) ?? []) found += run.length - 2
    for (const like of LIKE_A_CORNER) {
      for (let at = text.indexOf(like); at >= 0; at = text.indexOf(like, at + 1)) found += 40
    }
  }
  for (let y = 1; y < rows.length; y += 1) {
    for (let x = 1; x < rows.length; x += 1) {
      const sum = rows[y][x] + rows[y - 1][x] + rows[y][x - 1] + rows[y - 1][x - 1]
      if (sum === 0 || sum === 4) found += 3
    }
  }
  const dark = rows.reduce((all, row) => all + row.reduce((sum, one) => sum + one, 0), 0)
  return found + 10 * Math.floor(Math.abs((20 * dark) / rows.length ** 2 - 10))
}

// Return the code of words as rows of modules, 1 for dark, with its version and mask; null where they are too long.
// most: the largest version that may be taken.
export function codeOf(words, most = 40) {
  const bytes = new TextEncoder().encode(words)
  let version = 1
  while (version <= most && mostBytes(version) < bytes.length) version += 1
  if (version > most) return null
  const bits = interleaved(dataBytes(bytes, version), version)
    .flatMap((byte) => [7, 6, 5, 4, 3, 2, 1, 0].map((bit) => (byte >> bit) & 1))
  const frame = frameOf(version)
  const tried = MASKS.map((_, mask) => masked(frame, bits, mask))
  const marks = tried.map(penalty)
  const mask = marks.indexOf(Math.min(...marks))
  return { version, mask, rows: tried[mask].map((row) => [...row]) }
}

// Return the outlines of the dark modules of a code, for the path of a picture with its quiet margin.
export function outline({ rows }) {
  const parts = rows.flatMap((row, y) => {
    const found = []
    for (let x = 0; x < row.length; x += 1) {
      if (row[x] !== DARK) continue
      const from = x
      while (row[x + 1] === DARK) x += 1
      found.push(`M${from + QUIET} ${y + QUIET}h${x + 1 - from}v1H${from + QUIET}z`)
    }
    return found
  })
  return { path: parts.join(""), side: rows.length + 2 * QUIET }
}

// Return a picture of a code. told: what it says, for those who do not see it.
export function codePicture(code, told) {
  const { path, side } = outline(code)
  return svg("svg", { class: "square-code", viewBox: `0 0 ${side} ${side}`, role: "img", "aria-label": told,
    "shape-rendering": "crispEdges" }, svg("path", { class: "light", d: `M0 0H${side}V${side}H0z` }), svg("path", { class:
    "dark", d: path }))
}
