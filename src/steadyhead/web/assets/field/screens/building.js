// Which build of the page is shown, whether all of it is on the device, and whether a newer one waits: it takes over only
// with nothing unsent.

const PATIENCE = 2000 // how long the worker may take to answer. Own estimate. [ms]
const MOST_KEEPING = 60_000 // how long the device may take to keep the page. Own estimate. [ms]
const SCOPE = "/field"

// Have the browser keep the page on the device. Resolves to "" once the worker controls it, else to why it does not.
export async function keepPage() {
  const keeper = globalThis.navigator?.serviceWorker
  if (!keeper) return globalThis.isSecureContext ? NOT_KEPT.browser : NOT_KEPT.address
  try {
    await keeper.register(`${SCOPE}/sw.js`, { scope: SCOPE })
  } catch {
    return keeper.controller ? "" : NOT_KEPT.refused // without a signal the worker of before goes on
  }
  return within(MOST_KEEPING, controlled(keeper)).then((is) => (is ? "" : NOT_KEPT.late))
}

export const NOT_KEPT = {
  browser: "This browser keeps no pages: keep this one open, or take the job file.",
  address: "The address is not https: the page cannot be opened again without a signal. Keep it open, or take the job file.",
  refused: "The browser did not take the page: open it again with a signal, or take the job file.",
  late: "The page is still coming in: stay where there is a signal, then look again.",
}

function controlled(keeper) {
  if (keeper.controller) return Promise.resolve(true)
  return new Promise((done) => { keeper.addEventListener("controllerchange", () => done(true), { once: true }) })
}

function within(most, promise) {
  let timer = null
  const late = new Promise((done) => { timer = setTimeout(() => done(false), most) })
  return Promise.race([promise, late]).finally(() => clearTimeout(timer))
}

// Ask the worker that keeps the page; null where there is none, or it does not answer. which: "newest" for the one that
// waits, "shown" for the one at work.
export async function askWorker(message, which = "newest", patience = PATIENCE) {
  const worker = globalThis.navigator?.serviceWorker
  const there = await worker?.getRegistration(SCOPE).catch(() => undefined)
  const asked = which === "newest" ? there?.waiting ?? there?.active : there?.active
  if (!asked) return null
  return new Promise((answer) => {
    const { port1, port2 } = new MessageChannel()
    port1.onmessage = ({ data }) => answer(data)
    setTimeout(() => answer(null), patience)
    asked.postMessage(message, [port2])
  })
}

// Whether a newer build is on the device and waits.
export async function isNewerThere() {
  const told = await askWorker({ say: "build" })
  return told !== null && told.shown !== null && told.shown !== told.newest
}

// Let the newer build be shown from the next opening on; false where entries are unsent, or nobody answers.
export async function takeOver(kept) {
  const unsent = (await kept.unsentRuns()).length
  const told = unsent === 0 ? await askWorker({ say: "take over", unsent: 0 }) : null
  return told?.is === true
}
