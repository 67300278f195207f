// What is handed over on the spot, without a server: a short statement that a camera reads as text, and one page to keep.
// No DOM, no clock: the same entries give the same words and the same hash in Python (services/field/statements.py).

import { canonical, plainEntry, sha256 } from "./canonical.js"
import { figuresLeft } from "./left.js"
import { calledPlainly, clockWords } from "./saying.js"
import { say } from "./units.js"

export const FORMAT = "steadyhead/hand-over/1"
export const JUDGED = "Judged on the device; the certificate follows from the register."
const ENTRIES = "steadyhead/entries/1"
const MOST = { left: 8, open: 5, deviations: 3, seen: 3, words: 60 } // what one code can hold. Own estimates.
const OPEN = ["stale", "refused", "open"]
const PROVED = ["valid", "accepted"]

const KINDS = { first: "first commissioning", yearly: "yearly proof", restart: "restart after a trip" }

const kindWords = (kind) => KINDS[kind] ?? kind.replaceAll("_", " ")
// Words on one line: whatever was typed ends no line of the statement.
const plain = (words) => String(words ?? "").replace(/[\u0000-\u0020\u007f-\u00a0\u2028\u2029\ufeff]+/g, " ").replace(/^ +| +$/g, "")

function short(words) {
  const one = plain(words)
  return one.length > MOST.words ? `${one.slice(0, MOST.words - 1)}…` : one
}

function some(listed, most) {
  const shown = listed.slice(0, most)
  return listed.length > most ? [...shown, `and ${listed.length - most} more`] : shown
}

// Return the hash over entries, in the order of judging: that of the file of entries, which the certificate carries too.
export function hashOf(entries) {
  const lines = [{ format: ENTRIES }, ...entries.map(({ micros: _, ...entry }) => plainEntry(entry))].map(canonical)
  return sha256(lines.map((line) => `${line}\n`).join(""))
}

// Return how far each device had come: its highest number.
function marks(entries) {
  const found = new Map()
  for (const one of entries) found.set(one.device, Math.max(found.get(one.device) ?? 0, one.device_seq))
  return [...found].sort(([one], [other]) => (one < other ? -1 : 1))
}

// Return the words of a figure as left: `SO trip 5.19 bar at T4`.
export function leftWords(table, one) {
  const flow = typeof one.flow === "number" && one.flow > 0 ? `, ${say(table, one.flow, "flow")}` : ""
  return `${one.part} ${one.what === "lockup" ? "lock-up" : one.what} ${one.words}${one.tap ? ` at ${one.tap}` : ""}${flow}`
}

// Return what was seen: how much was read, answered and photographed, and every note, the newest first.
function seenOf(standing) {
  const count = (kind, called) => {
    const many = standing.filter((one) => one.kind === kind).length
    return `${many} ${called}${many === 1 ? "" : "s"}`
  }
  return { counts: [count("reading", "reading"), count("observation", "answer"), count("photo", "photo")].join(", "),
    notes: standing.filter((one) => one.kind === "note").map((one) => plain(one.payload.text)).reverse() }
}

// Return what is stated of a visit: { station, visit, said, who, left, proved, of, open, deviations, signed, seen, entries,
// devices, hash }. view: from `see`; who: the person at the device; now: as written with its offset.
export function stated(pack, plan, view, who, now) {
  const { book, judged } = view
  const station = pack.station ?? {}
  const proofs = view.proofs
  const called = (one) => calledPlainly(pack, plan, one.name)
  const open = proofs.filter((one) => OPEN.includes(one.state)).map((one) => `${called(one)} ${one.state}`)
  const opened = view.items.filter((one) => one.state === "open").map((one) => `${called(one)} not restored`)
  const deviations = book.standing.filter((one) => one.kind === "deviation").map(({ payload }) =>
    [payload.about, payload.what, payload.due ? `until ${payload.due}` : "", payload.owner].filter(Boolean).join(", "))
  const signs = view.signs.filter((one) => one.stands)
  const signed = signs.map((one) => `${plain(one.asks)}, ${plain(one.who)}, ${clockWords(book.entry(one.entry))}`)
  return { station: { id: station.id ?? plan.station_id, name: station.name ?? plan.station_name }, run: pack.run,
    kind: kindWords(plan.kind), said: now, who, left: figuresLeft(plan, book, judged, pack.units).map((one) =>
      leftWords(pack.units, one)), proved: proofs.filter((one) => PROVED.includes(one.state)).length, of: proofs.length,
    open: [...open, ...opened], steps: view.against.length, deviations, signed, seen: seenOf(book.standing), isFinal: view.final.is,
    entries: book.entries.length, conflicts: book.clashes.length, devices: marks(book.entries), hash: hashOf(book.entries) }
}

// Return what is said of a statement that is shown while more was entered; nothing where none was.
export function sinceSaid(told, { book, stops }) {
  const came = book.entries.length - told.entries
  if (came <= 0) return ""
  const many = came === 1 ? "1 entry came" : `${came} entries came`
  const stands = stops.some((one) => one.isSaid) ? " A Stop stands." : ""
  return `${many} since this was said.${stands} Say it anew.`
}

// Return the statement as text, line by line. Long lists are cut and say how much is left out: the page has it all.
export function statement(told) {
  const devices = told.devices.map(([name, last]) => `${name} ${last}`).join("; ")
  const against = told.steps > 0 ? `${told.steps} against final` : ""
  return [FORMAT,
    `station: ${told.station.id}, ${short(told.station.name)}`,
    `visit: ${told.kind}, ${told.run}`,
    `said: ${told.said}, ${plain(told.who)}`,
    `left: ${some(told.left, MOST.left).join("; ") || "no setting proved yet"}`,
    `proved: ${told.proved} of ${told.of}`,
    `open: ${some([...told.open, against].filter(Boolean).map(short), MOST.open).join("; ") || "nothing"}`,
    `deviations: ${some(told.deviations.map(short), MOST.deviations).join("; ") || "none"}`,
    `signed: ${told.signed.join("; ") || "not yet"}`,
    `seen: ${[told.seen.counts, ...some(told.seen.notes.map(short), MOST.seen)].join("; ")}`,
    `entries: ${told.entries}${told.conflicts > 0 ? ` and ${told.conflicts} in conflict` : ""}; ${devices}`,
    `hash: ${told.hash}`,
    JUDGED].join("\n")
}

// Cut a statement into parts that a code of so many bytes can hold: one where it fits, else each with its number.
export function partsOf(text, most) {
  const size = (words) => new TextEncoder().encode(words).length
  if (size(text) <= most) return [text]
  const name = sha256(text).slice(0, 8)
  const room = most - FORMAT.length - 30
  const parts = [""]
  for (const letter of text) {
    if (size(parts.at(-1)) + size(letter) > room) {
      const blanks = parts.at(-1).match(/\s*$/)[0] // whoever reads a code may drop what ends it
      parts[parts.length - 1] = parts.at(-1).slice(0, parts.at(-1).length - blanks.length)
      parts.push(blanks)
    }
    parts[parts.length - 1] += letter
  }
  return parts.map((part, at) => `${FORMAT} ${name} ${at + 1}/${parts.length}\n${part}`)
}

const escaped = (words) => String(words).replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;")
const row = (cells) => `<tr>${cells.map((one) => `<td>${escaped(one)}</td>`).join("")}</tr>`
const head = (words) => `<th>${words}</th>`
const table = (heads, rows) => `<table><tr>${heads.map(head).join("")}</tr>\n${rows.map(row).join("\n")}\n</table>`
const listed = (words, none) => (words.length > 0 ? `<ul>${words.map((one) => `<li>${escaped(one)}</li>`).join("")}</ul>`
  : `<p>${none}</p>`)
const STYLE = `body{font:1rem/1.4 serif;max-width:50rem;margin:1.5rem auto;padding:0 1rem;color:#000;background:#fff}
table{border-collapse:collapse;width:100%}td,th{text-align:left;vertical-align:top;padding:.2rem .8rem .2rem 0;border-bottom:1px solid #999}
pre{white-space:pre-wrap;overflow-wrap:anywhere;font-size:.85rem}svg{width:min(100%,24rem)}h1{font-size:1.6rem}h2{font-size:1.2rem}
@media print{details{display:none}}`

// Return the page that is handed over: readable, by itself, with every entry in it as a file of entries. lines: that file;
// codes: outlines of the codes of the statement, { path, side }; says(entry): an entry in words; plainly(words): without the
// names that only the plan uses; tells(one): what stands against final in words.
export function page(told, view, lines, codes, says, plainly = String,
  tells = (one) => `${one.statement} ${one.cure}`) {
  const text = statement(told)
  const title = `Hand-over of ${told.station.name}, ${told.said.slice(0, 10)}`
  const pictures = codes.map(({ path, side }) => `<svg viewBox="0 0 ${side} ${side}" role="img" aria-label="The statement as a `
    + `square code"><path fill="#fff" d="M0 0H${side}V${side}H0z"/><path d="${path}"/></svg>`)
  const proofs = view.proofs.map((one) => [plainly(one.words), one.state, one.when, plainly(one.because.join(" "))])
  const against = [...view.final.because, ...view.final.server].map(tells)
  const entries = view.book.entries.map((one) => [clockWords(one), one.node, says(one), one.who])
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">
<meta name="generator" content="${FORMAT}"><title>${escaped(title)}</title><style>${STYLE}</style></head><body>
<h1>${escaped(title)}</h1>
<p><b>${JUDGED}</b> This page is no certificate and permits no work. Whoever stands for the register takes it in on the page
of the visit, and checks the statement there.</p>
<pre id="statement">${escaped(text)}</pre>
${pictures.join("\n")}
<h2>As left</h2>
${listed(told.left, "No setting is proved yet.")}
<h2>Proofs</h2>
${table(["Proof", "Where it stands", "Gained", "Because"], proofs)}
<h2>Against final</h2>
${listed(against, "Nothing stands against final.")}
<h2>Deviations</h2>
${listed(told.deviations, "None.")}
<h2>Seen</h2>
<p>${escaped(told.seen.counts)}. Every one of them stands below.</p>
${listed(told.seen.notes, "No note.")}
<h2>Entries</h2>
${table(["When", "Step", "What", "Who"], entries)}
<details><summary>The entries as a file</summary><pre id="entries">${escaped(lines)}</pre></details>
</body></html>
`
}
