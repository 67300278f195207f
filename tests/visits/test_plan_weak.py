"""What practitioners found wrong or weak in the words and bands of plans, each as a test."""

from __future__ import annotations

from functools import cache

import pytest

from steadyhead.records.plan_numbers import Band, PlanNumbers
from steadyhead.records.procedure import Kind, Procedure
from steadyhead.records.station import Station
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.visits.accepting import trips_within
from steadyhead.visits.numbers import work_out
from steadyhead.visits.plan import build
from steadyhead.visits.text import render
from tests.visits import plan_stations
from tests.visits.chain_stations import monitor_upstream, relief_beside
from tests.visits.known_stations import station_a


@cache
def shelf(name: str) -> Station:
    return load(read(name)).station


@cache
def figures(name: str) -> PlanNumbers:
    return work_out(shelf(name), "first", samples=60)


@cache
def written(name: str, kind: Kind) -> Procedure:
    return build(shelf(name), kind, "", figures(name))


def texts(plan: Procedure, step: str) -> list[str]:
    return [message.id for message in plan.node(step).do]


@pytest.mark.source(kind="analytic", ref="the stop of the run beside it: trip with its upper tolerance")
def test_no_trip_is_accepted_beyond_the_reading_at_which_its_run_is_stopped():
    plan = work_out(station_a(), "first", samples=60)
    stop = plan.test_limit["outlet"]
    for key in ("trip_mid.T3", "trip_set_mid.T3"):
        assert plan.bands[key].high <= stop + 1.0
        assert plan.bands[key].low >= plan.target_reading["trip_low"] - 1.0
        assert plan.bands[key].low <= plan.bands[key].nominal <= plan.bands[key].high


def test_a_band_of_a_trip_that_lies_beyond_the_stop_altogether_is_left_to_the_design():
    beyond = Band(6.1e5, 6.5e5, 6.3e5)
    assert trips_within({"trip.T3": beyond}, None, 6.0e5)["trip.T3"] == beyond
    assert trips_within({"lockup.T3": beyond}, 6.2e5, 6.4e5)["lockup.T3"] == beyond


@pytest.mark.source(kind="independent", ref="turn table of the same plan, its row with the reducer wide open")
def test_band_between_reducer_and_monitor_names_what_the_turn_table_reads_there():
    numbers = figures("fenwarren-gate")
    (table, *_) = [t for t in numbers.turn_tables if t.start == "trickle"]
    band = numbers.bands["monitor.T2"]
    assert table.readings["T2"][-1] == pytest.approx(band.nominal, abs=0.02e5)
    assert table.readings["T3"][-1] == pytest.approx(numbers.bands["monitor.T3"].nominal, abs=0.02e5)


@pytest.mark.parametrize(("kind", "step"), [("first", "MN1.MON"), ("yearly", "Y3M.MON")])
def test_the_stroke_of_a_monitor_is_timed_and_its_highest_outlet_read(kind: Kind, step: str):
    plan = written("fenwarren-gate", kind)
    told = texts(plan, step)
    assert told.index("MN1.start") < told.index("MN1.time") < told.index("MN1.response")
    inputs = {one.name: one for one in plan.node(step).inputs}
    assert inputs["response"].instrument == "stopwatch"
    assert "peak" in inputs
    (slow,) = [one for one in plan.node(step).otherwise if one.see.id == "MN1.slow.see"]
    limit = slow.when["gt"][1]
    assert limit == pytest.approx(figures("fenwarren-gate").test_limit["outlet"], abs=0.2e5)


@pytest.mark.parametrize("kind", ["first", "yearly", "return_to_service"])
@pytest.mark.parametrize("name", ["fenwarren-gate", "orrowby-mill"])
def test_a_station_without_a_shut_off_is_never_told_of_one(name: str, kind: Kind):
    told = " ".join(render(written(name, kind)).split())
    for words in ("set the trip", "Set the trip", "A shut-off is proved", "a shut-off out of the way"):
        assert words not in told
    assert "shut-off" not in told.replace("No shut-off in this station", "")


def test_overnight_the_guard_that_a_station_has_is_named():
    note = next(n for n in written("fenwarren-gate", "first").notes if n.id == "note.days")
    assert note.params["guard"] == "@guard.monitor"
    assert note.params["mon"] == "MON"
    with_both = build(monitor_upstream(), "first", "", plan_stations.numbers(monitor_upstream()))
    note = next(n for n in with_both.notes if n.id == "note.days")
    assert note.params["guard"] == "@guard.shut_off"


def test_a_plan_that_never_moves_the_shut_off_away_pumps_only_below_its_trip():
    of = plan_stations.station(plan_stations.UP)
    cases: tuple[tuple[Kind, bool], ...] = (("first", True), ("return_to_service", False))
    for kind, away in cases:
        plan = build(of, kind, "", plan_stations.numbers(of))
        told = texts(plan, "D2")
        assert ("D2.out_of_way" in told) is away
        assert "D2.in_service" in told


def test_a_relief_valve_shut_off_for_the_runs_stands_open_while_the_line_is_worked_on():
    of = relief_beside()
    plan = build(of, "yearly", "", plan_stations.numbers(of))
    opened = [node for node in plan.nodes if node.id.startswith("Y5O.")]
    assert opened
    for node in opened:
        told = [message.id for message in node.do]
        assert told[0] == "R3.meanwhile"
        assert told[-1] == "R3.shut_again"


@pytest.mark.parametrize("name", ["quernhollow-lane", "tarnholt-quay"])
def test_yearly_of_a_fire_main_asks_when_the_fire_flow_was_last_drawn(name: str):
    from steadyhead.visits.plan import figures as worked_out

    of = shelf(name)
    plan = build(of, "yearly", "", worked_out(of, "yearly"))
    assert "Y1.fire_flow" in texts(plan, "Y1")
    assert "fire_tested" in [one.name for one in plan.node("Y1").inputs]
