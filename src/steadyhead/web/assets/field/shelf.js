// Where a device keeps things: a database of the browser, or its memory where the browser refuses one. Both take the same
// pieces of work: `write` all of it or nothing, `read` what is there.

const VERSION = 1
export const STORES = { entries: "key", sent: "key", refused: "key", photos: "key", packs: "run", state: "name" }
const BY_RUN = ["entries", "photos"]

const asked = (request) => new Promise((done, failed) => {
  request.onsuccess = () => done(request.result)
  request.onerror = () => failed(request.error)
})

const ended = (transaction) => new Promise((done, failed) => {
  transaction.oncomplete = () => done()
  transaction.onabort = () => failed(transaction.error ?? new DOMException("It was not kept.", "AbortError"))
})

// Open the database of the browser. Throws what the browser says where it refuses.
export async function openShelf(name, factory) {
  const shelf = new Shelf(name, factory)
  await shelf.open()
  return shelf
}

class Shelf {
  constructor(name, factory) {
    this.name = name
    this.factory = factory
    this.database = null
  }

  async open() {
    const request = this.factory.open(this.name, VERSION)
    request.onupgradeneeded = () => {
      for (const [store, key] of Object.entries(STORES)) {
        const made = request.result.createObjectStore(store, { keyPath: key })
        if (BY_RUN.includes(store)) made.createIndex("run", "run")
      }
    }
    const found = await asked(request)
    found.onversionchange = () => found.close()
    found.onclose = () => { this.database = null }
    this.database = found
    return found
  }

  async begin(stores, mode) {
    const how = mode === "readwrite" ? { durability: "strict" } : {}
    try {
      return (this.database ?? await this.open()).transaction(stores, mode, how)
    } catch (problem) {
      if (problem.name !== "InvalidStateError") throw problem
      return (await this.open()).transaction(stores, mode, how) // the browser had closed it meanwhile
    }
  }

  // Do a piece of work that writes: it counts only once the browser says that it is on the disk.
  async write(stores, work) {
    const transaction = await this.begin(stores, "readwrite")
    const end = ended(transaction)
    end.catch(() => {}) // told below, once
    let found
    try {
      found = await work(new Hand(transaction))
    } catch (problem) {
      try {
        transaction.abort()
      } catch {
        // it has ended already
      }
      throw transaction.error ?? problem
    }
    await end
    return found
  }

  async read(stores, work) {
    return work(new Hand(await this.begin(stores, "readonly")))
  }
}

// What a piece of work may do inside its transaction.
class Hand {
  constructor(transaction) {
    this.transaction = transaction
  }

  get(store, key) { return asked(this.transaction.objectStore(store).get(key)) }

  put(store, row) { return asked(this.transaction.objectStore(store).put(row)) }

  all(store, run = null) {
    const from = this.transaction.objectStore(store)
    return asked(run === null ? from.getAll() : from.index("run").getAll(run))
  }
}

// The same in memory: lost with the page.
export class MemoryShelf {
  constructor() {
    this.rows = new Map(Object.keys(STORES).map((store) => [store, new Map()]))
    this.before = Promise.resolve()
  }

  write(stores, work) {
    const mine = this.before.then(() => work(this))
    this.before = mine.catch(() => {})
    return mine
  }

  read(stores, work) { return work(this) }

  get(store, key) { return this.rows.get(store).get(key) }

  put(store, row) { this.rows.get(store).set(row[STORES[store]], row) }

  all(store, run = null) {
    return [...this.rows.get(store).values()].filter((row) => run === null || row.run === run)
  }
}
