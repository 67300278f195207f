// A photo as it is kept: made smaller where that loses nothing anybody needs, so that many fit and a weak signal carries
// them. What stands in the picture file beside the picture (place, maker) is left out by it.

const SMALL = 700_000 // a bare file is kept as it is up to here [bytes]. Own estimate.
const LONGEST = 2000 // of the longer side [px]: a gauge across a third of the picture is read to a division. Own estimate.
const QUALITY = 0.85
const KIND = "image/jpeg"
const PNG = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]
const BARE = ["IHDR", "PLTE", "IDAT", "IEND", "tRNS", "gAMA", "cHRM", "sRGB", "sBIT", "pHYs", "bKGD", "hIST"]

// Return { bytes, media, isBare } of a file from the camera: drawn anew without what stands beside the picture. Where the
// browser cannot draw it: the file itself, and `isBare` tells whether the picture stands alone in it.
export async function shrunk(file) {
  const bytes = new Uint8Array(await file.arrayBuffer())
  const whole = { bytes, media: file.type, isBare: isBare(bytes) }
  if (whole.isBare && bytes.length <= SMALL) return whole
  try {
    const drawn = await smaller(file)
    return drawn.length < bytes.length || !whole.isBare ? { bytes: drawn, media: KIND, isBare: true } : whole
  } catch {
    return whole
  }
}

// Whether nothing stands in a file but the picture: told of PNG, by its chunks, up to its last byte; of others never.
export function isBare(bytes) {
  if (!PNG.every((one, at) => bytes[at] === one)) return false
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
  for (let at = PNG.length; at + 12 <= bytes.length;) {
    const name = String.fromCharCode(...bytes.subarray(at + 4, at + 8))
    if (!BARE.includes(name)) return false
    at += 12 + view.getUint32(at)
    if (name === "IEND") return at === bytes.length
  }
  return false
}

async function smaller(file) {
  const picture = await createImageBitmap(file)
  const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height))
  const sheet = document.createElement("canvas")
  sheet.width = Math.round(picture.width * scale)
  sheet.height = Math.round(picture.height * scale)
  sheet.getContext("2d").drawImage(picture, 0, 0, sheet.width, sheet.height)
  picture.close()
  const drawn = await new Promise((done, failed) => {
    sheet.toBlob((blob) => (blob === null ? failed(new Error("not drawn")) : done(blob)), KIND, QUALITY)
  })
  return new Uint8Array(await drawn.arrayBuffer())
}
