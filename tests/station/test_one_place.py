"""Two taps at one place: a monitor with a tapping of its own is a monitor."""

from __future__ import annotations

from typing import Any

import pytest

from steadyhead.design.sheet import judge
from steadyhead.hydraulics.model import build
from steadyhead.records.station import Station
from steadyhead.station import examples
from steadyhead.station.layout import at_one_place, read_layout
from steadyhead.station.load import from_data, load
from steadyhead.visits.questions import tap_of_role

Part = dict[str, Any]
METER = {"part": "flow_meter", "id": "FM", "size": "DN 125"}
CHECK = {"part": "check_valve", "id": "CV", "size": "DN 125"}
VALVE = {"part": "isolating_valve", "id": "IX", "size": "DN 125"}
VESSEL = {"part": "expansion_vessel", "id": "EV", "volume": "100 L", "precharge": "3 bar"}
DRAIN = {"part": "drain", "id": "DX", "size": "DN 25"}


def gate(*between: Part, shared: bool = False, swapped: bool = False) -> Station:
    """Return the example with a monitor, parts put between both taps, one tap for both, or taps exchanged."""
    data = load(examples.read("fenwarren-gate")).data
    line = data["line"]
    at = next(i for i, part in enumerate(line) if part["id"] == "T3M")
    if shared:
        next(part for part in line if part["id"] == "MON")["senses"] = "T3"
    if swapped:
        line[at - 1], line[at] = line[at], line[at - 1]
    line[at:at] = [dict(part) for part in between]
    return from_data(data).station


@pytest.mark.parametrize(
    ("between", "pairing"),
    [
        ((), "monitor"),
        ((DRAIN, VESSEL), "monitor"),
        ((METER,), "staged"),
        ((CHECK,), "staged"),
        ((VALVE,), "staged"),
    ],
    ids=["nothing", "drain and vessel", "meter", "check valve", "isolating valve"],
)
def test_two_taps_are_one_place_where_nothing_between_them_resists(between, pairing):
    layout = read_layout(gate(*between))
    assert layout.pairing == pairing
    assert layout.code.startswith("monitor" if pairing == "monitor" else "two reducers")


def test_a_tap_that_is_not_on_the_line_is_at_no_other_place():
    line = gate().line
    assert at_one_place(line, "T3", "T3M")
    assert at_one_place(line, "T9", "T9")
    assert not at_one_place(line, "T3", "T9")
    assert not at_one_place(line, "T1", "T3")


def test_a_tap_of_its_own_changes_only_what_hangs_on_a_shared_cock():
    own, shared = judge(gate()), judge(gate(shared=True))
    assert own.ladder is not None
    assert shared.ladder is not None
    assert own.ladder.highest_normal == shared.ladder.highest_normal
    assert {f.code for f in shared.findings} - {f.code for f in own.findings} == {"LAY-40"}
    assert any("common sensing tap" in words for words in shared.ladder.not_covered)
    assert any("sensing tap of the monitor" in words for words in own.ladder.not_covered)


def test_the_twin_settles_a_monitor_alike_on_a_tap_of_its_own():
    own, shared = build(gate()), build(gate(shared=True))
    for name in ("MON", "RV"):
        assert own.lockup[name].si == pytest.approx(shared.lockup[name].si, abs=1.0)


@pytest.mark.parametrize("swapped", [False, True])
def test_readings_of_the_outlet_are_taken_where_the_worker_senses(swapped):
    assert tap_of_role(read_layout(gate(swapped=swapped)))["T3"] == "T3"
