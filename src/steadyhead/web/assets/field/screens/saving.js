// Everything of a visit as one file, in one touch.

import { el } from "../keys.js"

// Give a file out: what the browser saves.
export function handOut(name, content, media) {
  const address = URL.createObjectURL(new Blob([content], { type: media }))
  const link = el("a", { href: address, download: name })
  document.body.append(link)
  link.click()
  link.remove()
  setTimeout(() => URL.revokeObjectURL(address), 60_000)
}

// Save it, and count its entries as saved.
export async function save(desk) {
  const { name, text, keys } = await desk.kept.file(desk.pack.run)
  handOut(name, text, "application/jsonl")
  await desk.kept.markSaved(keys)
  desk.counts = await desk.kept.counts(desk.pack.run)
  desk.draw()
}
