// Which build of the page is shown, and whether a newer one waits: it takes over only with nothing unsent.

const PATIENCE = 2000 // how long the worker may take to answer. Own estimate. [ms]

// Ask the worker that keeps the page; null where there is none, or it does not answer.
export async function askWorker(message) {
  const worker = globalThis.navigator?.serviceWorker
  const there = await worker?.getRegistration("/field").catch(() => undefined)
  const asked = there?.waiting ?? there?.active
  if (!asked) return null
  return new Promise((answer) => {
    const { port1, port2 } = new MessageChannel()
    port1.onmessage = ({ data }) => answer(data)
    setTimeout(() => answer(null), PATIENCE)
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
