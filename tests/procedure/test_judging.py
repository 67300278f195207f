"""The judge: shared vectors, and properties that hold for any entries."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from typing import Any

import pytest

from steadyhead.procedure.entry_form import entry_of
from steadyhead.procedure.flaws import validate
from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import Ledger, gathered
from steadyhead.procedure.plain import from_json
from steadyhead.records.entry import Entry
from steadyhead.records.run import Judgement
from tests.procedure.judge_cases import HAND
from tests.procedure.judge_vectors import FILE, file, scribble
from tests.procedure.kettle import kettle
from tests.procedure.more_judge_cases import MORE
from tests.procedure.pen import Pen, clean

VECTORS: dict[str, Any] = json.loads(FILE.read_text("utf-8"))
PLAN = from_json(json.dumps(VECTORS["procedure"]).encode())


def entries(case: dict[str, Any]) -> list[Entry]:
    return [entry_of(one) for one in case["entries"]]


def summary(judgement: Judgement) -> dict[str, Any]:
    """Return what the vectors speak of."""
    return {
        "steps": {one.id: one.state for one in judgement.steps},
        "proofs": {one.name: one.state for one in judgement.proofs},
        "items": {one.name: one.state for one in judgement.items},
        "blocks": [[one.remark.code, one.remark.about] for one in judgement.blocks],
        "told": [[one.code, one.about] for one in judgement.told],
        "signs": [one.stands for one in judgement.signs],
        "is_final": judgement.is_final,
    }


def differs(wanted: dict[str, Any], got: dict[str, Any]) -> dict[str, Any]:
    """Return where a summary is not as wanted; of what is told only what is wanted is looked for."""
    found: dict[str, Any] = {}
    for key, want in wanted.items():
        if isinstance(want, dict):
            apart = {
                name: (state, got[key].get(name))
                for name, state in want.items()
                if got[key].get(name) != state
            }
        elif key == "quiet":
            apart = {} if not got["told"] else {"told": got["told"]}
        elif key == "told":
            apart = {str(one): ("told", None) for one in want if one not in got["told"]}
        else:
            apart = {} if want == got[key] else {"wanted": want, "got": got[key]}
        if apart:
            found[key] = apart
    return found


def random_runs(seed: int, count: int) -> list[list[Entry]]:
    rng = random.Random(seed)
    return [[entry_of(one) for one in scribble(rng)] for _ in range(count)]


def test_the_plan_of_the_vectors_is_sound():
    assert validate(kettle()) == ()


@pytest.mark.source(
    kind="independent", ref="tests/procedure: cases by hand, and a second judge (second_judge.py)"
)
def test_every_record_of_the_vectors_is_judged_as_it_says():
    assert len(HAND) + len(MORE) >= 100
    assert len(VECTORS["cases"]) >= 500
    wrong = {}
    for case in VECTORS["cases"]:
        apart = differs(case["wanted"], summary(judge(PLAN, gathered(entries(case)))))
        if apart:
            wrong[case["name"]] = apart
    assert wrong == {}


def test_the_vectors_file_is_what_its_maker_writes():
    assert file() == VECTORS


def test_the_generated_vectors_reach_every_state_of_a_proof():
    found = {
        state
        for case in VECTORS["cases"][len(HAND) + len(MORE) :]
        for state in case["wanted"]["proofs"].values()
    }
    assert found == {"open", "valid", "stale", "refused", "not on this way"}


def test_the_judgement_does_not_depend_on_the_order_in_which_entries_come():
    rng = random.Random(3)
    for made in random_runs(21, 60):
        shuffled = rng.sample(made, len(made))
        assert judge(PLAN, gathered(shuffled), 2e9) == judge(PLAN, gathered(made), 2e9)


def test_the_same_entries_always_give_the_same_judgement_in_json():
    for made in random_runs(22, 30):
        first, second = (plain_judgement(judge(PLAN, gathered(made), 1.8e9)) for _ in range(2))
        assert json.dumps(first) == json.dumps(second)


def test_a_touch_after_everything_leaves_no_proof_that_rests_on_it():
    for made in random_runs(23, 80):
        last = max((entry.order for entry in made), default=None)
        if last is None:
            continue
        touch = replace(
            made[0], id="touch", node="", kind="action", payload={"do": "turn", "thing": "scale.spring"},
            device="d9", device_seq=1, t_device="2027-04-15T08:00:00+01:00", clock_offset=0.0, replaces="",
        )  # fmt: skip
        judged = judge(PLAN, gathered([*made, touch]))
        assert judged.proof("scale.true").state != "valid"
        assert judged.proof("kettle.hot").state != "valid"


def test_notes_photos_and_ticks_of_a_done_step_take_no_proof_away():
    for made in random_runs(24, 60):
        before = judge(PLAN, gathered(made))
        more = [
            replace(made[-1], id=f"more-{kind}", kind=kind, payload=payload, node="A", device="d9",
                    device_seq=number, t_device="2027-04-15T08:00:00+01:00", clock_offset=0.0, replaces="")
            for number, (kind, payload) in enumerate(
                (
                    ("note", {"text": "fine"}),
                    ("photo", {"of": "A"}),
                    ("action", {"do": "look", "thing": "kettle.screw"}),
                )
            )
        ] if made else []  # fmt: skip
        after = judge(PLAN, gathered([*made, *more]))
        assert [one.state for one in after.proofs] == [one.state for one in before.proofs]


def test_everything_final_has_every_step_done_and_every_proof_standing():
    finals = 0
    for made in random_runs(25, 300):
        judged = judge(PLAN, gathered(made))
        if judged.is_final:
            finals += 1
            states = {one.state for one in judged.steps if one.id not in PLAN.after}
            assert states <= {"done", "accepted", "not on this way"}
            assert {one.state for one in judged.proofs} <= {"valid", "accepted", "not on this way"}
            assert {one.state for one in judged.items} <= {"restored", "not opened", "accepted"}
    assert finals > 0


def test_what_is_next_can_be_done_now_and_nothing_is_next_where_all_is_done():
    for made in random_runs(26, 80):
        judged = judge(PLAN, gathered(made))
        done = {one.id for one in judged.steps if one.state in ("done", "accepted")}
        for step in judged.next:
            assert judged.step(step).ready
        assert ("A" in judged.next) == ("A" not in done)


def test_an_empty_record_is_open_and_its_first_step_is_next():
    judged = judge(PLAN, Ledger())
    assert judged.next == ("A",)
    assert not judged.is_final
    assert judged.run == ""


def test_what_comes_with_the_signature_is_next_only_after_all_else():
    case = next(case for case in VECTORS["cases"] if case["name"] == "a clean run")
    assert judge(PLAN, gathered(entries(case))).next == ("K",)
    last = replace(PLAN.node("K"), needs={"all": []})
    early = replace(PLAN, nodes=(last, *(node for node in PLAN.nodes if node.id != "K")))
    assert judge(early, Ledger()).next == ("A", "K")


def test_an_entry_ahead_of_the_judges_clock_is_told():
    case = next(case for case in VECTORS["cases"] if case["name"] == "a clean run")
    told = judge(PLAN, gathered(entries(case)), 1.8e9 - 1e8).told
    assert [one.params["why"] for one in told if one.code == "RUN-03"] == ["ahead"]


@pytest.mark.source(kind="published", ref="design handbook 4.2, 4.5: a deviation carries the date it ends")
def test_a_deviation_past_its_due_date_is_told_first_and_stands_against_nothing():
    pen = Pen()
    clean(pen)
    pen.made = [entry for entry in pen.made if entry["payload"].get("do") != "tick"]
    said = {"what": "w", "risk": "r", "owner": "Olin Prake", "due": "2027-06-01", "accepted_by": "b"}
    pen.write("deviation", "", {"about": "E", **said})
    ledger = gathered(entry_of(one) for one in pen.made)
    last_hour = 1811890799.0  # 2027-06-01 23:59:59 where it was written, UTC+1
    late_by = ((None, None), (last_hour, None), (last_hour + 2.0, 1.0), (last_hour + 2 * 86400.0, 2.0))
    for now, days in late_by:
        judged = judge(kettle(), ledger, now)
        assert judged.is_final
        late = [remark for remark in judged.told if remark.code == "RUN-90"]
        assert [remark.params["days"] for remark in late] == ([] if days is None else [days])
        assert not late or judged.told[0] is late[0]


def test_a_hundred_times_the_entries_take_a_hundred_times_the_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    """No list of entries is gone through for each of its entries: what is looked at grows as they do."""
    pen = Pen()
    clean(pen)
    looked = 0
    plain_eq = Entry.__eq__

    def equal(one: Entry, other: object) -> bool:
        nonlocal looked
        looked += 1
        return bool(plain_eq(one, other))

    heat = next(entry for entry in pen.made if entry["payload"].get("input") == "heat")
    counts = []
    monkeypatch.setattr(Entry, "__eq__", equal)
    for many in (20, 2000):
        rows = [{**heat, "id": f"x{n}", "device_seq": 100 + n, "clock_offset": 3.0 * n} for n in range(many)]
        ledger = gathered(entry_of(one) for one in (*pen.made, *rows))
        looked = 0
        judge(PLAN, ledger, 2e9)
        counts.append(looked)
    assert counts[1] <= 200 * max(counts[0], 1)
