"""What keeps its time, what cannot be, and what a step's own orders and late answers do not undo."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, read
from steadyhead.records.entry import Entry
from steadyhead.records.run import Judgement
from steadyhead.units import METRIC
from steadyhead.visits.certifying import papers
from steadyhead.visits.certifying.seen import Seen
from tests.procedure.lane import RETURNS, act, against, before, judged, plan, stands, visit, written
from tests.procedure.walking import Device, clean_ways
from tests.visits.judged_visits import reads, shifted

OPENED = {"Y5.SO": "opened", "Y5.RV": "opened", "Y5.ST": "opened", "Y5.LB": "opened"}


def _texts(found: Judgement) -> set[tuple[str, str]]:
    return {(b.remark.about, b.remark.message.id) for b in found.blocks if b.remark.message is not None}


def _told(found: Judgement) -> set[tuple[str, str]]:
    return {
        (one.about, one.message.id if one.message is not None else str(one.params.get("why")))
        for one in found.told
    }


@pytest.mark.parametrize(("do", "thing"), [("clean", "SO"), ("open cover", "so"), ("replace", "SO.switch")])
def test_a_trip_as_found_keeps_its_time_when_the_shut_off_is_opened_after_it(do: str, thing: str):
    found = judged("yearly", before(visit("yearly", OPENED), "Y5O.RV", act(do, thing, "Y5O.SO")))
    assert found.proof("SO.as_found").state == "valid"
    assert found.is_final


@pytest.mark.parametrize(
    ("way", "step", "due"),
    [
        (None, "Y5.SO", {"Y5.SO", "Y6.SO"}),
        (None, "Y8", {"Y5.SO", "Y6.SO"}),
        ({**dict.fromkeys(OPENED, "left"), "Y5.SO": "opened"}, "Y8", {"Y6T.SO"}),
    ],
)
def test_a_shut_off_touched_after_its_first_run_is_proved_by_choosing_opened(
    way: dict[str, str] | None, step: str, due: set[str]
):
    found = judged("yearly", before(visit("yearly", way), step, act("clean", "SO")))
    assert not found.is_final
    assert set(found.next) == due


def test_a_gauge_described_in_the_run_is_put_on_and_taken_off_and_another_is_not_known():
    put = act("connect", "tg-1", "Y4.SO"), act("remove", "TG-1", "Y6.SO"), stands("TG-1", "removed")
    assert judged("yearly", before(visit("yearly"), "Y8", *put)).is_final
    wrong = act("connect", "TG-9"), act("turn", "TG-1")
    found = against(judged("yearly", before(visit("yearly"), "Y8", *wrong)))
    assert found == {("RUN-51", "TG-9"), ("RUN-51", "TG-1")}


@pytest.mark.parametrize("new", [act("bleed", "TD"), act("shut", "IV2"), act("isolate", "iv2")])
def test_what_leaves_an_outlet_valve_shut_takes_nothing_from_its_tightness(new: Entry):
    assert judged("yearly", before(visit("yearly"), "Y3.main", new)).is_final


def test_where_the_outlet_valve_was_opened_its_tightness_is_next_and_not_the_raise():
    found = judged("yearly", before(visit("yearly"), "Y4.SO", act("crack", "IV2")))
    assert ("RUN-53", "Y4.SO") in against(found)
    assert found.next == ("Y2",)


@pytest.mark.parametrize(
    ("do", "thing"), [("vent", "SO.sensing"), ("clean", "ST"), ("drain", "so.sensing"), ("hold", "SO.pilot")]
)
def test_a_first_run_is_none_once_a_line_of_the_pilot_was_vented_or_the_strainer_cleaned(do: str, thing: str):
    found = judged("yearly", before(visit("yearly"), "Y4.SO", act(do, thing)))
    assert ("Y4.SO", "rf.first_touched") in _texts(found)


def test_a_reducer_turned_between_its_two_readings_is_not_as_found():
    entries = visit("yearly")
    at = next(e for e in entries if e.node == "Y3.main" and e.payload.get("input") == "lockup")
    turn = replace(
        act("raise", "RV.setting"), run=at.run, t_device=at.t_device, clock_offset=-5.0, t_mono=0.0
    )
    assert ("Y3.main", "rf.found_touched") in _texts(judged("yearly", [*entries, turn]))


@pytest.mark.parametrize(("do", "thing"), [("raise", "RV.setting"), ("clean", "ST"), ("vent", "SO.sensing")])
def test_a_line_worked_before_its_taps_are_read_tells_nothing_of_a_trip(do: str, thing: str):
    found = judged("restart", before(visit("restart", RETURNS), "R4", act(do, thing)))
    assert ("R4", "RS4.moved_first") in _texts(found)


def test_the_cock_of_a_tap_may_be_opened_to_read_it():
    found = judged("restart", before(visit("restart", RETURNS), "R4", act("open", "T3.cock")))
    assert ("R4", "RS4.moved_first") not in _texts(found)


@pytest.mark.source(kind="analytic", ref="consumers' side: at most the test limit, 5.34 bar")
@pytest.mark.parametrize(
    ("value", "is_told"), [(11.0e5, True), (5.8e5, True), (5.3e5, False), (-1.2e5, True)]
)
def test_a_pressure_that_nothing_at_its_place_can_bring_is_told(value: float, is_told: bool):
    found = judged("restart", reads("R4", "T4", value)(visit("restart", RETURNS)))
    assert (("R4", "cannot be") in _told(found)) is is_told


def test_an_outlet_at_inlet_pressure_behind_a_shut_off_said_to_be_shut_is_told():
    entries = reads("R4", "so_shut", True)(visit("restart", RETURNS))
    entries = reads("R4", "T1", 10.6e5)(reads("R4", "T3", 10.6e5)(entries))
    assert ("R4", "RS4.passes.see") in _told(judged("restart", entries))


def test_a_critical_point_without_pressure_is_read_again_and_a_low_one_is_told():
    entries = visit("restart", RETURNS)
    assert ("J3", "J3.critical_none.see") in _texts(judged("restart", reads("J3", "critical", 0.0)(entries)))
    low = judged("restart", reads("J3", "critical", 1.0e5)(entries))
    assert ("J3", "J3.critical_low.see") in _told(low)


def test_a_lock_up_whose_first_reading_lies_far_below_its_last_is_told():
    assert ("H2.RV", "H2.first_low.see") in _told(
        judged("first", reads("H2.RV", "first", 3.0e5)(visit("first")))
    )


@pytest.mark.parametrize("part", ["SO", "RV", "ST", "LB"])
def test_a_part_said_to_be_opened_today_and_left_is_a_contradiction(part: str):
    found = judged("yearly", reads(f"Y5.{part}", "due", True)(visit("yearly")))
    assert f"Y5.{part}" in {about for about, _ in _texts(found)}


@pytest.mark.source(kind="analytic", ref="hold and act further apart than the repeatability, 0.2 bar")
def test_a_first_run_in_large_steps_stands_as_found_and_is_told():
    found = judged("yearly", shifted("Y4.SO", "hold", -0.3e5)(visit("yearly")))
    assert found.is_final
    assert ("Y4.SO", "Y4.wide.see") in _told(found)


def test_words_a_time_or_turns_noted_late_at_a_raising_step_raise_nothing_again():
    entries = visit("yearly")
    late = [
        e for e in entries if e.node == "Y4.SO" and e.payload.get("input") in ("words", "told_at", "turns")
    ]
    assert len(late) == 3
    made = [
        replace(Device("tab-2").make(e.kind, e.payload, e.node), id=f"0190bbbb-0000-7000-8000-{n:012d}")
        for n, e in enumerate(late)
    ]
    found = judged("yearly", before(entries, "", *made))
    assert not {code for code, _ in against(found)} & {"RUN-12", "RUN-13", "RUN-53"}


def test_a_reading_taken_again_at_a_raising_step_raises_again():
    entries = visit("yearly")
    again = next(e for e in entries if e.node == "Y6.SO" and e.payload.get("input") == "act.3")
    made = Device("tab-2").make(again.kind, again.payload, again.node)
    assert ("RUN-13", "RV.raised") in against(judged("yearly", before(entries, "", made)))


def test_an_alarm_put_on_test_twice_is_one_item_that_leaving_restores():
    found = judged("yearly", before(visit("yearly"), "Y3.main", act("alarm to test", "alarm")))
    assert found.is_final
    late = judged("yearly", before(visit("yearly"), "", act("alarm to test")))
    assert ("RUN-13", "alarm_test") in against(late)


def test_positions_a_step_orders_itself_are_nothing_against_it_while_leaving_is_still_to_come():
    entries = [e for e in visit("yearly") if not e.node.startswith(("Y8", "K"))]
    moved = stands("IV2", "shut", "Y2"), stands("IV1", "open 1.75 turns", "Y2")
    codes = {code for code, _ in against(judged("yearly", before(entries, "Y3.main", *moved)))}
    assert "RUN-52" not in codes


def test_the_pump_still_holds_the_outlet_when_it_is_read_last():
    labels = {
        kind: plan(kind).names[f"{step}/T3.last"].id
        for kind, step in (("first", "D2.main"), ("yearly", "Y2"))
    }
    assert set(labels.values()) == {"D2.in.T3.last", "Y2.in.T3.last"}


def test_what_the_steps_order_themselves_is_no_position_and_no_reading_as_found():
    entries = visit("yearly")
    moved = [stands("IV2", "shut", "Y2"), stands("IV1", "open 1.75 turns", "Y2")]
    listed = before([*before(entries, "Y2", stands("IV1", "open", "Y1"))], "Y3.main", *moved)
    listed = [replace(e, id=f"0190cccc-0000-7000-8000-{n:012d}") for n, e in enumerate(listed)]
    ledger = read(dump(listed))
    seen = Seen(plan("yearly"), ledger, judge(plan("yearly"), ledger), METRIC, str)
    found, left = papers.positions(seen)
    assert dict(found)["IV1"] == "open"
    assert "IV2" not in dict(found)
    assert dict(left)["IV2"].startswith("shut")
    steps = {label.split()[0] for label, _ in papers.as_found(seen)}
    assert steps >= {"Y1", "Y3.main", "Y4.SO"}
    assert not steps & {"Y2", "Y5", "Y8"}


@pytest.mark.source(kind="analytic", ref="the least of the openings of all streams tested")
def test_a_restart_gives_each_stream_the_opening_that_its_steps_have():
    made = written("restart")
    assert made.numbers is not None
    turns = {name: own.inlet_opening["outlet"].turns for name, own in made.numbers.streams.items()}
    assert turns == {"main": 1.75, "low": 1.75}


def test_a_further_run_has_room_for_inlet_and_peak_and_may_leave_them_out():
    asked = {one.name: one for one in plan("first").node("F3.SO").inputs}
    for name in ("T1.start.2", "peak.2", "T1.start.3", "peak.3"):
        assert asked[name].unless is not None
    entries = [e for e in visit("first") if str(e.payload.get("input", "")) not in ("T1.start.2", "peak.3")]
    assert judged("first", entries).is_final


def test_a_reading_on_the_way_up_is_not_taken_for_the_end_of_the_spring():
    step, answer = "ES3.SO", "shut_off_open"
    ways = (visit("first", way) for way in clean_ways(plan("first")))
    walked = next(one for one in ways if any(entry.node == step for entry in one))
    low = shifted(step, "T3", -1e5)(walked)
    until = next(n for n, one in enumerate(low) if one.node == step and one.payload.get("input") == answer)
    assert not [block for block in against(judged("first", low[:until])) if block[0] == "RUN-08"]
    assert ("RUN-08", step) in against(judged("first", low))


@pytest.mark.parametrize(("flow", "moves", "stands"), [(0.0004, 0.05e5, False), (0.004, 0.05e5, True)])
def test_a_nut_that_moved_the_reading_at_trickle_is_not_healed_by_the_reading_at_duty(
    flow: float, moves: float, stands: bool
):
    entries = [
        replace(one, payload={**one.payload, "flow": flow})
        if (one.node, one.payload.get("input")) == ("Y7.RV", "before")
        else one
        for one in shifted("Y7.RV", "trickle", moves)(visit("yearly"))
    ]
    told = [block.remark.message for block in judged("yearly", entries).blocks]
    assert (not any(one is not None and one.id.startswith("H1.shifts") for one in told)) is stands


FLAT, LOW = "mesquill-flat", "H1.LB"
DUTY, TRICKLE = 3.785e-3, 2e-4
"""Flows of the low-flow stream of the example. [m³/s]"""


def _noted(kind: str, **read: tuple[float, float | None] | None) -> list[Entry]:
    """Return a visit with what was read at the duty of the low-flow reducer, and the flow said beside it."""
    way = {choice.id: "set" for choice in plan(kind, FLAT).choices}
    made = []
    for one in visit(kind, way, FLAT):
        name = one.payload.get("input") if one.node == LOW else ""
        told = read.get(str(name), (0.0, None))
        if told is None:
            continue
        if name in read:
            payload = {key: value for key, value in one.payload.items() if key != "flow"}
            flow = {} if told[1] is None else {"flow": told[1]}
            one = replace(one, payload={**payload, **flow, "value": told[0]})
        made.append(one)
    return made


@pytest.mark.parametrize("kind", ["first", "new-setting"])
def test_a_low_flow_reducer_set_as_planned_leaves_a_clean_visit_final(kind: str):
    way = {choice.id: "set" for choice in plan(kind, FLAT).choices}
    assert against(judged(kind, visit(kind, way, FLAT), FLAT)) == set()


@pytest.mark.source(kind="common practice", ref="handbook 3.2 H1: unchanged after the nut, within 0.02 bar")
@pytest.mark.parametrize("says", [True, False], ids=["said beside it", "read by the step alone"])
@pytest.mark.parametrize("moved", [0.0, 0.03e5])
@pytest.mark.parametrize("kind", ["first", "new-setting"])
def test_the_reading_before_the_nut_is_held_against_the_one_at_its_flow(kind: str, moved: float, says: bool):
    duty, trickle, at = 4.76e5, 4.9e5, (DUTY if says else None)
    low = TRICKLE if says else None
    at_duty = _noted(
        kind, flow=(DUTY, at), before=(duty - moved, at), duty=(duty, at), trickle=(trickle, low)
    )
    at_trickle = _noted(
        kind, flow=(TRICKLE, low), before=(trickle - moved, low), duty=None, trickle=(trickle, low)
    )
    for entries in (at_duty, at_trickle):
        assert against(judged(kind, entries, FLAT)) == ({("RUN-08", LOW)} if moved else set())


def test_a_flow_noted_after_the_nut_is_not_the_one_before_it():
    entries = _noted(
        "new-setting", flow=(DUTY, None), before=(4.76e5, None), duty=(4.76e5, None), trickle=(4.9e5, None)
    )
    later = next(one for one in entries if one.node == LOW and one.payload.get("input") == "flow")
    last = next(one for one in reversed(entries) if one.node == LOW)
    again = replace(
        later, id="again", device_seq=900, t_device=last.t_device, payload={**later.payload, "value": TRICKLE}
    )
    assert ("RUN-08", LOW) not in against(judged("new-setting", [*entries, again], FLAT))
