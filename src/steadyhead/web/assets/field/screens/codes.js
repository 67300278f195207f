// The station's square code: shown to be compared by eye with the one on card and papers, or read from a picture.

import { el, told } from "../keys.js"
import { codeOf, codePicture } from "../pictures/code.js"
import { backKey, goKey, line, problems } from "./parts.js"

const FORMAT = "qr_code"
const CODE_LINES = 3 // id, name, check; what stands below names a file

// Whether this browser reads codes from pictures.
export const canRead = () => typeof globalThis.BarcodeDetector === "function"

// What a code that was read says of this station: "same", "other", or "" where it is no station's code.
export function compared(read, code) {
  const [mine, there] = [code, read].map((words) => words.replaceAll("\r", "").trim().split("\n").slice(0, CODE_LINES))
  if (there.length < CODE_LINES || !there[2].startsWith("check ")) return ""
  return mine.every((words, at) => words === there[at]) ? "same" : "other"
}

// The code of the station, large, and what it says.
export function code(desk) {
  const { at, pack } = desk
  const { station } = pack
  const found = at.found === undefined ? null
    : told({ same: "holds", other: "struck", "": "unknown" }[at.found], { same: "It is this station's code.",
      other: `It is another station's code: ${at.read.split("\n").slice(0, 2).join(", ")}. Do not go down.`,
      "": "No station's code was read. Compare by eye." }[at.found])
  const made = codeOf(station.code)
  const blocks = [...problems(desk), found, el("div", { class: "code" }, codePicture(made, station.code_words)),
    line(station.code_words, "large"), line("The same words stand on the card in the chamber and on the plan. Compare each.")]
  return { title: "The station's code", blocks, extra: canRead() ? reader(desk) : [],
    left: backKey(desk, "where", {}, "Not this one"), right: goKey("It is this one", () => desk.show("before"), "compared") }
}

function reader(desk) {
  const field = el("input", { type: "file", accept: "image/*", capture: "environment", id: "code-read", "data-key": "code-read" })
  field.addEventListener("change", async () => {
    const [file] = field.files
    if (file !== undefined) desk.show("code", await readFrom(file, desk.pack.station.code))
  })
  return [el("div", { class: "choice" }, el("label", { class: "key picture", for: "code-read" }, "Read it from a picture"), field)]
}

async function readFrom(file, code) {
  try {
    const picture = await createImageBitmap(file)
    const codes = await new globalThis.BarcodeDetector({ formats: [FORMAT] }).detect(picture)
    const read = codes[0]?.rawValue ?? ""
    return { read, found: compared(read, code) }
  } catch {
    return { read: "", found: "" }
  }
}
