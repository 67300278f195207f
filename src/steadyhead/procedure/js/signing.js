// What a signature covers: the same as the signatures of judging.py.

import { byHand } from "./agreeing.js"
import { amended, clockMicros, compare, own } from "./record.js"
import { LATER, PAPERS, TELLS } from "./words.js"

// Each signature covers what had been entered when it was given, and nothing entered later.
export function signs(record, mine, blocks) {
  const fine = blocks.every((block) => block.accepted)
  const signed = new Map(record.rows.filter((row) => row.entry.kind === "sign").map((row) => [row.entry.id, row]))
  if (signed.size === 0) return []
  const byId = new Map(mine.map((entry) => [entry.id, entry]))
  const matter = mine.filter((entry) => matters(entry, byId, record.procedure))
  const place = new Map(mine.map((entry, at) => [entry.id, at]))
  return mine.filter((entry) => signed.has(entry.id)).map((sign) => {
    const asks = signed.get(sign.id).text("asks")
    const isLater = (one) => {
      const after = place.get(one.id) > place.get(sign.id)
      if (one.device === sign.device && one.device_seq !== sign.device_seq) return one.device_seq > sign.device_seq || after
      return after || byClock(one, sign) > 0 || (byHand(one) && written(one) > written(sign))
    }
    const later = matter.filter(isLater).map((one) => one.id)
    return { entry: sign.id, asks, stands: later.length === 0 && (fine || asks === "provisional"), later }
  })
}

// Two entries by their clocks as they stood, whatever was set meanwhile.
const byClock = (a, b) => a.micros - b.micros || compare(a.device, b.device) || a.device_seq - b.device_seq || compare(a.id, b.id)

function matters(entry, byId, procedure) {
  if (PAPERS.includes(entry.kind)) return false
  if (entry.kind === "correction" || entry.kind === "void") {
    const about = amended(entry, byId)
    return about === null || PAPERS.includes(about.kind) || matters(about, byId, procedure)
  }
  const tells = entry.kind === "action" && TELLS.includes(own(entry.payload, "do"))
  return !(procedure.after.includes(entry.node) && (tells || LATER.includes(entry.kind)))
}

function written(entry) {
  const typed = own(entry, "typed_at")
  return (typeof typed === "string" ? clockMicros(typed) : null) ?? entry.micros
}
