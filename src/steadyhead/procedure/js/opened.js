// How far words and figures leave an inlet valve open, beside the opening of its plan.

import { inOrderOf, lower, SHUT, standsShut } from "./naming.js"

const SIZES = new Map([["turn", 1], ["turns", 1], ["", 1], ["°", 1 / 360], ["deg", 1 / 360], ["degree", 1 / 360], ["degrees", 1 / 360]])
const SHARES = new Map([["%", 0.01], ["percent", 0.01]])
const AMOUNT = /([0-9]+(?:[.,][0-9]+)?) *([a-z%°]*)/g
const [LARGER, SLACK, SLACK_SHARE] = [1.05, 0.125, 0.01]
const WIDE = ["open", "opened", "opens", "opening", "fully", "full", "wide", "normal", "service", "restored", "back"]
const NARROW = ["v2", "crack", "cracked", "part", "partly", "partially", "throttled", "throttle", "trickle", "little", "planned"]
const TURNED = ["nearly", "almost", "not"]
const FAR = ["fully", "full", "wide", "nearly", "almost"]
const NUMBERS = ["", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
const HALVES = [
  [/([0-9]+) and a half/g, "$1.5"],
  [/([0-9]+) (turns?) and a half/g, "$1.5 $2"],
  [/([0-9]+) and a quarter/g, "$1.25"],
  [/([0-9]+) (turns?) and a quarter/g, "$1.25 $2"],
  [/(a )?half (a )?turn/g, "0.5 turn"],
  [/(a )?quarter (of )?(a )?turn/g, "0.25 turn"],
]

export const has = (words, list) => words.some((word) => list.includes(word))

// Whether an amount in turns or a share is more than the opening; null where it cannot be told.
export function beyond(amount, unit, { turns, share }) {
  if (SHARES.has(unit)) return share === null ? null : amount * SHARES.get(unit) > share * LARGER + SLACK_SHARE
  if (!SIZES.has(unit) || turns === null) return null
  return amount * SIZES.get(unit) > turns * LARGER + SLACK
}

// Whether words say that the valve stands further open than it may; null where they do not tell.
export function read(said, one) {
  if (standsShut(said)) return false
  const text = spoken(said)
  const words = inOrderOf(text)
  const bare = words.every((word) => WIDE.includes(word) || /^[0-9]+$/.test(word))
  for (const [, amount, unit] of lower(text).replaceAll("v2", "").matchAll(AMOUNT)) {
    const far = unit || bare ? beyond(Number(amount.replace(",", ".")), unit, one) : null
    if (far !== null) return far
  }
  if (has(words, NARROW)) return false
  if (!has(words, WIDE) || has(words, SHUT)) return null
  return !has(words, TURNED) || has(words, FAR) ? !one.full : null
}

// Words of a position with their numbers of turns in figures.
function spoken(text) {
  const low = lower(text).replace(/[a-z]+/g, (word) => (NUMBERS.includes(word) ? String(NUMBERS.indexOf(word)) : word))
  return HALVES.reduce((said, [words, figures]) => said.replace(words, figures), low)
}
