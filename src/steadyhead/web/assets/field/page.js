// The page of the device as the server gives it: the visits that are here, and the one its address takes along.

import { keepPage } from "./screens/building.js"
import { visitOf } from "./screens/taking.js"
import { startField } from "./start.js"

async function begin() {
  const root = document.getElementById("field")
  if (root === null) return // joined to another page
  const isKept = keepPage()
  const desk = await startField(root, null, { isKept })
  const take = () => {
    const visit = visitOf(globalThis.location)
    if (visit === null) return
    globalThis.history.replaceState(null, "", globalThis.location.pathname)
    desk.show("taking", { visit })
  }
  globalThis.addEventListener("hashchange", take)
  take()
}

begin()
