// Handing over: the certificate from the register, and the statement on the spot as a code and as a page.

import { stamp } from "../clock.js"
import { page, partsOf, sinceSaid, stated, statement } from "../handover.js"
import { issue, issuedOf, lacking, unwish, wish, wished, WORDS } from "../issuing.js"
import { el, told } from "../keys.js"
import { codeOf, codePicture, mostBytes, outline } from "../pictures/code.js"
import { againstLine, againstWords } from "./against.js"
import { dayWords, timeWords } from "../saying.js"
import { backKey, choices, goKey, inPlainWords, line, problems, saidHere } from "./parts.js"
import { ofPaper, savedAs } from "./saving.js"

const LARGEST = 27 // version of a code whose modules a camera still sees on a narrow phone. Own estimate.
const MARK = { issued: "holds", refused: "struck", unsigned: "struck", loose: "slipped" }

// The certificate: what it is, or why it is not there yet.
export function certificate(desk) {
  const { at } = desk
  if (at.read === undefined) {
    read(desk).then((found) => { if (desk.at === at) desk.show("certificate", found) })
    return { title: "Certificate", blocks: [line("Reading back.")], left: backKey(desk, "hand"), right: null }
  }
  return at.issued ? issued(desk) : asked(desk)
}

async function read(desk) {
  const { kept, pack } = desk
  return { read: true, issued: await issuedOf(kept, pack.run), wish: await wished(kept, pack.run) }
}

function issued(desk) {
  const { issued: one, told: news } = desk.at
  const head = one.head ? `Link ${one.link} of the register, hash ${one.head}.` : "It names no chain of a register."
  const newer = desk.counts.unsent > 0 || desk.view.book.entries.length > (one.entries ?? Infinity)
  const blocks = [...problems(desk), news ? told(MARK[news.state] ?? "due", news.words) : null,
    line(`${one.number}, revision ${one.revision}, ${one.standing}`, "large"), line(head, "hash"),
    newer ? told("due", "Entries came since: issue it once more.") : null,
    one.bytes ? told("holds", "The paper is on this device.") : told("slipped", WORDS.loose),
    ...one.prove.map((words) => line(words))]
  const again = { words: "Issue again", small: "after more entries", press: () => ask(desk) }
  const save = { words: "Save the paper", small: one.name, press: () => savedAs(desk,
    { name: one.name, content: one.bytes, media: "application/pdf", keys: [], said: ofPaper(desk) }) }
  return { title: "Certificate", blocks, extra: choices([again, ...(one.bytes ? [save] : [])]), left: backKey(desk, "hand"),
    right: one.bytes ? goKey("Open the paper", () => open(one), "PDF") : null }
}

function open(one) {
  const address = URL.createObjectURL(new Blob([one.bytes], { type: "application/pdf" }))
  globalThis.open(address, "_blank")
  setTimeout(() => URL.revokeObjectURL(address), 600_000)
}

function asked(desk) {
  const { at, view, counts } = desk
  const lacks = lacking({ address: desk.address(desk.pack), counts, view })
  const sign = view.signs.filter((one) => one.stands).at(-1)
  const news = at.told ?? null
  const against = (news?.against ?? []).map((one) => againstLine(desk, { ...one, severity: "stop" }))
  const stands = news === null ? againstHere(desk, sign) : []
  const accepted = view.accepted.map((one) => told("due", el("b", {}, `${inPlainWords(desk, one.subject)}: `), "accepted by a deviation."))
  const blocks = [...problems(desk), sign ? line(`Signed as ${sign.asks}, ${sign.who}.`, "large") : null,
    news ? told(MARK[news.state] ?? "due", news.words) : lacks ? told(MARK[lacks] ?? "due", WORDS[lacks]) : null,
    at.wish ? told("due", `${WORDS.asked} Since ${dayWords(at.wish.at)}, ${timeWords(at.wish.at).slice(0, 5)}, ${at.wish.who}.`) : null,
    ...against, ...stands, ...accepted,
    sign?.asks === "provisional" ? told("unknown", "Provisional is not final: it says what is open.") : null]
  const drop = at.wish ? choices([{ words: "Do not issue", small: "the wish is dropped",
    press: async () => { await unwish(desk.kept, desk.pack.run); desk.show("certificate") } }]) : []
  const go = lacks === "unsigned" ? goKey("Sign", () => desk.show("final")) : lacks === "local"
    ? goKey("Save the page", () => desk.show("statement"), "for the office")
    : goKey("Issue", () => ask(desk), lacks === "unsent" ? "at sync" : sign?.asks ?? "")
  return { title: "Certificate", blocks, extra: drop, left: backKey(desk, "hand"), right: at.isAsking ? null : go }
}

// What stands against final by the device's own judgement, where it was signed as such.
function againstHere(desk, sign) {
  const { view } = desk
  if (sign?.asks === "provisional" || view.final.is) return []
  return [...view.final.because, ...view.final.server].map((one) => againstLine(desk, { ...one, severity: "stop" }, false))
}

// Ask now, or keep the wish until everything is sent.
async function ask(desk) {
  const { kept, pack, view, counts } = desk
  const address = desk.address(pack)
  const sign = view.signs.filter((one) => one.stands).at(-1)
  await wish(kept, pack.run, { who: desk.who, asks: sign?.asks ?? "", at: stamp(desk.now()).t_device })
  if (lacking({ address, counts, view })) {
    desk.show("certificate")
    desk.outbox?.send()
    return
  }
  const news = { state: "asking", words: WORDS.asking }
  desk.show("certificate", { read: true, issued: null, wish: null, isAsking: true, told: news })
  const found = await issue({ kept, run: pack.run, address })
  if (desk.at.screen === "certificate") desk.show("certificate", { ...await read(desk), told: found })
}

// After a sync: what was wished for is asked, once everything is sent.
export async function grant(desk) {
  const { kept, pack, counts, view } = desk
  if (await wished(kept, pack.run) === null || lacking({ address: desk.address(pack), counts, view })) return
  const found = await issue({ kept, run: pack.run, address: desk.address(pack) })
  if (desk.pack?.run !== pack.run) return
  if (desk.at.screen === "certificate") desk.show("certificate", { ...await read(desk), told: found })
  else if (found.state === "issued") desk.say("The certificate is issued.")
}

// What is stated of the visit as it stands now.
function sayNow(desk) {
  const now = stamp(desk.now()).t_device.replace(/\.\d+/, "")
  return stated(desk.pack, desk.plan, desk.view, desk.who, now)
}

// The statement as a code that a camera reads, and as a page that is saved in one touch.
export function statementOf(desk) {
  const { at } = desk
  at.told ??= sayNow(desk)
  const text = statement(at.told)
  const parts = codeOf(text, LARGEST) === null ? partsOf(text, mostBytes(LARGEST)) : [text]
  const index = Math.min(at.index ?? 0, parts.length - 1)
  const code = codeOf(parts[index], LARGEST)
  const on = () => desk.show("statement", { told: at.told, index: (index + 1) % parts.length })
  const more = parts.length > 1 ? goKey("Next code", on, `${index + 1} of ${parts.length}`) : goKey("Save the page", () => keep(desk), "one touch")
  const save = parts.length > 1 ? [{ words: "Save the page", press: () => keep(desk) }] : []
  const since = sinceSaid(at.told, desk.view)
  const anew = { words: "Say it anew", small: "a new code", press: () => desk.show("statement") }
  const words = { words: "Read it here", press: () => desk.show("stated", { told: at.told }) }
  return { title: parts.length > 1 ? `Statement, code ${index + 1} of ${parts.length}` : "Statement",
    blocks: [...problems(desk), el("div", { class: "code" }, codePicture(code, text)), since ? told("due", since) : null,
      line("Another phone's camera reads it as text. It is no certificate.")],
    extra: choices([...(since ? [anew] : []), words, ...save]), left: backKey(desk, "hand"), right: more }
}

// The same in words.
export function statedHere(desk) {
  desk.at.told ??= sayNow(desk)
  const [, ...rows] = statement(desk.at.told).split("\n")
  return { title: "Statement", blocks: rows.map((row) => line(row, "stated")),
    left: backKey(desk, "statement", { told: desk.at.told }), right: goKey("Save the page", () => keep(desk), "one touch") }
}

// Save the page with every entry, which the register takes in; its entries count as saved once it is sure that it is there.
async function keep(desk) {
  const { kept, pack, view } = desk
  const one = sayNow(desk)
  const { text, keys } = await kept.file(pack.run)
  const words = statement(one)
  const parts = codeOf(words, LARGEST) === null ? partsOf(words, mostBytes(LARGEST)) : [words]
  const codes = parts.map((part) => outline(codeOf(part, LARGEST)))
  const made = page(one, view, text, codes, (entry) => saidHere(desk, entry), (told) => inPlainWords(desk, told),
    (one) => againstWords(desk, one))
  const name = `${one.station.id}-${one.said.slice(0, 10)}-hand-over.html`.replace(/[^\w.-]+/g, "-")
  await savedAs(desk, { name, content: made, media: "text/html", keys })
}
