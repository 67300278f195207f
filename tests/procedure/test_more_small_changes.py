"""Further corners of the judge that a small wrong change went through, and one of the adviser."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from steadyhead.errors import InputError
from steadyhead.procedure.advice_needs import lacking
from steadyhead.procedure.entry_form import entry_of
from steadyhead.procedure.holding import dry_now
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import gathered
from steadyhead.procedure.naming import refuses
from steadyhead.procedure.plain import from_json, to_json
from steadyhead.procedure.record import Record, lay
from steadyhead.procedure.restoring import ON_TEST, item_name
from steadyhead.procedure.steps import look, ways
from steadyhead.records.entry import TELLS
from steadyhead.records.minding import Leaving
from steadyhead.records.procedure import Choice, Procedure
from steadyhead.records.run import Judgement
from tests.procedure.in_js import in_node
from tests.procedure.kettle import words
from tests.procedure.lane import act, before, judged, plan, stands, visit
from tests.procedure.minded_vectors import minded
from tests.procedure.pen import Made, Pen, clean, gauge
from tests.procedure.small import sound, step, tea
from tests.procedure.test_judge_edges import PLAN
from tests.procedure.test_judge_edges import judged as judged_kettle
from tests.procedure.test_small_wrong_changes import _inside, _places, taken_all_the_same

LANE = "quernhollow-lane"


def _record(pen: Pen, of: Procedure = PLAN) -> Record:
    return lay(of, gathered(map(entry_of, pen.made)).standing)


def _kinds(data: Any) -> Iterator[tuple[str | int, ...]]:
    """Yield one place of a stored plan for each kind of field."""
    seen = set()
    for at in _places(data):
        kind = tuple("*" if isinstance(key, int) or "." in key else key for key in at)
        if kind not in seen and not _inside(at):
            seen.add(kind)
            yield at


def test_each_kind_of_field_of_a_real_plan_refuses_what_is_of_another_kind() -> None:
    stored = json.loads(to_json(plan("first", LANE)))
    places = list(_kinds(stored))
    assert len(places) > 300
    assert not taken_all_the_same(stored, places)


def test_a_field_too_many_and_a_list_for_a_map_are_refused_in_words() -> None:
    stored = json.loads(to_json(sound()))
    with pytest.raises(InputError, match=r"^plan\.more: is no field of a plan\. "):
        from_json(json.dumps({**stored, "more": 1}).encode())
    with pytest.raises(InputError, match=re.escape("plan.limits: got [1]; there stands a map.")):
        from_json(json.dumps({**stored, "limits": [1]}).encode())


def test_what_a_step_lacks_is_told_of_those_on_the_way_alone() -> None:
    lacks = {one.id: one.lacks for one in judged_kettle(without="seen").steps}
    assert lacks["C"] == ("seen",)
    assert lacks["B2"] == ()


def test_a_step_not_begun_has_no_latest_answer() -> None:
    assert {one.latest for one in look(_record(Pen())).values()} == {-1}


def test_a_value_of_another_kind_at_a_step_off_this_way_is_told_and_stops_nothing() -> None:
    found = judged_kettle(lambda pen, made: pen.see("B2", "turns", "three"))
    assert ("RUN-06", "B2") in {(one.code, one.about) for one in found.told}
    assert ("RUN-06", "B2") not in {(one.remark.code, one.remark.about) for one in found.blocks}


def _signed(kind: str, payload: Made) -> bool:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        pen.write("sign", "", {"asks": "provisional"})
        pen.write(kind, "K", payload)

    (sign,) = judged_kettle(write).signs
    return sign.stands


@pytest.mark.parametrize("do", [TELLS[0], "look", "hand over"])
def test_what_is_done_to_nothing_after_a_signature_takes_nothing_from_it(do: str) -> None:
    assert _signed("action", {"do": do})
    assert not _signed("action", {"do": "turn", "thing": "cup.handle"})
    assert not _signed("instrument", {**gauge(), "do": do})


def test_a_note_at_a_later_step_takes_nothing_from_a_signature() -> None:
    assert _signed("note", {"text": "posted"})


def test_what_the_plan_does_not_know_is_told() -> None:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        pen.write("poem", "", {"text": "x"})
        pen.see("Z9", "ok", True)
        pen.see("C", "colour", "red")
        pen.write("choice", "Q", {"choice": "R", "option": "weak"})

    found = judged_kettle(write)
    told = {(one.about, one.params["why"]) for one in found.told if one.code == "RUN-05"}
    assert told == {("poem", "kind"), ("Z9", "no step"), ("C", "no input"), ("R", "no choice")}


def test_something_else_put_to_test_is_not_the_alarm() -> None:
    made = plan("first", LANE)
    record, things = lay(made, ()), ("", "alarm", "logger")
    rows = [lay(made, [act("alarm to test", thing)]).rows[0] for thing in things]
    assert [item_name(record, row, "alarm to test") == ON_TEST for row in rows] == [True, True, False]


def test_only_drains_are_asked_to_run() -> None:
    made = plan("first", LANE)
    until: list[Any] = []
    for one in visit("first"):
        if one.node.startswith("ES"):
            break
        until.append(one)
    more = before(until, "", stands("TD", "open, trickle"), stands("IV2", "shut"))
    assert dry_now(lay(made, gathered(more).standing), "ES1.RV") == ()


def test_an_alarm_to_test_that_is_taken_back_is_agreed_to_by_somebody_else() -> None:
    entries = before(visit("first"), "B1", act("alarm to test"))
    (mine,) = [one for one in entries if one.payload.get("do") == "alarm to test" and one.device == "tab-2"]
    void = replace(
        before(entries, "B1", act("look"))[-1],
        kind="void", payload={"reason": "not so"}, replaces=mine.id, node="",
    )  # fmt: skip
    found = judged("first", before(entries, "B2", void))
    assert "RUN-56" in {one.remark.code for one in found.blocks}


@pytest.mark.parametrize("time", ["yesterday", "2027-04-14T08:00:00"])
def test_a_time_that_is_none_is_named_by_its_field(time: str) -> None:
    pen = Pen()
    made = pen.see("A", "ok", True)
    with pytest.raises(InputError, match=r"^t_device: "):
        entry_of({**made, "t_device": time})


def test_a_step_shut_out_by_one_choice_is_not_opened_by_another_that_waits() -> None:
    def choice(name: str, first: tuple[str, ...], second: tuple[str, ...]) -> Choice:
        return Choice(name, words("w"), (("x", words("x"), first), ("y", words("y"), second)))

    nodes = (step("A"), step("B1", "A"), step("B2", "A"), step("B3", "A"))
    made = tea(*nodes, choices=(choice("P", ("B1",), ("B2",)), choice("R", ("B2",), ("B3",))))
    assert ways(made, {"P": "x"}) == {"A": "on", "B1": "on", "B2": "off", "B3": "waits"}


def _misplaced(found: Judgement) -> set[str]:
    return {one.remark.about for one in found.blocks if one.remark.code == "RUN-52"}


def test_how_a_thing_stands_is_not_asked_while_the_step_that_leaves_it_is_to_come() -> None:
    def opened(pen: Pen, made: dict[str, Made]) -> None:
        pen.write("position", "", {"thing": "tap", "is": "open"})

    assert "tap" in _misplaced(judged_kettle(opened, plan=minded()))
    pen = Pen()
    clean(pen)
    begun = [one for one in pen.made if one["node"] not in ("C", "D", "E", "K")]
    pen.made = begun
    opened(pen, {})
    assert "tap" not in _misplaced(judge(minded(), gathered(map(entry_of, pen.made))))


def test_a_step_that_waits_for_its_choice_puts_nothing_in_its_place() -> None:
    made = minded()
    minding = replace(made.minding, left=(Leaving("tap", ("shut",), ("B1",)),))
    pen = Pen()
    clean(pen)
    pen.made = [one for one in pen.made if one["kind"] != "choice"]
    at = next(k for k, one in enumerate(pen.made) if one["node"] == "B1")
    said = {**pen.made[at], "id": "d2-001", "device": "d2", "device_seq": 1, "kind": "position", "node": ""}
    said["payload"] = {"thing": "tap", "is": "open"}
    said["t_device"] = pen.made[0]["t_device"]
    pen.made.insert(0, said)
    found = judge(replace(made, minding=minding), gathered(map(entry_of, pen.made)))
    assert "tap" in _misplaced(found)


def test_of_an_instrument_described_twice_the_newest_counts() -> None:
    pen = Pen()
    for error in (0.001, 0.004):
        pen.write("instrument", "", gauge(error=error))
    record = _record(pen)
    assert record.instruments["G1"] == record.described["G1"][-1][1] != record.described["G1"][0][1]


@pytest.mark.parametrize("key", ["steady_for", "steady_within"])
def test_a_reading_says_both_how_long_and_how_still_it_stood(key: str) -> None:
    found = judged_kettle(lambda pen, made: made["heat"]["payload"].update({key: None}))
    said = [one.remark.params["why"] for one in found.blocks if one.remark.code == "RUN-06"]
    assert said == ["not said how still"]


def test_one_of_several_ways_that_stands_whole_is_enough_for_a_turn() -> None:
    both = {"all": [{"any": [{"all": ["A", "B"]}, "C"]}]}
    nodes = (step("A"), step("B"), step("C"), replace(step("D"), needs=both))
    done, open_ = {"A": "done", "B": "done", "C": "open"}, {"A": "done", "B": "open", "C": "done"}
    assert lacking(tea(*nodes), done, {}, "D") == ()
    assert lacking(tea(*nodes), open_, {}, "D") == ()
    assert lacking(tea(*nodes), {**done, "B": "open"}, {}, "D") == ("B", "C")


REFUSALS = ("no", "no one told", "n/a", "-")
ANSWERS = (*REFUSALS, "nobody", "No one.", "none", "nobody asked", "one", "No. 1", "the desk")


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_an_answer_is_taken_for_a_refusal_alike_in_both_judges(tmp_path: Path) -> None:
    body = """
const { refuses } = await import("./naming.js")
result = data.map((text) => [refuses(text, true), refuses(text, false)])
"""
    got = in_node(tmp_path, body, list(ANSWERS))
    assert got == [[refuses(text, empty=True), refuses(text, empty=False)] for text in ANSWERS]
    assert tuple(one for one, (_, bare) in zip(ANSWERS, got, strict=True) if bare) == REFUSALS
