// Taking a visit along: its pack is fetched, kept, and read back, before anybody goes down.

import { key } from "../keys.js"
import { backKey, goKey, line } from "./parts.js"

const PATIENCE = 120_000 // how long the server may take for a pack; the first of a plan takes some seconds. Own estimate. [ms]
const AGAIN = 1000 // how often it is asked how far the pack is [ms]
const MOST_WAITING = 5 // how often it is asked while nobody works at it; then it is made at once. Own estimate. [1]

const PINNED = "pinned"
const WORDS = {
  0: ["No signal: the visit is not on this device.", "Go where there is a signal and take it along again."],
  401: ["Nobody is signed in here.", "Sign in, then take it along."],
  403: ["Your role does not reach.", "Ask for the right to look."],
  404: ["The office has no such visit.", "Open it in the office and touch Take along there."],
  422: ["This visit was left off.", "Open another one in the office."],
  [PINNED]: ["This device holds the visit with another plan.", "Its plan stays as it is: go on with it under Visits."],
}
const OTHERWISE = ["The office did not give the visit.", "Take it along again; if it stays so, take the job file."]

// Return which visit an address takes along, { key, run }; null where none. `#take=KEY/RUN`, or `?take=KEY/RUN`.
export function visitOf({ hash, search }) {
  const told = new URLSearchParams(hash.slice(1)).get("take") ?? new URLSearchParams(search).get("take") ?? ""
  const [key, run, ...rest] = told.split("/")
  return key && run && rest.length === 0 ? { key, run } : null
}

export const packAddress = ({ key, run }) =>
  `/stations/${encodeURIComponent(key)}/runs/${encodeURIComponent(run)}/field-pack`

// Where somebody signs in, and comes back to take it along.
export const signIn = (visit = null) => {
  const to = visit === null ? "/field" : `/field?take=${encodeURIComponent(`${visit.key}/${visit.run}`)}`
  return `/sign-in?to=${encodeURIComponent(to)}`
}

export function taking(desk) {
  const { at } = desk
  if (at.begun === undefined) {
    at.begun = true
    at.words = "Asking for the visit."
    taken(desk, at).catch((problem) => failed(desk, at, problem))
  }
  if (at.status === undefined) {
    return { title: "Taking the visit along", blocks: [line(at.words), at.share === undefined ? null : bar(at.share)],
      left: backKey(desk, "visits", {}, "Visits"), right: null }
  }
  const again = () => desk.show("taking", { visit: at.visit })
  const right = at.status === 401 ? key("Sign in", () => { globalThis.location.href = signIn(at.visit) },
    { kind: "go", name: "right" }) : goKey("Again", again, "take it along")
  const [problem, remedy] = WORDS[at.status] ?? OTHERWISE
  return { title: problem, blocks: [line(remedy), at.isHere ? line("An earlier one is on this device: see Visits.") : null],
    left: backKey(desk, "visits", {}, "Visits"), right }
}

const bar = (share) => {
  const found = document.createElement("progress")
  found.max = 1
  found.value = share
  found.setAttribute("aria-label", "How far it is")
  return found
}

async function taken(desk, at) {
  const pack = await packOf(at.visit, (words, share) => {
    Object.assign(at, { words, share })
    if (desk.at === at) desk.draw()
  })
  await keep(desk, pack)
  if (desk.at !== at) return
  await desk.open(pack)
  desk.show("ready")
}

// Lay the pack beside those that are here. The plan stays pinned: of one visit no second plan is taken.
async function keep(desk, pack) {
  const here = await desk.kept.pack(pack.run).catch(() => null)
  if (here !== null && here.pack.plan.sha256 !== pack.plan.sha256) throw Object.assign(new Error("plan"), { status: PINNED })
  try {
    await desk.kept.keepPack(pack.run, pack, Date.now())
  } catch {
    return // the list of what is here says so
  }
  desk.packs = await desk.kept.packs()
}

async function failed(desk, at, problem) {
  at.status = problem?.status ?? -1
  at.isHere = (await desk.kept.pack(at.visit.run).catch(() => null)) !== null
  if (desk.at === at) desk.draw()
}

// Fetch the pack; while it is being worked out, tell how far that is.
async function packOf(visit, tell) {
  const address = packAddress(visit)
  for (let idle = 0; idle < MOST_WAITING;) {
    const answer = await asked(`${address}?wait=no`)
    if (answer.status === 200) return answer.json()
    const { words, share, is_at_work: isAtWork } = await answer.json()
    tell(isAtWork ? `The office works out the ${words}.` : "The office works the visit out.", isAtWork ? share : undefined)
    idle = isAtWork ? 0 : idle + 1
    await new Promise((done) => { setTimeout(done, AGAIN) })
  }
  tell("The office works the visit out. The first time takes some seconds.", undefined)
  return (await asked(address)).json()
}

async function asked(address) {
  const stop = new AbortController()
  const timer = setTimeout(() => stop.abort(), PATIENCE)
  let answer = null
  try {
    answer = await fetch(address, { credentials: "same-origin", redirect: "manual", signal: stop.signal,
      headers: { accept: "application/json" } })
  } catch {
    throw Object.assign(new Error("no signal"), { status: 0 })
  } finally {
    clearTimeout(timer)
  }
  if (!answer.ok) throw Object.assign(new Error(`answered ${answer.status}`), { status: answer.status })
  return answer
}
