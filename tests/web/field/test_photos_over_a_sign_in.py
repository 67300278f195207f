"""Large photos on a device whose session ended: they stay whole, and go after the sign-in."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.web.field.field_js import in_node

pytestmark = [pytest.mark.skipif(not shutil.which("node"), reason="no Node"), pytest.mark.by_turns(2)]
BODY = """
const kept = await openKept({ memory: true })
const bytes = Uint8Array.from({ length: 6_000_000 }, (_, at) => (at * 31) % 251)
await kept.keepPhoto("run-1", { sha256: sha256(bytes), name: "large.jpg", media: "image/jpeg", bytes })
const [asked, got] = [[], []]
const answers = [...data]
const reply = (status, body) => ({ status, ok: status === 200, json: async () => body })
async function asks(address, how) {
  const is = answers.shift()
  const isPhoto = how.method === "PUT"
  asked.push(isPhoto ? "photo" : "sync")
  if (is === "cut") throw new TypeError("the server closed the line amid the photo")
  if (is !== 200) return reply(is, null)
  if (isPhoto) {
    got.push([how.body.length, sha256(how.body) === sha256(bytes)])
    return reply(200, { sha256: sha256(how.body) })
  }
  const none = { held: [], refused: [], entries: [], last: 0, server_time: 0, run_state: {} }
  return reply(200, { format: FORMAT, ...none })
}
let clock = newClock(0, 0, null)
const box = new Outbox({ kept, run: "run-1", address: "/stations/Q/runs/run-1/sync", asks, locks: null,
  clock: { get: () => clock, set: (one) => { clock = one } }, later: () => 0, never: () => {} })
const told = []
while (answers.length > 0) {
  const { state, words, again } = await box.send()
  const [photo] = await kept.photos("run-1")
  told.push({ state, words, isAgain: again !== null, isSent: photo.isSent, refused: photo.refused,
    size: photo.bytes.length, count: (await kept.counts("run-1")).photos })
}
result = { told, asked, got }
"""
IMPORTS = {
    "kept": "openKept", "outbox": "Outbox, FORMAT", "canonical": "sha256", "clock": "newClock",
}  # fmt: skip


def test_a_large_photo_waits_for_the_sign_in_and_goes_once_and_whole(tmp_path: Path):
    # Signed out amid the visit: between sync and photo, at the sync, and with the line closed amid the photo.
    # At the end the line is down, and nothing is left to be sent.
    answers = [200, 401, 401, 200, "cut", 401, 200, 200, "cut", 200]
    found = in_node(tmp_path, IMPORTS, BODY, answers)
    states = [one["state"] for one in found["told"]]
    assert states == ["signed out", "signed out", "signed out", "idle", "offline", "idle"]
    waiting, done = found["told"][:3], found["told"][3:]
    for one in waiting:
        assert (one["isSent"], one["refused"], one["size"], one["count"]) == (False, "", 6_000_000, 1)
    assert waiting[0]["words"] == "Sign in again, nothing is lost."
    assert [one["isSent"] for one in done] == [True, True, True]
    assert found["got"] == [[6_000_000, True]]
