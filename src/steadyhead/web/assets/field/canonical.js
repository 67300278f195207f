// Canonical JSON after RFC 8785, and SHA-256: the same bytes as station/canonical.py gives. The digest is written
// out here because a page that is not reached over TLS has none of the browser's.

const BLANK = { node: "", who: "", t_mono: 0, clock_offset: 0, clock_within: 0 }

// Return the canonical JSON of plain data. Throws a TypeError where JSON has no such value.
export function canonical(value) {
  if (typeof value === "string") return quoted(value)
  if (value === null || typeof value === "boolean") return String(value)
  if (typeof value === "number") return number(value)
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`
  if (typeof value !== "object") throw new TypeError(`${typeof value} is no JSON value.`)
  const keys = Object.keys(value).filter((key) => value[key] !== undefined).sort()
  return `{${keys.map((key) => `${quoted(key)}:${canonical(value[key])}`).join(",")}}`
}

function quoted(text) {
  if (/\p{Surrogate}/u.test(text)) {
    throw new TypeError("half a character has no place in canonical JSON.")
  }
  return JSON.stringify(text)
}

function number(value) {
  if (!Number.isFinite(value)) throw new TypeError(`${value} has no place in canonical JSON.`)
  return JSON.stringify(value)
}

// Return an entry, as it was made or read, as the object its line is written from: every field there, `replaces` only
// where it replaces. (Entries of a book also carry `micros`; those are no lines.)
export function plainEntry(entry) {
  const { replaces, ...rest } = entry
  const found = { ...BLANK, ...rest }
  if (replaces) found.replaces = replaces
  return found
}

// Return the line that an entry is kept and sent as.
export const lineOf = (entry) => canonical(plainEntry(entry))

const K = new Uint32Array(64)
const START = new Uint32Array(8)
let found = 0
for (let n = 2; found < 64; n += 1) {
  let isPrime = true
  for (let by = 2; by * by <= n; by += 1) if (n % by === 0) isPrime = false
  if (!isPrime) continue
  if (found < 8) START[found] = part(Math.sqrt(n))
  K[found] = part(Math.cbrt(n))
  found += 1
}

function part(root) {
  return Math.floor((root - Math.floor(root)) * 2 ** 32)
}

const turned = (word, by) => (word >>> by) | (word << (32 - by))

// Return the SHA-256 of a text (as UTF-8) or of bytes, as lower-case hexadecimal.
export function sha256(content) {
  const bytes = typeof content === "string" ? new TextEncoder().encode(content) : new Uint8Array(content)
  const rest = bytes.length % 64
  const whole = bytes.length - rest
  const tail = new Uint8Array(rest < 56 ? 64 : 128)
  tail.set(bytes.subarray(whole))
  tail[rest] = 0x80
  const view = new DataView(tail.buffer)
  view.setUint32(tail.length - 8, Math.floor(bytes.length / 2 ** 29))
  view.setUint32(tail.length - 4, (bytes.length * 8) >>> 0)
  const state = Uint32Array.from(START)
  const words = new Uint32Array(64)
  for (let at = 0; at < whole; at += 64) mix(state, words, bytes, at)
  for (let at = 0; at < tail.length; at += 64) mix(state, words, tail, at)
  return [...state].map((word) => word.toString(16).padStart(8, "0")).join("")
}

function mix(state, words, bytes, from) {
  for (let t = 0; t < 16; t += 1) {
    const at = from + 4 * t
    words[t] = (bytes[at] << 24) | (bytes[at + 1] << 16) | (bytes[at + 2] << 8) | bytes[at + 3]
  }
  for (let t = 16; t < 64; t += 1) {
    const [a, b] = [words[t - 15], words[t - 2]]
    const first = turned(a, 7) ^ turned(a, 18) ^ (a >>> 3)
    const second = turned(b, 17) ^ turned(b, 19) ^ (b >>> 10)
    words[t] = words[t - 16] + first + words[t - 7] + second
  }
  let [a, b, c, d, e, f, g, h] = state
  for (let t = 0; t < 64; t += 1) {
    const one = h + (turned(e, 6) ^ turned(e, 11) ^ turned(e, 25)) + ((e & f) ^ (~e & g)) + K[t] + words[t]
    const two = (turned(a, 2) ^ turned(a, 13) ^ turned(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))
    h = g
    g = f
    f = e
    e = (d + one) | 0
    d = c
    c = b
    b = a
    a = (one + two) | 0
  }
  const now = [a, b, c, d, e, f, g, h]
  for (let t = 0; t < 8; t += 1) state[t] += now[t]
}

const FIGURES = 12

// Return data with its numbers rounded to twelve figures, half away from nought: two programs that reckon alike give
// the same. services/field/verdicts.py rounds the same way.
export function rounded(value) {
  if (typeof value === "number") return Number.isInteger(value) ? value : figures(value)
  if (Array.isArray(value)) return value.map(rounded)
  if (typeof value !== "object" || value === null) return value
  return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, rounded(inner)]))
}

function figures(value) {
  const [mantissa, exponent] = Math.abs(value).toExponential().split("e")
  const digits = mantissa.replace(".", "")
  if (digits.length <= FIGURES) return value
  const up = digits[FIGURES] >= "5" ? 1 : 0
  const whole = Number(digits.slice(0, FIGURES)) + up
  return Math.sign(value) * Number(`${whole}e${Number(exponent) - FIGURES + 1}`)
}
