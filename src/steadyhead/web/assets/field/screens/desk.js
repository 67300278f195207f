// What the field page holds while a visit is open: its pack, its entries, the view of them, and which screen is shown.

import { newClock, goOn, keptOf, saidRight, timeOf } from "../clock.js"
import { Refused, begin, person } from "../entering.js"
import { VERDICTS, shake } from "../keys.js"
import { made } from "../making.js"
import { meant, planOf, see } from "../view.js"
import { againstWords } from "./against.js"
import { draw, frameIn, nameStation, nameStep, syncLine } from "./frame.js"
import { heldBefore, keepHeld, letGo } from "./holding.js"
import { isMorning } from "./nights.js"
import { fieldWords } from "./parts.js"
import { asItStands, outboxOf, sendOnce } from "./sending.js"
import { stopsHere } from "./stopped.js"

const LOCAL = { state: "local", words: "" } // no server: a file alone
const LIGHTS = ["film", "lamp", "sun"]
const FELT = { inside: 40, outside: [80, 60, 80] } // how long it shakes [ms]. Own choice.

export class Desk {
  // screens: by name, each a function of this desk; address(pack): where a visit is sent, "" for nowhere.
  constructor(root, kept, screens, address) {
    Object.assign(this, { kept, screens, address, frame: frameIn(root), pack: null, plan: null, view: null, outbox: null,
      at: { screen: "visits" }, page: 0, step: "", way: {}, draft: {}, held: null, problem: [], told: LOCAL, packs: [], timer: null,
      isHidden: false, isBusy: false, counts: { all: 0, unsent: 0, refused: 0, unsaved: 0 } })
    kept.listen((run) => { if (run === this.pack?.run && !this.isBusy) this.refresh().then(() => this.heeds() || this.draw()) })
    for (const name of ["online", "offline"]) globalThis.addEventListener(name, () => this.line())
    document.addEventListener("visibilitychange", () => { this.isHidden ||= document.hidden; this.wakes() })
  }

  async begin() {
    this.clock = newClock(Date.now(), performance.now(), await this.kept.state("clock"))
    this.light = await this.kept.state("light") ?? ""
    this.lit()
    this.packs = await this.kept.packs()
    this.draw()
  }

  // A page that lay open over a night begins the day with where the work stood.
  wakes() {
    if (!document.hidden && this.view !== null && this.at.screen !== "morning" && isMorning(this)) this.show("morning")
  }

  // The clock gone on to now.
  now() {
    this.clock = goOn(this.clock, Date.now(), performance.now(), this.isHidden)
    this.isHidden = document.hidden
    return this.clock
  }

  get isClockAsked() { return this.now().gap !== 0 }

  clockIsRight() { this.clock = saidRight(this.now()) }

  get who() { return this.way.who ?? "" }

  get table() { return this.pack.units }

  get book() { return this.view.book }

  // Open a visit that was taken along. The pack that is on the device counts: a plan stays pinned to its run.
  async open(pack) {
    const here = await this.kept.pack(pack.run)
    if (here === null) await this.keep(pack)
    else if (here.pack.plan.sha256 === pack.plan.sha256 && pack.entries?.length > 0) {
      await this.kept.takeIn(pack.run, pack.entries, "server")
    }
    this.pack = here?.pack ?? pack
    this.plan = planOf(this.pack)
    this.step = ""
    this.draft = {}
    this.held = await heldBefore(this.kept, pack.run)
    this.way = await this.kept.state(`way ${pack.run}`) ?? {}
    this.server = await this.kept.state(`server ${pack.run}`)
    this.send()
    await this.refresh()
    this.show(isMorning(this) ? "morning" : !this.way.isThrough ? "ready" : this.held !== null ? "stopped" : "step")
    if (this.at.screen !== "morning") this.heeds()
  }

  async keep(pack) {
    try {
      await this.kept.keepPack(pack.run, pack, Date.now())
    } catch {
      this.isPackLoose = true // it is in memory for this page; the readiness list says so
    }
  }

  send() {
    this.outbox?.stop()
    this.outbox = outboxOf(this, this.pack, this.plan, () => this.who, (told) => this.heard(told))
    this.outbox?.start()
  }

  // Send a visit that need not be open, once. Resolves to what is told of it.
  sendOnce(pack) { return sendOnce(this, pack) }

  async heard(told) {
    this.told = told
    this.server = told.server ?? this.server
    this.counts = await this.kept.counts(this.pack.run)
    if (told.server !== null && told.state !== "sending") await this.refresh()
    if (told.state === "idle") this.granted?.(this)
    if (!this.heeds() && this.at.screen === "hand") this.draw()
    this.line()
  }

  keepClock() { return this.kept.setState("clock", keptOf(this.clock)) }

  async keepWay(more) {
    this.way = { ...this.way, ...more }
    await this.kept.setState(`way ${this.pack.run}`, this.way)
  }

  async refresh() {
    const rows = await this.kept.entries(this.pack.run)
    const entries = rows.map((one) => one.entry).filter((one) => one !== null)
    const server = this.server ?? null
    this.view = see(this.pack, this.plan, entries, timeOf(this.now()), { step: this.step, server })
    this.counts = await this.kept.counts(this.pack.run)
  }

  // A Stop that was said, or that another device came to, takes this one from its work; what is typed waits beside it. So
  // does each further one. Returns whether one did.
  heeds() {
    const standing = this.way.isThrough ? stopsHere(this).map((one) => one.entry) : []
    if (standing.every((one) => this.held?.known.includes(one))) return false
    if (this.held === null) {
      this.held = { step: this.step, at: { ...this.at }, draft: this.draft, page: this.page }
      keepHeld(this)
    }
    this.held.known = standing
    this.show("stopped")
    this.say(this.spec.alarm)
    shake(FELT.outside)
    return true
  }

  // Back to what was under way before a Stop.
  async resume() {
    await letGo(this)
    const { step, at, draft } = this.held ?? { step: this.step, at: { screen: "step" }, draft: {} }
    Object.assign(this, { held: null, step, draft })
    await this.refresh()
    const shown = at.screen === "rules" ? { screen: "step" } : at // a Stop was said there: no second one by the same touch
    this.show(shown.screen, shown)
  }

  // Show another screen. more: what it is about.
  show(screen, more = {}) {
    const isOver = this.held !== null && screen === "step" && this.view.stops.every((one) => one.isSaid || one.step !== this.step)
    this.at = isOver ? { screen: "stopped" } : { screen, ...more }
    this.page = 0
    this.problem = []
    this.draw()
    this.frame.main.focus()
  }

  // Go to a step, or to the next one.
  async go(step = "") {
    this.step = step
    this.draft = {}
    await this.refresh()
    this.step = this.view.step?.id ?? ""
    this.show(this.step ? "step" : "final")
  }

  // Enter what `make` gives; what cannot be used is told on the screen it came from. Returns whether it was entered.
  // A second touch while one is under way enters nothing.
  async enter(make) {
    if (this.isBusy) return false
    this.isBusy = true
    try {
      return await this.entered(make)
    } finally {
      this.isBusy = false
    }
  }

  async entered(make) {
    let drafts = []
    try {
      drafts = make()
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem
      this.problem = problem.problems.map((one) => `${fieldWords(this, one.field)}: ${one.problem} ${one.remedy}`)
      this.draw()
      this.say(this.problem.join(" "))
      return false
    }
    const before = this.view
    const who = this.who || drafts.find((one) => one.kind === "person")?.payload.name || ""
    const by = { run: this.pack.run, who, clock: this.now() }
    const found = await this.kept.add(this.pack.run, (last, device) => made(drafts, { ...by, last, device }))
    await this.keepClock()
    await this.refresh()
    const isLoose = !found.kept && this.kept.kind !== "memory" // a disk that took entries before takes this one not
    this.tell(meant(before, this.view, found.entries.map((one) => one.id)), isLoose ? found.why : "Entered.")
    this.problem = isLoose ? [found.why] : []
    this.outbox?.send()
    return true
  }

  // Whoever works now: the run is begun with the first of them.
  async take(name, more = {}) {
    const { book } = this
    const known = (this.pack.people ?? []).find((one) => one.name === name) ?? {}
    const given = { role: known.role ?? "", authorised_until: known.authorised_until ?? "", ...more }
    const fresh = book.persons.includes(name) ? [] : person(book, { name, ...given })
    const first = book.isBegun ? [] : begin(book, { purpose: this.pack.purpose ?? "" })
    this.way = { ...this.way, who: name }
    if (fresh.length + first.length > 0) await this.enter(() => [...first, ...fresh])
    await this.keepWay({ who: name })
  }

  // Say what an entry means, by words and by hand; none: what is said where it means nothing, or first where it is not kept.
  tell({ bands, amiss }, none) {
    const told = [...bands.map((one) => `${one.label} ${one.verdict.words}: ${VERDICTS[one.verdict.where] ?? ""}`),
      ...amiss.map((one) => againstWords(this, one, false))]
    this.say((none === "Entered." ? told.join(" ") : [none, ...told].join(" ")) || none)
    shake(amiss.length > 0 || bands.some((one) => one.verdict.where === "outside") ? FELT.outside : FELT.inside)
  }

  say(words) { this.frame.said.textContent = words }

  line() { syncLine(this.frame, asItStands(this.told, globalThis.navigator?.onLine, this.counts), this.counts, this.kept.kind === "stored") }

  draw() {
    clearInterval(this.timer)
    const spec = this.spec = this.screens[this.at.screen](this)
    const { frame, pack, view } = this
    nameStation(frame, pack?.station?.name ?? this.plan?.station_name ?? "Visits")
    nameStep(frame, this.at.screen, view?.step ?? null)
    this.line()
    draw(frame, spec, this.page, (page) => { this.page = page; this.draw() })
    document.title = `${spec.alarm ? "Stop" : spec.title || "Visit"} · steadyhead`
    if (spec.tick) this.timer = setInterval(() => spec.tick(), 200)
  }

  // The other light: film, lamp, sun, one after the other.
  async turnLight() {
    this.light = LIGHTS[(LIGHTS.indexOf(this.light || "film") + 1) % LIGHTS.length]
    this.lit()
    await this.kept.setState("light", this.light)
    this.draw()
  }

  lit() { if (this.light) document.documentElement.dataset.light = this.light }
}
