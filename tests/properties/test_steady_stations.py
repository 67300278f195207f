"""What must hold for any station: mass, energy, order, and an answer or a reason."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import isfinite, isnan

import pytest
from hypothesis import assume, event, given
from hypothesis import strategies as st

from steadyhead.errors import StationError
from steadyhead.hydraulics import solve
from steadyhead.records.steady import Steady
from tests.hydraulics.stations import BAR
from tests.properties.drawn import Drawn, answer, levels_of_nodes, sound, wild

pytestmark = pytest.mark.by_turns(4)

PASCAL = 1.0
LOOSE = 1e-9  # share of a flow or pressure lost to rounding


def solved(drawn: Drawn) -> Steady:
    """Return the steady state of a sound station; situations no full pipe can be in are left out."""
    found = answer(drawn.model(), drawn.conditions)
    assume(found is not None)
    assert found is not None
    return found


@given(sound())
@pytest.mark.source(kind="analytic", ref="what enters the station leaves it: consumers and open drains")
def test_water_that_enters_leaves_through_consumers_and_drains(drawn):
    steady = solved(drawn)
    out = steady.consumer_flow + sum(steady.drains.values())
    assert steady.flow == pytest.approx(out, rel=LOOSE, abs=1e-15)
    assert all(valve.flow <= steady.flow * (1.0 + LOOSE) for valve in steady.valves.values())
    at_one_bar = drawn.conditions.consumer_kv / 3600.0 / (drawn.model().density / 1000.0) ** 0.5
    pressure = max(steady.consumer_end, 0.0) / BAR
    expected = at_one_bar * pressure**drawn.conditions.demand_exponent
    assert steady.consumer_flow == pytest.approx(expected, rel=LOOSE, abs=1e-15)
    drained = 15.0 / 3600.0 * drawn.conditions.openings["TD"] * (max(steady.taps["T3"], 0.0) / 1e5) ** 0.5
    drained /= (drawn.model().density / 1000.0) ** 0.5
    assert steady.drains["TD"] == pytest.approx(drained, rel=1e-6, abs=1e-13)


@given(sound())
@pytest.mark.source(kind="analytic", ref="no element adds energy: p + ρ g z never rises along the flow")
def test_no_element_adds_energy(drawn):
    model = drawn.model()
    steady = solved(drawn)
    weight = model.density * 9.81
    heads = [
        pressure + weight * level
        for pressure, level in zip(steady.nodes, levels_of_nodes(model), strict=False)
    ]
    spring = 0.2 * BAR if steady.flow == 0.0 else 0.0  # a trapped outlet may stand a spring above the inlet
    for below, above in pairwise(heads):
        assert below <= above + spring + max(abs(above), BAR) * LOOSE


@given(sound(), st.floats(1.01, 3.0))
@pytest.mark.source(kind="analytic", ref="more draw-off: more flow, less outlet pressure")
def test_more_draw_off_means_more_flow_and_no_more_pressure(drawn, factor):
    assert drawn.conditions.consumer_kv is not None
    little = solved(drawn)
    much = solved(
        replace(
            drawn, conditions=replace(drawn.conditions, consumer_kv=drawn.conditions.consumer_kv * factor)
        )
    )
    assert much.flow >= little.flow * (1.0 - LOOSE)
    for tap in ("T1", "T3", "T4"):
        assert much.taps[tap] <= little.taps[tap] + PASCAL


@given(sound(), st.floats(0.01, 5.0))
@pytest.mark.source(kind="analytic", ref="more supply: no less pressure or flow anywhere")
def test_more_supply_never_lowers_a_pressure_or_the_flow(drawn, more):
    low = solved(drawn)
    supply = drawn.conditions.supply_pressure + more * BAR
    high = solved(replace(drawn, conditions=replace(drawn.conditions, supply_pressure=supply)))
    assert high.flow >= low.flow * (1.0 - LOOSE)
    for tap in ("T1", "T3", "T4"):
        assert high.taps[tap] >= low.taps[tap] - PASCAL


@given(sound(), st.floats(0.01, 3.0))
@pytest.mark.source(
    kind="analytic", ref="a raised setting never lowers the outlet; a lowered one never raises it"
)
def test_raised_setting_never_lowers_the_outlet(drawn, more):
    model = drawn.model()
    low, high = (
        answer(model, replace(drawn.conditions, lockup={"RV": (3.0 + step) * BAR})) for step in (0.0, more)
    )
    assume(low is not None and high is not None)
    assert low is not None
    assert high is not None
    assert high.taps["T3"] >= low.taps["T3"] - PASCAL
    assert high.flow >= low.flow * (1.0 - LOOSE)


@given(sound(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
@pytest.mark.source(kind="analytic", ref="a throttled inlet valve never raises an outlet")
def test_throttled_inlet_valve_never_raises_the_outlet(drawn, one, other):
    model = drawn.model()
    less, more = sorted((max(one, 0.005), max(other, 0.005)))
    found = [
        answer(model, replace(drawn.conditions, openings={**drawn.conditions.openings, "IV1": share}))
        for share in (less, more)
    ]
    assume(all(steady is not None for steady in found))
    throttled, opened = found
    assert throttled is not None
    assert opened is not None
    assert throttled.taps["T3"] <= opened.taps["T3"] + PASCAL


@given(sound())
@pytest.mark.source(kind="analytic", ref="a sound reducer that holds stands within its band below lock-up")
def test_reducer_that_holds_stands_within_its_band_below_its_lock_up(drawn):
    model = drawn.model()
    steady = solved(drawn)
    for reducer in model.layout.reducers:
        valve = steady.valves[reducer.id]
        lockup = reducer.lockup.si
        event(valve.state)
        if valve.state == "holding":
            band = model.twins[reducer.id].proportional_band.si
            assert steady.taps[reducer.senses] == pytest.approx(
                lockup - band * valve.pilot_opening, abs=PASCAL
            )
            assert 0.0 < valve.pilot_opening < 1.0
        if valve.state == "wide open":
            assert steady.taps[reducer.senses] <= lockup + PASCAL
        assert 0.0 <= valve.lift <= 1.0
        low, high = sorted((valve.outlet_pressure, valve.inlet_pressure))
        assert low - PASCAL <= valve.chamber_pressure <= high + PASCAL


@given(wild())
@pytest.mark.source(
    kind="analytic", ref="an answer satisfies its equations to 1e-6 of the supply, or a reason is given"
)
def test_wild_station_is_solved_or_refused_with_a_reason(drawn):
    model = drawn.model()
    try:
        steady = solve(model, drawn.conditions)
    except StationError as reason:
        event(f"refused: {type(reason).__name__}")
        return
    unknown = any(isnan(pressure) for pressure in steady.taps.values())
    event("some trapped pressure not known" if unknown else "solved")
    assert abs(steady.residual) <= 1e-6 * max(abs(drawn.conditions.supply_pressure), BAR)
    assert isfinite(steady.flow)
    assert steady.flow >= 0.0
    assert isfinite(steady.taps["T0"])
    if steady.consumer_flow > 0.0:
        assert all(isfinite(pressure) for pressure in steady.taps.values())


@given(wild())
@pytest.mark.source(kind="analytic", ref="what is known beforehand leaves no pressure unknown")
def test_with_pressures_known_before_no_pressure_is_unknown(drawn):
    held = drawn.conditions
    jammed = "RV" in held.forced_lift or held.trapped_sense or held.pilot_stuck
    assume(
        held.openings["IV1"] > 0.0 or not jammed
    )  # a section emptied past a jammed reducer is not told apart
    model = drawn.model()
    steady = answer(model, drawn.conditions, model.standing_at(3.0 * BAR))
    assume(steady is not None)
    assert steady is not None
    assert all(isfinite(pressure) for pressure in steady.nodes)
