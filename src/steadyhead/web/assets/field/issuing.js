// The certificate of a visit: asked of the register, kept on the device with its paper. No DOM.
//
// Where there is no signal the wish is kept, and asked once everything is sent. A wish is no certificate.

export const FORMAT = "steadyhead/issued/1"
const PATIENCE = 120_000 // a protection proof may have to be worked out first. Own estimate. [ms]

export const WORDS = {
  unsigned: "Nobody has signed. Sign first.",
  unsent: "Not everything is sent yet. The certificate is issued at sync, once the register has every entry.",
  offline: "No signal. The certificate is issued at sync. Until then the visit is provisional: signed, not certified.",
  local: "This page has no server. The office takes the file in and issues the certificate.",
  asked: "Asked for. It is issued at sync.",
  asking: "The register is asked.",
  "signed out": "Sign in again, then ask once more. Nothing is lost.",
  "not allowed": "Your role does not reach: an engineer issues it, on the page of the visit. The wish stays here.",
  refused: "The register issues none yet. What stands against it:",
  issued: "Issued.",
  loose: "The paper could not be kept on this device. Open it now, or take it from the page of the visit.",
}

const nameOf = (run) => `certificate ${run}`
const wishOf = (run) => `wish ${run}`

// What is kept of a visit: the certificate, or null; and the wish for one, or null.
export const issuedOf = async (kept, run) => (await kept.state(nameOf(run))) ?? null
export const wished = async (kept, run) => (await kept.state(wishOf(run))) ?? null

// Keep the wish: who asks for it, as what it was signed, since when.
export async function wish(kept, run, { who, asks, at }) {
  await kept.setState(wishOf(run), { who, asks, at })
}

export const unwish = (kept, run) => kept.setState(wishOf(run), null)

// What stands in the way before the register is asked at all: "" for nothing. counts: of the entries; view: of the run.
export function lacking({ address, counts, view }) {
  if (!view.signs.some((one) => one.stands)) return "unsigned"
  if (!address) return "local"
  return counts.unsent > 0 ? "unsent" : ""
}

// Ask the register for the certificate, and keep it with its paper. address: of the sync of the run; asks: fetch.
// Returns { state, words, issued: null or what is kept, against: what stands against it }.
export async function issue({ kept, run, address, asks = (...given) => globalThis.fetch(...given) }) {
  const told = (state, more = {}) => ({ state, words: WORDS[state], issued: null, against: [], ...more })
  const how = { credentials: "same-origin", redirect: "manual", headers: { accept: "application/json" } }
  let answer = null
  let body = null
  try {
    answer = await asks(address.replace(/\/sync$/, "/certificate"), { ...how, method: "POST", signal: patience() })
    body = await answer.json().catch(() => null)
  } catch {
    return told("offline")
  }
  if (answer.status === 409 && Array.isArray(body?.against)) return told("refused", { against: body.against })
  const state = { 401: "signed out", 403: "not allowed" }[answer.status]
  if (state) return told(state)
  if (!answer.ok || body?.format !== FORMAT) return told("offline")
  const paper = await bytesOf(body.pdf, asks, how)
  const issued = { ...body, bytes: paper }
  await kept.setState(nameOf(run), issued)
  await unwish(kept, run)
  const there = (await issuedOf(kept, run))?.bytes
  return told(paper !== null && there?.length === paper.length ? "issued" : "loose", { issued })
}

const patience = () => (typeof AbortSignal === "function" && AbortSignal.timeout ? AbortSignal.timeout(PATIENCE) : undefined)

async function bytesOf(address, asks, how) {
  try {
    const answer = await asks(address, { ...how, headers: {}, signal: patience() })
    return answer.ok ? new Uint8Array(await answer.arrayBuffer()) : null
  } catch {
    return null
  }
}
