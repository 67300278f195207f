// Recorded deviations: the same as accepting.py.

import { dayOf, isBlank, zoneMinutes } from "./record.js"
import { remark } from "./remarks.js"

const ASKED = ["what", "risk", "owner", "due", "accepted_by"]
const TESTS = ["reading", "observation", "action"]
const nameOf = (text) => text.replace(/^[ \t\r\n]+/, "").replace(/[ \t\r\n]+$/, "").toLowerCase()

// What somebody accepted who answers for it, and what that is worth.
export class Deviations {
  constructor(record) {
    this.at = new Map(record.rows.map((row) => [row.entry.id, row.at]))
    this.rows = record.rows.filter((row) => row.entry.kind === "deviation")
    this.never = new Set(record.procedure.never)
    const testers = new Set(record.rows.filter((row) => TESTS.includes(row.entry.kind)).map((row) => nameOf(row.entry.who)))
    testers.delete("")
    this.wrong = new Map(this.rows.map((row) => [row.at, wrongOf(row, testers)]))
    this.about = new Map()
    for (const row of this.rows) if (this.wrong.get(row.at) === null) this.about.set(row.text("about"), row)
  }

  weigh(one, names, may) {
    const since = Math.max(-1, ...one.entries.map((entry) => this.at.get(entry) ?? -1))
    const last = may ? names.filter((name) => !this.never.has(name)).map((name) => this.about.get(name)).filter((row) => row !== undefined && row.at > since) : []
    const newest = last.sort((a, b) => a.at - b.at).at(-1)
    return { remark: one, may_accept: may, accepted: newest?.entry.id ?? "" }
  }

  overdue(blocks, now) {
    if (now === null) return []
    const used = new Set(blocks.map((block) => block.accepted))
    return this.rows.flatMap((row) => {
      const due = used.has(row.entry.id) ? dayOf(row.text("due")) : null
      const today = Math.floor((now + zoneMinutes(row.entry.t_device) * 60) / 86400)
      if (due === null || today <= due) return []
      const params = { owner: row.text("owner"), due: row.text("due"), days: today - due }
      return [remark("RUN-90", row.text("about"), [row.entry.id], params)]
    })
  }

  told(blocks) {
    const used = new Set(blocks.map((block) => block.accepted))
    return this.rows.map((row) => {
      const [about, ids, wrong] = [row.text("about"), [row.entry.id], this.wrong.get(row.at)]
      if (this.never.has(about)) return remark("RUN-16", about, ids, { why: "never" })
      if (wrong !== null) return remark("RUN-16", about, ids, wrong)
      if (!used.has(row.entry.id)) return remark("RUN-16", about, ids, { why: "nothing" })
      return remark("RUN-17", about, ids, { owner: row.text("owner"), due: row.text("due") })
    })
  }
}

// Why a deviation accepts nothing, whatever stands there; null where it may.
function wrongOf(row, testers) {
  const missing = ASKED.filter((key) => isBlank(row.text(key)))
  const due = dayOf(row.text("due"))
  if (!missing.includes("due") && due === null) missing.push("due")
  if (missing.length > 0) return { why: "lacks", lacks: missing.join(", ") }
  if (due < row.day) return { why: "past", due: row.text("due") }
  const by = row.text("accepted_by")
  return testers.has(nameOf(by)) ? { why: "tester", by } : null
}
