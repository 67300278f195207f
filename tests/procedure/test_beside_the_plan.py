"""What is touched, moved or left beside the plan stands against final, whatever the visit."""

from __future__ import annotations

import json
import os
import random
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, gathered, read
from steadyhead.procedure.naming import names_of
from steadyhead.procedure.plain import plain
from steadyhead.records.entry import Entry, plain_entry
from tests.procedure.in_js import in_node
from tests.procedure.lane import PROVED, RETURNS, act, against, before, judged, plan, stands, visit
from tests.procedure.quernhollow_planned import put_right as story_put_right
from tests.procedure.test_in_js import close
from tests.procedure.walking import Device, clean_ways

pytestmark = pytest.mark.by_turns(2)


@cache
def _story() -> tuple[Entry, ...]:
    return tuple(story_put_right())


def put_right() -> list[Entry]:
    """Return the story of the manual and the day after it."""
    return list(_story())


SEED = int(os.environ["STEADYHEAD_SEED"])
SHUT_OFF = (
    ("turn", "SO.setting"),
    ("tighten nut", "SO.nut"),
    ("replace", "SO.spring"),
    ("shut", "SO.sensing"),
    ("clean", "SO"),
    ("lower", "SO"),
    ("replace", "SO.seat"),
)


@pytest.mark.parametrize("kind", ["first", "yearly", "restart", "return-to-service", "new-setting"])
def test_a_clean_visit_of_each_kind_is_final_on_any_way(kind: str):
    ways = clean_ways(plan(kind)) or [{}]
    for way in random.Random(SEED).sample(ways, min(len(ways), 2)):
        found = judged(kind, visit(kind, way))
        assert against(found) == set(), (kind, way)


@pytest.mark.parametrize(("do", "thing"), SHUT_OFF)
@pytest.mark.parametrize("step", ["R8", "J1", "J4", ""])
def test_after_a_trip_whose_shut_off_is_not_proved_again_any_touch_of_it_stands_against_final(
    do: str, thing: str, step: str
):
    found = judged("restart", before(visit("restart", RETURNS), step, act(do, thing)))
    assert any(code == "RUN-50" and about.startswith("SO.") for code, about in against(found))
    assert not any(block.may_accept for block in found.blocks if block.remark.code == "RUN-50")


@pytest.mark.parametrize(("do", "thing"), SHUT_OFF)
@pytest.mark.parametrize("step", ["C1F.RV", "J1", "J4", ""])
def test_a_return_to_service_is_not_final_once_anything_of_the_shut_off_was_touched(
    do: str, thing: str, step: str
):
    found = judged("return-to-service", before(visit("return-to-service"), step, act(do, thing)))
    assert any(code == "RUN-50" and about.startswith("SO.") for code, about in against(found))


def test_a_touch_before_the_way_that_proves_the_trip_is_made_good_by_it():
    entries = before(visit("restart", PROVED), "EF3.RV", act("turn", "SO.setting"))
    assert against(judged("restart", entries)) == set()


def test_a_low_flow_reducer_turned_in_a_yearly_visit_that_does_not_prove_it_stands_against_final():
    found = judged("yearly", before(visit("yearly"), "S4", act("turn", "LB.setting")))
    assert ("RUN-50", "LB.setting") in against(found)


def test_what_a_step_works_as_planned_needs_no_other_proof():
    way = {**RETURNS, "R8": "returns watched"}
    entries = before(visit("restart", way), "R8U", act("lower", "RV.setting", "R8U"))
    assert against(judged("restart", entries)) == set()


def test_what_a_step_works_after_its_readings_asks_for_them_again():
    way = {**RETURNS, "R8": "returns watched"}
    entries = before(visit("restart", way), "R10", act("lower", "RV.setting", "R8U"))
    assert against(judged("restart", entries)) == {("RUN-50", "RV.setting")}


@pytest.mark.parametrize(
    "thing", ["SO.setting ", "so.setting", "SO.Setting", " so .setting", "SO.seat", "SO screw", "so"]
)
def test_a_thing_is_known_whatever_the_case_and_the_blanks_and_else_the_whole_valve_is_meant(thing: str):
    found = judged("first", before(put_right(), "", act("turn", thing)))
    assert found.proof("SO.trip").state == "stale"


@pytest.mark.parametrize("thing", ["X", "shut-off", "screw", "main valve", "gauge T3"])
def test_a_touch_of_something_the_plan_cannot_place_stands_against_final_until_it_is_said(thing: str):
    entries = before(put_right(), "", act("turn", thing))
    found = judged("first", entries)
    assert against(found) == {("RUN-51", thing)}
    said = Device("tab-2").make(
        "correction", {"reason": "which", "payload": {"thing": "outside.ladder"}}, replaces=entries[-1].id
    )
    said = replace(said, id="0190aaaa-0000-7000-8000-900000000000", run=entries[0].run)
    said = replace(said, t_device=entries[-1].t_device)
    assert against(judged("first", [*entries, replace(said, device_seq=7)])) == set()


def test_a_touch_of_nothing_named_at_a_step_that_works_nothing_stands_against_final():
    assert against(judged("first", before(put_right(), "", act("turn", node="J4")))) == {("RUN-51", "turn")}


def test_a_cock_of_an_unnamed_part_of_the_shut_off_left_shut_makes_its_proofs_stale():
    found = judged("first", before(put_right(), "", act("shut", "SO.root cock")))
    assert found.proof("SO.acts").state == "stale"


def test_the_longest_part_a_name_begins_with_is_meant():
    names = names_of(plan("first"))
    assert [names.of(one) for one in ("TG-07 glass", "iv2", "IV22", "SOS", "Outside. ladder")] == [
        "TG-07", "IV2", "IV22", "SOS", "outside",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("thing", "how"),
    [
        ("SO.sensing", "shut"),
        ("IV1", "shut"),
        ("IV2", "1/2"),
        ("TD", "open"),
        ("SO", "shut"),
        ("RV.sensing", "half"),
    ],
)
def test_a_thing_last_said_to_stand_otherwise_than_it_is_left_stands_against_final(thing: str, how: str):
    entries = before(put_right(), "", stands(thing, how, "J4"))
    found = against(judged("first", entries))
    assert {one for one in found if one[0] not in ("RUN-11", "RUN-12")} == {("RUN-52", thing)}
    good = {"TD": "shut", "IV1": "Open 34 turns"}.get(thing, "open")
    right = against(judged("first", before(put_right(), "", stands(thing, how), stands(thing, good))))
    assert {one for one in right if one[0] not in ("RUN-11", "RUN-12")} == set()
    assert bool(right) is (thing in ("SO.sensing", "RV.sensing"))


def test_a_valve_shut_after_it_was_opened_to_the_consumers_stands_against_final():
    assert ("RUN-52", "IV1") in against(judged("first", before(put_right(), "", act("shut", "IV1"))))


def test_positions_as_found_are_settled_by_the_steps_that_set_them_and_by_the_proofs_that_show_them():
    found = (stands("IV1", "shut"), stands("IV2", "shut"), stands("TD", "open"), stands("SO.sensing", "shut"))
    entries = before(visit("first"), "B1", *found)
    assert against(judged("first", entries)) == set()


def _without(entries: list[Entry], step: str, since: float) -> list[Entry]:
    return [one for one in entries if one.node != step or one.time < since]


def test_the_outlet_valve_proved_the_day_before_and_opened_since_lets_nothing_be_raised():
    entries = put_right()
    noon = next(one.time for one in entries if one.node == "K1" and one.kind == "sign")
    found = judged("first", _without(entries, "D2.main", noon))
    wanted = {("RUN-53", step) for step in ("F1.SO", "F2.SO", "F3.SO", "G4", "H2.RV", "H2.LB")}
    assert wanted <= against(found)
    assert found.step("F1.SO").state == "refused"
    assert found.proof("SO.trip").state == "refused"
    assert not any(block.may_accept for block in found.blocks if block.remark.code == "RUN-53")


@pytest.mark.parametrize("do", ["open", "turn", "crack"])
def test_an_outlet_valve_moved_between_its_proof_and_the_raise_refuses_the_raise(do: str):
    found = judged("first", before(visit("first"), "F1.SO", act(do, "iv2")))
    assert ("RUN-53", "F1.SO") in against(found)


def test_a_yearly_proof_raised_before_the_outlet_valve_was_proved_tight_is_refused():
    entries = visit("yearly")
    end = max(one.time for one in entries)
    late = [replace(one, clock_offset=end - one.time + number) if one.node == "Y2" else one
            for number, one in enumerate(entries)]  # fmt: skip
    found = judged("yearly", late)
    assert {("RUN-53", "Y4.SO"), ("RUN-53", "Y6.SO")} <= against(found)


def test_a_raise_entered_before_its_outlet_valve_is_proved_is_refused_at_that_moment():
    entries = [one for one in visit("yearly") if one.node in ("", "Y4.SO")]
    assert ("RUN-53", "Y4.SO") in against(judged("yearly", entries))


def test_the_outlet_valve_opened_at_the_end_of_the_day_takes_nothing_from_what_was_proved_behind_it():
    assert against(judged("first", before(put_right(), "", act("open", "IV2")))) == set()


def test_a_touch_made_void_is_told():
    entries = before(put_right(), "", act("turn", "SO.setting"))
    void = Device("tab-2").make("void", {"reason": "not done"}, replaces=entries[-1].id)
    void = replace(void, id="0190aaaa-0000-7000-8000-900000000000", run=entries[0].run, device_seq=9)
    void = replace(void, t_device=entries[-1].t_device)
    found = judged("first", [*entries, void])
    assert [remark.params["what"] for remark in found.told if remark.code == "RUN-55"] == ["turn SO.setting"]


def test_a_run_that_says_it_is_another_visit_is_told():
    run = Device("tab-2").make("run", {"plan": "", "kind": "yearly"})
    found = judged("first", before(put_right(), "", run))
    assert [r.params["why"] for r in found.told if r.code == "RUN-05"] == ["other visit"]


MORE = ("trip", "reset", "bridge contacts", "remove bridge", "inject", "remove", "lock", "second look", "")


def _scribbled(kind: str, rng: random.Random) -> list[Entry]:
    procedure = plan(kind)
    entries = [e for e in visit(kind, rng.choice(clean_ways(procedure) or [{}])) if rng.random() > 0.01]
    things = [
        "SO.setting",
        "so.seat",
        "RV",
        "IV2",
        "iv1",
        "TD",
        "SO.sensing",
        "LB.setting ",
        "x",
        "",
        "outside.x",
        "outside.SO.setting",
        "TG-07",
        "T3.cock",
        "alarm",
        "SO",
    ]
    steps = ["", *(node.id for node in procedure.nodes)]
    for _ in range(rng.randrange(1, 5)):
        do = rng.choice(
            ["turn", "shut", "open", "crack", "replace", "defeat", "restore", "tick", "swap", "clean", *MORE]
        )
        new = rng.choice(
            [act(do, rng.choice(things)), stands(rng.choice(things), rng.choice(["open", "shut", "1/2"]))]
        )
        entries = before(entries, rng.choice(steps), new)
    return entries


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_acts_and_positions_beside_the_plan_are_judged_alike_in_javascript(tmp_path: Path):
    rng = random.Random(5)
    cases, wanted = [], []
    for number in range(12):
        kind = ("first", "yearly", "restart", "return-to-service")[number % 4]
        entries = list(gathered(_scribbled(kind, rng)).entries)
        cases.append({"kind": kind, "entries": [plain_entry(entry) for entry in entries]})
        wanted.append(json.loads(json.dumps(plain_judgement(judge(plan(kind), read(dump(entries)))))))
    plans = {kind: plain(plan(kind)) for kind in ("first", "yearly", "restart", "return-to-service")}
    body = "result = data.cases.map((one) => judge(data.plans[one.kind], one.entries))"
    for found, want in zip(in_node(tmp_path, body, {"plans": plans, "cases": cases}), wanted, strict=True):
        close(found, want)
