// Keeps the field page on the device, so that it opens without a signal. Served as `/field/sw.js` with scope `/field`; the
// server puts `const BUILD = "digest"`, `const PAGE = "/field"`, `const FILES = [addresses]` before it.
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
    await store.addAll([PAGE, ...FILES].map((address) => new Request(address, { cache: "no-cache", redirect: "error" })))
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

// Throw away builds that are neither shown nor the newest.
async function tidied() {
  const kept = [storeOf((await shown()) ?? BUILD), storeOf(BUILD)]
  const names = await caches.keys()
  await Promise.all(names.filter((name) => OURS.test(name) && !kept.includes(name)).map((name) => caches.delete(name)))
}

// A page asks { say: "build" } and is answered { shown, newest }, or says { say: "take over", unsent: count of entries }
// and is answered { is }: whether the newest build is shown from its next opening on. Both come with a port.
self.addEventListener("message", (event) => event.waitUntil(answered(event.data ?? {}, event.ports[0])))

async function answered({ say, unsent }, port) {
  if (say === "build") port?.postMessage({ shown: await shown(), newest: BUILD })
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
