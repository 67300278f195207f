// What is told on the device, in words: texts of the plan, remarks of the judge, entries, advice. The tables come with
// the pack (services/field/device_words.py); the words are those of running_words.py, entering/saying.py, advise_text.py.

import { own, micros, zoneMinutes } from "../procedure/record.js"
import { canonical } from "./canonical.js"
import { fixed, general } from "./figures.js"
import { amount, bandWords, edges, inFinding, inWords, isKind, ownUnit, say, sayMost } from "./units.js"

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
const DAYS = 2 // from how many days on a difference of clocks is told in days
const COUNTS = ["days", "forms", "count"]
const BARE = ["count", "yes_no", "text", "photo"]
const STALE = "RUN-12"
const BANDED = ["RUN-14", "RUN-59"] // remarks that tell a band
const UNASKED = { "RUN-59": "pressure" } // what is meant by a figure of an input that no step asks for
const SIZES = { low: "", high: "", division: "", zero: "", flow: "flow", steady_for: "time", steady_within: "",
  wall_temperature: "temperature", read_at_height: "length", corrected_by: "", class: "ratio" }
const SHORTER = { wall_temperature: "wall", steady_within: "within", steady_for: "stood" }
const TOLD_APART = ["input", "quantity", "tap", "value", "typed", "unit"]
const HEADS = { run: "run begun", person: "person", instrument: "instrument", deviation: "deviation about" }
const ORDER = ["plan", "kind", "date", "purpose", "name", "role", "authorised_until", "what", "quantity", "low", "high",
  "class", "division", "calibrated", "due", "zero", "choice", "option", "input", "tap", "value", "typed", "unit",
  "instrument", "flow", "flow_instrument", "steady_for", "steady_within", "swing", "wall_temperature", "as",
  "read_at_height", "corrected_by", "do", "thing", "detail", "to", "amount", "is", "of", "sha256", "text", "reason",
  "payload", "about", "risk", "measure", "owner", "accepted_by", "asks", "statement", "as_found", "as_left"]
const EIGHTHS = ["", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞"]

// Return the words of a message of the plan; they went along filled in. Its id where the pack has none.
export const textOf = (pack, message) => pack.texts[canonical({ id: message.id, params: message.params })] ?? message.id

// What a proof, thing or item is called, without its name in the plan (`SO.out_of_way`); where the plan has no words for it,
// its name as words.
export function calledPlainly(pack, plan, name) {
  const known = own(plan.names, name)
  return known === null ? String(name).replace(/[._@]+/g, " ") : textOf(pack, known)
}

const NAMED = new WeakMap() // of a plan: what finds its names in words

// Return words without the names that only the plan uses: what they are called stays.
export function withoutNames(pack, plan, words) {
  if (!NAMED.has(plan)) {
    const names = Object.keys(plan.names).filter((name) => !name.includes("/")).sort((a, b) => b.length - a.length)
    const escaped = names.map((name) => name.replace(/[\\^$.*+?()[\]{}|]/g, "\\$&"))
    NAMED.set(plan, new RegExp(`(?<![\\w.@/-])(${escaped.join("|") || "(?!)"})(?![\\w@/]|[.-]\\w)`, "g"))
  }
  return String(words ?? "").replace(NAMED.get(plan), (name, _, at, whole) => {
    const called = calledPlainly(pack, plan, name)
    const isSaid = whole.startsWith(` (${called})`, at + name.length)
    return isSaid || /[._@]/.test(name) ? `${isSaid ? "\u0000" : ""}${called}` : name
  }).replace(/\u0000([^\u0000]*?) \(\1\)/g, "$1")
}

// Return what an entry says, with the words of the plan in place of its names: the label of an input, what a thing is called.
export function saidPlainly(pack, plan, entry, amends = "") {
  const { payload, kind } = entry
  const node = plan.nodes.find((one) => one.id === entry.node)
  const label = own(plan.names, `${entry.node}/${payload.input}`)
  const more = {}
  if (payload.input !== undefined) more.input = label === null ? calledPlainly(pack, plan, payload.input) : textOf(pack, label)
  if (more.input !== undefined && !/[?:]$/.test(more.input)) more.input += ":"
  if (payload.thing) more.thing = calledPlainly(pack, plan, payload.thing)
  if (payload.of) more.of = label !== null || own(plan.names, `${entry.node}/${payload.of}`) === null ? calledPlainly(pack, plan, payload.of)
    : textOf(pack, plan.names[`${entry.node}/${payload.of}`])
  if (kind === "choice") {
    const option = plan.choices?.find((one) => one.id === payload.choice)?.options.find((one) => one.name === payload.option)
    const words = option?.label ?? option?.words ?? null
    return words === null ? `chosen: ${calledPlainly(pack, plan, payload.option)}` : `chosen: ${textOf(pack, words)}`
  }
  if (kind === "deviation") more.about = node === undefined ? calledPlainly(pack, plan, payload.about) : textOf(pack, node.title)
  return withoutNames(pack, plan, said(pack, { ...entry, payload: { ...payload, ...more } }, amends))
}

// Return the parts of a moment as clocks on site had it. micros: corrected [µs]; zone: minutes east of UTC.
function onSite(us, zone) {
  const at = new Date(Math.floor(us / 1000) + zone * 60_000)
  const two = (number) => String(number).padStart(2, "0")
  return { time: `${two(at.getUTCHours())}:${two(at.getUTCMinutes())}:${two(at.getUTCSeconds())}`,
    day: at.getUTCDate(), two: two(at.getUTCDate()), month: MONTHS[at.getUTCMonth()], year: at.getUTCFullYear() }
}

// Return when an entry was made, as clocks on site had it: `14 Apr 2027 08:05:00`.
export function clockWords(entry) {
  const { time, day, month, year } = onSite(micros(entry), zoneMinutes(entry.t_device))
  return `${day} ${month} ${year} ${time}`
}

// Return a moment in words. seconds: since 1970-01-01 UTC; zone: minutes east of UTC.
export function momentWords(seconds, zone) {
  const { time, day, month, year } = onSite(seconds * 1e6, zone)
  return `${day} ${month} ${year} ${time.slice(0, 5)}`
}

// Return the day of a moment as this device's calendar has it, whatever the language of the browser: `14 Apr 2027`.
export function dayWords(when) {
  const at = new Date(when)
  return `${at.getDate()} ${MONTHS[at.getMonth()]} ${at.getFullYear()}`
}

// Return words with each day written as `14 Apr 2027`, where it stands as `2027-04-14`.
export const datedWords = (words) => words.replace(/(?<![\w-])(\d{4})-(0[1-9]|1[0-2])-([0-2]\d|3[01])(?![\w-])/g,
  (_, year, month, day) => `${Number(day)} ${MONTHS[month - 1]} ${year}`)

// Return a moment as this device's clock shows it: `08:05:00`.
export const timeWords = (when) => new Date(when).toTimeString().slice(0, 8)

// Puts remarks of the judge into words. plan: the plan as data; forms: every entry of the run, of every content.
export class Speaker {
  constructor(pack, plan, forms) {
    this.pack = pack
    this.plan = plan
    this.entry = new Map(forms.map((entry) => [entry.id, entry]))
    this.kind = new Map(plan.nodes.flatMap((node) => node.inputs.map((one) => [`${node.id}/${one.name}`, one.quantity])))
  }

  // What a step, proof, thing or item is called, its name in the plan first.
  name(name) {
    const said = own(this.plan.names, name)
    return said === null ? name : `${name} (${textOf(this.pack, said)})`
  }

  // One remark in words; severity: "stop", "ask" or "heed".
  finding(remark, severity) {
    const table = this.pack.units
    const words = Object.fromEntries(Object.keys(remark.params).map((name) => [name, this.word(remark, name)]))
    Object.assign(words, this.banded(remark))
    Object.assign(words, this.when(remark))
    words.mend = this.pack.remarks.mend[severity] ?? this.pack.remarks.mend.ask
    const reason = this.pack.remarks.reasons[remark.code]?.[remark.params.why]
    if (reason !== undefined) words.how = filled(reason, words, (one) => amount(table, one.si, one.kind))
    if (remark.code === "RUN-51") {
      words.unplaced = this.pack.remarks.unplaced?.[remark.about === remark.params.do ? "unnamed" : "unknown"] ?? ""
    }
    if (remark.code === "RUN-16") words.then = this.pack.remarks.then[remark.params.why]
    if (remark.message !== null && remark.message !== undefined) {
      words.seen = textOf(this.pack, remark.message)
      words.then = this.then(remark)
    }
    words.subject = this.name(remark.about)
    const told = this.pack.remarks.codes[remark.code]
    const tell = (template) => sentences(filled(template, words, (one) => inFinding(table, one.si, one.kind)))
    return { code: remark.code, severity: severity === "ask" ? "block" : severity, subject: words.subject,
      about: remark.about, entries: remark.entries, title: told.title, statement: tell(told.statement),
      why: tell(told.why), cure: tell(told.cure) }
  }

  // Both ends of a band as it is told everywhere: rounded into the band.
  banded(remark) {
    const kind = BANDED.includes(remark.code) ? this.quantity(remark, "low") : ""
    const isEnd = (one) => typeof one === "number" || one === null
    if (!BANDED.includes(remark.code)) return {}
    if (!kind || !isEnd(remark.params.low) || !isEnd(remark.params.high)) {
      const ends = ["low", "high"].map((name) => (isEnd(remark.params[name]) ? this.word(remark, name) : "any"))
      return { band: bandWords(String(ends[0]), String(ends[1])) }
    }
    const [low, high] = edges(this.pack.units, remark.params.low, remark.params.high, kind)
    return { low, high, band: bandWords(low, high) }
  }

  then(remark) {
    const node = this.plan.nodes.find((one) => one.id === remark.about)
    const key = canonical(remark.message)
    const one = node?.otherwise.find((each) => canonical(each.see) === key)
    return one === undefined ? "" : `${textOf(this.pack, one.meaning)} ${textOf(this.pack, one.then)}`
  }

  when(remark) {
    const entry = this.entry.get(remark.entries.at(-1))
    if (entry === undefined) return { when: "a time not known", who: "somebody" }
    const { time, two, month, year } = onSite(micros(entry), zoneMinutes(entry.t_device))
    return { when: `${time} on ${two} ${month} ${year}`, who: entry.who || entry.device }
  }

  word(remark, name) {
    const value = remark.params[name]
    if (name === "input") {
      const label = own(this.plan.names, `${remark.about}/${value}`)
      return label === null ? String(value) : textOf(this.pack, label)
    }
    if (name === "thing" || name === "on") return this.name(String(value))
    if (name === "lacks") return lacksWords(String(value))
    if (typeof value === "boolean") return value ? "yes" : "no"
    if (value === null) return "any"
    if (typeof value === "string") return value
    if (COUNTS.includes(name)) return fixed(value, 0)
    if (name === "by" && Math.abs(value) >= DAYS * 86400) return `${fixed(value / 86400, 0)} days`
    const kind = this.quantity(remark, name)
    return kind ? { kind, si: value } : general(value, 3)
  }

  quantity(remark, name) {
    if (["by", "held"].includes(name) || (name === "limit" && remark.params.why === "held too short")) return "time"
    const kind = this.kind.get(`${remark.about}/${remark.params.input}`) ?? UNASKED[remark.code] ?? ""
    return BARE.includes(kind) || !isKind(this.pack.units, kind) ? "" : kind
  }
}

export const lacksWords = (names) => names.replaceAll("@choice", "what is chosen").replaceAll("@tick", "that it is done")

const filled = (template, words, tell) =>
  template.replace(/\{(\w+)\}/g, (whole, name) => {
    const word = own(words, name)
    return word === null ? whole : typeof word === "object" ? tell(word) : String(word)
  })

const sentences = (words) => words.replace(/ {2,}/g, " ").trim().replace(/([.?!])\.(?=\s|$)/g, "$1")

// Return the touches that made the same proofs stale as one, with the steps to be done again.
export function staleTold(judged, speaker) {
  const [lost, things] = [new Map(), new Map()]
  for (const { remark, accepted } of judged.blocks) {
    if (remark.code !== STALE || accepted) continue
    const touch = remark.entries.at(-1)
    if (!lost.has(touch)) lost.set(touch, new Map())
    lost.get(touch).set(remark.about, String(remark.params.step))
    things.set(touch, [...(things.get(touch) ?? []), speaker.name(String(remark.params.thing))])
  }
  const told = new Map()
  for (const [touch, proofs] of lost) {
    const key = canonical([...proofs.keys()])
    told.set(key, [...(told.get(key) ?? []), touch])
  }
  return [...told].map(([key, touches]) => {
    const names = JSON.parse(key)
    const first = speaker.entry.get(touches[0])
    const what = [...new Set(touches.flatMap((touch) => things.get(touch)))].join(", ")
    const again = [...new Set(lost.get(touches[0]).values())]
    return { code: STALE, severity: "stop", subject: names.join(", "), about: names[0], entries: touches,
      title: "Touched after its proof", accepted: "", again,
      statement: `Touched after its proof: ${what}, ${clockWords(first)} by ${first.who || first.device}.`,
      why: `Stale: ${names.map((name) => speaker.name(name)).join(", ")}. What was touched since is not what was proved.`,
      cure: `Do ${again.join(", ")} again.` }
  })
}

// Return what an entry says, in a few words. amends: what the entry it corrects or voids is called in the list.
export function said(pack, entry, amends = "") {
  const { payload, kind } = entry
  const table = pack.units
  const quantity = String(payload.quantity ?? "")
  if (kind === "reading" || kind === "observation") return valueWords(table, payload, quantity)
  if (kind === "action") return actWords(table, payload)
  if (kind === "choice") return `${payload.choice}: ${payload.option}`
  if (kind === "position") return `${payload.thing} ${payload.is}`
  if (kind === "photo") return `photo of ${payload.of}: ${payload.name ?? ""} ${String(payload.sha256 ?? "").slice(0, 12)}…`
  if (kind === "note") return `“${payload.text}”`
  if (kind === "correction" || kind === "void") {
    const isGiven = typeof payload.payload === "object" && payload.payload !== null
    const fresh = isGiven ? `: ${restWords(table, payload.payload, quantity)}` : ""
    return `${kind} of ${amends || "what is not there"}${fresh} (${payload.reason})`
  }
  if (kind === "sign") return `signed as ${payload.asks}`
  return `${HEADS[kind] ?? kind} ${restWords(table, payload, quantity || "pressure")}`
}

function valueWords(table, payload, quantity) {
  const { value } = payload
  const shown = ["boolean", "string", "number"].includes(typeof value) ? inWords(table, value, quantity) : "no value"
  const typed = `${payload.typed} ${payload.unit}`
  const isOther = isKind(table, quantity) && payload.typed && payload.unit !== ownUnit(table, quantity) && shown !== typed
  const rest = Object.fromEntries(Object.entries(payload).filter(([key]) => !TOLD_APART.includes(key)))
  const more = restWords(table, rest, quantity)
  const at = payload.tap ? ` at ${payload.tap}` : ""
  return `${payload.input} ${isOther ? `${typed} (${shown})` : shown}${at}${more ? ", " : ""}${more}`
}

function actWords(table, payload) {
  const { amount: size, unit = "" } = payload
  const isNumber = typeof size === "number"
  const told = isNumber ? (isKind(table, unit) ? say(table, size, unit) : `${general(size)} ${unit}`) : ""
  const act = payload.do === "tick" ? "done as written" : String(payload.do)
  return [act, payload.thing, told, payload.to, payload.detail].filter(Boolean).join(" ")
}

function restWords(table, payload, quantity) {
  const place = (key) => (ORDER.includes(key) ? ORDER.indexOf(key) : ORDER.length)
  const keys = Object.keys(payload).filter((key) => !["typed", "unit", "plan"].includes(key))
  return keys.sort((a, b) => place(a) - place(b)).map((key) => {
    const value = payload[key]
    const word = SHORTER[key] ?? key.replaceAll("_", " ")
    if (["name", "instrument", "about", "kind"].includes(key)) return String(value)
    if (value === null) return `${word} taken out`
    if (typeof value === "object") return `${word} ${restWords(table, value, key === "swing" ? "time" : quantity)}`
    if (key === "value") {
      const typed = "typed" in payload ? `${payload.typed} ${payload.unit ?? ""}`.trim() : ""
      return typed || inWords(table, value, quantity)
    }
    if (key in SIZES && typeof value === "number") {
      const kind = SIZES[key] || quantity
      return `${word} ${kind === "ratio" ? `${general(value * 100)} %` : inWords(table, value, kind)}`
    }
    return `${word} ${value}`
  }).join(", ")
}

// Return a turn in words, without its direction. [turn]
export function turnWords(turn) {
  const [size, eighths] = [Math.abs(turn), Math.abs(turn) * 8]
  if (Math.abs(eighths - Math.round(eighths)) > 1e-9) {
    const degrees = Math.round(size * 360)
    return `${degrees}°${degrees === 15 ? ", the smallest honest turn" : ""}`
  }
  const [whole, part] = [Math.floor(Math.round(eighths) / 8), Math.round(eighths) % 8]
  if (whole === 0) return `${EIGHTHS[part]} turn (${Math.floor(size * 360 + 0.5)}°)`
  return `${whole}${EIGHTHS[part]} ${whole === 1 && part === 0 ? "turn" : "turns"}`
}

// Return which way back belongs to a step after a shut-off acted before its time.
const sequence = (step) => (step.startsWith("IN") ? "injected" : step.startsWith("DS") ? "downstream" : "upstream")

const share = (part) => (part >= 0.0005 ? `${fixed(100 * part, 1)} %` : "below 0.1 %")

// Return the advice for one screw as lines; advised: from view.js.
export function adviceLines(pack, advised) {
  const { units: table, advice: words } = pack
  const { advice: told, screw } = advised
  if (told === null) return [words.says.kept]
  const lines = advised.waits.length > 0 ? [`Does not stand yet: ${advised.waits.join(", ")}.`] : []
  lines.push(`To be reached at ${advised.tap}: ${targetWords(table, advised)}.`)
  if (told.turn !== 0) {
    lines.push(`${told.turn > 0 ? "Raise" : "Lower"} by ${turnWords(told.turn)} (${wayWords(advised)}). ${words.says[told.status]}`)
    lines.push(...turnLines(pack, advised))
  } else lines.push(words.says[told.status])
  if (told.status === "read first" && advised.feeds.length > 0 && screw.sees === "gauge") {
    lines.push(`Counted at ${advised.step}: ${advised.feeds.join(" or ")}, at trickle, the shut-off open.`)
  }
  if (told.status === "too soon") lines.push(...words.again[sequence(advised.step)].map((text) => `- ${text}`))
  if (told.is_past) {
    const [aim, limit] = [say(table, advised.target, "pressure"), sayMost(table, screw.limit, "pressure")]
    lines.push(words.past_limit.replace("{limit}", limit).replace("{aim}", aim))
  }
  if (told.is_coarse && told.status !== "coarse") lines.push(words.coarse)
  if (!["read first", "needs first", "not counted"].includes(told.status)) lines.push(...knownLines(table, advised))
  return lines
}

// Which way the screw is turned; where the plan does not say it, the plate does.
function wayWords({ raises, advice: told }) {
  if (raises === null) return "screw direction not stated: read the plate"
  return raises === told.turn > 0 ? "screw clockwise" : "screw anticlockwise"
}

// The reading it is brought to; of a run, where the shut-off is to act, the highest one.
function targetWords(table, { screw, advice: told }) {
  if (!(screw.step > 0)) return told.is_past ? sayMost(table, screw.limit, "pressure") : say(table, told.target, "pressure")
  return `until the shut-off acts, ${sayMost(table, told.target, "pressure")} at most`
}

function turnLines({ units: table, advice: words }, { advice: told, screw, tap }) {
  const isGauge = screw.sees === "gauge"
  const [low, middle, high] = [told.low, told.middle, told.high].map((si) => say(table, si, "pressure"))
  const lines = [`${isGauge ? `Expected at ${tap} after it` : "Its setting after it"}: ${middle}, between ${low} and ${high}.`]
  if (isGauge && told.turn > 0) {
    const [worst, limit] = [say(table, told.worst, "pressure"), sayMost(table, screw.limit, "pressure")]
    lines.push(`At worst ${worst}; limit at this gauge, its error taken off: ${limit}.`)
    if (told.rate_most >= screw.most) lines.push(words.first)
  } else if (isGauge) {
    lines.push("A lowered setting counts only after water has been drawn and the reading has followed.")
  }
  if (isGauge) lines.push(words.live)
  else if (told.turn < 0) lines.push(`Chance that it acts in this turn: ${share(told.acts)}.`)
  const [chance, most] = [told.chance + told.spent, screw.chance_most]
  const together = chance <= most + 5e-4 ? `together below ${share(most)} in one job.`
    : `more than the ${share(most)} of one job, by turns that were not advised.`
  lines.push(`Chance of a closure before its time: ${share(told.chance)} in this turn, ${share(told.spent)} spent; ${together}`)
  return lines
}

function knownLines(table, { advice: told, screw }) {
  const [low, rate, high, most, plate] = [told.rate_low, told.rate, told.rate_high, told.rate_most, screw.plate]
    .map((si) => say(table, si, "pressure_per_turn"))
  const play = `play ${fixed(told.play_low, 2)} to ${fixed(told.play_high, 2)} turn.`
  const lines = [`By the turns so far: ${rate}, between ${low} and ${high} (plate: ${plate}); ${play}`]
  return screw.sees === "gauge" ? [...lines, `Stiffest spring still possible: ${most}.`] : lines
}
