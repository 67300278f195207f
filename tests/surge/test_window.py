"""The needle window: the numbers of the physics specification, its edges, and what opens an empty one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from types import SimpleNamespace
from typing import Any, cast

import pytest

from steadyhead.design.limits import component_limits
from steadyhead.hydraulics import case, solve
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.records.protection import Failure, SidePeak, Stroke
from steadyhead.records.steady import Conditions
from steadyhead.surge.from_station import draft
from steadyhead.surge.needle import TimedStroke, integral_in_station, integral_on_test, shut_off_of
from steadyhead.surge.plant import compile_plan
from steadyhead.surge.proof_run import FailureRun, Setting, situation
from steadyhead.surge.schedule import Held, Schedule
from steadyhead.surge.window import (
    Runs,
    _crossing,
    _met,
    _never,
    _of_an_empty_one,
    _spans,
    _told_both,
    _Tried,
    needle_window,
)
from tests.surge.files import text, way
from tests.surge.plans import WATER, shut_off, station
from tests.there import there

pytestmark = pytest.mark.by_turns(4)

REFERENCE = "physics specification, measured on the independent reference, default station"
STROKE = Stroke(4.5e5, 4.5e5, 1 / 3600, is_stated=True)


@cache
def flow(kv):
    """Return the flow the default station passes at a demand of this Kv. [m³/h]"""
    _, model = way(text())
    return solve(model, Conditions(9e5, consumer_kv=kv)).consumer_flow * 3600.0


def stuck(*, down=7.0, up=16.0, closes="spring", trip=5.5e5):
    """Return the default station with its pilot stuck open at a demand of Kv 20, its limits, its setting."""
    source = text(night=flow(20.0), closes=closes)
    source = source.replace(b"normal: 7 bar, fault: 7 bar", f"normal: {down} bar, fault: {down} bar".encode())
    source = source.replace(b"normal: 16 bar, fault: 16 bar", f"normal: {up} bar, fault: {up} bar".encode())
    view, model = way(source)
    drafted = draft(model, case(model.station, "static", "night"))
    row = shut_off_of(drafted.plan, "SO")
    setting = Setting(trip, row.close_needle, row.close_time)
    run = FailureRun(situation(drafted, "static", "night", "SO"), Failure("RV", "pilot stuck"), setting)
    return run, component_limits(view.station, model.density), setting


def window(**changes):
    run, limits, setting = stuck(**changes)
    row = next(part for part in run.here.drafted.plan.station if part.id == "SO")
    kv = row.close_needle / k_of_kv(1.0, WATER.density) if row.is_hydraulic else None
    return needle_window([run], limits, setting, STROKE, row.close_time, kv=kv)


@pytest.mark.source(
    kind="independent",
    ref=f"{REFERENCE} 10: closing in 2/5/8/11/15 s: consumers 6.52/7.12/7.38/7.53/7.66, supply main "
    "18.1/17.4/16.3/15.1/13.8 bar",
)
def test_each_closing_time_drives_both_mains_as_far_as_the_reference_found():
    run, limits, setting = stuck()
    found = []
    for seconds in (2.0, 5.0, 8.0, 11.0, 15.0):
        end = run.finish(setting.faster(setting.close_time / seconds))
        peaks = {one.side: one.peak / 1e5 for one in run.peaks(end, limits)}
        found.append((peaks["consumer"], peaks["inlet"]))
        assert run.times(end)[2] == pytest.approx(seconds, abs=0.03)
    assert [one for one, _ in found] == pytest.approx([6.52, 7.12, 7.38, 7.53, 7.66], abs=0.01)
    assert [one for _, one in found] == pytest.approx([18.1, 17.4, 16.3, 15.1, 13.8], abs=0.06)


@pytest.mark.source(
    kind="independent",
    ref=f"{REFERENCE} 10: 16 bar ahead asks for about 8.7 s, 7.5 bar behind allows about 10.3 s",
)
def test_the_window_has_the_edges_the_reference_found():
    found = window(down=7.5)
    assert found.state == "open"
    assert found.fastest.worst_time == pytest.approx(8.7, abs=0.1)
    assert found.slowest.worst_time == pytest.approx(10.3, abs=0.1)
    assert found.fastest.component == "inlet pipework"
    assert found.slowest.component == "distribution pipes"
    assert found.ratio == pytest.approx(10.3 / 8.7, rel=0.02)


@pytest.mark.source(kind="independent", ref=f"{REFERENCE} 10: the window vanishes for 7.41 bar behind")
def test_the_window_is_empty_where_the_reference_found_it_so():
    found = window(down=7.41)
    assert found.state == "empty"
    assert there(found.slowest).stopwatch < there(found.fastest).stopwatch
    assert found.is_inside is None


@pytest.mark.source(
    kind="analytic", ref="an edge found within 1 % of the needle holds, 2 % beyond it does not"
)
def test_limits_hold_at_an_edge_and_are_passed_two_per_cent_beyond():
    run, limits, setting = stuck(down=7.8, closes="line pressure", up=18.05)
    row = next(part for part in run.here.drafted.plan.station if part.id == "SO")
    found = needle_window([run], limits, setting, STROKE, row.close_time, kv=1.0)
    for edge, beyond, sides in (
        (found.slowest, 1 / 1.02, ("consumer", "outlet")),
        (found.fastest, 1.02, ("between", "inlet")),
    ):
        speed = row.close_time / there(edge).stopwatch
        for factor, holds in ((1.0, True), (beyond, False)):
            peaks = run.peaks(run.finish(setting.faster(speed * factor)), limits)
            passed = [one for one in peaks if one.side in sides and one.limit and one.peak > one.limit]
            assert (not passed) is holds


def test_without_a_limit_or_without_a_trip_there_is_no_edge():
    run, _, setting = stuck()
    found = needle_window([run], (), setting, STROKE, 5.0, kv=None)
    assert (found.state, found.slowest, found.fastest) == ("no limit", None, None)
    run, limits, setting = stuck(trip=12e5)
    assert not run.trips
    found = needle_window([run], limits, setting, STROKE, 5.0, kv=None)
    assert found.state == "no trip"


@pytest.mark.source(
    kind="independent",
    ref="physics specification 3, measured: needle Kv 0.15: 20.3 s at 1 m³/h, 13.6 s with the pilot stuck "
    "open and demand Kv 20, 9.4 s with Kv 60; set to 10 s at 1 m³/h: Kv 0.305, then 6.7 and 4.6 s",
)
def test_a_needle_closes_in_the_times_the_reference_found():
    needle = k_of_kv(0.15, WATER.density)
    valve = shut_off(is_hydraulic=True, close_needle=needle)
    test = TimedStroke(4.5e5, 4.5e5, 1 / 3600)
    on_site = integral_on_test(valve, WATER, test) / needle
    failed = []
    for kv in (20.0, 60.0):
        plan = station(demand=kv)
        plan = type(plan)(
            plan.water,
            plan.pipes,
            plan.joints,
            tuple(valve if part.id == "SO" else part for part in plan.station),
        )
        wide_open = Schedule((Held("RV", "stuck pilot", ((0.0, 1.0),)),))
        failed.append(integral_in_station(compile_plan(plan), "SO", wide_open) / needle)
    assert on_site == pytest.approx(20.3, abs=0.1)
    assert failed == pytest.approx([13.6, 9.4], abs=0.1)
    faster = on_site / 10.0
    assert 0.15 * faster == pytest.approx(0.305, abs=0.001)
    assert [one / faster for one in failed] == pytest.approx([6.7, 4.6], abs=0.06)


@pytest.mark.source(
    kind="independent", ref="physics specification 3, measured: set to 10 s at 1 m³/h, 6.75 s in the failure"
)
def test_a_hydraulic_stroke_in_the_run_takes_the_time_the_reference_found():
    run, _, setting = stuck(closes="line pressure")
    end = run.finish(setting.faster(5.0 / 10.0))
    assert run.times(end)[2] == pytest.approx(6.75, abs=0.05)


@dataclass
class Curve(Runs):
    """One run whose peaks are given at each speed: of consumers, section, and what is thrown back."""

    at: Callable[[float], tuple[float, float, float]] = lambda speed: (0.0, 0.0, 0.0)

    def tried(self, number, speed):
        """Return the peaks of the curve."""
        consumer, section, thrown = self.at(speed)
        behind = SidePeak(
            "consumer", consumer, max(thrown, consumer), 1e5, "", 0.0, "spur", 6e5,
            "over" if consumer > 6e5 else "inside",
        )  # fmt: skip
        ahead = SidePeak(
            "between", section, None, 1e5, "", 0.0, "section", 16e5, "over" if section > 16e5 else "inside"
        )
        return _Tried((behind, ahead), 7.0 / speed, (-1e5, "inlet"))


def curve(at):
    here = SimpleNamespace(inlet="static", flow="night", mains=3)
    runs = [SimpleNamespace(here=here, failure=Failure("RV", "drifts open", 120.0))]
    given = Curve(cast(Any, runs), (), Setting(5e5, 1.0, 7.0), 7.0)
    given.at = at
    return given


@pytest.mark.source(kind="analytic", ref="peaks given as powers of the speed; edges follow by hand")
def test_a_wave_thrown_back_over_at_every_needle_names_itself_and_no_section_in_no_danger():
    """The consumers pass their limit slower than 14 s; thrown back is 7 bar at each; the section sees 9."""
    given = curve(lambda speed: (6e5 * (0.5 / speed) ** 0.1, 9e5, 7e5))
    behind, ahead = _spans(given, 0.01)
    assert not _met(behind, ahead)
    slower, spans = _of_an_empty_one(given, behind)
    assert not slower
    assert spans["ahead"]
    low, high = _told_both(given, *_crossing(behind, slower), None)
    assert high is None
    assert there(low).component == "spur"
    assert there(low).stopwatch == pytest.approx(14.0, rel=0.02)
    assert _never(given, "thrown back").startswith("wave thrown back, spur, at highest static")


@pytest.mark.source(kind="analytic", ref="peaks given as powers of the speed; edges follow by hand")
def test_what_an_edge_names_is_at_its_limit_there():
    """Thrown back 6 bar at 7 s, 6.4 bar at 3.5 s; the consumers pass 6 bar slower than 14 s."""
    given = curve(lambda speed: (6e5 * (0.5 / speed) ** 0.1, 9e5, 6e5 * speed**0.1))
    behind, ahead = _spans(given, 0.01)
    (best,) = _met(behind, ahead)
    low, high = _told_both(given, best.low, best.high, None)
    assert there(high).component == "wave thrown back, spur"
    assert there(high).stopwatch == pytest.approx(7.0, rel=0.02)
    assert there(low).stopwatch == pytest.approx(14.0, rel=0.02)
    for edge in (there(low), there(high)):
        consumer, _, thrown = given.at(7.0 / edge.stopwatch)
        seen = thrown if edge.component.startswith("wave") else consumer
        assert seen == pytest.approx(6e5, rel=0.02)


@pytest.mark.source(kind="analytic", ref="peaks given as powers of the speed; edges follow by hand")
def test_an_empty_window_between_section_and_consumers_names_both():
    given = curve(lambda speed: (6e5 * (0.5 / speed) ** 0.1, 16e5 * (speed / 0.25) ** 0.2, 1e5))
    behind, _ = _spans(given, 0.01)
    slower, _ = _of_an_empty_one(given, behind)
    low, high = _told_both(given, *_crossing(behind, slower), None)
    assert (there(low).component, there(high).component) == ("spur", "section")
    assert there(high).stopwatch == pytest.approx(28.0, rel=0.02)
