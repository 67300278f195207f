// Figures as Python prints them: rounded half to even on the very number, with U+2212 for minus where amounts are told.

const EXACT = 40 // decimals behind the last one looked at: a double that lies half way has no more

function roundHalf(digits, keep) {
  const [head, rest] = [digits.slice(0, keep) || "0", digits.slice(keep)]
  const isMore = rest !== "" && (rest[0] > "5" || (rest[0] === "5" && /[1-9]/.test(rest.slice(1))))
  const isHalf = rest[0] === "5" && !/[1-9]/.test(rest.slice(1))
  const whole = BigInt(head)
  return whole + (isMore || (isHalf && whole % 2n === 1n) ? 1n : 0n)
}

// Return a number with so many decimals, as f"{value:.{places}f}" does.
export function fixed(value, places) {
  const size = Math.abs(value)
  if (!(size < 1e21)) return String(value)
  const [whole, part] = size.toFixed(Math.min(places + EXACT, 100)).split(".")
  const rounded = roundHalf(whole + part, whole.length + places).toString().padStart(places + 1, "0")
  const split = rounded.length - places
  const figure = places > 0 ? `${rounded.slice(0, split)}.${rounded.slice(split)}` : rounded
  return value < 0 || Object.is(value, -0) ? `-${figure}` : figure
}

// Return a number with so many figures and no noughts behind, as f"{value:.{count}g}" does.
export function general(value, count = 6) {
  if (value === 0) return Object.is(value, -0) ? "-0" : "0"
  if (!Number.isFinite(value)) return String(value)
  const [mantissa, power] = Math.abs(value).toExponential(Math.min(count + EXACT, 100)).split("e")
  let digits = roundHalf(mantissa.replace(".", ""), count).toString()
  let exponent = Number(power)
  if (digits.length > count) [digits, exponent] = [digits.slice(0, count), exponent + 1]
  const sign = value < 0 ? "-" : ""
  if (exponent < -4 || exponent >= count) {
    const tail = digits.slice(1).replace(/0+$/, "")
    const size = String(Math.abs(exponent)).padStart(2, "0")
    return `${sign}${digits[0]}${tail ? `.${tail}` : ""}e${exponent < 0 ? "-" : "+"}${size}`
  }
  if (exponent < 0) return sign + trimmed(`0.${"0".repeat(-exponent - 1)}${digits}`)
  return sign + trimmed(`${digits.slice(0, exponent + 1)}.${digits.slice(exponent + 1)}`)
}

// Return a figure without the noughts behind its point.
export const trimmed = (figure) => (figure.includes(".") ? figure.replace(/0+$/, "").replace(/\.$/, "") : figure)

// Return a figure with the minus of a printed page; minus nought is nought.
export function printed(figure) {
  const plain = Number(figure) === 0 ? figure.replace("-", "") : figure
  return plain.replace("-", "\u2212")
}
