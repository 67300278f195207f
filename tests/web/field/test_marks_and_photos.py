"""What a mark of a reading does to the list of causes, and whether a picture stands alone in its file."""

from __future__ import annotations

import json
import shutil
import struct
import zlib
from pathlib import Path
from typing import Any

import pytest

from steadyhead.services.example_year.teller import picture
from tests.web.field.field_js import SOURCE, in_node

pytestmark = pytest.mark.skipif(not shutil.which("node"), reason="no Node")
VECTORS = json.loads((SOURCE.parents[1] / "tests" / "vectors" / "causes.json").read_text("utf-8"))["steps"]
TRIP = VECTORS["quillenby-row F1.SO"]
"""A step that knows the trip as found and as set, told apart by a choice."""
BESIDE = 2e4
"""What a trip stands off: usual as found, no more as set. [Pa]"""
BODY = """
result = data.map(({ signature, marks, readings, chosen }) => {
  const { signature: marked, ...told } = byMarks(signature, marks)
  return { told, states: marked.reads.map((one) => one.state), words: markWords(told, marks, { mid: "Trip" }),
    causes: weigh(marked, readings, null, chosen ?? null).map((one) => [one.id, one.shown]) }
})
"""


def marked(folder: Path, *cases: dict[str, Any]) -> list[dict[str, Any]]:
    imports = {"marks": "byMarks, markWords", "../procedure/causes": "weigh"}
    return list(in_node(folder, imports, BODY, list(cases)))


def test_a_mark_picks_the_state_the_reading_is_weighed_against_whatever_was_chosen(tmp_path: Path):
    found, as_set = (
        next(one for one in TRIP["reads"] if one["state"] == name) for name in ("trip_mid", "trip_set_mid")
    )
    value = TRIP["healthy"][f"{as_set['state']}/{as_set['place']}"][0][0] + BESIDE
    case = {"signature": TRIP, "readings": {"mid": [value, 1.0]}, "chosen": None}
    if found["choice"] is not None:
        case["chosen"] = dict([found["choice"]])
    got = marked(tmp_path, *({**case, "marks": marks} for marks in (
        {}, {"mid": "as found"}, {"mid": "as left"}, {"mid": "peak"})))  # fmt: skip
    bare, as_found, as_left, peak = got
    assert as_found["states"] == ["trip_mid"]
    assert as_left["states"] == ["trip_set_mid"]
    assert as_found["words"] == ["Trip is marked as found: it is weighed against the setting as found."]
    assert as_left["words"] == ["Trip is marked as left: it is weighed against the setting as left."]
    assert "0" in [name for name, _ in as_found["causes"]]
    assert "0" not in [name for name, _ in as_left["causes"]]
    assert (peak["states"], peak["words"], peak["causes"]) == (bare["states"], [], bare["causes"])


def test_as_found_is_not_weighed_where_only_the_setting_as_left_is_known_and_says_so(tmp_path: Path):
    after = VECTORS["dunmarrow-bottom Y7.RV"]
    reads = {"trickle": [3e5, 5000.0], "duty": [3e5, 5000.0]}
    marks = {"trickle": "as found", "duty": "as found"}
    before = VECTORS["dunmarrow-bottom Y3"]
    (one, other) = marked(
        tmp_path,
        {"signature": after, "marks": marks, "readings": reads},
        {"signature": before, "marks": {"trickle": "as left"}, "readings": {"trickle": [3e5, 5000.0]}},
    )
    assert one["told"] == {"picked": [], "apart": ["trickle"], "same": ["duty"]}
    assert one["states"] == ["duty"]
    assert "It is not weighed." in one["words"][0]
    assert "the mark does not change this list" in one["words"][1]
    assert other["told"]["same"] == ["trickle"]
    assert other["states"] == ["trickle", "lockup"]


def with_chunk(content: bytes, name: bytes, body: bytes) -> bytes:
    """Return a PNG with one more chunk behind its head."""
    chunk = struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
    return content[:33] + chunk + content[33:]


def test_only_a_picture_that_stands_alone_in_its_file_is_bare(tmp_path: Path):
    png = picture("lid", 40, 30)
    cases = [
        png,
        with_chunk(png, b"eXIf", b"II*\x00"),
        with_chunk(png, b"tEXt", b"place\x00somewhere"),
        png + b"behind it",
        b"\xff\xd8\xff\xe0" + bytes(40),
        png[:50],
        b"",
    ]
    body = "result = data.map((one) => isBare(new Uint8Array(one)))"
    got = in_node(tmp_path, {"photo": "isBare"}, body, [list(one) for one in cases])
    assert got == [True, False, False, False, False, False, False]
