"""Plans that need no inlet opening; stations that come into service as a whole; heaters, vessels, cocks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from steadyhead.procedure.graph import ancestors
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Kind, Procedure
from steadyhead.records.station import Station
from steadyhead.station.examples import shelf
from steadyhead.station.load import load
from steadyhead.visits import items
from steadyhead.visits.feasibility import Refused, feasibility
from steadyhead.visits.holding import protected, rests_on_drain
from steadyhead.visits.plan import build
from steadyhead.visits.several import items as items_of_streams
from steadyhead.visits.several.judging import judge
from steadyhead.visits.several.ways import has_several
from tests.visits import plan_stations, stream_stations
from tests.visits.chain_stations import building
from tests.visits.plan_stations import ALONE, UP
from tests.visits.stream_stations import branch, low_flow, shared_parts, station, twin_streams, without

Data = dict[str, Any]
NO_COMMON_VALVES = without("IV1", "IV2", "TD", "ST")


def unheld(given: PlanNumbers) -> PlanNumbers:
    """Return figures of a station whose inlet valve knows no opening that its drain can hold."""
    alone = {key: replace(own, inlet_opening={}) for key, own in given.streams.items()}
    return replace(given, inlet_opening={}, streams=alone)


def made(of: Station, kind: Kind, item: str = "", change: Callable[[PlanNumbers], PlanNumbers] | None = None):
    """Return a plan with figures made by hand, changed."""
    several = has_several(of)
    given = stream_stations.numbers(of, kind, item) if several else plan_stations.numbers(of)
    return build(of, kind, item, change(given) if change else given)


def ids(plan: Procedure) -> set[str]:
    return {node.id for node in plan.nodes}


def texts(plan: Procedure, step: str) -> list[str]:
    return [message.id for message in plan.node(step).do]


def locked(data: Data) -> None:
    branch(data, "b")["locked_shut"] = "yes"


def heated(data: Data) -> None:
    shared_parts(data)
    data["hot_water"] = {"volume": "2 m³", "hot": "60 °C"}


@pytest.mark.parametrize("example", ["veldany-house", "quillenby-row"])
def test_every_repair_gets_a_plan_and_without_an_opening_all_those_that_raise_nothing(example):
    of = load(shelf.read(example)).station
    names = items_of_streams.names(of) if has_several(of) else items.names(of)
    listed = [item for item in names if not item.startswith("stream B ")]  # a mirror of stream A
    assert listed
    for item in listed:
        plan = made(of, "after_repair", item)
        if any(rests_on_drain(node) for node in plan.nodes):
            with pytest.raises(Refused, match="PLAN-29"):
                made(of, "after_repair", item, unheld)
        else:
            assert ids(made(of, "after_repair", item, unheld)) == ids(plan), item


def test_a_plan_without_an_opening_says_that_nobody_turns_a_screw_up():
    plan = made(station(twin_streams()), "after_repair", "strainer", unheld)
    assert "V2.open" in {message.id for message in plan.invariants}
    assert not {"V2", "V2.between"} & {message.id for message in plan.invariants}
    assert "PLAN-29" in {note.id for note in plan.notes}
    opened = plan.node("C5.a").do[0]
    assert opened.params["v2"] == "@v2.open"


def test_a_line_without_a_protection_is_not_filled_without_an_opening():
    of = plan_stations.station(ALONE)
    facts = feasibility(of).facts
    assert facts is not None
    assert not protected(facts)
    with pytest.raises(Refused, match="PLAN-29"):
        made(of, "after_repair", "test drain", unheld)
    assert made(of, "after_repair", "fixed gauge", unheld).nodes


def test_a_shut_off_that_feels_nothing_behind_a_shut_outlet_valve_protects_no_filling():
    facts = feasibility(plan_stations.station(UP)).facts
    assert facts is not None
    assert protected(facts)
    beyond = plan_stations.station(UP, plan_stations.setting("SO", senses="T4"))
    seen = feasibility(beyond).facts
    assert seen is None or not protected(seen)


@pytest.mark.parametrize("kind", ["first", "yearly", "new_setting"])
def test_a_visit_that_raises_the_outlet_is_refused_without_an_opening(kind):
    for of in (station(twin_streams()), plan_stations.station(UP)):
        with pytest.raises(Refused, match="PLAN-29"):
            made(of, kind, "", unheld)


def test_no_stream_feeds_the_consumers_before_the_whole_station_is_proved():
    with pytest.raises(Refused) as refused:
        made(station(twin_streams()), "first", "", unheld)
    assert "PLAN-52" in {f.code for f in refused.value.findings}
    back = made(station(twin_streams()), "return_to_service", "", unheld)
    assert "note.station_out" in {note.id for note in back.notes}


def test_a_section_of_a_stream_without_a_test_limit_stops_the_plan():
    def unlimited(given: PlanNumbers) -> PlanNumbers:
        alone = {key: replace(own, test_limit={}) for key, own in given.streams.items()}
        return replace(given, streams=alone)

    with pytest.raises(Refused, match="PLAN-30"):
        made(station(twin_streams()), "return_to_service", "", unlimited)


def test_return_to_service_reads_the_gas_and_opens_the_vessel_and_looks_at_the_expansion_again():
    for of in (building(), station(twin_streams(), heated)):
        plan = made(of, "return_to_service")
        assert {"B7.EV", "H8.EV", "J3T"} <= ids(plan)
        assert "B7.EV" in ancestors(plan, "H8.EV")
        assert "H8.EV" in ancestors(plan, "J2")
        assert "J4.vessel" in texts(plan, "J4")


def test_return_of_one_stream_leaves_the_vessel_of_all_on_the_line():
    plan = made(station(twin_streams(), heated), "return_to_service", "a")
    assert not {"B7.EV", "J3T"} & ids(plan)
    assert "J4.vessel" in texts(plan, "J4")
    assert "PLAN-48" in {note.id for note in plan.notes}


@pytest.mark.parametrize("kind", ["first", "return_to_service"])
def test_vessel_of_all_streams_is_read_before_the_first_of_them_feeds_it(kind):
    plan = made(station(twin_streams(), NO_COMMON_VALVES, heated), kind)
    assert {"B7.EV", "H8.EV"} <= ancestors(plan, "J2.a")
    assert "PLAN-48" not in {note.id for note in plan.notes}
    assert "BV.stays" not in texts(plan, "B7.EV")


def test_cock_of_a_relief_valve_is_seen_open_before_the_line_is_filled_and_again_at_the_end():
    plan = made(building(), "return_to_service")
    assert "C1.relief" in texts(plan, "C1")
    assert "J4.relief" in texts(plan, "J4")
    unknown = made(station(twin_streams(), shared_parts), "return_to_service")
    assert "C1.relief_may" in texts(unknown, "C1.a")
    assert texts(unknown, "J4").count("J4.relief_may") == 1


def test_heaters_are_off_while_the_only_stream_in_service_is_out():
    plan = made(station(twin_streams(), locked, heated), "return_to_service", "a")
    assert "HT.no_feed" in texts(plan, "A9")
    assert "A9" in ancestors(plan, "C1.a")
    assert "heaters_off" in plan.node("J2.a").restores
    assert "HT.on" in texts(plan, "J2.a")
    other = made(station(twin_streams(), locked, heated), "return_to_service", "b")
    assert "A9" not in ids(other)
    beside = made(station(twin_streams(), heated), "return_to_service", "a")
    assert "A9" not in ids(beside)


def test_heaters_run_again_once_the_first_of_streams_brought_in_one_by_one_feeds_them():
    plan = made(station(twin_streams(), NO_COMMON_VALVES, heated), "first")
    assert "heaters_off" in plan.node("J2.a").restores
    assert not any("heaters_off" in node.restores for node in plan.nodes if node.id == "J2.b")


def test_yearly_visit_of_the_only_stream_in_service_has_the_heaters_off():
    plan = made(station(twin_streams(), locked, heated), "yearly")
    assert "heaters_off" in {name.partition("@")[0] for name in plan.node("Y1H.a").opens}
    assert "Y1H.b" not in ids(plan)


def test_outage_is_told_where_the_only_stream_in_service_goes_out():
    found = judge(station(twin_streams(), locked), "yearly").findings
    assert "PLAN-25" not in {f.code for f in found}  # this zone has another feed
    alone = station(twin_streams(), locked, lambda data: data["zone"].update(other_feed="no"))
    assert "PLAN-25" in {f.code for f in judge(alone, "yearly").findings}


def test_vessel_that_is_cut_off_in_service_has_the_heaters_off_meanwhile():
    for of in (building(), station(twin_streams(), heated)):
        plan = made(of, "after_repair", "expansion vessel")
        assert not {"B1", "J2"} & ids(plan)
        assert "A9" in ancestors(plan, "B7.EV")
        assert "heaters_off" in plan.node("A9").opens
        assert "heaters_off" in plan.node("H8.EV").restores
        assert {out.state for out in plan.node("B7.EV").back_out} == {"in_service"}
        assert not {"note.station_out", "note.stream_out"} & {note.id for note in plan.notes}


@pytest.mark.parametrize("data", [twin_streams(), low_flow()], ids=["two streams", "low flow"])
def test_a_repair_without_a_pump_reads_the_reducer_as_found_where_no_step_turns_it(data):
    of = station(data, lambda one: one.update(equipment={"hand_pump": "no"}))
    plan = made(of, "after_repair", "strainer")
    assert not any(node.id.split(".")[0] == "D2" for node in plan.nodes)
    reads = [node for node in plan.nodes if node.id.startswith("EF1.")]
    assert reads
    assert all(any(one.see.id == "EF1.off.see" for one in node.otherwise) for node in reads)
