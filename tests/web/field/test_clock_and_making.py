"""Ids and times of entries made on the device: one clock through reload, sleep, a hand, a comparison."""

from __future__ import annotations

import shutil
import uuid
from pathlib import Path
from typing import Any

import pytest

from steadyhead.procedure.clocks import clocks
from steadyhead.procedure.entry_form import entry_of
from steadyhead.records.entry import Entry
from steadyhead.services.entering.making import CLOCK_WITHIN, TYPED_WITHIN
from tests.web.field.field_js import in_node

pytestmark = pytest.mark.skipif(not shutil.which("node"), reason="no Node")
WALL = 1_807_689_600_000
"""Where the device's clock stands when its page is opened. [ms]"""
BODY = """
const entry = (clock, last, more = {}) => made([{ kind: "note", payload: { text: "a" }, node: "" }],
  { run: "run-1", device: "tab-1", last, who: "Tam", clock, zone: 60, ...more })[0]
result = data.map((moves) => {
  let clock = newClock(WALL, 1000)
  const found = [entry(clock, 0)]
  let [wall, ran] = [WALL, 1000]
  for (const [what, shown, gone, more] of moves) {
    wall += shown
    ran += gone
    if (what === "reload") [clock, ran] = [newClock(wall, 5, keptOf(clock)), 5]
    else clock = goOn(clock, wall, ran, what === "hidden")
    if (what === "compared") clock = compared(clock, wall - more.took, wall, wall - more.took / 2 + more.off)
    found.push(entry(clock, found.length, { at: more?.at ?? "" }))
  }
  return { entries: found, gap: clock.gap, within: withinNow(clock) }
})
"""


def moved(folder: Path, *ways: list[Any]) -> list[tuple[list[Entry], dict[str, Any]]]:
    imports = {"clock": "newClock, goOn, compared, keptOf, withinNow", "making": "made"}
    got = in_node(folder, imports, f"const WALL = {WALL}\n{BODY}", list(ways))
    return [([entry_of(one) for one in each["entries"]], each) for each in got]


def test_ids_are_of_version_seven_in_the_order_of_time_and_no_two_alike(tmp_path: Path):
    body = "result = Array.from({ length: 500 }, (_, n) => newId(1807689600000 + n))"
    got = in_node(tmp_path, {"making": "newId"}, body, None)
    assert got == sorted(got)
    assert len(set(got)) == 500
    assert {(uuid.UUID(one).version, uuid.UUID(one).variant) for one in got} == {(7, uuid.RFC_4122)}
    assert all(int(one.replace("-", "")[:12], 16) == 1_807_689_600_000 + n for n, one in enumerate(got))


def test_a_reload_a_sleep_and_time_that_passes_tell_one_story(tmp_path: Path):
    ways = [
        [["seen", 60_000, 60_000, None], ["reload", 600_000, 0, None], ["seen", 5_000, 5_000, None]],
        [["hidden", 1_200_000, 20, None], ["seen", 60_000, 60_000, None]],
    ]
    for entries, told in moved(tmp_path, *ways):
        assert list(clocks(entries)) == []
        assert [one.clock_within for one in entries] == [CLOCK_WITHIN] * len(entries)
        assert entries[-1].t_device.endswith("+01:00")
        assert [one.device_seq for one in entries] == list(range(1, len(entries) + 1))
        assert told["gap"] == pytest.approx(1199.98 if len(entries) == 3 else 0.0)


def test_a_clock_set_while_the_page_is_seen_is_taken_up_by_the_offset(tmp_path: Path):
    ((entries, _),) = moved(tmp_path, [["seen", 3_660_000, 60_000, None], ["seen", -3_540_000, 60_000, None]])
    assert [round(one.time - entries[0].time, 3) for one in entries] == [0.0, 60.0, 120.0]
    assert list(clocks(entries)) == []


def test_a_clock_set_back_while_nobody_saw_is_told_by_the_judge(tmp_path: Path):
    ways = [[["hidden", -7_200_000, 60_000, None]], [["reload", -7_260_000, 0, None]]]
    for entries, told in moved(tmp_path, *ways):
        assert [one.params["why"] for one in clocks(entries)] == ["back"]
        assert told["gap"] == pytest.approx(-7260.0)


def test_a_comparison_with_the_server_gives_offset_and_half_width_and_a_worse_one_is_left_aside(
    tmp_path: Path,
):
    good, bad = {"took": 400, "off": 7_200_000}, {"took": 30_000, "off": 7_209_000}
    found = moved(
        tmp_path,
        [["compared", 60_000, 60_000, good]],
        [["compared", 0, 0, good], ["compared", 60_000, 60_000, bad]],
    )
    for entries, told in found:
        assert entries[-1].clock_offset == pytest.approx(7200.0)
        assert told["within"] == pytest.approx(0.3, abs=0.01)
    later = moved(tmp_path, [["compared", 0, 0, good], ["seen", 86_400_000, 86_400_000, None]])[0][1]
    assert later["within"] == pytest.approx(0.3 + 4.32, abs=0.01)


def test_a_time_given_by_hand_is_known_as_well_as_python_says_and_tells_when_it_was_typed(tmp_path: Path):
    given = ["2027-04-14T12:55+01:00", "2027-04-14T12:55:00+01:00", "2027-04-14T12:55:20+01:00"]
    ways = [[["seen", 60_000, 60_000, {"at": at}]] for at in given]
    for at, (entries, _) in zip(given, moved(tmp_path, *ways), strict=True):
        made = entries[-1]
        assert (made.t_device, made.t_mono, made.clock_offset) == (at, 0.0, 0.0)
        assert made.clock_within == (CLOCK_WITHIN if at.endswith(":20+01:00") else TYPED_WITHIN)
        assert made.by_hand
