// The closed expression language (agreement A9): the same meaning as expression.py, step by step.
// null is *not known*; a predicate holds only where it is true.

import { ANY_STEP, OVER_ENTRIES, check, isMap, isNumber } from "./grammar.js"
import { plainly } from "./naming.js"

export { check, names } from "./grammar.js"

const own = (map, key) =>
  map !== null && map !== undefined && Object.prototype.hasOwnProperty.call(map, key) ? map[key] : null
const plain = (value) => (value === undefined ? null : value)

// Return the value of an expression.
// context: {node, entries: [{node, input, value, time, order, keys}], bands, limits, instruments}
export function evaluate(expression, context = {}) {
  check(expression)
  return valueOf(expression, context, null)
}

export const holds = (expression, context) => evaluate(expression, context) === true

function valueOf(expression, context, lookedAt) {
  if (!isMap(expression)) return plain(expression)
  const [operator, argument] = Object.entries(expression)[0]
  const part = (inner) => valueOf(inner, context, lookedAt)
  if (["value", "given", "time", "order", "carried"].includes(operator)) return newest(operator, argument, context)
  if (operator === "entry" || operator === "instrument") return ofEntry(operator, argument, context, lookedAt)
  if (operator === "expect") return plain(own(own(context.bands, argument[0]), argument[1]))
  if (operator === "limit") return plain(own(context.limits, argument))
  if (OVER_ENTRIES.includes(operator)) return overEntries(operator, argument, context)
  if (operator === "table") return lookUp(part(argument.x), argument.at, argument.give)
  if (operator === "if") {
    const condition = part(argument[0])
    return condition === true ? part(argument[1]) : condition === false ? part(argument[2]) : null
  }
  if (operator === "not" || operator === "abs") return unary(operator, part(argument))
  return combined(operator, argument.map(part))
}

// Values in the order they were taken, found by step and input without going through all of them.
export class Entries {
  constructor(taken = []) {
    this.byName = new Map()
    for (const one of taken) this.push(one)
  }

  push(taken) {
    for (const node of new Set([taken.node, ANY_STEP])) {
      if (!this.byName.has(taken.input)) this.byName.set(taken.input, new Map())
      const byNode = this.byName.get(taken.input)
      if (!byNode.has(node)) byNode.set(node, [])
      byNode.get(node).push(taken)
    }
  }

  of(node, name) {
    return this.byName.get(name)?.get(node) ?? []
  }
}

function found(context, name) {
  const [node, wanted] = typeof name === "string" ? [context.node ?? "", name] : name
  const entries = context.entries ?? []
  if (entries instanceof Entries) return entries.of(node, wanted)
  return entries.filter((taken) => taken.input === wanted && (node === taken.node || node === ANY_STEP))
}

function newest(operator, argument, context) {
  const all = found(context, operator === "carried" ? argument[0] : argument)
  if (operator === "given") return all.length > 0
  if (all.length === 0) return null
  return keyOf(all[all.length - 1], operator === "carried" ? argument[1] : operator)
}

function ofEntry(operator, argument, context, lookedAt) {
  if (operator === "entry") return lookedAt === null ? null : keyOf(lookedAt, argument)
  let key = argument
  let taken = lookedAt
  if (typeof argument !== "string") {
    taken = found(context, argument[0]).at(-1) ?? null
    key = argument[1]
  }
  const name = taken === null ? null : own(taken.keys, "instrument")
  return typeof name === "string" ? plain(own(own(context.instruments, name), key)) : null
}

function keyOf(taken, key) {
  if (key === "value" || key === "time" || key === "order") return plain(taken[key])
  return key === "step" ? taken.node : plain(own(taken.keys, key))
}

function overEntries(operator, argument, context) {
  const wanted = argument.where === undefined ? true : argument.where
  const all = found(context, argument.of).filter((taken) => valueOf(wanted, context, taken) === true)
  if (operator === "count") return all.length
  if (operator === "least" || operator === "most") {
    const numbers = all.map((taken) => taken.value).filter(isNumber)
    if (numbers.length === 0) return null
    return numbers.reduce(operator === "least" ? (a, b) => (b < a ? b : a) : (a, b) => (b > a ? b : a))
  }
  if (operator === "begun") return all.length === 0 ? null : keyOf(all[0], "order")
  const back = argument.back ?? 0
  if (back >= all.length) return null
  return plain(all[operator === "first" ? back : all.length - 1 - back].value)
}

function lookUp(x, at, give) {
  if (!isNumber(x) || x < at[0] || x > at[at.length - 1]) return null
  let last = 1
  while (x > at[last]) last += 1
  const share = (x - at[last - 1]) / (at[last] - at[last - 1])
  return give[last - 1] + (give[last] - give[last - 1]) * share
}

function unary(operator, value) {
  if (operator === "not") return typeof value === "boolean" ? !value : null
  return isNumber(value) ? Math.abs(value) : null
}

// Whether one text bears another, by letters and figures alone; none of these: not known.
function says(text, wanted) {
  if (typeof text !== "string" || typeof wanted !== "string" || plainly(wanted) === "") return null
  return plainly(text).includes(plainly(wanted))
}

const COMPARE = {
  lt: (a, b) => a < b,
  le: (a, b) => a <= b,
  gt: (a, b) => a > b,
  ge: (a, b) => a >= b,
}
const ARITHMETIC = {
  add: (a, b) => a + b,
  sub: (a, b) => a - b,
  mul: (a, b) => a * b,
  div: (a, b) => a / b,
  min: (a, b) => (b < a ? b : a),
  max: (a, b) => (b > a ? b : a),
}

function combined(operator, values) {
  if (operator === "all" || operator === "any") {
    const settles = operator === "any"
    if (values.some((value) => value === settles)) return settles
    return values.every((value) => value === !settles) ? !settles : null
  }
  if (operator === "eq" || operator === "ne") {
    const [a, b] = values
    if (a === null || b === null || typeof a !== typeof b) return null
    return (a === b) === (operator === "eq")
  }
  if (operator === "says") return says(...values)
  if (!values.every(isNumber)) return null
  if (operator in COMPARE) return COMPARE[operator](values[0], values[1])
  let result = values[0]
  for (const number of values.slice(1)) {
    if (operator === "div" && number === 0) return null
    result = ARITHMETIC[operator](result, number)
  }
  return Number.isFinite(result) ? result : null
}
