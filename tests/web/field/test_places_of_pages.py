"""The numbers a page gives: no other page of its device comes to them, whatever the disk does."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from tests.web.field.field_js import in_node

PLACES = """
const drawn = Math.random
result = []
for (let at = 0; at < data.pages; at += 1) {
  Math.random = () => at / data.pages
  const kept = await openKept({ memory: true })
  result.push(kept.lastOf({ value: 7, page: "one that was ended" }))
}
Math.random = drawn
"""
OTHERS = """
const clock = newClock(Date.now(), performance.now(), null)
const note = [{ kind: "note", payload: { text: "a dry pit" }, node: "" }]
const by = (last, device) => made(note, { run: "run-1", who: "one", clock, last, device })
const kept = await openKept({ memory: true })
const number = async () => (await kept.add("run-1", by)).entries[0].device_seq
result = { given: [await number()] }
const theirs = [...by(1, kept.device), ...by(2, kept.device)]
if (data.isFull) kept.shelf.write = async () => { throw new DOMException("no room", "QuotaExceededError") }
if (data.isDark) kept.shelf.read = async () => { throw new DOMException("unreadable", "UnknownError") }
await kept.takeIn("run-1", theirs.map((entry) => lineOf(entry)), "server", 3)
result.theirs = theirs.map((entry) => entry.device_seq)
for (let count = 0; count < 3; count += 1) result.given.push(await number())
"""
NAMES = {"kept": "openKept", "making": "made", "clock": "newClock", "canonical": "lineOf"}


def test_pages_after_a_full_disk_have_numbers_of_their_own(tmp_path: Path):
    found = sorted(in_node(tmp_path, {"kept": "openKept"}, PLACES, {"pages": 1000}))
    assert min(later - sooner for sooner, later in pairwise(found)) >= 1000
    assert found[-1] < 2**53 / 1e6, "a million openings stay whole numbers"


def test_behind_numbers_of_another_page_nobody_goes_on_at_once(tmp_path: Path):
    for how in ({}, {"isFull": True}, {"isFull": True, "isDark": True}):
        found = in_node(tmp_path, NAMES, OTHERS, {"isFull": False, "isDark": False, **how})
        assert found["theirs"] == [2, 3]
        given = found["given"]
        assert given[0] == 1
        assert given[1] > 100_000_000, how
        assert given[1:] == list(range(given[1], given[1] + 3)), how
