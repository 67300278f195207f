// Keeps the field page on the device, so that it opens without a signal. Served as `/field/sw.js` with scope `/field`; the
// server puts `const BUILD = "digest"`, `const PAGE = "/field"`, `const FILES = { address: SHA-256 }` before it, the page
// among them.
//
// A build is taken whole or not at all. Which build is shown stands in a store of its own: a newer one is shown only when
// a page says `take over` with no entry unsent, not even after every page was closed. Nothing changes under the hands of
// somebody who has work on the device.

const NOW = "field now"
const ROOM = "/field/assets/"
const OURS = /^field [0-9a-f]+$/
const storeOf = (build) => `field ${build}`

self.addEventListener("install", (event) => event.waitUntil(taken()))
self.addEventListener("activate", (event) => event.waitUntil(tidied().then(() => self.clients.claim())))

async function taken() {
  const store = await caches.open(storeOf(BUILD))
  try {
    await store.addAll(Object.keys(FILES).map((address) => new Request(address, { cache: "no-cache", redirect: "error" })))
    if ((await readBack(storeOf(BUILD))).wrong.length > 0) throw new Error("a file came otherwise than the server has it")
  } catch (problem) {
    if ((await shown()) !== BUILD) await caches.delete(storeOf(BUILD))
    throw problem
  }
  if ((await shown()) === null) await show(BUILD)
}

// Return the build that is shown; null where none is, or where the browser threw it away.
async function shown() {
  const told = await caches.match(PAGE, { cacheName: NOW })
  const build = told === undefined ? "" : await told.text()
  return build !== "" && await caches.has(storeOf(build)) ? build : null
}

async function show(build) {
  const store = await caches.open(NOW)
  await store.put(PAGE, new Response(build))
}

// Read every file of this build back from the device, and hold it against its digest. Returns { count, wrong: addresses }.
async function readBack(name) {
  const store = await caches.open(name)
  const wrong = []
  for (const [address, digest] of Object.entries(FILES)) {
    const there = await store.match(address)
    const found = there === undefined ? "" : await digestOf(await there.arrayBuffer())
    if (found !== digest) wrong.push(address)
  }
  return { count: Object.keys(FILES).length, wrong }
}

// The same of the build that is shown; of one before this worker's its digests are not known, and its files are counted.
async function readBackShown() {
  const build = (await shown()) ?? BUILD
  if (build === BUILD) return readBack(storeOf(BUILD))
  const store = await caches.open(storeOf(build))
  return { count: (await store.keys()).length, wrong: [] }
}

async function digestOf(bytes) {
  const found = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes))
  return [...found].map((one) => one.toString(16).padStart(2, "0")).join("")
}

// Throw away builds that are neither shown nor the newest.
async function tidied() {
  const kept = [storeOf((await shown()) ?? BUILD), storeOf(BUILD)]
  const names = await caches.keys()
  await Promise.all(names.filter((name) => OURS.test(name) && !kept.includes(name)).map((name) => caches.delete(name)))
}

// A page asks { say: "build" } and is answered { shown, newest }, or says { say: "take over", unsent: count of entries }
// and is answered { is }: whether the newest build is shown from its next opening on. { say: "read back" } is answered
// { count, wrong }: files of the build that is shown, and those that are not on the device as they came. All come with a
// port.
self.addEventListener("message", (event) => event.waitUntil(answered(event.data ?? {}, event.ports[0])))

async function answered({ say, unsent }, port) {
  if (say === "build") port?.postMessage({ shown: await shown(), newest: BUILD })
  if (say === "read back") port?.postMessage(await readBackShown())
  if (say !== "take over") return
  const is = unsent === 0
  if (is) {
    await show(BUILD)
    await self.skipWaiting()
    await tidied()
  }
  port?.postMessage({ is })
}

// Only the page and its files come from the store; all else goes its way to the server.
self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url)
  if (event.request.method !== "GET" || origin !== self.location.origin) return
  if (pathname === PAGE || pathname.startsWith(ROOM)) event.respondWith(found(event.request, pathname))
})

async function found(request, pathname) {
  const build = await shown()
  const kept = build === null ? undefined : await caches.match(pathname, { cacheName: storeOf(build) })
  return kept ?? fetch(request)
}
