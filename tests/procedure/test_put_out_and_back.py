"""What protects, put out and back beside the steps that order it; steps that are not on the way of a run."""

from __future__ import annotations

import pytest

from steadyhead.records.entry import Entry
from tests.procedure.lane import RETURNS, act, against, before, judged, plan, stands, visit
from tests.procedure.walking import Device


def _first(*new: Entry, step: str = "") -> set[tuple[str, str]]:
    return against(judged("first", before(visit("first"), step, *new)))


def _accepted(about: str) -> Entry:
    said = {"about": about, "what": "w", "risk": "r", "interim": "i", "owner": "o", "due": "2029-01-01"}
    return Device("tab-2").make("deviation", {**said, "accepted_by": "Zed Marl"}, who="Zed Marl")


def test_a_touch_entered_at_a_step_this_run_does_not_go_through_stands_against_final():
    touch = (
        act("turn", "RV.setting", "H1.RV"),
        act("tighten nut", "RV.nut", "H1.RV"),
        act("raise", "", "F2R.SO"),
    )
    found = judged("restart", before(visit("restart", RETURNS), "J4", *touch))
    assert {("RUN-50", "RV.setting"), ("RUN-50", "RV.nut")} <= against(found)


def test_a_wire_broken_and_joined_after_the_alarm_was_proved_makes_its_proof_stale():
    wire = (act("break wire", "SO.cable"), act("join wire", "SO.cable"))
    found = _first(*wire)
    assert {("RUN-12", "SO.told"), ("RUN-12", "SO.cleared"), ("RUN-12", "SO.fails_loud")} <= found
    assert ("RUN-12", "SO.trip") not in found


def test_a_shut_off_defeated_and_restored_after_its_trip_was_proved_is_to_be_proved_again():
    assert ("RUN-12", "SO.trip") in _first(act("defeat", "SO"), act("restore", "SO"))


def test_what_the_steps_of_the_plan_put_out_and_back_makes_nothing_stale():
    planned = visit("first", dict.fromkeys(("E0.SO", "E0.RV", "E0.LB"), "set"))
    for step, do, thing in (
        ("C1S.SO", "defeat", "SO"),
        ("F5.SO", "restore", "SO"),
        ("G3.SO", "break wire", "SO.cable"),
    ):
        planned = before(planned, step, act(do, thing, step))
    assert against(judged("first", before(planned, "", act("join wire", "SO.cable")))) == set()


def test_a_shut_off_locked_open_or_held_is_open_until_it_is_let_go():
    locked = (act("lock", "SO"), act("hold", "SO"), stands("SO", "open"))
    assert _first(*locked) == {("RUN-13", "SO locked"), ("RUN-13", "SO held")}
    assert _first(*locked, act("unlock", "SO"), act("release", "so"), stands("SO", "open")) == set()
    assert _first(act("lock", "IV1"), stands("IV1", "open")) == set()


@pytest.mark.parametrize("do", ["break seal", "start", "stop", "disinfect"])
def test_after_an_act_that_a_shut_off_does_not_know_nobody_knows_how_it_stands(do: str):
    thing = "SO.setting" if do == "break seal" else "SO"
    assert ("RUN-52", thing) in _first(act(do, thing))
    if do == "break seal":
        assert _first(act(do, thing), act("seal", thing)) == set()
        assert _first(act(do, thing), step="F1.SO") == set()


def test_what_was_put_out_or_left_otherwise_beside_the_plan_is_accepted_by_nobody():
    out = (
        act("defeat", "SO"),
        act("bridge contacts", "SO.switch"),
        *(stands(thing, "shut") for thing in ("RV", "SO", "T3")),
        stands("SO.out_of_way", "yes"),
        stands("alarm", "test"),
        stands("TD", "open"),
    )
    about = ("SO", "SO.switch bridged", "RV", "T3", "SO.out_of_way", "alarm", "TD")
    found = judged("first", before(visit("first"), "", *out, *map(_accepted, about)))
    beside = [block for block in found.blocks if block.remark.code in ("RUN-13", "RUN-52")]
    assert {block.remark.about for block in beside} == set(about)
    assert not any(block.may_accept or block.accepted for block in beside)


def test_a_gauge_that_is_away_may_be_accepted_and_nothing_else_of_a_station():
    may = set(plan("first").minding.may)
    assert may == {"TG-07", "TG-11", "gauges", "logger", "clocks"}
