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


LATE = """
const kept = await openKept({ memory: true })
for (let at = 0; at < 9; at += 1) {
  const one = { id: `${at}`, run: "run-1", kind: "note", payload: { text: "x" }, device: "t", device_seq: at }
  await kept.add("run-1", () => [one])
}
const [answers, sizes, told] = [[...data], [], []]
let late = () => {}
async function asks(address, how) {
  const is = answers.shift()
  const { entries } = JSON.parse(how.body)
  sizes.push(entries.length)
  if (is === "late") {
    late()
    throw new DOMException("ended", "AbortError")
  }
  const ended = async () => { late(); throw new DOMException("ended", "AbortError") }
  if (is === "amid") return { status: 200, ok: true, json: ended }
  if (is === "lost") throw new TypeError("no line")
  if (is !== 200) return { status: is, ok: false, json: async () => null }
  const held = entries.map((one) => JSON.parse(one).id)
  const told = { format: FORMAT, held, refused: [], entries: [], last: 9, server_time: 0, run_state: {} }
  return { status: 200, ok: true, json: async () => told }
}
let clock = newClock(0, 0, null)
const box = new Outbox({ kept, run: "run-1", address: "/stations/Q/runs/run-1/sync", asks, locks: null,
  clock: { get: () => clock, set: (one) => { clock = one } }, never: () => {},
  later: (work, ms) => { if (ms === 60000) late = work } })
while (answers.length > 0) told.push((await box.send()).words)
result = { told, sizes }
"""


def test_what_is_not_answered_in_time_is_told_so_and_less_is_asked_at_once(tmp_path: Path):
    answers = ["late", "amid", "lost", 503, 401, 200, 200, 200, 200, 200]
    found = in_node(tmp_path, IMPORTS, LATE, answers)
    late = "No answer in time. Everything stays on this device."
    assert found["told"][:5] == [
        late,
        late,
        "No signal. Everything stays on this device.",
        "The server does not take it now. Everything stays on this device.",
        "Sign in again, nothing is lost.",
    ]
    assert found["sizes"][:2] == [9, 4]
    assert found["sizes"][2] == 2
    assert found["told"][-1] == "Everything is sent."


LISTENING = """
const kept = await openKept({ memory: true })
const own = { id: "0", run: "run-1", kind: "note", payload: { text: "x" }, device: "t", device_seq: 1 }
await kept.add("run-1", () => [own])
const [later, said, asked, knows] = [[], [], [], []]
let others = []
async function asks(address, how) {
  const { entries, judged } = JSON.parse(how.body)
  asked.push([entries.length, judged !== null])
  knows.push(how.headers["x-run-state"] ?? "")
  const held = entries.map((one) => JSON.parse(one).id)
  if (asked.length === 3) { // entered while it listens
    const at = { t_device: "2027-04-14T08:00:00.000Z", t_mono: 1, clock_offset: 0 }
    await kept.add("run-1", () => [{ ...own, id: "5", node: "A4", who: "Tam", device_seq: 5, ...at }])
  }
  const last = 1 + others.length
  const known = `state ${last}`
  const state = { server_time: 0, known, run_state: knows.at(-1) === known ? null : { entries: last } }
  const told = { format: FORMAT, held, refused: [], entries: others, last, ...state }
  return { status: 200, ok: true, json: async () => told }
}
let clock = newClock(0, 0, null)
const box = new Outbox({ kept, run: "run-1", address: "/stations/Q/runs/run-1/sync", asks, locks: null,
  clock: { get: () => clock, set: (one) => { clock = one } }, never: () => {},
  later: (work, ms) => later.push([work, ms]),
  judged: async () => ({}), tell: (told) => said.push(told.state) })
const next = async () => {
  const [work, ms] = later.filter(([, ms]) => ms !== 60000).at(-1)
  later.length = 0
  await work()
  return ms
}
await box.start()
const waits = [await next()]
const quiet = [...said]
waits.push(await next())
others = [JSON.stringify({ id: "9", run: "run-1", node: "A4", kind: "note",
  payload: { text: "Stop: gas." }, who: "Isla",
  device: "u", device_seq: 1, t_device: "2027-04-14T09:00:00.000Z", t_mono: 1, clock_offset: 0 })]
waits.push(await next())
const here = (await kept.entries("run-1")).map((one) => one.id)
box.stop()
later.length = 0
await box.send()
result = { waits, quiet, said, asked, here, knows, server: box.told.server,
  still: later.filter(([, ms]) => ms === 30000).length }
"""


def test_a_device_that_has_sent_everything_goes_on_hearing_what_others_entered(tmp_path: Path):
    found = in_node(tmp_path, IMPORTS, LISTENING, None)
    # nothing heard: nothing is told, and nothing is judged for it
    assert found["quiet"] == ["sending", "idle"]
    assert found["asked"][:2] == [[1, True], [0, False]]
    # what stands is not told again to a device that says that it knows; what it knows stays
    assert found["knows"][:2] == ["", "state 1"]
    assert (found["server"]["entries"], found["server"]["known"]) == (2, "state 2")
    # what was entered while it listened goes at once, and what others entered comes
    assert found["waits"][:2] == [30_000, 30_000]
    assert found["waits"][2] < 5_000
    assert found["said"][2:4] == ["waits", "sending"]
    assert found["asked"][3] == [1, True]
    assert sorted(found["here"]) == ["0", "5", "9"]
    assert found["still"] == 0
