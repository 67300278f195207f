"""What protects is minded whatever the plan: relief valves, alarm, counted turns, runs, late acts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.records.entry import Entry
from steadyhead.records.parts import Reducer, Relief, ShutOff
from steadyhead.station.examples import names
from steadyhead.visits.minding import minding
from tests.procedure.lane import act, against, before, judged, plan, stands, visit
from tests.visits.plan_stations import station

MILL = "orrowby-mill"


def _mill(*new: Entry, kind: str = "return-to-service", step: str = "J2") -> set[tuple[str, str]]:
    return against(judged(kind, before(visit(kind, None, MILL), step, *new), MILL))


def _late(*new: Entry) -> set[tuple[str, str]]:
    """Return what stands against a first visit with acts entered after everything."""
    return against(judged("first", before(visit("first"), "", *new)))


@pytest.mark.parametrize("name", names())
def test_each_part_of_every_example_that_protects_or_holds_the_pressure_is_minded(name: str):
    own = station(name)
    minded = minding(replace(plan("return-to-service", MILL), nodes=()), own)
    owners = {thing.partition(".")[0] for thing in minded.things}
    parts = {part.id for part in own.parts() if isinstance(part, ShutOff | Reducer | Relief)}
    assert owners == parts | ({"alarm"} if own.alarm is not None else set())


@pytest.mark.parametrize(
    ("do", "thing"),
    [
        ("raise", "RL.setting"),
        ("turn", "RL"),
        ("tighten nut", "RL"),
        ("replace", "RL.spring"),
        ("remove", "RL"),
        ("clean", "RL.seat"),
        ("shut", "RL"),
        ("shut", "RL.cock"),
        ("disconnect", "RL.outlet"),
        ("disconnect", "RL.flow_switch"),
        ("bridge contacts", "RL.flow_switch"),
        ("defeat", "RL"),
        ("set", "alarm"),
        ("disconnect", "alarm"),
    ],
)
def test_an_act_on_a_relief_valve_or_an_alarm_that_no_proof_of_the_plan_shows_is_accepted_by_nobody(
    do: str, thing: str
):
    found = judged(
        "return-to-service", before(visit("return-to-service", {}, MILL), "J2", act(do, thing)), MILL
    )
    part = thing.partition(".")[0]
    bare = [block for block in found.blocks if block.remark.code == "RUN-50"]
    assert any(block.remark.about.startswith(f"{part}.") for block in bare)
    assert not any(block.may_accept for block in bare)


def test_a_relief_valve_proved_after_it_was_touched_is_good_again_and_a_seal_is_to_be_made():
    touched = (act("raise", "RL.setting"), act("clean", "RL.seat"))
    assert _mill(*touched, kind="yearly", step="Y3R.RL") == set()
    assert ("RUN-12", "RL.reseat") in _mill(*touched, kind="yearly", step="Y8")
    assert _mill(act("break seal", "RL.setting")) == {("RUN-52", "RL.setting")}
    assert _mill(act("break seal", "RL.setting"), act("seal", "RL.setting")) == set()


def test_a_relief_valve_looked_at_and_said_to_stand_as_it_does_asks_for_nothing():
    said = (act("look", "RL"), stands("RL", "dry"), stands("RL", "in service"))
    assert _mill(*said) == set()


def _counted(kind: str, step: str, name: str, turns: float) -> set[tuple[str, str]]:
    entries = [
        replace(one, payload={**one.payload, "value": turns})
        if one.node == step and one.payload.get("input") == name
        else one
        for one in visit(kind)
    ]
    return against(judged(kind, entries))


@pytest.mark.parametrize(("step", "name"), [("J2", "turns.inlet"), ("J2", "turns.outlet")])
@pytest.mark.parametrize("turns", [0.0, 3.0, 28.0, 38.0, 400.0])
def test_counted_turns_far_off_those_of_the_valve_do_not_show_it_open(step: str, name: str, turns: float):
    assert ("RUN-09", step) in _counted("return-to-service", step, name, turns)


@pytest.mark.source(kind="own estimate", ref="10 % of 34 turns; the inlet valve also from its V2 opening")
@pytest.mark.parametrize("turns", [31.0, 34.0, 37.0])
def test_counted_turns_near_those_of_the_valve_are_taken(turns: float):
    for name in ("turns.inlet", "turns.outlet"):
        assert _counted("return-to-service", "J2", name, turns) == set()


@pytest.mark.parametrize(
    ("do", "thing"),
    [
        ("lower", "SO.setting"),
        ("replace", "SO.spring"),
        ("turn", "SO.needle"),
        ("knock", "SO"),
        ("clean", "SO.vane"),
    ],
)
def test_a_shut_off_worked_between_its_first_run_and_the_others_has_no_run_of_one_valve(do: str, thing: str):
    found = judged("yearly", before(visit("yearly"), "Y6.SO", act(do, thing)))
    assert ("RUN-09", "Y6.SO") in against(found)


def test_what_the_steps_between_the_runs_do_themselves_leaves_the_first_run_as_it_is():
    between = (act("reset", "SO", "Y5"), act("look", "SO"), act("lower", "RV.setting", "Y4.SO"))
    assert against(judged("yearly", before(visit("yearly"), "Y6.SO", *between))) == set()


@pytest.mark.parametrize(
    ("do", "thing", "step", "item"),
    [
        ("defeat", "SO", "C1S.SO", "SO.out_of_way"),
        ("defeat", "", "C1S.SO", "SO.out_of_way"),
        ("defeat", "", "A6", "defeat"),
        ("alarm to test", "", "A8", "alarm_test"),
        ("alarm to test", "alarm", "A8", "alarm_test"),
        ("lock", "SO", "C1S.SO", "SO locked"),
        ("bridge contacts", "SO.switch", "C1S.SO", "SO.switch bridged"),
        ("bridge contacts", "", "F3.SO", "bridged"),
        ("break wire", "SO.cable", "C1S.SO", "SO.cable"),
        ("break wire", "", "C2.main", "break wire"),
        ("break seal", "RV", "EF3.RV", "RV.seal"),
    ],
)
def test_what_is_put_out_of_action_late_is_open_whatever_step_it_is_written_at(
    do: str, thing: str, step: str, item: str
):
    assert ("RUN-13", item) in _late(act(do, thing, step))


def test_a_trip_that_names_nothing_is_one_of_the_shut_off_of_its_step_or_of_all():
    assert _late(act("trip", "", "F1.SO")) == {("RUN-52", "SO")}
    assert ("RUN-52", "SO") in _late(act("trip", "", "J1"))
    assert against(judged("first", before(visit("first"), "H1.RV", act("trip", "", "F1.SO")))) == set()


def test_a_wire_broken_and_joined_late_at_its_own_step_makes_its_proofs_stale():
    wire = (act("break wire", "SO.cable", "G3.SO"), act("join wire", "SO.cable", "G3.SO"))
    assert ("RUN-12", "SO.fails_loud") in _late(*wire)


def test_a_piece_taken_off_and_not_put_back_stands_against_final():
    assert ("RUN-52", "ST.element") in _late(act("remove", "ST.element"))
    refitted = _late(act("remove", "ST.element"), act("refit", "ST.element"))
    assert not any(code == "RUN-52" for code, _ in refitted)


def test_an_alarm_disconnected_at_the_end_is_to_be_proved_again():
    assert ("RUN-12", "alarm.high_alarm") in _late(act("disconnect", "alarm"))
