// A device in a process of its own: the disk, and tabs that run the store and the sender of the field page. It is told
// what to do by lines of JSON and says what it did the same way, at once, so that what was said is known to the last
// word when it is killed.

import { readFileSync, writeSync } from "node:fs"
import { createInterface } from "node:readline"
import { Worker } from "node:worker_threads"
import { Disk } from "./disk.js"

const given = JSON.parse(readFileSync(process.argv[2], "utf-8"))
const say = (what) => writeSync(1, `${JSON.stringify(what)}\n`)
const die = () => {
  process.kill(process.pid, "SIGKILL")
  for (;;) Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 1000)
}
const disk = new Disk(given.disk, die)
const tabs = new Map()
const locks = new Map()

function lock(worker, name) {
  if (locks.has(name)) return false
  locks.set(name, worker)
  return true
}

function open(name) {
  const worker = new Worker(new URL("./tab.js", import.meta.url), { workerData: { ...given, tab: name } })
  worker.on("message", (message) => {
    if (message.disk) disk.take(worker, message.disk, (answer) => worker.postMessage({ disk: answer }))
    else if (message.lock) worker.postMessage({ lock: message.lock, isMine: lock(worker, message.lock) })
    else if (message.unlock) locks.delete(message.unlock)
    else say({ tab: name, ...message })
  })
  worker.on("error", (problem) => say({ tab: name, fault: `${problem.stack ?? problem}` }))
  worker.on("exit", () => {
    disk.gone(worker)
    for (const [held, by] of locks) if (by === worker) locks.delete(held)
  })
  tabs.set(name, worker)
}

const ways = {
  open: ({ tab }) => open(tab),
  close: async ({ tab }) => {
    const worker = tabs.get(tab)
    tabs.delete(tab)
    await worker?.terminate()
  },
  room: ({ bytes, isLate }) => { Object.assign(disk, { room: bytes ?? Infinity, isLate: isLate === true }) },
  trap: ({ where }) => { disk.trap = where },
}

createInterface({ input: process.stdin }).on("line", async (line) => {
  const told = JSON.parse(line)
  if (ways[told.do] === undefined) {
    tabs.get(told.tab)?.postMessage(told)
    return
  }
  await ways[told.do](told)
  say({ answer: told.ask, torn: disk.torn })
}).on("close", () => process.exit(0))
