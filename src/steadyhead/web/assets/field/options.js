// Ways of a choice that are not open: taken now, the station would stop at them at once. Found by taking each in thought
// under the same look as the judge's; nothing is entered. No DOM, no clock.

import { lay } from "../procedure/record.js"
import { look } from "../procedure/steps.js"

const LATER = 1e6 // a choice in thought lies so far behind the newest entry [µs]

// The rule by which what was seen at a step ends its way: another is to be chosen.
export const endsBy = (step) => step.fires.find((one) => one.instead && one.tells !== true)

// Return why ways of a choice are not open, by option: { step, rule }. Only of a choice that other steps lead back to: what
// others ask is what was seen, and that may be bad. None where no way would be left: there the Stop tells what to do.
export function closedWays(plan, book, choice) {
  const isWay = plan.nodes.some((node) => node.otherwise.some((one) => one.instead === choice.id))
  if (!isWay || book.standing.length === 0) return {}
  const found = choice.options.map(({ name }) => [name, against(plan, book, choice.id, name)])
  const always = found.reduce((left, [, rules]) => left.filter(({ rule }) => rules.some((one) => one.rule === rule)), found[0][1])
  const isOther = ({ rule }) => always.every((one) => one.rule !== rule)
  const closed = found.map(([name, rules]) => [name, rules.find(isOther)]).filter(([, one]) => one !== undefined)
  return closed.length < found.length ? Object.fromEntries(closed) : {}
}

// The rules that stop a way once it is taken: of other steps that lead back to its choice first, then of its own step.
function against(plan, book, id, option) {
  const last = book.standing.at(-1)
  const thought = { ...last, id: "in thought", kind: "choice", node: id, payload: { choice: id, option },
    device_seq: last.device_seq + 1, micros: last.micros + LATER }
  const steps = [...look(lay(plan, [...book.standing, thought])).values()].filter((one) => one.way === "on")
  const back = steps.filter((one) => one.node.id !== id && endsBy(one)?.instead === id)
  const own = steps.filter((one) => one.node.id === id)
  return [...back.map((one) => ({ step: one.node.id, rule: endsBy(one) })),
    ...own.flatMap((one) => one.fires.filter((rule) => rule.tells !== true).map((rule) => ({ step: id, rule })))]
}
