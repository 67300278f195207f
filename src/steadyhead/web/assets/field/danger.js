// Which readings of a step are dangerous: a pressure above what the step or its section allows, whatever a remark says of it.

const OUTLET = /^T[34](\.|$)/ // inputs read at the outlet or behind it

const isRead = (one) => one.kind === "pressure" && !one.isWorked && typeof one.verdict?.value === "number"

// The lowest test limit of an outlet in the plan, of several streams too; Infinity where none is known. [Pa]
const limitOf = (plan) => Math.min(...Object.entries(plan.limits ?? {})
  .filter(([name]) => name.split("@")[0] === "test_limit").map(([, value]) => value))

// The limit that a step itself sets at the tap of a reading, as where a cut-off section is pumped up; undefined where it sets
// none. [Pa]
const tapOf = (name) => String(name).split(".")[0]
const ownOf = (plan, step, name) => ((plan.nodes ?? []).find((one) => one.id === step.id)?.refuses ?? [])
  .map(({ when }) => when?.gt).find((gt) => gt?.[0]?.value !== undefined && tapOf(gt[0].value) === tapOf(name) && typeof gt[1] === "number")?.[1]

// Return the readings that stand above their band, or at an outlet above its test limit.
export function tooHigh(plan, step) {
  const most = limitOf(plan)
  const isAbove = (one) => one.verdict.where === "outside" && typeof one.band?.high === "number" && one.verdict.value > one.band.high
  return step.inputs.filter((one) => isRead(one) && (isAbove(one) || (OUTLET.test(one.name) && one.verdict.value > (ownOf(plan, step, one.name) ?? most))))
}

// What the views of a step need no plan for: a pressure above its band.
export const isHigh = (step) => tooHigh({}, step).length > 0
