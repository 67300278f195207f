"""Validity speaks: every doubt of a run has its finding, and what a cavity does falling in has no verdict."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead import surge
from steadyhead.design.limits import component_limits
from steadyhead.findings import Severity, tell
from steadyhead.surge import defaults as d
from steadyhead.surge.doubts import findings_of
from steadyhead.surge.events import studies
from steadyhead.surge.study import run_study
from tests.surge.files import ZONE_MAIN, text, way

pytestmark = pytest.mark.by_turns(4)


def ran(source, event):
    view, model = way(source)
    (study,), _ = studies(view, model, event)
    return study, run_study(study, component_limits(view.station, model.density))


@pytest.fixture(scope="module")
def stuck():
    return ran(text(), "pilot-stuck")


def by_code(run, code):
    return [finding for finding in run.findings if finding.code == code]


def test_a_column_that_parts_is_told_with_its_cavity_and_place(stuck):
    _, run = stuck
    found = by_code(run, "SUR-01")
    assert {finding.subject for finding in found} >= {"consumer main"}
    told = tell(found[0]).statement
    assert "at the station" in told or " m from the station" in told
    assert " L there" in told
    assert run.consumer.parted_at is not None


@pytest.mark.source(kind="analytic", ref="figures after a cavity falls in are left out of every verdict")
def test_what_comes_after_a_cavity_fell_in_is_not_judged(stuck):
    _, run = stuck
    assert run.fell_in is not None
    outlet, time = run.trace.pressures[run.outlet], run.trace.time
    before = max(p for p, t in zip(outlet, time, strict=True) if t <= run.fell_in + 1e-9)
    own = next(section for section in run.sections if section.id == run.outlet)
    assert own.judged == pytest.approx(before, rel=0.01)
    assert own.judged <= own.highest
    for one in run.limits:
        assert one.verdict in ("over", "no verdict")
    for profile in run.profiles:
        main = run.supply if profile.side == "supply" else run.consumer
        assert max(profile.highest) <= main.judged_at_datum + 1.0


def test_a_wall_that_creeps_is_told_once_for_all_mains():
    source = text(
        main=ZONE_MAIN.replace("ductile iron", "PE100"), zone=ZONE_MAIN.replace("ductile iron", "PE100")
    )
    _, run = ran(source, "supply-falls")
    (found,) = by_code(run, "SUR-10")
    assert "supply.main and zone.main" in tell(found).statement


def test_pressure_below_that_of_the_air_is_told_with_its_place(stuck):
    study, run = stuck
    calm = replace(run.consumer, is_separated=False, lowest=-0.3e5)
    plant = surge.compile_plan(study.drafted.plan)
    told = by_code(findings_of(study, replace(run, consumer=calm), plant), "SUR-40")
    assert [finding.subject for finding in told] == ["consumer main"]
    assert "−0.30 bar" in tell(told[0]).statement
    air = replace(run.consumer, is_separated=False, lowest=-0.5 * d.BELOW_AIR.si)
    assert not by_code(findings_of(study, replace(run, consumer=air), plant), "SUR-40")


def test_a_wave_speed_moved_by_more_than_two_per_cent_is_told_and_less_is_not(stuck):
    study, run = stuck
    rough = surge.compile_plan(replace(study.drafted.plan, numbers=surge.Numbers(3, 0.3)))
    moved = [grid for grid in rough.grids if abs(grid.adjusted) > 0.02]
    told = by_code(findings_of(study, run, rough), "SUR-12")
    assert len(told) == len(moved) > 0
    fine = surge.compile_plan(study.drafted.plan)
    assert all(abs(grid.adjusted) <= 0.02 for grid in fine.grids)
    assert not by_code(findings_of(study, run, fine), "SUR-12")


def test_a_grid_that_has_not_converged_is_told_and_one_that_has_is_not(stuck):
    study, run = stuck
    plant = surge.compile_plan(study.drafted.plan)
    assert by_code(findings_of(study, replace(run, grid_change=0.006), plant), "SUR-02")
    assert not by_code(findings_of(study, replace(run, grid_change=0.004), plant), "SUR-02")


def test_an_absurd_pressure_stops_where_it_is_judged_and_is_heeded_where_it_is_not(stuck):
    study, run = stuck
    plant = surge.compile_plan(study.drafted.plan)
    wild = d.ABSURD.si * study.drafted.held * 1.1
    unjudged = replace(run.supply, highest_at_datum=wild)
    judged = replace(unjudged, judged_at_datum=wild)
    weights = [
        by_code(findings_of(study, replace(run, supply=supply), plant), "SUR-16")[0].severity
        for supply in (unjudged, judged)
    ]
    assert weights == [Severity.HEED, Severity.STOP]


def test_air_is_told_where_a_line_is_found_standing():
    _, run = ran(text(), "opening")
    assert "Filling an empty or half-full one" in tell(by_code(run, "SUR-13")[0]).statement


@pytest.mark.source(kind="analytic", ref="highest and lowest along the mains are those of the run")
def test_profiles_hold_the_extremes_of_both_mains():
    _, run = ran(text(), "demand-falls")
    for side, main in (("supply", run.supply), ("consumer", run.consumer)):
        high, low = run.highest(side), run.lowest(side)
        assert high is not None
        assert low is not None
        assert high.pressure == pytest.approx(main.judged_at_datum)
        assert low.pressure == pytest.approx(main.lowest)
        ends = [one.distance for one in run.profiles if one.side == side]
        assert ends[0][0 if side == "consumer" else -1] == 0.0
        assert max(ends[0]) == pytest.approx(800.0 if side == "consumer" else 500.0)
