"""What the design sets: the duty pressure at the duty flow, the lock-up at none, in every layout."""

from __future__ import annotations

import pytest

from steadyhead.hydraulics import Model, build, design_lockup, flow_of, solve
from steadyhead.records.steady import Conditions
from steadyhead.records.values import Evidence, Origin
from steadyhead.station.examples import names, read
from steadyhead.station.load import load
from steadyhead.station.streams import views
from tests.hydraulics.stations import BAR, INSIDE, LAYOUTS, Layout, model, station

WITHIN = 1.0  # Pa


def watched_over(model: Model, reducer_id: str) -> dict[str, float]:
    """Return the worker of a monitor, wide open as when it has failed; nothing for any other reducer."""
    if model.layout.pairing != "monitor":
        return {}
    worker = min(model.layout.reducers, key=lambda one: one.duty.pressure.si)
    return {} if worker.id == reducer_id else {worker.id: 1.0}


def at_duty(model: Model, reducer_id: str) -> float:
    """Return what a reducer's tap reads at its duty flow and typical supply. [Pa]"""
    reducer = next(r for r in model.layout.reducers if r.id == reducer_id)
    at = Conditions(
        supply_pressure=model.station.supply.typical.si,
        consumer_flow=reducer.duty.flow.si,
        forced_lift=watched_over(model, reducer_id),
    )
    return solve(model, at).taps[reducer.senses]


def at_rest(model: Model, reducer_id: str) -> float:
    """Return what a reducer's tap reads with no flow at typical supply. [Pa]"""
    reducer = next(r for r in model.layout.reducers if r.id == reducer_id)
    at = Conditions(
        supply_pressure=model.station.supply.typical.si, forced_lift=watched_over(model, reducer_id)
    )
    return solve(model, at).taps[reducer.senses]


@pytest.mark.source(
    kind="analytic", ref="duty_pressure is the outlet at the duty flow, lockup_pressure at none"
)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_twin_reads_duty_at_duty_flow_and_lock_up_at_none(layout: Layout) -> None:
    built = model(layout)
    for reducer in built.layout.reducers:
        lockup = design_lockup(built, reducer.id)
        assert at_duty(built, reducer.id) == pytest.approx(reducer.duty.pressure.si, abs=WITHIN)
        assert at_rest(built, reducer.id) == pytest.approx(lockup.si, abs=WITHIN)
        assert reducer.lockup is not None
        assert lockup.si == reducer.lockup.si
        assert built.band[reducer.id].origin is Origin.DERIVED


@pytest.mark.source(
    kind="analytic", ref="duty_pressure is the outlet at the duty flow, lockup_pressure at none"
)
@pytest.mark.parametrize("name", names())
def test_twin_of_an_example_reads_its_duty_and_its_lock_up(name: str) -> None:
    for alone in views(load(read(name)).station):
        built = build(alone.station)
        for reducer in built.layout.reducers:
            lockup = design_lockup(built, reducer.id)
            assert at_duty(built, reducer.id) == pytest.approx(reducer.duty.pressure.si, abs=WITHIN)
            assert at_rest(built, reducer.id) == pytest.approx(lockup.si, abs=WITHIN)


@pytest.mark.source(
    kind="common practice", ref="lock-up rise of a pilot-operated reducer 0.1 to 0.3 bar; no source"
)
def test_lock_up_that_is_not_stated_stands_a_usual_rise_above_duty() -> None:
    built = model("shut-off upstream", lockup=None)
    lockup = design_lockup(built, "RV")
    assert 0.1 * BAR <= lockup.si - 4.05 * BAR <= 0.3 * BAR
    assert (lockup.origin, lockup.evidence) == (Origin.DEFAULT, Evidence.PRACTICE)
    assert at_duty(built, "RV") == pytest.approx(4.05 * BAR, abs=WITHIN)


@pytest.mark.source(
    kind="analytic", ref="droop law p2 = lock-up − band × pilot opening, written physics, section 2.6"
)
@pytest.mark.parametrize("layout", ["shut-off upstream", "shut-off downstream"])
def test_stated_band_gives_the_lock_up(layout: Layout) -> None:
    built = model(layout, lockup=None, inside={**INSIDE, "proportional_band": "0.8 bar"})
    reducer = built.layout.reducers[0]
    lockup = design_lockup(built, "RV")
    steady = solve(built, Conditions(supply_pressure=9.0 * BAR, consumer_flow=reducer.duty.flow.si))
    opening = steady.valves["RV"].pilot_opening
    assert 0.0 < opening < 1.0
    assert lockup.si == pytest.approx(4.05 * BAR + 0.8 * BAR * opening, abs=WITHIN)
    assert built.band["RV"].si == 0.8 * BAR
    assert at_duty(built, "RV") == pytest.approx(4.05 * BAR, abs=WITHIN)
    assert lockup.origin is Origin.DERIVED


@pytest.mark.source(kind="analytic", ref="a stated lock-up is the lock-up, whatever band is stated beside it")
def test_stated_lock_up_outweighs_a_stated_band() -> None:
    built = model(inside={**INSIDE, "proportional_band": "0.8 bar"})
    assert design_lockup(built, "RV").si == 4.5 * BAR
    assert at_duty(built, "RV") == pytest.approx(4.05 * BAR, abs=WITHIN)


@pytest.mark.source(kind="analytic", ref="a valve as open as it can be follows its inlet, not its pilot")
def test_reducer_wide_open_at_its_duty_keeps_its_lock_up_and_says_it_cannot_hold() -> None:
    built = model(supply="4.2 bar", duty=("4.05 bar", "20 L/s"))
    steady = solve(built, Conditions(supply_pressure=4.2 * BAR, consumer_flow=0.020))
    assert steady.valves["RV"].state == "wide open"
    assert design_lockup(built, "RV").si == 4.5 * BAR


@pytest.mark.source(
    kind="analytic", ref="outlet at the duty flow does not depend on how the shut-off is placed"
)
def test_both_orders_of_the_valves_get_the_same_lock_up_and_duty() -> None:
    settled = {}
    for layout in ("shut-off upstream", "shut-off downstream"):
        built = model(layout)
        settled[layout] = (at_rest(built, "RV"), design_lockup(built, "RV").si)
    first, second = settled.values()
    assert first == pytest.approx(second, abs=WITHIN)


def test_flow_that_is_not_stated_is_no_flow() -> None:
    built = station()
    assert flow_of(built, "none") is None
    assert flow_of(built, "fire") is None
    peak = flow_of(built, "peak")
    assert peak is not None
    assert peak.si == pytest.approx(0.015)
