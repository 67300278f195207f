"""One fact of a station with several streams changed: exactly the right steps change, all others stay."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from steadyhead.errors import InputError
from steadyhead.procedure.flaws import validate
from steadyhead.procedure.graph import ancestors
from steadyhead.procedure.plain import node_json
from steadyhead.records.procedure import Procedure
from steadyhead.visits.feasibility import Refused
from steadyhead.visits.plan import build
from tests.visits import stream_stations as ss
from tests.visits.plan_stations import differences
from tests.visits.stream_stations import behind, branch, low_flow, made, setting, twin_streams, without

Data = dict[str, Any]


def changes(before: Procedure, after: Procedure) -> Mapping[str, set[str]]:
    return {name: found for name, found in differences(before, after).items() if found}


def of_stream(name: str, bases: str) -> set[str]:
    return {f"{base}.{name}" for base in bases.split()}


def test_stream_left_isolated_blocks_the_return_to_service() -> None:
    """Take the step away that brings the standby back: the plan is not sound, and J1 waits for it."""
    plan = made(twin_streams())
    assert "b.isolated" in plan.node("S1.a").opens
    assert plan.node("S3.b").restores == ("b.isolated",)
    assert {"S3.a", "S3.b"} <= ancestors(plan, "J1")
    left = replace(plan, nodes=tuple(replace(n, restores=()) if n.id == "S3.b" else n for n in plan.nodes))
    assert any("opens b.isolated, which is never restored" in flaw.what for flaw in validate(left))


def test_standby_locked_shut_by_design_takes_the_steps_of_two_streams_away() -> None:
    def change(data: Data) -> None:
        branch(data, "b")["locked_shut"] = "yes"

    assert changes(made(twin_streams()), made(twin_streams(), change)) == {
        "removed": {"S4", "S5", "S6", "S7.SOb", "S8.a", "S8.b"},
        "changed": {"A2", "S1.b", "S3.b", "J1"},  # A2: less water
    }


def test_low_flow_stream_is_left_out_of_the_first_filling_and_its_lockup_follows_its_return() -> None:
    plan = made(low_flow())
    assert plan.node("S1.m").opens == ("low.isolated",)
    assert "S1.m" in ancestors(plan, "C2.m")
    assert "H3.low" not in ancestors(plan, "C2.m") | ancestors(plan, "H4.m")
    assert plan.node("H3.low").restores == ("low.isolated",)
    assert {"H3.low", "S4", "S5"} <= ancestors(plan, "H2.LB")
    assert "H3.low" not in ancestors(plan, "H2.RV")
    assert {"H2.LB"} <= ancestors(plan, "J1")


def test_common_shut_off_is_proved_once_with_the_low_flow_stream_isolated() -> None:
    plan = made(low_flow())
    assert [node.id for node in plan.nodes if node.id.startswith("F1.")] == ["F1.SO"]
    assert "S2.m" in ancestors(plan, "F1.SO")
    assert "low.shut_tight" in plan.node("S2.m").proves
    assert not any("SO.pilot" in node.depends_on for node in plan.nodes if plan.streams.get(node.id) == "low")


def test_low_flow_stream_with_a_shut_off_of_its_own_is_proved_like_any_other() -> None:
    own = ss.shut_off("SOL", "T3", "5.5 bar")
    found = changes(made(low_flow()), made(low_flow(), behind("IVL1", own, ss.tap("T2L"))))
    steps = "E0 C1F C1S D4 EF2 ES3 ES4 ES5 ES6 F1 F2 F2R F3 F5 G1 G2 G3"
    assert {node for node in found["added"] if node.endswith(".SOL")} == of_stream("SOL", steps)
    assert not {name for name in found["changed"] if name.endswith((".RV", ".SO"))}
    assert found["removed"] == {"H1F.LB"}


def test_changeover_is_proved_by_flow_where_one_lies_within_reach() -> None:
    by_hand, by_flow = made(low_flow()), made(low_flow(), handover=0.002)
    assert changes(by_hand, by_flow) == {"changed": {"A2", "ES2.LB", "S5", "S6"}}
    named = {expect.input for expect in by_flow.node("S5").expect}
    assert named == {"T3.up.1", "T3.up.2", "T3.down.1", "T3.down.2"}
    assert by_hand.node("S5").title.id == "S5h.title"


def test_check_valve_at_the_end_of_a_stream_adds_its_tightness_backwards() -> None:
    check = {"part": "check_valve", "id": "CVb", "size": "DN 100"}
    found = changes(made(twin_streams()), made(twin_streams(), behind("TDb", check)))
    assert {"S9.b"} <= found["added"]
    assert {"S8.b", "J1", "A5"} <= found["changed"]
    assert "removed" not in found


def test_stream_without_a_drain_of_its_own_is_vented_at_its_tap() -> None:
    found = changes(made(twin_streams()), made(twin_streams(), without("TDb")))
    assert found == {"changed": {"S2.a", "S8.b", "A5"}}


def test_stream_without_drain_and_tap_is_judged_by_the_outlet() -> None:
    change = (without("TDb", "T1b", "T2b", "T3b"), setting("SOb", senses="T3"), setting("RVb", senses="T3"))
    plan = made(twin_streams(), *change)
    assert plan.node("S2.a").do[0].id == "S2.held"
    assert {"T3.first", "T3.last"} <= {one.name for one in plan.node("S2.a").inputs}


def test_stream_without_an_isolating_valve_is_refused_with_its_name_and_side() -> None:
    with pytest.raises(Refused) as refused:
        made(twin_streams(), without("IV2b"))
    told = next(f for f in refused.value.findings if f.code == "PLAN-46")
    assert (told.params["stream"], told.params["side"]) == ("b", "downstream")


def test_yearly_visit_takes_one_stream_out_while_the_other_serves() -> None:
    plan = made(twin_streams(), kind="yearly")
    firsts = [node.id for node in plan.nodes if node.id.startswith("Y4.")]
    assert firsts == ["Y4.SOa", "Y4.SOb"]
    assert "Y8.a" in ancestors(plan, "Y2.b")
    assert plan.node("Y2.a").do[0].id == "S.serves"
    assert plan.node("Y2.a").opens == ("outlet_shut@a", "inlet_down@a")
    assert {"outlet_shut@a", "inlet_down@a"} <= set(plan.node("Y8.a").restores)
    assert "gauges_on" in plan.node("Y8").restores
    assert not {"gauges_on"} & {*plan.node("Y8.a").restores, *plan.node("Y8.b").restores}
    assert {"Y8.a", "Y8.b", "S4", "S7.SOb", "Y9.ST"} <= ancestors(plan, "Y8")


def test_yearly_visit_of_a_stream_without_its_own_drain_takes_the_whole_station_out() -> None:
    plan = made(twin_streams(), without("TDb"), kind="yearly")
    assert "PLAN-47" in {note.id for note in plan.notes}
    assert {"Y2", "S1.a", "S2.a", "S1.b", "S3.a", "S3.b", "Y8"} <= {node.id for node in plan.nodes}
    assert "note.station_out" in {note.id for note in plan.notes}


def test_shut_off_that_senses_the_common_tap_is_proved_by_pump_while_the_other_stream_serves() -> None:
    """Its own section may be raised; what it senses is held by the other stream."""
    change = setting("SOa", senses="T3")
    assert made(twin_streams(), kind="yearly").node("Y4.SOa").raises == ("outlet",)
    assert made(twin_streams(), change, kind="yearly").node("Y4.SOa").raises == ("sensing",)


def test_common_tap_makes_the_other_shut_off_act_too_and_the_step_says_so() -> None:
    found = changes(made(twin_streams()), made(twin_streams(), setting("SOa", senses="T3")))
    assert found == {"changed": {"S1.b", "S3.a", "A5"}}


def test_reducer_that_senses_the_common_tap_takes_the_whole_station_out() -> None:
    plan = made(twin_streams(), setting("RVb", senses="T3"), kind="yearly")
    assert "S1.a" in {node.id for node in plan.nodes}


def test_shut_off_that_resets_by_itself_adds_reset_and_cycles_on_its_own_stream_only() -> None:
    found = changes(made(twin_streams()), made(twin_streams(), setting("SOb", resets="by itself")))
    assert found["added"] == {"F3R.SOb", "F3C.SOb"}
    assert all(name.endswith(("SOb", ".b")) or name in ("J1", "S3.a", "S3.b") for name in found["changed"])


def test_manual_bypass_round_the_streams_is_locked_and_named_for_each() -> None:
    def change(data: Data) -> None:
        group = next(one for one in data["line"] if one["part"] == "parallel")
        group["branches"].append({"id": "by", "role": "manual bypass", "line": [ss.valve("BV")]})

    found = changes(made(twin_streams()), made(twin_streams(), change))
    assert found == {"changed": {"A5", "C1.a", "C1.b", "H2.RVa", "H2.RVb", "J4"}}


def test_trips_too_close_in_what_was_proved_are_told() -> None:
    plan = made(twin_streams())
    step = plan.node("S7.SOb")
    assert step.otherwise[0].when == {
        "lt": [{"sub": [{"value": ["F1.SOb", "mid"]}, {"value": ["F1.SOa", "mid"]}]}, pytest.approx(1e4)]
    }  # 0.40 bar apart, 0.15 bar of repeatability each
    assert set(step.depends_on) == {"SOa.trip", "SOb.trip"}


def test_another_trip_of_one_stream_changes_that_stream_and_the_distance_of_trips() -> None:
    found = changes(made(twin_streams()), made(twin_streams(), setting("SOb", trip="5.7 bar")))
    named = found["changed"]
    assert named >= {"F1.SOb", "S7.SOb"}
    assert not {name for name in named if name.endswith((".a", ".SOa", ".RVa"))}


def test_fire_water_changes_permits_calls_isolation_and_the_end_once() -> None:
    def change(data: Data) -> None:
        data["station"]["fire_water"] = "yes"

    found = changes(made(twin_streams()), made(twin_streams(), change))
    assert found == {"changed": {"A2", "A3", "B1", "J5"}}


def test_repair_on_one_stream_touches_no_step_of_the_other_and_leaves_it_in_service() -> None:
    plan = made(twin_streams(), kind="after_repair", item="stream b shut-off pilot")
    assert set(plan.streams.values()) == {"b"}
    assert "S.serves" in {m.id for m in plan.node("B1.b").do}
    assert {"F1.SOb", "F3.SOb", "G1.SOb", "S7.SOb"} <= {node.id for node in plan.nodes}
    assert any(one.name == "early" for one in plan.node("S7.SOb").inputs)


def test_repair_of_a_common_part_takes_the_whole_station_out() -> None:
    plan = made(twin_streams(), kind="after_repair", item="strainer")
    assert {"B5", "H4.a", "H4.b", "S1.a", "S3.b"} <= {node.id for node in plan.nodes}


def test_item_of_no_stream_is_refused_with_the_list() -> None:
    with pytest.raises(InputError, match="stream a reducer pilot"):
        made(twin_streams(), kind="after_repair", item="reducer pilot")


def test_new_setting_of_one_shut_off_leaves_the_other_stream_alone() -> None:
    plan = made(twin_streams(), kind="new_setting", item="SOb")
    assert set(plan.streams.values()) == {"b"}
    assert {"ES4.SOb", "F1.SOb", "S7.SOb"} <= {node.id for node in plan.nodes}


def test_one_tripped_stream_goes_back_to_service_while_the_other_serves() -> None:
    plan = made(twin_streams(), kind="return_to_service", item="stream b")
    assert set(plan.streams.values()) == {"b"}
    assert {"C2.b", "D2.b", "EF1.RVb", "J2.b"} <= {node.id for node in plan.nodes}
    assert not any(node.id.startswith(("F", "E0")) for node in plan.nodes)


def test_station_without_valves_of_its_own_is_commissioned_stream_by_stream() -> None:
    """No valve on the common line: each stream between its own, one after the other."""
    plan = made(twin_streams(), without("IV1", "IV2", "TD", "ST"))
    ids = {node.id for node in plan.nodes}
    assert {"B1.a", "B1.b", "D2.a", "D2.b", "J2.a", "J2.b"} <= ids
    assert not {"S1.a", "S2.a", "S5"} & ids
    assert "J2.a" in ancestors(plan, "B1.b")


def test_stream_that_is_not_commissioned_feeds_nobody_before_its_turn() -> None:
    plan = made(twin_streams(), without("IV1", "IV2", "TD", "ST"))
    first, then = ([m.id for m in plan.node(f"B1.{name}").do] for name in "ab")
    assert first[0] == "S.waits"
    assert "S.serves" not in first
    assert "S.serves" in then
    assert "S.waits" not in then
    assert "note.stream_out_fresh" in {note.id for note in plan.notes}


def test_streams_all_isolated_go_back_to_service_one_after_another() -> None:
    plan = made(twin_streams(), without("IV1", "IV2", "TD", "ST"), kind="return_to_service")
    assert "S.serves" not in {m.id for node in plan.nodes for m in node.do}
    assert "S.waits" in {m.id for m in plan.node("C1.a").do}
    assert "S.waits" not in {m.id for m in plan.node("C1.b").do}
    assert "J2.a" in ancestors(plan, "C1.b")


def relief(crack: str) -> ss.Part:
    return {
        "part": "relief", "id": "RL", "size": "DN 25", "kv": "Kv 5", "crack": crack, "runs_to": "gully",
        "cock": "yes", "tells": "flow switch",
    }  # fmt: skip


def test_relief_below_the_trips_is_proved_once_and_cut_off_for_each_trip_with_a_restore_item() -> None:
    plan = made(twin_streams(), behind("T3", relief("4.95 bar")))
    found = changes(made(twin_streams()), plan)
    assert found["added"] == {"R1.RL", "R2.RL", "R3.RL", "R4.RL", "R3.RL.b", "R4.RL.b"}
    assert plan.node("R3.RL").opens == ("RL.cut_off@a",)
    assert "RL.cut_off@a" in plan.node("R4.RL").restores
    assert "RL.cut_off@b" in plan.node("R4.RL.b").restores
    assert plan.node("R4.RL").proves == ()
    assert "R3.RL.b" in ancestors(plan, "F1.SOb")
    assert {"R4.RL", "R4.RL.b"} <= ancestors(plan, "J1")


def test_relief_above_the_trips_is_not_cut_off() -> None:
    found = changes(made(twin_streams()), made(twin_streams(), behind("T3", relief("6.2 bar"))))
    assert found == {"changed": {"A5", "C1.a", "C1.b", "J4"}}


def test_expansion_vessel_is_cut_off_for_all_streams_and_adds_the_thermal_branch() -> None:
    vessel = {"part": "expansion_vessel", "id": "EV", "volume": "100 L", "precharge": "3.5 bar"}
    plan = made(twin_streams(), behind("T3", vessel))
    found = changes(made(twin_streams()), plan)
    assert found["added"] == {"A9", "B7.EV", "H8.EV", "J3T"}
    assert "A9" in ancestors(plan, "B1")
    assert {"H2.RVa", "H2.RVb"} <= found["changed"]
    assert {"F5.SOa", "F5.SOb", "H5.b"} <= ancestors(plan, "H8.EV")
    assert "H8.EV" in ancestors(plan, "J1")


def test_hot_water_without_a_vessel_adds_the_thermal_branch_alone() -> None:
    def change(data: Data) -> None:
        data["hot_water"] = {"volume": "500 L", "cold": "10 °C", "hot": "60 °C"}

    found = changes(made(twin_streams()), made(twin_streams(), change))
    assert found == {"added": {"A9", "J3T"}, "changed": {"B1", "H2.RVa", "H2.RVb", "J2", "J4"}}


def two_reducers(*, monitor: bool) -> ss.Change:
    """Return a change that gives the standby two reducers in series instead of its shut-off."""

    def change(data: Data) -> None:
        line = [one for one in branch(data, "b")["line"] if one["id"] != "SOb"]
        at = next(i for i, one in enumerate(line) if one["id"] == "T2b")
        line.insert(at, ss.reducer("RV1b", "T3b" if monitor else "T2b", "4.6 bar", "4.8 bar"))
        branch(data, "b")["line"] = [*line[: at + 2], ss.drain("TD2b"), *line[at + 2 :]]

    return change


def test_monitor_instead_of_a_second_stage_is_proved_and_not_judged_as_a_stage() -> None:
    staged, watched = (made(twin_streams(), two_reducers(monitor=m)) for m in (False, True))
    found = changes(staged, watched)
    assert found["added"] == {"MN1.RV1b", "EF3.RVb"}
    gone = {"D3.RV1b", "EF1.RV1b", "EF3.RV1b", "ES1.RV1b", "ES2.RV1b", "H1.RV1b", "H2.RV1b", "TS1.RVb"}
    assert gone <= found["removed"]
    beside = {"S2.a", "S3.a", "S8.a"}  # they speak of the stream beside
    assert not {n for n in found["changed"] - beside if n.endswith((".a", ".SOa", ".RVa"))}


def fire(data: Data) -> None:
    data["station"]["kind"] = "fire main"


def test_fire_main_tells_its_question() -> None:
    found = changes(made(twin_streams()), made(twin_streams(), fire))
    assert found["changed"] == {"A2", "A3", "A4", "B1", "J5"}
    assert "PLAN-26" in {note.id for note in made(twin_streams(), fire).notes}


def test_recorded_answer_of_the_fire_authority_stands_at_the_step_once() -> None:
    def answered(data: Data) -> None:
        fire(data)
        data["answers"] = [
            {
                "to": "LAY-26", "at": "station", "value": "0", "answer": "A shut-off is allowed.",
                "by": "A. Fenn", "authority": "Fire office of Brae", "decided": "2027-01-05",
            }
        ]  # fmt: skip

    plan = made(twin_streams(), answered)
    found = changes(made(twin_streams(), fire), plan)
    assert set(found) == {"changed"}
    told = [
        node.id
        for node in plan.nodes
        for message in node.do
        if "Fire office of Brae" in {str(value) for value in message.params.values()}
    ]
    assert told
    assert set(told) <= found["changed"]


def test_yearly_visit_of_a_stream_without_alarm_or_switch_still_ends_the_test_at_the_desk() -> None:
    plan = made(twin_streams(), two_reducers(monitor=True), kind="yearly")
    assert {"alarm_test", "gauges_on"} <= set(plan.node("Y8").restores)
    assert "Y8.desk" in {message.id for message in plan.node("Y8").do}


def test_the_same_station_gives_the_same_bytes_again() -> None:
    first, again = made(twin_streams()), made(twin_streams())
    assert [node_json(node) for node in first.nodes] == [node_json(node) for node in again.nodes]


def test_figures_of_another_way_of_cutting_off_are_refused() -> None:
    of = ss.station(twin_streams())
    figures = replace(ss.numbers(of, "first"), streams={})
    with pytest.raises(InputError, match="no figures of stream a"):
        build(of, "first", "", figures)
