// Draws every screen of the field page without a browser and gathers what it says: `result` is a list of [screen, words].
// Imports and `data` ({ pack, runs, steps }) stand before it: test_machine_words.py.

class Fake {
  constructor(name) { Object.assign(this, { name, parts: [], given: {}, listeners: {}, style: {} }) }
  append(...parts) { this.parts.push(...parts) }
  replaceChildren(...parts) { this.parts = parts }
  setAttribute(name, value) { this.given[name] = value }
  getAttribute(name) { return this.given[name] ?? null }
  addEventListener(name, work) { this.listeners[name] = work }
  get firstChild() { return this.parts[0] }
  get classList() { return { add() {}, contains: (name) => (this.given.class ?? "").split(" ").includes(name) } }
  get words() {
    const inner = this.parts.map((one) => (one instanceof Fake ? one.words : String(one))).join(this.name === "span" ? "" : " ")
    return `${this.given["aria-label"] ?? ""} ${inner}`
  }
}
globalThis.document = { createElement: (name) => new Fake(name), createElementNS: (_, name) => new Fake(name),
  documentElement: new Fake("html") }
globalThis.getComputedStyle = () => ({ paddingLeft: "0", paddingRight: "0", fontSize: "16" })

const flat = (what) => [what].flat(9).filter((one) => one instanceof Fake)
const wordsOf = (spec) => [spec.title, spec.alarm, ...flat([spec.blocks, spec.extra, spec.left, spec.middle, spec.right, spec.pad])
  .map((one) => one.words)].filter(Boolean).join(" | ")
const plan = planOf(data.pack)
const found = []
function deskOf(view, way) {
  const said = []
  const desk = { pack: data.pack, plan, view, way, said, table: data.pack.units, at: {}, draft: {}, problem: [], held: null, step: view.step?.id ?? "",
    kept: { device: "tab-1", kind: "stored" }, counts: { all: 9, unsent: 2, unsaved: 0, kept: 9 }, told: { state: "local", words: "" },
    who: "Tam Oduya", packs: [], light: "", server: null, address: () => "", isClockAsked: false, outbox: null,
    frame: { root: new Fake("div"), main: new Fake("main") }, now: () => newClock(Date.parse("2027-05-01T10:00:00Z"), 0, null),
    show(screen, more = {}) { said.push([screen, more]) }, go() {}, draw() {}, say() {}, keepWay: async () => {}, enter: async () => false }
  Object.defineProperty(desk, "book", { get: () => view.book })
  return desk
}
const tried = (desk, name, screen, at) => {
  desk.at = { screen: name, ...at }
  const spec = screen(desk)
  found.push([`${desk.step} ${name}`, wordsOf(spec)])
  return spec
}
for (const entries of data.runs) {
  for (const step of entries === data.runs[1] ? data.steps : []) {
    const view = see(data.pack, plan, entries, null, { step })
    const desk = deskOf(view, { who: "Tam Oduya", isThrough: true })
    tried(desk, "step", stepScreen)
    if (view.step !== null && step === view.step.id) {
      tried(desk, "back", back)
      tried(desk, "causes", causes)
      tried(desk, "again", again)
      for (const input of view.step.inputs) if (["yes_no", "text", "photo"].includes(input.kind)) tried(desk, "answer", answer, { input: input.name })
      tried(desk, "entries", entriesOf, { step })
    }
  }
  const view = see(data.pack, plan, entries, null, {})
  const desk = deskOf(view, { who: "Tam Oduya", isThrough: true })
  for (const [name, screen] of Object.entries({ proofs, final, hand, deviate, lastLook, morning, cocksAgain, today, steps, rules, more, stopped, statedHere, cocks, before })) tried(desk, name, screen)
  const kinds = new Map(view.book.forms.map((row) => [`${row.kind} ${row.payload.input ?? row.payload.thing ?? row.payload.of}`, row]))
  for (const row of kinds.values()) {
    tried(desk, "entry", entry, { id: row.id })
    if (!["run", "person", "sign", "void", "photo", "deviation"].includes(row.kind)) tried(desk, "correct", correct, { id: row.id })
  }
  for (const [group, verb] of [["touches", "raise"], ["guards", "isolate"], ["touches", "clean"], ["moves", "open"]]) {
    tried(desk, "doing", doing, { group, verb })
    for (const part of view.book.names.parts) {
      tried(desk, "doing", doing, { group, verb, part })
      const things = view.book.things.filter((one) => one.startsWith(`${part}.`))
      for (const thing of things.slice(0, 4)) tried(desk, "doing", doing, { group, verb, part, thing })
    }
  }
  const stated_ = stated(data.pack, plan, view, "Tam Oduya", "2027-05-01T10:00:00+00:00")
  const made = page(stated_, view, "", [], (one) => saidPlainly(data.pack, plan, one), (words) => withoutNames(data.pack, plan, words),
    (one) => againstWords(desk, one))
  found.push(["page", made.slice(made.indexOf("</h1>")).replace(/<[^>]+>/g, " ")])
  const meaning = view.against.map((one) => againstWords(desk, one))
  found.push(["said", meaning.join(" | ")])
}
result = found
