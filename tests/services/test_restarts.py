"""Both ends of a reset after a trip, run by the surge engine for the plan of a restart."""

from __future__ import annotations

import pytest

from steadyhead.services import restarts
from steadyhead.services.library import completed
from steadyhead.services.planning import make_plan, read_visit
from steadyhead.services.restarts import restart_ends, with_ends
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.visits.plan import figures
from steadyhead.visits.restarting import worst_of

NARROW = (
    (b"bore: 202 mm, wall: 6.3 mm", b"bore: 101 mm, wall: 6.0 mm"),
    (b"bore: 147 mm, wall: 16.4 mm", b"bore: 102 mm, wall: 11.4 mm"),
)
"""Mains of half the bore: the same flow comes four times as fast."""
WEAK = (b"normal: 6 bar, fault: 8 bar, level: 28 m", b"normal: 6 bar, fault: 6.9 bar, level: 28 m")


def ends_of(source: bytes):
    station = completed(load(source)).station
    return restart_ends(station, figures(station, "restart"))[0]


@pytest.fixture(scope="module")
def ends():
    return ends_of(read("dunmarrow-bottom"))


@pytest.fixture(scope="module")
def narrow():
    source = read("dunmarrow-bottom")
    for stated, other in (*NARROW, WEAK):
        assert stated in source
        source = source.replace(stated, other)
    return ends_of(source)


def test_both_ends_are_run_sound_and_failed_with_the_inlet_open_and_throttled(ends):
    assert {(one.found, one.health, one.throttled) for one in ends} == {
        (found, health, throttled)
        for found in ("shut", "wide open")
        for health in ("sound", "failed")
        for throttled in (False, True)
    }


def test_a_sound_reducer_holds_and_a_failed_one_trips_the_shut_off_again(ends):
    by = {(one.found, one.health): one for one in ends if not one.throttled}
    assert not any(by[found, "sound"].trips for found in ("shut", "wide open"))
    assert all(by[found, "failed"].trips for found in ("shut", "wide open"))
    assert not any(one.passes for one in ends)
    worst = worst_of(ends, throttled=False)
    assert worst is not None
    assert worst.health == "failed"


@pytest.mark.source(
    kind="own estimate",
    ref="design handbook 7.4: shut-off after the reducer, default twin: 4.3 bar where the reducer is sound",
    note="8.4 bar of the failed one there was thrown back by one volume; three mains give 6.2 bar here",
)
def test_behind_narrow_mains_a_sound_one_found_shut_holds_and_a_failed_one_passes_the_weak_limit(narrow):
    by = {(one.found, one.health): one for one in narrow if not one.throttled}
    assert by["shut", "sound"].outlet == pytest.approx(4.3e5, abs=0.15e5)
    assert not by["shut", "sound"].trips
    assert not by["shut", "sound"].passes
    assert by["wide open", "failed"].passes
    assert by["wide open", "failed"].trips
    assert worst_of(narrow, throttled=False) == by["wide open", "failed"]


def test_throttling_the_inlet_alone_does_not_make_a_reset_with_consumers_connected_safe(narrow):
    worst = worst_of(narrow, throttled=True)
    assert worst is not None
    assert worst.health == "failed"
    assert worst.passes


def test_a_station_where_nothing_trips_has_no_ends():
    station = load(read("pinnock-yard")).station
    known = figures(station, "first")
    assert restart_ends(station, known) == ((), ())
    assert with_ends(station, known) is known


def test_the_visit_after_a_trip_is_asked_for_by_name_and_tells_the_worst_end():
    assert read_visit("restart") == ("restart", "")
    assert read_visit("restart=A") == ("restart", "A")
    made = make_plan(read("dunmarrow-bottom"), "restart")
    assert made.procedure is not None
    said = {message.id for message in made.procedure.node("R7R").do}
    assert {"RS7R.ends", "RS7R.ends_v2"} <= said
    assert "RUN-82" in {message.id for message in made.procedure.notes}


def test_of_several_streams_the_ends_of_the_one_that_tripped_are_told(ends, monkeypatch):
    """The runs themselves, on each way alone, are those of tests/surge/test_whole_stations.py."""
    asked = []

    def told(station, numbers, stream=""):
        asked.append(stream)
        return ends, ()

    monkeypatch.setattr(restarts, "restart_ends", told)
    made = make_plan(read("veldany-house"), "restart=B")
    assert asked == ["B"]
    assert made.procedure is not None
    assert made.procedure.item == "B"
    assert "RS7R.ends" in {message.id for message in made.procedure.node("R7R").do}
    refused = make_plan(read("veldany-house"), "restart")
    assert refused.procedure is None
    assert "RUN-81" in {finding.code for finding in refused.findings}
    assert asked == ["B"]
