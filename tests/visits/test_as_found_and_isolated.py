"""As found, untouched, tight and reset: what an act or a reading takes from an answer of the plan."""

from __future__ import annotations

import pytest

from steadyhead.records.entry import Entry
from steadyhead.records.run import Judgement
from tests.procedure.lane import RETURNS, act, against, before, judged, plan, stands, visit
from tests.visits.judged_visits import reads, shifted


def _refusals(found: Judgement) -> set[tuple[str, str]]:
    return {
        (block.remark.about, block.remark.message.id)
        for block in found.blocks
        if block.remark.code == "RUN-09" and block.remark.message is not None
    }


@pytest.mark.parametrize(
    ("do", "thing"),
    [
        ("turn", "RV.setting"), ("clean", "RV"), ("open cover", "RV.cover"), ("clean", "ST"),
        ("bleed", "line.covers"), ("replace", "TG-07"), ("turn", "LB.setting"), ("shut", "RV.sensing"),
        ("adjust", "rv.needles"),
    ],
)  # fmt: skip
def test_a_reducer_is_not_as_found_once_it_or_what_it_is_read_by_was_worked(do: str, thing: str):
    found = judged("yearly", before(visit("yearly"), "Y3.main", act(do, thing)))
    step = "Y3.low" if thing.startswith("LB") else "Y3.main"
    assert (step, "rf.found_touched") in _refusals(found)


def test_what_the_plan_itself_works_before_the_other_reducer_is_read_takes_nothing_from_it():
    opened = {"Y5.SO": "opened", "Y5.RV": "opened", "Y5.ST": "opened", "Y5.LB": "opened"}
    acts = (act("clean", "ST.element", "Y5O.ST"), act("clean", "RV.filter", "Y5O.RV"))
    entries = before(visit("yearly", opened), "Y6T.SO", *acts)
    assert ("Y3.low", "rf.found_touched") not in _refusals(judged("yearly", entries))


@pytest.mark.parametrize(
    ("do", "thing"), [("shut", "SO.sensing"), ("open", "so.feed"), ("clean", "SO.seat"), ("replace", "TG-07"),
                      ("shut", "SO"), ("bleed", "line"), ("swap", "SO.pilot")],
)  # fmt: skip
def test_a_first_run_is_none_once_a_cock_a_gauge_or_a_part_of_the_shut_off_was_moved_before_it(
    do: str, thing: str
):
    found = judged("yearly", before(visit("yearly"), "Y4.SO", act(do, thing)))
    assert ("Y4.SO", "rf.first_touched") in _refusals(found)


@pytest.mark.parametrize(
    "new", [act("open", "SO"), act("stroke by hand", "so"), stands("SO", "open"), act("reset", "SO")]
)
def test_a_shut_off_opened_before_it_was_looked_at_tells_nothing_of_its_trip(new: Entry):
    found = judged("restart", before(visit("restart", RETURNS), "R4", new))
    assert ("R4", "RS4.reset_first") in _refusals(found)


@pytest.mark.parametrize("acts", [("trip",), ("trip", "reset"), ("reset",)])
@pytest.mark.parametrize("node", ["J2", ""])
def test_a_trip_at_the_opening_that_is_entered_as_an_act_is_not_answered_away(
    acts: tuple[str, ...], node: str
):
    entries = before(visit("restart", RETURNS), "J3", *(act(do, "SO", node) for do in acts))
    assert ("J2", "rf.trips_after_all") in _refusals(judged("restart", entries))


@pytest.mark.parametrize(("do", "thing"), [("turn", "SO.setting"), ("clean", "SO"), ("shut", "SO.sensing")])
def test_a_shut_off_said_to_be_untouched_is_held_against_the_acts_on_it(do: str, thing: str):
    entries = reads("R8", "touched", False)(visit("restart", RETURNS))
    assert _refusals(judged("restart", entries)) == set()
    found = judged("restart", before(entries, "R8", act(do, thing)))
    assert ("R8", "rf.touched_after_all") in _refusals(found)


@pytest.mark.parametrize(
    ("name", "by", "text"),
    [
        ("T3.last", -4.0e5, "rf.pump_lost"),
        ("T3.last", -0.5e5, "rf.pump_lost"),
        ("T4.last", -1.0e5, "rf.pump_fed"),
        ("wall.last", 36.0, "rf.pump_wall"),
        ("wall.last", -1.0, "rf.pump_wall"),
    ],
)
@pytest.mark.parametrize(("kind", "step"), [("first", "D2.main"), ("yearly", "Y2")])
def test_an_outlet_valve_is_not_proved_tight_once_the_test_pressure_was_lost(
    kind: str, step: str, name: str, by: float, text: str
):
    found = judged(kind, shifted(step, name, by)(visit(kind)))
    assert (step, text) in _refusals(found)
    assert found.proof("IV2.tight").state == "refused"
    assert any(code == "RUN-53" for code, _ in against(found))


def test_an_outlet_at_the_pressure_of_the_zone_presses_on_nothing():
    found = judged("first", reads("D2.main", "T4.last", 9.0e5)(visit("first")))
    assert ("D2.main", "rf.pump_level") in _refusals(found)


def test_the_inlet_stands_at_the_least_opening_of_the_streams_until_the_last_of_them_is_tested():
    said = {
        (node.id, getattr(message.params["v2_turns"], "si", None))
        for node in plan("restart").nodes
        for message in (
            *node.do,
            *(text for one in node.otherwise for text in (one.see, one.meaning, one.then)),
            *(hazard.caution for hazard in node.hazards),
            *(way.do for way in node.back_out),
        )
        if "v2_turns" in message.params
    }
    assert {step for step, _ in said} >= {"R7", "R7R"}
    assert {turns for _, turns in said} == {1.75}
