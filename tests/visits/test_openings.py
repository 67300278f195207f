"""Inlet opening: with the reducer wide open the drain holds its section; checked against two design texts."""

from __future__ import annotations

import pytest

from steadyhead.findings import Amount, Severity
from steadyhead.hydraulics import build
from steadyhead.visits.drains import between_drain, outlet_drain
from steadyhead.visits.numbers import work_out
from steadyhead.visits.openings import (
    AS_STATED,
    Held,
    drain_too_small,
    held_pressure,
    inlet_opening,
    margin_of,
    sections_to_hold,
    trip_above_rating,
)
from tests.printed import printed
from tests.visits.known_stations import STATION_A, default_station, station_a, without_part


def td(model):
    """Return the test drain of a model."""
    return outlet_drain(model.layout)


def opened(model, held):
    """Return the opening at which a drain holds a section, every part as stated."""
    return inlet_opening(model, held, AS_STATED)


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
    expected = plan.inlet_opening["outlet"].expected
    assert expected is not None
    assert expected < plan.inlet_opening["outlet"].limit
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


@pytest.mark.source(
    kind="own estimate",
    ref="a fifth less drain, a quarter more inlet valve, a tenth more line; law of the valve: opening to 1.5",
)
def test_the_opening_keeps_a_margin_for_what_nobody_has_measured(model_a):
    held = Held("outlet", td(model_a), 5.31e5)
    margin = margin_of(model_a, held.drain)
    assert (margin.drain, margin.inlet, margin.line) == pytest.approx((0.8, 1.25, 1.1))
    careful, stated = inlet_opening(model_a, held), opened(model_a, held)
    assert careful is not None
    assert stated is not None
    assert careful.turns is not None
    assert stated.turns is not None
    assert careful.expected is not None
    assert careful.turns < stated.turns
    assert careful.expected < careful.pressure <= held.limit
    scaled = 2.73 * (0.8 / 1.25) ** (1 / 1.5)
    assert scaled - 0.5 < careful.turns <= scaled


def test_a_fifth_less_drain_does_not_lift_the_section_above_its_limit():
    for less in (1.0, 0.8):
        plan = work_out(station_a(), "yearly", samples=10)
        opening = plan.inlet_opening["outlet"]
        true = build(station_a(TD__kv=f"Kv {45 * less:.1f}"))
        assert held_pressure(true, td(true), "outlet", opening.share) <= opening.limit


def test_a_measured_drain_earns_a_wider_opening():
    def turns(**kv):
        return work_out(station_a(TD__kv=kv), "yearly", samples=10).inlet_opening["outlet"].turns

    guessed = turns(value="Kv 45")
    assert turns(value="Kv 45", confidence="measured") >= guessed
    assert turns(value="Kv 45", plus_minus="Kv 1", confidence="measured") > guessed


def test_a_drain_that_holds_only_by_its_stated_kv_stops_the_plan_and_says_so():
    model = build(station_a(IV1__turns="10 turns"))
    least = held_pressure(model, td(model), "outlet", 0.025)
    held = Held("outlet", td(model), 1.05 * least)
    assert opened(model, held) is not None
    assert inlet_opening(model, held) is None
    told = drain_too_small(model, held)
    expected, reached = told.params["expected"], told.params["reached"]
    assert isinstance(expected, Amount)
    assert isinstance(reached, Amount)
    assert expected.si < held.limit < reached.si


def test_the_opening_table_rises_and_holds_the_opening_that_is_given():
    opening = work_out(station_a(), "yearly", samples=10).inlet_opening["outlet"]
    shares = [row.share for row in opening.rows]
    assert shares == sorted(shares)
    assert opening.share in shares
    assert shares[-1] == 1.0
    assert all(row.expected < row.worst for row in opening.rows)
    for column in ([row.expected for row in opening.rows], [row.worst for row in opening.rows]):
        assert column == sorted(column)
    assert all(row.worst > opening.limit for row in opening.rows if row.share > opening.share)


def rated(normal):
    """Return station A with a meter on the outlet that bears so much."""
    meter = {"component": "meter", "normal": normal, "fault": "9 bar", "level": "142 m", "side": "outlet"}
    return station_a(limits=[*STATION_A["limits"], meter])


def test_an_outlet_rated_below_the_trip_is_found_and_no_pump_goes_beyond_its_rating():
    station = rated("5 bar")
    found = trip_above_rating(station)
    assert found is not None
    assert (found.component, found.rating) == ("meter", 5e5)
    plan = work_out(station, "first", samples=10)
    assert found.edge == pytest.approx(plan.target_reading["trip_high"])
    assert plan.test_limit["outlet"] == plan.section_rating["outlet"] == 5e5
    assert all(one.reading <= 5e5 for one in plan.pumped.values())


def test_an_outlet_that_bears_the_trip_is_not_found():
    assert trip_above_rating(rated("6 bar")) is None
    assert trip_above_rating(station_a()) is None
    assert trip_above_rating(without_part(STATION_A, "SO")) is None


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
