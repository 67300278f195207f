"""Plans of several streams: what two practitioners found wrong in them, each as a test."""

from __future__ import annotations

from typing import Any

import pytest

from steadyhead.errors import InputError
from steadyhead.procedure.graph import needed
from steadyhead.services.repairs import unknown_item
from steadyhead.visits.text import render
from tests.visits import plan_stations, stream_stations
from tests.visits.stream_stations import (
    branch,
    low_flow,
    made,
    setting,
    shared_parts,
    twin_streams,
    without,
)

Data = dict[str, Any]


def locked(data: Data) -> None:
    branch(data, "b")["locked_shut"] = "yes"


def texts(plan: Any, step: str) -> list[str]:
    return [message.id for message in plan.node(step).do]


@pytest.mark.parametrize("kind", ["first", "yearly", "return_to_service"])
def test_steps_are_printed_behind_all_they_need(kind: Any) -> None:
    for data in (twin_streams(), low_flow()):
        done: set[str] = set()
        plan = made(data, kind=kind)
        every = {node.id for node in plan.nodes}
        for node in plan.nodes:
            assert set(needed(node.needs)) & every <= done, node.id
            done.add(node.id)


def test_turn_tables_name_the_taps_of_the_stream_whose_screw_is_turned() -> None:
    plan = made(twin_streams())
    taps = {tap for table in plan.turn_tables if table.valve == "RVb" for tap in table.readings}
    assert taps <= {"T1b", "T2b", "T3b"}


def test_every_isolating_valve_that_is_turned_is_named_with_its_turns() -> None:
    note = next(n for n in made(twin_streams()).notes if n.id == "note.gates")
    said = str(note.params["gates"])
    assert all(f"{name} 20 turns" in said for name in ("IV1", "IV2", "IV1a", "IV2a", "IV1b", "IV2b"))


def test_work_of_more_than_a_day_says_how_the_station_is_left_overnight() -> None:
    plan = made(twin_streams())
    assert "note.days" in {note.id for note in plan.notes}


def test_table_of_the_streams_has_a_title_and_choices_print_once() -> None:
    said = render(made(twin_streams()))
    assert "S  Streams, one at a time and together" in said
    assert "fits: fits" not in said


def test_locks_come_off_before_a_locked_stream_is_tested_and_go_on_again() -> None:
    yearly = made(twin_streams(), locked, kind="yearly")
    assert texts(yearly, "Y2.b")[0] == "S.unlock"
    assert "S.relock" in texts(yearly, "Y8.b")
    assert not {"Y8.inlet", "Y8.outlet"} & set(texts(yearly, "Y8.b"))
    assert "b.unlocked" in yearly.node("Y2.b").opens
    assert "b.unlocked" in yearly.node("Y8.b").restores
    first = made(twin_streams(), locked)
    assert "b.unlocked" in first.node("S1.b").opens
    assert "b.unlocked" in first.node("S3.b").restores


@pytest.mark.parametrize("item", ["stream b reducer pilot", "stream b shut-off setting"])
def test_a_repair_on_a_locked_stream_ends_with_its_locks_on(item: str) -> None:
    for change in ((locked,), (locked, without("TDb"))):
        plan = made(twin_streams(), *change, kind="after_repair", item=item)
        opened = any("b.unlocked" in node.opens for node in plan.nodes)
        assert opened == any("b.unlocked" in node.restores for node in plan.nodes)
        told = {text for node in plan.nodes for text in texts(plan, node.id)}
        assert not opened or told & {"S.relock", "S3.locked"}


def test_locked_stream_of_a_station_without_common_valves_is_not_opened_to_the_consumers() -> None:
    plan = made(twin_streams(), locked, without("IV1", "IV2", "TD", "ST"), kind="return_to_service")
    assert texts(plan, "J2.b") == ["S.relock"]
    assert "b.unlocked" in plan.node("C1.b").opens


def test_what_the_streams_share_stays_open_by_name_at_a_yearly_visit() -> None:
    plan = made(twin_streams(), shared_parts, kind="yearly")
    assert {"Y9.EV", "Y9.RL", "Y9.ST"} <= set(needed(plan.node("Y8").needs))
    assert {"PLAN-48", "PLAN-49", "PLAN-50"} <= {note.id for note in plan.notes}
    assert "PLAN-38" not in {note.id for note in plan.notes}


def test_heating_check_of_a_stream_names_the_vessel_on_the_shared_outlet() -> None:
    plan = made(twin_streams(), shared_parts, without("IV1", "IV2", "TD", "ST"))
    assert "J3T.vessel" in texts(plan, "J3T")
    assert "J3T.no_vessel" not in texts(plan, "J3T")


def test_alarm_on_the_shared_outlet_is_tried_by_pump_while_one_stream_is_out() -> None:
    plan = made(twin_streams(), without("IV1", "IV2", "TD", "ST"))
    assert plan.node("G4").title.id == "G4p.title"
    assert not plan.node("G4").raises


def test_missing_parts_of_a_stream_are_named_where_the_station_goes_out() -> None:
    plan = made(low_flow(), kind="yearly")
    said = str(next(n for n in plan.notes if n.id == "PLAN-47").params["missing"])
    assert "SO" in said
    assert "a drain of its own" in said
    assert "a tap of its own" in said
    assert "isolating valves" not in said


def test_whole_station_goes_back_to_service_between_its_own_valves() -> None:
    plan = made(twin_streams(), kind="return_to_service")
    assert "note.station_out" in {note.id for note in plan.notes}
    assert {"S1.a", "S1.b", "J1", "J2"} <= {node.id for node in plan.nodes}


def test_stream_tested_last_is_not_opened_a_second_time() -> None:
    assert "S3.stands" in texts(made(low_flow()), "H3.low")
    assert "S3.throttle" in texts(made(low_flow()), "S3.m")


def test_reset_after_the_trip_of_one_stream_is_spelled_out() -> None:
    assert "S8.reset_own" in texts(made(twin_streams()), "S8.a")
    assert "S8.reset" in texts(made(twin_streams(), without("TDa")), "S8.a")
    assert "S8.reset_header" in texts(made(twin_streams(), setting("RVa", senses="T3")), "S8.a")


def test_trip_of_an_idle_stream_claims_no_takeover() -> None:
    plan = made(twin_streams())
    assert plan.node("S8.a").proves == ("a.covered",)
    assert not plan.node("S8.b").proves
    assert "S8.idle" in texts(plan, "S8.b")


def test_later_stream_bleeds_no_valve_that_was_proved_before() -> None:
    bled = [m.params.get("valve") for m in made(low_flow()).node("C3.low").do if "valve" in m.params]
    assert bled == ["LB"]


def test_id_of_a_part_lists_what_can_be_repaired_on_it_alone() -> None:
    with pytest.raises(InputError) as refused:
        made(twin_streams(), kind="after_repair", item="RVa")
    assert "stream a reducer seat" in str(refused.value)
    assert "stream b" not in str(refused.value)
    with pytest.raises(InputError) as refused:
        plan_stations.made(plan_stations.UP, kind="after_repair", item="SO")
    assert "shut-off feed" in str(refused.value)
    assert "strainer" not in str(refused.value)


def test_command_line_names_what_can_be_repaired_at_the_part_of_a_stream() -> None:
    told = str(unknown_item(stream_stations.station(twin_streams()), "SOb"))
    assert "stream b shut-off feed" in told
    assert "stream a" not in told


def test_id_of_a_part_with_one_thing_to_repair_is_taken() -> None:
    assert stream_stations.made(twin_streams(), kind="after_repair", item="ST").item == "strainer"
