"""Distance of two trips: the design asks where its own distance would not pass its own plan."""

from __future__ import annotations

from math import sqrt

import pytest

from steadyhead.design.sheet import judge
from steadyhead.design.stagger import is_sure, least_apart, proof_scatter
from steadyhead.findings import Severity, tell
from steadyhead.records.parts import ShutOff
from tests.design.stations import branch, part, station_of, top
from tests.design.way_stations import PLANT

BAR = 1e5


def found(name, *edits):
    return {one.code: one for one in judge(station_of(name, *edits)).findings}


def shut_offs(station):
    return sorted(
        (one for one in station.parts() if isinstance(one, ShutOff)),
        key=lambda one: one.trip.si if one.trip is not None else 0.0,
    )


@pytest.mark.source(kind="analytic", ref="0.20 bar less two repeatabilities of 0.10 bar, by root and by sum")
@pytest.mark.parametrize(
    ("stacking", "sure"), [("root-sum-square", 0.20 - 0.10 * sqrt(2.0)), ("worst case", 0.0)]
)
def test_proved_trips_are_sure_to_lie_apart_by_their_distance_less_both_repeatabilities(stacking, sure):
    of = station_of(PLANT, top(stacking=stacking))
    assert least_apart(of, *shut_offs(of)) == pytest.approx(sure * BAR, abs=1.0)


@pytest.mark.source(kind="analytic", ref="a gauge for each trip: class times span twice, worst case")
def test_a_gauge_for_each_trip_takes_more_of_the_distance():
    one = station_of(PLANT, top(stacking="worst case"))
    each = station_of(PLANT, top(stacking="worst case", tolerances={"gap": "0.10 bar", "same_gauge": "no"}))
    less = least_apart(one, *shut_offs(one)) - least_apart(each, *shut_offs(each))
    gauge = next(one for one in each.gauges if one.for_setting)
    assert less == pytest.approx(2.0 * gauge.accuracy.si * gauge.span.si, abs=1.0)
    assert len(proof_scatter(each, *shut_offs(each))) == 4


@pytest.mark.parametrize(("trip", "asked"), [("5.65 bar", True), ("5.80 bar", True), ("5.85 bar", False)])
def test_a_distance_that_would_not_pass_its_own_plan_is_asked_about(trip, asked):
    edit = part("SOB", trip=trip)
    told = found(PLANT, edit)["LAD-43"]
    of = station_of(PLANT, edit)
    assert (told.severity is Severity.ASK) is asked
    assert is_sure(least_apart(of, *shut_offs(of))) is not asked


def test_equal_trips_still_tell_that_one_stream_takes_the_other_along():
    codes = found(PLANT, part("SOB", trip="5.65 bar"))
    assert codes["LAD-44"].params["order"] == "may trip before"
    assert found(PLANT)["LAD-44"].params["order"] == "trips before"


def test_equal_trips_are_told_without_a_stagger_that_is_not_there():
    told = tell(found(PLANT, part("SOB", trip="5.65 bar"))["LAD-44"])
    assert "Their trips are equal" in told.why
    assert "stagger saves the zone from one" not in told.why
    assert "stagger saves the zone from one" in tell(found(PLANT)["LAD-44"]).why


def test_a_distance_that_is_not_sure_at_all_is_told_as_none_and_its_grounds_say_whose_they_are():
    one = found(PLANT, part("SOB", trip="5.65 bar"))["LAD-43"]
    assert "none of the distance is sure" in tell(one).statement
    labels = [given.label for given in one.inputs]
    assert {"trip of SOA", "trip of SOB", "repeatability of SOA", "drift of SOB"} <= set(labels)
    assert len(labels) == len(set(labels))


def test_trips_without_drift_that_are_equal_by_worst_case_are_asked_about():
    edits = (
        *(part(name, drift="0 bar", repeatability="0.10 bar") for name in ("SOA", "SOB")),
        top(stacking="worst case"),
    )
    assert found(PLANT, *edits)["LAD-43"].severity is Severity.ASK


def test_a_standby_locked_shut_has_no_distance_to_keep():
    assert "LAD-43" not in found(PLANT, branch("duty", locked_shut="yes"), part("SOB", trip="5.65 bar"))
