"""The numbers of a page that was ended with a full disk: no other page comes to them by chance."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from tests.web.field.field_js import in_node

BODY = """
const drawn = Math.random
result = []
for (let at = 0; at < data.pages; at += 1) {
  Math.random = () => at / data.pages
  const kept = await openKept({ memory: true })
  result.push(kept.lastOf({ value: 7, page: "one that was ended" }))
}
Math.random = drawn
"""


def test_pages_after_a_full_disk_have_numbers_of_their_own(tmp_path: Path):
    found = sorted(in_node(tmp_path, {"kept": "openKept"}, BODY, {"pages": 1000}))
    assert min(later - sooner for sooner, later in pairwise(found)) >= 1000
    assert found[-1] < 2**53 / 1e6, "a million openings stay whole numbers"
