// What a mark of a reading does to the causes of its step: as found goes with the setting as it stood, as left with the
// setting as it was made. Pure: the weighing itself is that of procedure/js/causes.js.

export const FOUND = "as found"
export const LEFT = "as left"
const SET = /_set(?=[_.]|$)/ // a state after the screw was set by the gauge that is read

// Return { signature, picked, apart, same }: the signature with the states that go with the marks, and the inputs whose
// mark picked the state, whose reading is not weighed because the signature knows no such state, and whose mark changes
// nothing. marks: mark by input; others than as found and as left are none.
export function byMarks(signature, marks) {
  const told = { picked: [], apart: [], same: [] }
  const reads = signature.reads.filter((one) => ![FOUND, LEFT].includes(marks[one.input]))
  for (const [input, mark] of Object.entries(marks)) {
    const mine = signature.reads.filter((one) => one.input === input)
    if (mine.length === 0 || ![FOUND, LEFT].includes(mark)) continue
    const fit = mine.filter((one) => SET.test(one.state) === (mark === LEFT))
    const isMixed = mine.some((one) => SET.test(one.state)) && fit.length > 0 && fit.length < mine.length
    if (isMixed) {
      told.picked.push(input)
      reads.push(...(fit.length === 1 ? [{ ...fit[0], choice: null }] : fit)) // the mark says what the choice would
    } else if (mark === FOUND && fit.length === 0) told.apart.push(input)
    else {
      told.same.push(input)
      reads.push(...mine)
    }
  }
  const order = new Map(signature.reads.map((one, at) => [`${one.input} ${one.state}`, at]))
  reads.sort((one, other) => order.get(`${one.input} ${one.state}`) - order.get(`${other.input} ${other.state}`))
  return { signature: { ...signature, reads }, ...told }
}

// Return what the screen says of the marks. labels: by input.
export function markWords({ picked, apart, same }, marks, labels) {
  const head = (input) => `${labels[input] ?? input} is marked ${marks[input]}`
  return [...picked.map((input) => `${head(input)}: it is weighed against the setting ${marks[input]}.`),
    ...apart.map((input) => `${head(input)}: the causes here are those of the setting as left. It is not weighed.`),
    ...same.map((input) => `${head(input)}: the mark does not change this list.`)]
}
