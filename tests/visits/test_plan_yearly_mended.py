"""Yearly proofs as they go wrong in the field: relief before trip, alarm by pump, taps of every stream."""

from __future__ import annotations

from functools import cache

import pytest

from steadyhead.records.procedure import Kind, Node, Procedure
from steadyhead.visits.rules import rule_number
from tests.visits import chain_stations as cs
from tests.visits import every_plan as ep
from tests.visits import stream_stations as ss
from tests.visits.plan_stations import block, top

PRACTICE = pytest.mark.source(kind="common practice", ref="design handbook 3.3, 3.6, 3.7; review of plans")


@cache
def planned(name: str, kind: Kind = "yearly") -> Procedure:
    found = ep.plan_of(ep.stations()[name], kind)
    assert found is not None
    return found


def asked(node: Node) -> set[str]:
    return {one.name for one in node.inputs}


def said(node: Node) -> set[str]:
    return {message.id for message in node.do}


@PRACTICE
@pytest.mark.parametrize("kind", ["first", "yearly"])
def test_a_raise_to_the_crack_of_a_relief_valve_reads_the_consumer_side(kind):
    for name in ("relief beside", "relief instead", "building"):
        of = cs.CHAINS[name](top(equipment={"hand_pump": "yes"}))
        plan = ep.plan_of(of, kind)
        assert plan is not None
        raises = [n for n in plan.nodes if n.id.split(".")[0] in ("R1", "Y3R", "R4", "Y6R")]
        assert raises
        for node in raises:
            assert {"T4.first", "T4.last"} <= asked(node), node.id
            assert "R3.watch" in said(node)
            assert "Y4.follows.see" in {one.see.id for one in node.otherwise}


@PRACTICE
@pytest.mark.parametrize(
    ("kind", "base", "words"), [("first", "R1", "first"), ("yearly", "Y3R", "first_found")]
)
def test_a_shut_off_that_acts_before_the_relief_valve_lifts_has_a_branch_of_its_own(kind, base, words):
    node = planned("relief beside", kind).node(f"{base}.RL")
    assert "acted" in asked(node)
    assert node.otherwise[0].see.id in (f"R1.{words}.see", "Y4.follows.see")
    assert f"R1.{words}.then" in {one.then.id for one in node.otherwise}
    alone = planned("relief instead", kind).node(f"{base}.RL")
    assert "acted" not in asked(alone)


@PRACTICE
def test_a_transmitter_cut_off_for_its_alarm_is_read_against_the_common_outlet_and_blocks_the_end():
    plan = planned("tarnholt-quay")
    node = next(n for n in plan.nodes if "alarm.transmitter_off" in n.opens)
    back = next(message for message in node.do if message.id == "G4p.back")
    assert back.params["t3"] == "T3"
    leave = plan.node("Y8")
    assert "alarm.transmitter_off" in leave.restores
    looked = next(message for message in leave.do if message.id == "G4p.looked")
    assert looked.params["t3"] == "T3"
    order = [n.id for n in plan.nodes]
    assert all(order.index(name) < order.index(node.id) for name in order if name.startswith("Y8."))


@PRACTICE
@pytest.mark.parametrize("name", ["veldany-house", "quernhollow-lane", "mesquill-flat", "quillenby-row"])
def test_a_yearly_proof_tries_the_high_alarm_once(name):
    plan = planned(name)
    assert sum("alarm.high_alarm" in node.proves for node in plan.nodes) == 1


@PRACTICE
@pytest.mark.parametrize(
    ("name", "own"), [("veldany-house", {"T1B", "T2B", "T3B"}), ("tarnholt-quay", {"T3L"})]
)
def test_as_found_and_in_demand_every_tap_of_every_stream_is_read(name, own):
    for kind, step in (("yearly", "Y1"), ("first", "J3")):
        taps = {one.tap for one in planned(name, kind).node(step).inputs}
        assert own | {"T0", "T3", "T4"} <= taps, kind


@PRACTICE
def test_a_station_of_streams_opens_against_its_common_outlet_not_that_of_one_stream():
    plan = planned("veldany-house", "first")
    node = plan.node("J2")
    assert {m.params["t3"] for m in node.do if "t3" in m.params} == {"T3"}
    assert next(one for one in node.inputs if one.name == "T3").tap == "T3"
    assert plan.names["J2/T3"].params["t3"] == "T3"


@PRACTICE
def test_a_monitor_whose_filter_was_opened_holds_anew_before_the_station_goes_back():
    plan = planned("fenwarren-gate")
    choice = next(one for one in plan.choices if one.id == "Y5.MON")
    assert {name: nodes for name, _, nodes in choice.options}["opened"] == ("Y5O.MON", "Y6N.MON")
    node = plan.node("Y6N.MON")
    assert "MON.stands_in" in node.proves
    assert "MON.due" in node.restores


@PRACTICE
def test_a_reducer_whose_filter_was_opened_is_locked_up_anew_and_its_flow_curve_is_run_or_agreed():
    node = planned("quillenby-row").node("Y7L.RV")
    assert {"RV.lockup", "RV.duty", "station.response"} <= set(node.proves)
    assert {"last", "trickle", "agreed"} <= asked(node)
    assert "RV.due" in node.restores


@PRACTICE
def test_a_drain_is_named_by_its_id_and_a_station_without_one_vents_at_the_tap():
    named = planned("quernhollow-lane").node("Y5O.ST")
    assert {m.params["ahead"] for m in named.do if "ahead" in m.params} == {"SD"}
    bare = planned("fenwarren-gate")
    assert {"Y5S.vent", "C2.ahead_vent"} <= said(bare.node("Y5O.ST"))
    first = planned("fenwarren-gate", "first")
    assert "B2.t1" in said(first.node("B2"))
    assert "C2.ahead_vent" in said(first.node("C2"))


def locked(kind: Kind, item: str = "") -> Procedure:
    return ss.made(ss.twin_streams(), ss._locked("b"), kind=kind, item=item)


@PRACTICE
def test_a_locked_stream_is_seen_shut_filled_and_never_opened_to_the_zone_on_any_way_out():
    node = locked("yearly").node("Y2.b")
    assert "Y2.outlet" not in said(node)
    assert "S.fill" in said(node)
    assert "zone" not in asked(node)
    assert "Y2.falls.see" not in {one.see.id for one in node.otherwise}
    assert {one.do.id for one in node.back_out} == {"S.out.locked"}
    order = [message.id for message in node.do]
    steps = ["S.unlock", "S.fill", "S.fill_watch", "D2.close"]
    assert sorted(steps, key=order.index) == steps


@PRACTICE
def test_a_stream_that_stays_locked_is_not_missed_and_no_tap_is_read_for_it():
    plan = locked("return_to_service")
    node = next((n for n in plan.nodes if n.id == "S3.b"), None)
    assert node is not None
    assert {one.see.id for one in node.otherwise} == {"S3.kept.see"}
    assert asked(node) == {"listed"}


@PRACTICE
def test_a_rule_of_the_second_stream_carries_its_number():
    plan = planned("veldany-house")
    numbers = [rule_number(rule) for rule in plan.invariants]
    assert "" not in numbers
    assert numbers == sorted(numbers, key=lambda one: int(one[1:])) or numbers.count("V1") > 1


@PRACTICE
def test_an_alarm_that_no_pump_can_try_is_tried_by_the_reducer_in_one_stream():
    of = ss.station(ss.twin_streams(), block("equipment", hand_pump="no"))
    plan = ep.plan_of(of, "yearly")
    assert plan is None or sum("alarm.high_alarm" in node.proves for node in plan.nodes) <= 1
