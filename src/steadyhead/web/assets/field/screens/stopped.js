// A Stop that came from another device, or was said: what it is, who says so and when; then back to what was under way.

import { note } from "../entering.js"
import { el, told } from "../keys.js"
import { afterWords, heededAll, NOBODY } from "../stops.js"
import { backOutKey, choices, ended, goKey, line, peopleOf, problems, stepTitle } from "./parts.js"

const SEEN = ["Everybody is out and safe, it is over", "Air tested again, within its limits", "Put right, and looked at"]
const HURT = "Somebody is hurt."
const FIRST = "Work nothing further. Look to people first: help, air, the way out. Then make the station safe by Back out."

export const stopsHere = (desk) => heededAll(desk.view.stops, desk.kept.device, desk.step)

const alarmOf = (one) => (one.isSaid ? one.words : ended(`At step ${one.words}`))
const sourceOf = (one) => `${one.who || "Nobody named"}, ${one.when}, device ${one.device}.`

// Every other Stop that stands, the newest first.
export const alsoStopped = (desk, isShown) => desk.view.stops.filter((one) => !isShown(one)).reverse().map((one) =>
  told("struck", el("b", {}, `Also: ${alarmOf(one)} `), sourceOf(one)))

// The Stops that stand: the newest first, the others below it.
export function stopped(desk) {
  if (stopsHere(desk).length === 0) return over(desk)
  const one = desk.view.stops.at(-1)
  const right = one.isSaid ? goKey("Record", () => desk.show("stopSeen", { entry: one.entry }), "what came of it")
    : goKey("Look at it", () => desk.go(one.step), stepTitle(desk, one.step))
  return { title: "Stop", alarm: alarmOf(one), blocks: [...problems(desk), line(sourceOf(one), "large"),
    ...alsoStopped(desk, (other) => other === one), line(FIRST, "action"),
    held(desk), line("Going on stays hidden until what was seen, and who agreed, is recorded.", "quiet")],
  left: backOutKey(desk), right }
}

// What was typed and not entered when the Stop came.
function held({ held: one }) {
  if (!one?.at.digits) return null
  const words = one.at.screen !== "read" && one.isBack ? "You had typed" : one.isKept ? "What you typed is kept:"
    : "What you typed stays while this page is open:"
  return told("holds", `${words} ${one.at.digits}.`)
}

// It is recorded: back to what was under way, with what was typed there.
function over(desk) {
  return { title: "The Stop is recorded", blocks: [line("What was seen, and who agreed, stands among the entries."), held(desk),
    line("See that the station still stands as you left it before you go on.", "action")], left: backOutKey(desk),
  right: goKey("Go on", () => desk.resume(), desk.held?.step ? stepTitle(desk, desk.held.step) : "") }
}

// What came of a Stop that was said. at: { entry }, of which one.
export function stopSeen(desk) {
  const { entry } = desk.at
  const one = meant(desk)
  if (one === null) return stopped(desk)
  const onward = (saw) => desk.show("stopAgreed", { entry, saw })
  const type = () => desk.show("type", { title: "What I saw", label: "Words", from: "stopSeen", fromAt: { entry }, long: true,
    take: onward })
  return { title: "What came of it?", blocks: [line(one.words), ...problems(desk), ...choices([...SEEN.map((saw) => ({ words: saw,
    press: () => onward(saw) })), { words: "Something else", small: "typed or spoken", press: type }])],
  left: backOutKey(desk), right: goKey("To the Stop", () => desk.show("stopped")) }
}

const meant = (desk) => desk.view.stops.find((one) => one.entry === desk.at.entry) ?? null

// Who agreed to go on.
export function stopAgreed(desk) {
  const { saw, entry } = desk.at
  const noted = async (words, screen) => {
    const one = meant(desk)
    if (one === null || await desk.enter(() => note(desk.book, one.step, `${afterWords(one)}: ${saw}. ${words}`))) desk.show(screen)
  }
  const listed = [...peopleOf(desk, [desk.who]).map((one) => ({ words: one, press: () => noted(`Agreed with ${one}.`, "stopped") })),
    { words: "The desk", small: "by telephone or radio", press: () => noted("Agreed with the desk.", "stopped") },
    { words: "Nobody", small: "noted; the Stop stands", press: () => noted(NOBODY, "stopped") }]
  return { title: "Who agreed to go on?", blocks: [line(saw), ...problems(desk), ...choices(listed)], left: backOutKey(desk),
    right: goKey("Saw something else", () => desk.show("stopSeen", { entry })) }
}

// The rules by which anybody stops the work, each a key: it stops every device of the visit once they sync.
export function stopKeys(desk) {
  const says = async (words) => {
    const step = desk.view.step?.id ?? ""
    if (await desk.enter(() => note(desk.book, step, `Stop: ${words}`))) desk.heeds()
  }
  return choices([HURT, ...(desk.view.step?.stopRules ?? [])].map((words) => ({ words, press: () => says(words), kind: "stop" })))
}
