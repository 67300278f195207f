"""From the station's parts to the model: openings, faults, bypasses and refusals by their ids."""

from __future__ import annotations

import json
from math import isnan
from typing import Any

import pytest

from steadyhead.errors import InputError, NotConverged, StationError
from steadyhead.hydraulics import build, build_plain, solve, solve_many
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions
from steadyhead.station.load import load_json
from tests.hydraulics.stations import BAR, HOUR, LAYOUTS, Layout, drawing, model, station, station_data


def with_bypass(*more: dict[str, Any]) -> Station:
    """Return a station whose reducer has a manual bypass with a valve BV and further parts."""
    data = station_data("shut-off upstream")
    place = next(i for i, part in enumerate(data["line"]) if part["id"] == "RV")
    valve = {"part": "isolating_valve", "id": "BV", "size": "DN 80", "kv": "Kv 250", "tight": "yes"}
    data["line"][place] = {
        "part": "parallel",
        "id": "PG",
        "branches": [
            {"id": "main", "line": [data["line"][place]]},
            {"id": "by", "role": "manual bypass", "line": [valve, *more]},
        ],
    }
    return load_json(json.dumps(data)).station


@pytest.mark.source(kind="analytic", ref="a bypass that stands shut is not there")
def test_station_with_its_bypass_shut_reads_like_one_without() -> None:
    without, shut = model("shut-off upstream"), build(with_bypass())
    for kv in (0.0, 1.0, 60.0):
        here, there = solve(without, drawing(kv)), solve(shut, drawing(kv))
        assert there.taps == pytest.approx(here.taps, rel=1e-12)
        assert there.flow == pytest.approx(here.flow, rel=1e-12)


@pytest.mark.source(
    kind="analytic", ref="an open bypass adds flow past a reducer that shuts as its outlet rises"
)
def test_opened_bypass_lifts_the_outlet_and_the_reducer_gives_way() -> None:
    opened = build(with_bypass(), open_groups=frozenset({"PG"}))
    shut, ajar, wide = (solve(opened, drawing(30.0, openings={"BV": share})) for share in (0.0, 0.02, 1.0))
    assert shut.taps["T3"] == pytest.approx(solve(build(with_bypass()), drawing(30.0)).taps["T3"], abs=50.0)
    assert shut.taps["T3"] <= ajar.taps["T3"] < wide.taps["T3"]
    assert shut.valves["RV"].lift > ajar.valves["RV"].lift >= wide.valves["RV"].lift
    assert wide.valves["RV"].state == "shut"


def test_settings_of_an_opened_station_are_those_of_the_station_in_service() -> None:
    opened, service = build(with_bypass(), open_groups=frozenset({"PG"})), build(with_bypass())
    assert opened.lockup["RV"].si == service.lockup["RV"].si
    assert opened.band["RV"].si == service.band["RV"].si
    assert opened.with_water(opened.water, 90e3).element == opened.element


def test_opening_a_valve_on_a_bypass_that_the_model_keeps_shut_is_refused() -> None:
    built = build(with_bypass({"part": "drain", "id": "BD", "size": "DN 25", "kv": "Kv 5"}))
    assert "BD" not in solve(built, drawing(5.0, openings={"BV": 0.0})).drains
    with pytest.raises(InputError, match="BV: stands on a bypass that this model keeps shut"):
        solve(built, drawing(5.0, openings={"BV": 0.1}))


@pytest.mark.source(kind="analytic", ref="drain law Q = k √p; what enters leaves")
def test_open_drain_on_a_shut_bypass_is_fed_from_the_side_its_valve_leaves_open() -> None:
    drained = with_bypass({"part": "drain", "id": "BD", "size": "DN 25", "kv": "Kv 5"})
    opened = build(drained, open_groups=frozenset({"PG"}))
    steady = solve(opened, drawing(5.0, openings={"BD": 1.0}))
    expected = 5.0 / HOUR * (steady.taps["T3"] / BAR / (opened.density / 1000.0)) ** 0.5
    assert steady.drains["BD"] == pytest.approx(expected, rel=1e-3)
    assert steady.flow == pytest.approx(steady.consumer_flow + steady.drains["BD"], rel=1e-9)


@pytest.mark.source(kind="analytic", ref="drain law Q = k √p; k = Kv/3600 at 1 bar and 1000 kg/m³")
@pytest.mark.parametrize("layout", LAYOUTS)
def test_opened_drain_takes_its_share_of_its_own_flow(layout: Layout) -> None:
    built = model(layout)
    steady = solve(built, drawing(0.0, openings={"TD": 0.4, "IV2": 0.0}))
    expected = 0.4 * 15.0 / HOUR * (steady.taps["T3"] / BAR / (built.density / 1000.0)) ** 0.5
    assert steady.drains["TD"] == pytest.approx(expected, rel=1e-9)
    assert steady.flow == pytest.approx(expected, rel=1e-9)
    assert steady.consumer_flow == pytest.approx(0.0, abs=1e-15)


@pytest.mark.source(kind="analytic", ref="shut and tight valves part the line; what lies behind is not known")
def test_pressure_behind_a_shut_outlet_valve_is_not_guessed_but_remembered() -> None:
    built = model("reducer alone")
    shut = drawing(10.0, openings={"IV2": 0.0})
    at_first = solve(built, shut)
    assert at_first.taps["T3"] == pytest.approx(4.5 * BAR, abs=1.0)
    emptied = solve(built, shut, built.standing_at(3.0 * BAR))
    assert emptied.taps["T4"] == pytest.approx(0.0, abs=1.0)
    nobody = Conditions(supply_pressure=9.0 * BAR, openings={"IV2": 0.0})
    assert isnan(solve(built, nobody).taps["T4"])
    assert solve(built, nobody, built.standing_at(3.0 * BAR)).taps["T4"] == pytest.approx(3.0 * BAR, abs=1.0)


@pytest.mark.source(kind="analytic", ref="feed share 0 leaves the chamber empty: wide open under flow")
def test_blocked_feed_works_open_and_a_halved_one_only_shifts_the_droop() -> None:
    built = model("shut-off upstream")
    sound, halved, blocked = (
        solve(built, drawing(20.0, feed_share=share)) for share in ({}, {"RV": 0.5}, {"RV": 0.0})
    )
    assert blocked.valves["RV"].state == "works open"
    assert blocked.valves["RV"].lift == 1.0
    assert sound.valves["RV"].state == halved.valves["RV"].state == "holding"
    assert halved.valves["RV"].pilot_opening == pytest.approx(
        sound.valves["RV"].pilot_opening / 2.0, rel=0.02
    )


def test_flow_that_no_full_pipe_can_pass_is_refused_with_a_reason() -> None:
    with pytest.raises(StationError, match=r"full pipes|not converged") as refused:
        solve(model(), Conditions(supply_pressure=2.0 * BAR, consumer_flow=0.5))
    assert isinstance(refused.value, InputError | NotConverged)


def test_many_situations_are_answered_in_order() -> None:
    built = model()
    conditions = [drawing(kv) for kv in (30.0, 0.0, 3.0)]
    assert [one.flow for one in solve_many(built, conditions)] == [
        solve(built, one).flow for one in conditions
    ]


def test_reducer_that_senses_its_own_inlet_is_refused() -> None:
    data = station_data("shut-off upstream")
    reducer = next(part for part in data["line"] if part["id"] == "RV")
    reducer["senses"] = "T1"
    with pytest.raises(StationError, match=r"senses"):
        solve(build_plain(load_json(json.dumps(data)).station), drawing(1.0))


@pytest.mark.source(
    kind="analytic", ref="friction to the inlet counts only where pressures hold at the head of the main"
)
def test_supply_stated_at_the_inlet_stands_at_t0_whatever_the_flow() -> None:
    data = station_data("reducer alone", levels=(0.0, 0.0, 0.0))
    data["supply"]["stated_at"] = "station inlet"
    at_inlet = build_plain(load_json(json.dumps(data)).station)
    at_head = build_plain(station("reducer alone"))
    assert solve(at_inlet, drawing(60.0)).taps["T0"] == pytest.approx(9.0 * BAR, abs=1e-6)
    assert solve(at_head, drawing(60.0)).taps["T0"] < 8.9 * BAR
