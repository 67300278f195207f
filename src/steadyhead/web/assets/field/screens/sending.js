// What sends the visits of a desk, and what is told of it.

import { Outbox, WORDS, judgedOf } from "../outbox.js"
import { planOf } from "../view.js"

// What sends a visit; null where there is nowhere to send to.
export function outboxOf(desk, pack, plan, who, tell) {
  const address = desk.address(pack)
  if (!address) return null
  const clock = { get: () => desk.now(), set: (clock) => { desk.clock = clock; desk.keepClock() } }
  return new Outbox({ kept: desk.kept, run: pack.run, address, who, clock,
    judged: async (entries) => judgedOf(pack, plan, entries), tell })
}

// Send a visit that need not be open, once. Resolves to what is told of it.
export async function sendOnce(desk, pack) {
  if (desk.outbox !== null && pack.run === desk.pack?.run) return desk.outbox.send()
  const { who } = await desk.kept.state(`way ${pack.run}`) ?? {}
  const outbox = outboxOf(desk, pack, planOf(pack), () => who ?? "", () => {})
  const told = await outbox.send()
  outbox.stop()
  return told
}

// What is told of the sender while there is no connection: when it was sent last, for others may have entered since.
export function whenAway(told, isOnLine) {
  if (isOnLine === false && told.state === "sending") return { ...told, state: "offline", words: WORDS.offline }
  if (isOnLine !== false || told.state !== "idle" || !told.sentAt) return told
  const at = new Date(told.sentAt).toTimeString().slice(0, 5)
  return { ...told, state: "offline", words: `Not connected. Last sent at ${at}.` }
}

// What is told of the sender while something entered since waits for it: never that everything is sent.
export function whileOpen(told, counts) {
  const isOpen = counts.unsent > (counts.refused ?? 0) || (counts.photos ?? 0) > 0
  return told.state === "idle" && isOpen ? { ...told, state: "waits", words: WORDS.waits } : told
}

// What is told of the sender now, with what is known of the connection and of what is entered here.
export const asItStands = (told, isOnLine, counts) => whileOpen(whenAway(told, isOnLine), counts)
