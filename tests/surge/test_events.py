"""Events of a station: what the independent reference found for the same one, and what is told of a run."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead import surge
from steadyhead.design.limits import component_limits
from steadyhead.errors import InputError
from steadyhead.findings import Severity, tell
from steadyhead.hydraulics import solve
from steadyhead.records.steady import Conditions
from steadyhead.surge.doubts import findings_of
from steadyhead.surge.events import EVENTS, studies
from steadyhead.surge.metrics import interpolated
from steadyhead.surge.study import run_study
from tests.surge.files import HELD, text, way
from tests.there import there

REFERENCE = "physics specification, measured on the independent reference, default station"


def flow(kv):
    """Return the flow the default station passes at a demand of this Kv. [m³/h]"""
    _, model = way(text())
    return solve(model, Conditions(9e5, consumer_kv=kv)).consumer_flow * 3600.0


def runs(source, event, within=None):
    view, model = way(source)
    found, missed = studies(view, model, event, within)
    assert not missed
    return {one.name: run_study(one, component_limits(view.station, model.density)) for one in found}


def only(source, event, within=None):
    (run,) = runs(source, event, within).values()
    return run


def codes(run):
    return [finding.code for finding in run.findings]


@pytest.mark.source(kind="independent", ref=f"{REFERENCE} 10: pilot stuck open, timed 5 s: 7.12 and 17.4 bar")
def test_a_stuck_pilot_drives_both_mains_where_the_reference_found_them():
    run = only(text(night=flow(20.0)), "pilot-stuck")
    assert run.consumer.highest == pytest.approx(7.12e5, abs=0.02e5)
    assert run.supply.highest == pytest.approx(17.4e5, abs=0.06e5)
    assert run.shut_offs[0].trip == pytest.approx(2.33, abs=0.03)
    assert run.shut_offs[0].closing == pytest.approx(5.0, abs=0.03)
    assert run.consumer.is_separated
    assert "SUR-01" in codes(run)
    assert {one.component: one.verdict for one in run.limits}["distribution pipes"] == "over"


@pytest.mark.source(
    kind="independent", ref=f"{REFERENCE} 11: Kv 30 to 18 in 1 s: 4.5985, 12.485, 3.8778 … 3.9408 bar"
)
def test_a_step_of_demand_leaves_the_pressures_the_reference_found():
    run = only(text(night=flow(18.0), peak=flow(30.0)), "demand-falls")
    outlet = run.trace.pressures["T3"]
    assert max(outlet) == pytest.approx(4.5985e5, abs=0.02e5)
    assert run.supply.highest == pytest.approx(12.485e5, rel=0.002)
    for moment, pressure in ((3, 3.8778), (5, 3.9618), (7, 3.9481), (9, 3.9374), (11, 3.9408)):
        found = interpolated(run.trace.time, outlet, moment)
        assert found == pytest.approx(pressure * 1e5, abs=0.02e5)
    assert run.grid_change < 0.005
    assert run.mass_error < 1e-3
    assert run.shut_offs[0].trip is None


@pytest.mark.source(
    kind="independent", ref=f"{REFERENCE} 10: restart found open, trips again: 6.05 and 16.8 bar from 0.7 bar"
)
def test_a_restart_is_run_from_both_ends_and_the_open_one_is_worse():
    found = runs(text(night=flow(20.0), first="shut-off"), "restart")
    assert list(found) == [f"restart-{a}-{b}" for a in ("shut", "open") for b in ("sound", "failed")]
    worst, mild = found["restart-open-sound"], found["restart-shut-sound"]
    assert worst.shut_offs[0].trips == 1
    assert worst.shut_offs[0].trip == pytest.approx(1.2, abs=0.1)
    assert worst.consumer.highest == pytest.approx(6.05e5, rel=0.05)  # from 0 bar here
    assert worst.supply.highest == pytest.approx(16.8e5, rel=0.03)
    assert mild.consumer.highest < worst.consumer.highest
    assert mild.shut_offs[0].trips == 0
    assert all("SUR-13" in codes(run) for run in found.values())


@pytest.mark.source(
    kind="analytic", ref="a slower hand on the valve makes a lower surge; N. Joukowsky's rise bounds it"
)
def test_an_isolating_valve_closed_more_slowly_makes_less_surge():
    source = text()
    fast, slow = (only(source, "outlet-valve-closed-average", seconds) for seconds in (2.0, 20.0))
    start = fast.trace.pressures["T0"][0]
    density, wave, area = 1000.0, 1150.0, 3.14159265 / 4.0 * 0.15**2
    assert slow.supply.highest < fast.supply.highest
    assert fast.supply.highest - start < 1.1 * density * wave * 30.0 / 3600.0 / area


def test_every_event_runs_and_says_itself():
    view, model = way(text(closes="line pressure"))
    found, missed = studies(view, model)
    assert not missed
    assert {one.event for one in found} == set(EVENTS)
    assert len({one.name for one in found}) == len(found)


def test_a_name_nobody_knows_is_refused_with_the_known_ones():
    view, model = way(text())
    with pytest.raises(InputError, match="pilot-stuck"):
        studies(view, model, "asteroid")
    with pytest.raises(InputError, match="Ask for restart"):
        studies(view, model, "restart-sideways")
    with pytest.raises(InputError, match="above 0"):
        studies(view, model, "opening", -1.0)


def test_an_event_without_a_steady_start_is_told_and_the_others_run():
    view, model = way(text(peak=4000.0))
    found, missed = studies(view, model, "demand-falls")
    assert not found
    assert [finding.code for finding in missed] == ["SUR-17"]
    assert "demand-falls" in tell(missed[0]).statement


def test_a_reducer_that_hunts_is_read_only_as_long_as_its_swings_are_small():
    view, model = way(text(night=1.0).replace(*HELD))
    found, _ = studies(view, model, "demand-rises")
    run = there(run_study(found[0]))
    assert "SUR-19" in codes(run)
    assert run.until < 30.0


def test_doubts_of_grid_water_and_belief_are_told():
    view, model = way(text())
    (study,), _ = studies(view, model, "demand-falls")
    run = there(run_study(study))
    wild = replace(run.supply, highest_at_datum=60e5)
    tripped = replace(run.shut_offs[0], trip=2.0)
    doubtful = replace(run, grid_change=0.02, mass_error=0.01, supply=wild, shut_offs=(tripped,))
    rough = surge.compile_plan(replace(study.drafted.plan, numbers=surge.Numbers(3, 0.3)))
    told = findings_of(study, doubtful, rough)
    assert {"SUR-02", "SUR-12", "SUR-15", "SUR-16", "SUR-18"} <= set(codes(told))
    assert all(tell(finding).statement for finding in told.findings)


def test_a_limit_passed_before_the_event_is_not_laid_to_it():
    source = text().replace(b"normal: 7 bar, fault: 7 bar", b"normal: 3.7 bar, fault: 3.7 bar")
    run = only(source, "outlet-valve-closed-average", 30.0)
    assert "SUR-20" in codes(run)
    assert "SUR-14" not in codes(run)


def test_a_limit_passed_by_hunting_alone_forbids_nothing():
    source = (
        text(night=1.0)
        .replace(*HELD)
        .replace(b"normal: 16 bar, fault: 16 bar", b"normal: 9.05 bar, fault: 9.05 bar")
    )
    view, model = way(source)
    (study,), _ = studies(view, model, "demand-falls")
    run = there(run_study(study, component_limits(view.station, model.density)))
    assert {"SUR-14", "SUR-19"} <= set(codes(run))
    weights = {f.severity for f in run.findings if f.code == "SUR-14"}
    assert weights == {Severity.HEED}
