// Which expressions are read at all: the same rules as grammar.py, every branch looked at, taken or not.

export const DEEPEST = 40
export const LARGEST = 1e300
export const ANY_STEP = "*"
export const OVER_ENTRIES = ["count", "first", "last", "least", "most", "begun"]
export const INSTRUMENT_KEYS = ["name", "low", "high", "class", "division", "zero", "error", "due"]

export const isNumber = (value) => typeof value === "number"
export const isMap = (value) => typeof value === "object" && value !== null && !Array.isArray(value)
const isText = (value) => typeof value === "string"
const isPair = (value) => Array.isArray(value) && value.length === 2
const has = (map, key) => Object.prototype.hasOwnProperty.call(map, key)

export class Refused extends Error {
  constructor(where, problem) {
    super(`${where}: ${problem}`)
    this.where = where
  }
}

const refuse = (where, problem) => {
  throw new Refused(where, problem)
}

// Refuse an expression outside the grammar, with the place in it.
export function check(expression, where = "expression", depth = 0) {
  if (depth > DEEPEST) refuse(where, `is nested deeper than ${DEEPEST}`)
  if (expression === null || typeof expression === "boolean" || isText(expression)) return
  if (isNumber(expression)) {
    if (!(Math.abs(expression) <= LARGEST)) refuse(where, "got a number that is too large")
    return
  }
  if (!isMap(expression)) refuse(where, "is no value and no map with one operator")
  const keys = Object.keys(expression)
  if (keys.length !== 1) refuse(where, `got ${keys.length} keys`)
  if (!has(SHAPES, keys[0])) refuse(where, `got the operator ${keys[0]}`)
  SHAPES[keys[0]](expression[keys[0]], `${where}.${keys[0]}`, depth + 1)
}

const many = (least, most = Infinity) => (argument, where, depth) => {
  if (!Array.isArray(argument) || argument.length < least || argument.length > most) {
    refuse(where, "got the wrong number of parts")
  }
  argument.forEach((part, index) => check(part, `${where}[${index}]`, depth))
}

const name = (argument, where) => {
  if (!((isPair(argument) && argument.every(isText)) || (isText(argument) && argument))) {
    refuse(where, "is no name of an input")
  }
}

const edge = (argument, where) => {
  if (!isPair(argument) || !isText(argument[0]) || !["low", "high", "nominal"].includes(argument[1])) {
    refuse(where, "is no input with one of: low, high, nominal")
  }
}

const text = (argument, where) => {
  if (!isText(argument) || !argument) refuse(where, "is no name")
}

const carried = (argument, where) => {
  if (!isPair(argument) || !isText(argument[1]) || !argument[1]) refuse(where, "is no name of an input with a key")
  name(argument[0], `${where}[0]`)
}

const instrument = (argument, where) => {
  if (!isText(argument)) carried(argument, where)
  if (!INSTRUMENT_KEYS.includes(isText(argument) ? argument : argument[1])) refuse(where, "is no such key")
}

const table = (argument, where, depth) => {
  if (!isMap(argument) || Object.keys(argument).sort().join() !== "at,give,x") refuse(where, "is no table")
  check(argument.x, `${where}.x`, depth)
  const { at, give } = argument
  if (![at, give].every((row) => Array.isArray(row) && row.every(isNumber))) refuse(where, "has rows that are no numbers")
  if (at.length !== give.length || at.length < 2) refuse(where, "has rows that do not match")
  if (at.some((x, index) => index > 0 && x <= at[index - 1])) refuse(`${where}.at`, "does not rise")
}

const entries = (argument, where, depth) => {
  const known = /(first|last)$/.test(where) ? ["of", "where", "back"] : ["of", "where"]
  if (!isMap(argument) || !has(argument, "of") || !Object.keys(argument).every((key) => known.includes(key))) {
    refuse(where, "does not say which entries")
  }
  name(argument.of, `${where}.of`)
  check(argument.where ?? null, `${where}.where`, depth)
  const back = argument.back ?? 0
  if (!Number.isInteger(back) || back < 0) refuse(`${where}.back`, "is no whole number")
}

const each = (operators, shape) => Object.fromEntries(operators.map((operator) => [operator, shape]))

const SHAPES = {
  ...each(["lt", "le", "gt", "ge", "eq", "ne", "sub", "div", "says"], many(2, 2)),
  ...each(["all", "any", "add", "mul", "min", "max"], many(1)),
  ...each(["not", "abs"], check),
  ...each(["value", "given", "time", "order"], name),
  ...each(OVER_ENTRIES, entries),
  if: many(3, 3),
  expect: edge,
  entry: text,
  limit: text,
  table,
  carried,
  instrument,
}

// Every input an expression reads: a name of this step, or a pair of step and input.
export function names(expression, found = []) {
  if (Array.isArray(expression)) expression.forEach((part) => names(part, found))
  if (!isMap(expression)) return found
  for (const [operator, argument] of Object.entries(expression)) {
    if (["value", "given", "time", "order"].includes(operator)) found.push(argument)
    else if (["carried", "instrument"].includes(operator) && !isText(argument)) found.push(argument[0])
    else if (operator === "expect") found.push(argument[0])
    else if (OVER_ENTRIES.includes(operator)) {
      found.push(argument.of)
      names(argument.where ?? null, found)
    } else if (operator === "table") names(argument.x, found)
    else if (!["entry", "limit", "instrument", "carried"].includes(operator)) names(argument, found)
  }
  return found
}

// Every input of this step that an expression holds against its expected band.
export function banded(expression) {
  if (Array.isArray(expression)) return expression.flatMap(banded)
  if (!isMap(expression)) return []
  const keys = Object.keys(expression)
  if (keys.length === 1 && keys[0] === "expect" && Array.isArray(expression.expect)) return [expression.expect[0]]
  return keys.flatMap((key) => banded(expression[key]))
}
