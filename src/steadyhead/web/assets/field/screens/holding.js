// What was under way when a Stop came: it waits beside the Stop, and is there again after the page was opened anew.

const nameOf = (run) => `held ${run}`

// Return what was held when the page was closed; null for nothing.
export async function heldBefore(kept, run) {
  const found = await kept.state(nameOf(run))
  return found === null ? null : { ...found, isBack: true, isKept: kept.kind === "stored", known: [] }
}

// Keep what is held over a reload, and read it back: of a screen that is more than words and figures only the digits.
export async function keepHeld(desk) {
  const { kept, held } = desk
  const { step, draft, at } = held
  const digits = at.digits ?? ""
  await kept.setState(nameOf(desk.pack.run), { step, draft, at: at.screen === "read" ? at : { screen: "step", digits } })
  held.isKept = kept.kind === "stored" && ((await kept.state(nameOf(desk.pack.run)))?.at.digits ?? "") === digits
  if (desk.held === held && desk.at.screen === "stopped") desk.draw()
}

export const letGo = ({ kept, pack }) => kept.setState(nameOf(pack.run), null)
