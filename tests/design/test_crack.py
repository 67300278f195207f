"""The highest crack of a relief valve that stands in place of a shut-off."""

from __future__ import annotations

import pytest

from steadyhead.design.crack import highest_crack
from steadyhead.design.sheet import judge
from steadyhead.design.ways import ways_of
from steadyhead.findings import Severity
from steadyhead.records.station import Station
from steadyhead.station import examples
from steadyhead.station.load import from_data, load
from tests.design.stations import Edit, part, station_of, without
from tests.design.way_stations import PLANT

BAR = 1e5
LARGE = (without("SOA", "SOB"), part("RL", kv="Kv 60", size="DN 80"))


def mill(*edits: Edit) -> Station:
    data = load(examples.read("orrowby-mill")).data
    for edit in edits:
        edit(data)
    return from_data(data).station


def cracking_at(bar: float) -> Edit:
    return part("RL", crack=f"{bar:.5f} bar", full=f"{1.1 * bar:.5f} bar", reseat=f"{0.9 * bar:.4f} bar")


def left_at_highest(station: Station, again: Station) -> float:
    """Return what the fault limit leaves above the peak at the upper edge, the crack at its highest. [Pa]"""
    (sized,) = judge(again).reliefs
    assert sized.highest_crack == pytest.approx(judge(station).reliefs[0].highest_crack, abs=500.0)
    ladder = judge(again).ladder
    assert ladder is not None
    assert ladder.inputs.fault_limit is not None
    return ladder.inputs.fault_limit - sized.latest_peak


@pytest.mark.source(kind="analytic", ref="crack + error + rise = fault limit, the twin asked at that edge")
@pytest.mark.parametrize("now", [4.4, 4.6, 5.4])
def test_at_the_highest_crack_nothing_is_left_below_the_fault_limit_wherever_the_file_has_it(now: float):
    station = mill(cracking_at(now))
    highest = judge(station).reliefs[0].highest_crack
    assert highest is not None
    assert left_at_highest(station, mill(cracking_at(highest / BAR))) == pytest.approx(0.0, abs=150.0)


@pytest.mark.source(
    kind="analytic", ref="crack + error + rise = fault limit, both streams, the lower one counts"
)
def test_of_several_streams_the_one_that_brings_most_sets_the_highest_crack():
    station = station_of(PLANT, *LARGE, cracking_at(5.4))
    (sized,) = judge(station).reliefs
    each = [highest_crack(way, way.reliefs[0], 6.0 * BAR) for way in ways_of(station)]
    assert all(each)
    assert sized.highest_crack is not None
    assert sized.its_rise is not None
    again = station_of(PLANT, *LARGE, cracking_at(sized.highest_crack / BAR))
    assert left_at_highest(station, again) == pytest.approx(0.0, abs=150.0)


def test_a_crack_just_above_the_highest_stops_the_release_and_one_just_below_does_not():
    highest = judge(mill()).reliefs[0].highest_crack
    assert highest is not None
    for step, stopped in ((0.05 * BAR, True), (-0.05 * BAR, False)):
        found = {one.code: one for one in judge(mill(cracking_at((highest + step) / BAR))).findings}
        assert ("LAD-58" in found) is stopped
        if stopped:
            assert found["LAD-58"].severity is Severity.STOP


def test_a_relief_valve_that_no_crack_makes_large_enough_has_no_highest_crack():
    (sized,) = judge(mill(part("RL", kv="Kv 1", size="DN 20"))).reliefs
    assert sized.highest_crack is None


def test_beside_a_shut_off_no_highest_crack_is_worked_out():
    (sized,) = judge(station_of(PLANT)).reliefs
    assert sized.highest_crack is None
