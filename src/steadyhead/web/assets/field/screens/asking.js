// What a step still asks for, and on which screen it is answered.

const ANSWERED = ["yes_no", "text", "photo", "time_of_day"]

// Return what is to be answered next: { name, words, small }; null where nothing is left but to say that it is done.
export function nextAsk(step) {
  if (step.choice !== null && step.lacks.includes("@choice")) return { name: "@choice", words: "Choose", small: "" }
  const one = step.inputs.find((each) => step.lacks.includes(each.name))
  if (one === undefined) return null
  const words = verbOf(one)
  const isSaid = words.toLowerCase().endsWith(` ${one.label.toLowerCase()}`)
  return { name: one.name, words, small: isSaid ? "" : one.label }
}

function verbOf({ kind, tap, name }) {
  if (kind === "photo") return "Take a photo"
  if (kind === "text") return "Say"
  if (["yes_no", "time_of_day"].includes(kind)) return "Answer"
  return tap && tap === name ? `Read ${tap}` : "Read"
}

// Show the screen that asks for an input: what must be known beside a reading first.
export function showAsk(desk, name) {
  const input = desk.view.step.inputs.find((one) => one.name === name) ?? null
  if (input === null || ANSWERED.includes(input.kind)) return desk.show(input?.kind === "time_of_day" ? "read"
    : "answer", { input: name })
  if (desk.draft.input !== name) desk.draft = { input: name, isTurned: desk.draft.isTurned }
  const { draft } = desk
  if (isTimed(input)) return desk.show("timing", { input: name })
  if (needsTool(input) && !toolFor(desk, input)) return desk.show("gauge", { input: name, kind: input.kind, from: "step" })
  if (needsWait(input) && draft.stood === undefined) return desk.show("watch", { input: name })
  if (asksFlow(input) && draft.flow === undefined && desk.way.tools?.flow === undefined) {
    return desk.show("gauge", { input: name, kind: "flow", from: "step" })
  }
  if (asksFlow(input) && draft.flow === undefined) return desk.show("read", { input: name, isFlow: true })
  return desk.show("read", { input: name })
}

const needsTool = ({ kind, isTraced }) => kind === "pressure" || isTraced

const needsWait = ({ kind, hold_s: hold }) => kind === "pressure" && hold > 0

const isTimed = ({ kind, instrument }) => kind === "time" && instrument === "stopwatch"

const asksFlow = ({ kind, carries }) => kind === "pressure" && carries.includes("flow")

// The meter that flows are read with; "" where it is none of those described.
export const meterOf = (desk) => toolFor(desk, { kind: "flow", tap: "" })

// Where the instrument of an input is kept: that of its place, or the second one there where two are compared.
export function placeOf({ way }, { kind, tap, notWith = [] }) {
  const place = `${kind} ${tap}`
  return notWith.includes(way.tools?.[place] ?? way.tools?.[kind]) ? `${place} second` : place
}

// The instrument that was chosen for the place of an input, else for its quantity; none that it may not be read with.
export function toolFor(desk, input) {
  const { kind, notWith = [] } = input
  const name = desk.way.tools?.[placeOf(desk, input)] ?? desk.way.tools?.[kind]
  return name !== undefined && !notWith.includes(name) && desk.view.instruments[name] !== undefined ? name : ""
}

// After something was entered: the step stays to be looked at, at its end where it was noted and goes on from; a Stop begins
// at its beginning.
export function after(desk) {
  desk.draft = {}
  desk.show("step")
  if (desk.spec.alarm) return
  desk.page = Number.MAX_SAFE_INTEGER
  desk.draw()
}
