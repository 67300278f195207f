// Everything of a visit as one file. It counts as saved once that is sure: the browser wrote it, or a person saw it there.

import { el } from "../keys.js"
import { choices, goKey, line, backOutKey, problems } from "./parts.js"

// What is said of entries: of a file that was not written, and where that cannot be known.
const OF_ENTRIES = { no: "The file was not written. Everything counts as not saved. Save it again.",
  unsure: "Until you say so, everything in it counts as not saved.", lost: "it counts as not saved" }
// The same of a paper that the page holds anyway.
export function ofPaper({ kept }) {
  const stays = kept.kind === "stored" ? "stays on this device" : "stays in this page until it is closed"
  return { no: `The paper was not written. It ${stays}. Save it again, in another place, or open it.`,
    unsure: `The paper ${stays} either way.`, lost: `the paper ${stays}` }
}

// Give a file out. Resolves to true where the browser wrote it and says so, false where it did not, null where that
// cannot be known: a plain download, which the browser may refuse without a word.
export async function handOut(name, content, media) {
  if (typeof globalThis.showSaveFilePicker === "function" && globalThis.isSecureContext) {
    try {
      return await written(name, content)
    } catch (problem) {
      if (problem?.name === "AbortError") return false
      // else it may not be asked here: a plain download
    }
  }
  const address = URL.createObjectURL(new Blob([content], { type: media }))
  const link = el("a", { href: address, download: name })
  document.body.append(link)
  link.click()
  link.remove()
  setTimeout(() => URL.revokeObjectURL(address), 60_000)
  return null
}

// Write to the file the person picks, and read its size back.
async function written(name, content) {
  const place = await globalThis.showSaveFilePicker({ suggestedName: name })
  try {
    const stream = await place.createWritable()
    const blob = new Blob([content])
    await stream.write(blob)
    await stream.close()
    return (await place.getFile()).size === blob.size
  } catch {
    return false
  }
}

// Hand a file out, and count its entries as saved where that is sure; else ask the person. said: what is said of it.
export async function savedAs(desk, { name, content, media, keys, said = OF_ENTRIES }) {
  const from = { ...desk.at }
  const is = await handOut(name, content, media)
  if (is === true) return sure(desk, keys, from)
  if (is === null) return desk.show("isThere", { name, keys, from, said })
  told(desk, said.no)
  return undefined
}

function told(desk, words) {
  desk.problem = [words]
  desk.draw()
  desk.say(words)
}

async function sure(desk, keys, from) {
  if (keys.length > 0) await desk.kept.markSaved(keys)
  desk.counts = await desk.kept.counts(desk.pack.run)
  desk.show(from.screen, from)
  desk.say("It is saved.")
}

// Whether the file is there: asked, because a page cannot know what became of a download.
export function isThere(desk) {
  const { name, keys, from, said } = desk.at
  const back = () => { desk.show(from.screen, from); told(desk, said.no) }
  const no = { words: "It is not there", small: said.lost, press: back }
  return { title: "Is the file there?", blocks: [...problems(desk), line(name, "large"),
    line("The browser does not tell whether it kept the file. Look at its list of downloads."), line(said.unsure),
    ...choices([no])], left: backOutKey(desk), right: goKey("The file is there", () => sure(desk, keys, from), "seen") }
}

// Save it.
export async function save(desk) {
  const { name, text, keys } = await desk.kept.file(desk.pack.run)
  return savedAs(desk, { name, content: text, media: "application/jsonl", keys })
}
