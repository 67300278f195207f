"""Inlet opening: with the reducer wide open the drain holds its section; checked against two design texts."""

from __future__ import annotations

import pytest

from steadyhead.findings import Amount, Severity
from steadyhead.hydraulics import build
from steadyhead.visits.drains import between_drain, outlet_drain
from steadyhead.visits.numbers import work_out
from steadyhead.visits.openings import Held, drain_too_small, held_pressure, inlet_opening, sections_to_hold
from tests.printed import printed
from tests.visits.known_stations import default_station, station_a


def td(model):
    """Return the test drain of a model."""
    return outlet_drain(model.layout)


def opened(model, held):
    """Return the opening at which a drain holds a section."""
    return inlet_opening(model, held)


@pytest.fixture(scope="module")
def default_model():
    return build(default_station())


@pytest.fixture(scope="module")
def model_a():
    return build(station_a())


@pytest.mark.source(
    kind="independent", ref="physics specification 10, How far the inlet isolating valve must stand open"
)
@pytest.mark.parametrize(
    ("share", "bar"),
    [(1.0, "8.67"), (0.10, "6.82"), (0.07, "4.84"), (0.05, "2.73"), (0.03, "0.78"), (0.02, "0.25")],
)
def test_the_outlet_stands_where_the_independent_reference_has_it(default_model, share, bar):
    at = held_pressure(default_model, td(default_model), "outlet", share)
    assert at / 1e5 == printed(bar)


@pytest.mark.source(kind="independent", ref="design handbook 10.2, station A: 2.7 turns of 34 hold 5.31 bar")
def test_station_a_may_open_its_inlet_valve_two_and_a_half_turns(model_a):
    held = Held("outlet", td(model_a), 5.31e5)
    opening = opened(model_a, held)
    assert opening.turns == 2.5
    assert opening.pressure <= held.limit
    low, high = 2.65 / 34, 2.75 / 34
    assert held_pressure(model_a, held.drain, "outlet", low) <= 5.31e5
    assert held_pressure(model_a, held.drain, "outlet", high) > 5.31e5


def test_the_held_section_rises_with_the_opening(default_model):
    drain = td(default_model)
    found = [held_pressure(default_model, drain, "outlet", share) for share in (0.01, 0.03, 0.1, 0.3, 1.0)]
    assert found == sorted(found)


def test_turns_are_rounded_down_to_a_quarter(model_a):
    opening = opened(model_a, Held("outlet", td(model_a), 5.2e5))
    assert opening.turns * 4 == int(opening.turns * 4)
    above = (opening.turns + 0.25) / 34
    assert held_pressure(model_a, td(model_a), "outlet", above) > 5.2e5


def test_a_valve_without_turns_gets_a_share_and_a_finding():
    plan = work_out(station_a(IV1__turns=None), "yearly", samples=10)
    assert plan.inlet_opening["outlet"].turns is None
    assert plan.inlet_opening["outlet"].share == pytest.approx(2.73 / 34, rel=0.02)
    assert "NUM-02" in {finding.code for finding in plan.findings}


def test_a_drain_too_small_for_any_opening_stops_the_plan():
    plan = work_out(station_a(TD__kv="Kv 1", IV1__turns="8 turns"), "yearly", samples=10)
    assert "outlet" not in plan.inlet_opening
    finding = next(f for f in plan.findings if f.code == "NUM-01")
    assert finding.severity is Severity.STOP
    assert finding.margin is not None
    assert finding.margin.si < 0


def test_a_section_that_cannot_be_overfilled_lets_the_valve_stand_open(model_a):
    opening = opened(model_a, Held("outlet", td(model_a), 20e5))
    assert (opening.share, opening.turns) == (1.0, 34.0)


def test_no_opening_works_for_a_limit_below_what_a_crack_lets_through(model_a):
    held = Held("outlet", td(model_a), 100.0)
    assert opened(model_a, held) is None
    assert drain_too_small(model_a, held).limit == Amount("pressure", 100.0)


def test_behind_a_reducer_the_section_between_is_held_by_its_own_drain(default_model):
    held = sections_to_hold(default_model.station, default_model, 0.2e5)
    assert [(h.section, h.drain.id) for h in held] == [("outlet", "TD"), ("between", "TD2")]
    assert between_drain(default_model.layout) == held[1].drain


def test_where_the_shut_off_comes_first_only_the_outlet_is_held(model_a):
    assert [h.section for h in sections_to_hold(model_a.station, model_a, 0.2e5)] == ["outlet"]


def test_a_higher_inlet_leaves_a_smaller_opening():
    turns = [
        work_out(station_a(supply__static=static), "yearly", samples=10).inlet_opening["outlet"].turns or 0.0
        for static in ("11.8 bar", "14 bar", "18 bar")
    ]
    assert turns == sorted(turns, reverse=True)
    assert turns[0] > turns[-1]
