// The key that takes a photo: it is kept on this device, and entered by its digest.

import { sha256 } from "../canonical.js"
import { el } from "../keys.js"
import { shrunk } from "../photo.js"

const NOT_BARE = "The browser could not draw this photo: its file is kept as it is, with the place where it was taken if it "
  + "holds one. Void the photo and take it as JPEG where that must not be."

// Return the key. make(given): the drafts; done(isKept): after it was entered.
export function photoField(desk, make, done) {
  const field = el("input", { type: "file", accept: "image/*", capture: "environment", id: "photo", "data-key": "photo" })
  field.addEventListener("change", async () => {
    const [file] = field.files
    if (file === undefined) return
    const { bytes, media, isBare } = await shrunk(file)
    const given = { sha256: sha256(bytes), name: file.name }
    const isKept = await desk.kept.keepPhoto(desk.pack.run, { ...given, media, bytes })
    if (!await desk.enter(() => make(given))) return
    done(isKept)
    if (isBare) return
    desk.problem = [NOT_BARE]
    desk.draw()
  })
  return [el("label", { class: "key picture", for: "photo" }, "Take the photo"), field]
}
