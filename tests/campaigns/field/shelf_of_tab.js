// What a tab sees of the disk: as much of the standard's database as the store of the device asks for.

let count = 0

class Request {
  constructor() { Object.assign(this, { result: undefined, error: null, onsuccess: null, onerror: null }) }
}

class Transaction {
  constructor(base, mode) {
    count += 1
    Object.assign(this, { base, tx: count, mode, waiting: new Map(), isOver: false, error: null, oncomplete: null,
      onabort: null })
    base.open.set(this.tx, this)
    base.post({ tx: this.tx, begin: mode })
    this.settle()
  }

  objectStore(name) { return new Store(this, name) }

  ask(message) {
    if (this.isOver) throw new DOMException("The transaction is over.", "TransactionInactiveError")
    const made = new Request()
    count += 1
    this.waiting.set(count, made)
    this.base.post({ ...message, tx: this.tx, request: count })
    return made
  }

  abort() {
    if (this.isOver) throw new DOMException("The transaction is over.", "InvalidStateError")
    this.isOver = true
    this.base.post({ tx: this.tx, abort: true })
  }

  // Once nothing is asked any more and nobody has asked again, it is handed in.
  settle() {
    setImmediate(() => {
      if (this.isOver || this.waiting.size > 0) return
      this.isOver = true
      this.base.post({ tx: this.tx, commit: true })
    })
  }

  hear({ request, result, error, complete, aborted }) {
    if (complete || aborted) {
      this.base.open.delete(this.tx)
      this.isOver = true
      if (error) this.error = new DOMException(error.message, error.name)
      if (complete) this.oncomplete?.({})
      else this.onabort?.({})
      return
    }
    const made = this.waiting.get(request)
    this.waiting.delete(request)
    if (error) {
      made.error = new DOMException(error.message, error.name)
      this.error = made.error
      made.onerror?.({})
      setImmediate(() => { if (!this.isOver) this.abort() })
      return
    }
    made.result = result
    made.onsuccess?.({})
    this.settle()
  }
}

class Store {
  constructor(transaction, name) { Object.assign(this, { transaction, name }) }

  get(key) { return this.transaction.ask({ op: "get", store: this.name, key }) }

  put(row) {
    if (this.transaction.mode !== "readwrite") throw new DOMException("It is only read.", "ReadOnlyError")
    return this.transaction.ask({ op: "put", store: this.name, row })
  }

  getAll(run) { return this.transaction.ask({ op: "all", store: this.name, run }) }

  index() { return { getAll: (run) => this.getAll(run) } }
}

// The factory a tab opens its database with. post(message): how the disk is asked; returns it with `hear(message)`.
export function factoryOf(post) {
  const base = { post, open: new Map() }
  const database = { transaction: (stores, mode = "readonly") => new Transaction(base, mode), close() {} }
  return {
    hear: (message) => base.open.get(message.tx)?.hear(message),
    open(name, version) {
      const request = new Request()
      const transaction = new Transaction(base, "readwrite")
      transaction.ask({ op: "version" }).onsuccess = function () {
        if (this.result >= version) return
        const stores = {}
        const made = { createObjectStore: (store, { keyPath }) => {
          stores[store] = { key: keyPath }
          return { createIndex: () => {} }
        } }
        request.result = made
        request.onupgradeneeded?.({})
        transaction.ask({ op: "upgrade", version, stores })
      }
      transaction.oncomplete = () => {
        request.result = database
        request.onsuccess?.({})
      }
      transaction.onabort = () => {
        request.error = transaction.error
        request.onerror?.({})
      }
      return request
    },
  }
}
