"""A restart whose reducer fails its trial, or that trips again, goes on by another way, in both judges."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, read
from steadyhead.procedure.plain import from_json, plain
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.records.run import Judgement
from tests.procedure.in_js import in_node
from tests.procedure.walking import walk
from tests.visits.judged_visits import Change, acts, against, reads, told
from tests.visits.plan_stations import UP, made

PLAN = made(UP, kind="restart")
ISOLATED = {"R1": "real", "R6": "to be tested", "R8": "stays isolated"}
RETURNS = {**ISOLATED, "R8": "returns"}
ENDS = {
    "the reducer does not hold": ("R7T", reads("R7T", "lockup", 4.6e5)),
    "the reducer does not close": ("R7R", reads("R7R", "closes", False)),
    "the outlet passes its limit": ("R7R", reads("R7R", "peak", 6.0e5)),
    "it trips again": ("J2", reads("J2", "trips", True)),
}


def up_to(step: str, way: dict[str, str], change: Change) -> list[Entry]:
    """Return the entries of a restart, changed, up to a step."""
    entries = walk(PLAN, way)
    last = max(at for at, one in enumerate(entries) if one.node == step)
    return change(entries[: last + 1])


def judged(entries: list[Entry]) -> Judgement:
    return judge(PLAN, read(dump(entries)))


@pytest.mark.parametrize("what", ENDS)
def test_a_step_that_ends_a_way_is_not_offered_again_but_the_choice_of_another(what: str) -> None:
    step, change = ENDS[what]
    found = judged(up_to(step, RETURNS, change))
    assert found.step(step).state == "refused"
    assert found.next[0] == "R8"
    assert step not in found.next


def test_no_step_of_the_way_before_is_offered_until_another_is_chosen() -> None:
    whole = walk(PLAN, RETURNS)
    chosen = max(at for at, one in enumerate(whole) if one.kind == "choice")
    wet = [one for one in whole[chosen + 1 :] if one.node == "J1"]
    found = judged([*reads("R7T", "lockup", 4.6e5)(whole[: chosen + 1]), *wet])
    behind = {"R8R", "J1", "J2"}
    assert found.next[0] == "R8"
    assert not behind & set(found.next)
    assert "J2" in judged([*whole[: chosen + 1], *wet]).next


def test_a_shut_off_that_stays_shut_is_reset_again() -> None:
    found = judged(up_to("R7R", RETURNS, reads("R7R", "open", False)))
    assert found.step("R7R").state == "refused"
    assert found.next[0] == "R7R"


def test_a_reducer_that_did_not_hold_is_told_and_not_proved_where_the_station_stays_isolated() -> None:
    found = judged(reads("R7T", "lockup", 4.6e5)(walk(PLAN, ISOLATED)))
    assert "RS7T.failed.see" in told(found)
    assert {one.name: one.state for one in found.proofs}["RV.holds"] == "refused"
    assert not [one for one in against(found) if "R7T" in one], "it stays isolated: no hindrance"
    assert found.is_final


def test_a_reducer_that_does_not_close_is_not_tried_any_further() -> None:
    entries = [one for one in walk(PLAN, ISOLATED) if one.node != "R7T"]
    found = judged(reads("R7R", "closes", False)(entries))
    assert found.step("R7T").state == "done"
    assert {one.name: one.state for one in found.proofs}["RV.holds"] == "open"
    assert found.is_final


RESET = acts("reset", "SO", node="R7R", after=("R7", "water"))


def test_a_reset_made_where_it_is_ordered_is_no_stop_while_its_way_is_open() -> None:
    assert "RUN-52" not in codes(judged(up_to("R7T", RETURNS, RESET)))


def test_a_reset_made_before_its_way_was_chosen_is_told_at_once() -> None:
    entries = [one for one in RESET(walk(PLAN, RETURNS)) if one.node in ("", "R0") or one.kind == "action"]
    assert "RUN-52" in codes(judged(entries))


def codes(found: Judgement) -> set[str]:
    return {block.remark.code for block in found.blocks}


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_both_judges_name_the_same_way_on(tmp_path: Path) -> None:
    runs = [up_to(step, RETURNS, change) for step, change in ENDS.values()]
    runs += [up_to("R7T", RETURNS, RESET), RESET(walk(PLAN, RETURNS))[:9]]
    runs.append(reads("R7T", "lockup", 4.6e5)(walk(PLAN, ISOLATED)))
    runs.append(reads("R7T", "lockup", 4.6e5)(up_to("J1", RETURNS, list)))
    plan = json.loads(json.dumps(plain(PLAN)))
    kept = from_json(json.dumps(plan).encode())
    assert [one.instead for node in kept.nodes for one in node.otherwise].count("R8") == 5
    written = [[plain_entry(one) for one in read(dump(entries)).entries] for entries in runs]
    body = "result = data.runs.map((run) => judge(data.plan, run))"
    got = in_node(tmp_path, body, {"plan": plan, "runs": written})
    for entries, one in zip(runs, got, strict=True):
        wanted = plain_judgement(judged(entries))
        assert one["next"] == wanted["next"]
        for name, key in (("proofs", "state"), ("steps", "state"), ("blocks", "remark")):
            listed = [each[key] for each in wanted[name]]
            assert [each[key] for each in one[name]] == json.loads(json.dumps(listed)), name
