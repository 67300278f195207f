// A Stop that came from another device, or was said: what it is, who says so and when; then back to what was under way.

import { note } from "../entering.js"
import { told } from "../keys.js"
import { afterWords, heeded, NOBODY } from "../stops.js"
import { backOutKey, choices, goKey, line, peopleOf, problems, stepTitle } from "./parts.js"

const SEEN = ["Everybody is out and safe, it is over", "Air tested again, within its limits", "Put right, and looked at"]
const HURT = "Somebody is hurt."
const FIRST = "Work nothing further. Look to people first: help, air, the way out. Then make the station safe by Back out."

export const stopOf = (desk) => heeded(desk.view.stops, desk.kept.device, desk.step)

// The Stop of somebody else.
export function stopped(desk) {
  const one = stopOf(desk)
  if (one === null) return over(desk)
  const right = one.isSaid ? goKey("Record", () => desk.show("stopSeen"), "what came of it")
    : goKey("Look at it", () => desk.go(one.step), stepTitle(desk, one.step))
  return { title: "Stop", alarm: one.isSaid ? one.words : `At step ${one.words}.`, blocks: [...problems(desk),
    line(`${one.who || "Nobody named"}, ${one.when}, device ${one.device}.`, "large"), line(FIRST, "action"),
    held(desk), line("Going on stays hidden until what was seen, and who agreed, is recorded.", "quiet")],
  left: backOutKey(desk), right }
}

const held = (desk) => (desk.held?.at.digits ? told("holds", `What you typed is kept: ${desk.held.at.digits}.`) : null)

// It is recorded: back to what was under way, with what was typed there.
function over(desk) {
  return { title: "The Stop is recorded", blocks: [line("What was seen, and who agreed, stands among the entries."), held(desk),
    line("See that the station still stands as you left it before you go on.", "action")], left: backOutKey(desk),
  right: goKey("Go on", () => desk.resume(), desk.held?.step ? stepTitle(desk, desk.held.step) : "") }
}

// What came of a Stop that was said.
export function stopSeen(desk) {
  const type = () => desk.show("type", { title: "What I saw", label: "Words", from: "stopSeen", long: true,
    take: (saw) => desk.show("stopAgreed", { saw }) })
  return { title: "What came of it?", blocks: [...problems(desk), ...choices([...SEEN.map((saw) => ({ words: saw,
    press: () => desk.show("stopAgreed", { saw }) })), { words: "Something else", small: "typed or spoken", press: type }])],
  left: backOutKey(desk), right: goKey("To the Stop", () => desk.show("stopped")) }
}

// Who agreed to go on.
export function stopAgreed(desk) {
  const { saw } = desk.at
  const noted = async (words, screen) => {
    const one = stopOf(desk)
    if (one === null || await desk.enter(() => note(desk.book, one.step, `${afterWords(one)}: ${saw}. ${words}`))) desk.show(screen)
  }
  const listed = [...peopleOf(desk, [desk.who]).map((one) => ({ words: one, press: () => noted(`Agreed with ${one}.`, "stopped") })),
    { words: "The desk", small: "by telephone or radio", press: () => noted("Agreed with the desk.", "stopped") },
    { words: "Nobody", small: "noted; the Stop stands", press: () => noted(NOBODY, "stopped") }]
  return { title: "Who agreed to go on?", blocks: [line(saw), ...problems(desk), ...choices(listed)], left: backOutKey(desk),
    right: goKey("Saw something else", () => desk.show("stopSeen")) }
}

// The rules by which anybody stops the work, each a key: it stops every device of the visit once they sync.
export function stopKeys(desk) {
  const says = async (words) => {
    const step = desk.view.step?.id ?? ""
    if (await desk.enter(() => note(desk.book, step, `Stop: ${words}`))) desk.heeds()
  }
  return choices([HURT, ...(desk.view.step?.stopRules ?? [])].map((words) => ({ words, press: () => says(words), kind: "stop" })))
}
