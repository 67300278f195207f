"""The mutants' tool by itself: what is changed, how it is put in, what is heard of it, what the page says."""

from __future__ import annotations

import sys
from types import ModuleType
from typing import Any

import pytest

from devtools.mutants import grafting, in_plans, in_python, memory, page
from devtools.mutants.children import BROKE, in_child
from devtools.mutants.model import Mutant, Outcome, shares, statement_lines, survivors
from devtools.mutants.trying import Trying
from tests.procedure.small import sound

SOURCE = '''"""Papers."""
LIMIT = 3
TABLE = {"twice": lambda x: x * 2}


class Box:
    size = 1

    @property
    def double(self) -> int | None:
        return self.size * 2


def small(x: int, most: int = 5) -> bool:
    """Say so."""
    print("seen")
    return x < LIMIT and x < most or x == "none"
'''


@pytest.fixture
def module():
    """Return a small module as if it were one of ours, and another that imported from it."""
    made, user = ModuleType("steadyhead.invented"), ModuleType("steadyhead.invented_user")
    made.__file__ = "invented.py"
    sys.modules[made.__name__], sys.modules[user.__name__] = made, user
    exec(compile(SOURCE, "invented.py", "exec"), vars(made))
    for name in ("LIMIT", "TABLE", "Box", "small"):
        setattr(user, name, vars(made)[name])
    yield made, user
    del sys.modules[made.__name__], sys.modules[user.__name__]


def test_what_was_imported_before_runs_the_changed_text(module, capsys):
    made, user = module
    box, small = user.Box(), user.small
    changed = (
        SOURCE.replace("LIMIT = 3", "LIMIT = 9")
        .replace("* 2", "* 7")
        .replace("most: int = 5", "most: int = 8")
    )
    grafting.graft(made, changed)
    assert user.LIMIT == 9
    assert user.TABLE["twice"](1) == 7
    assert box.double == 7
    assert small is made.small
    assert small(7)
    assert not small(8)


def test_words_acts_and_parts_of_conditions_are_changed_but_no_papers_and_no_annotations():
    made = [one.made for one in in_python._own(SOURCE)]
    assert len(made) == len(set(made))
    told = [in_python._changed(SOURCE, text)[1:] for text in made]
    assert ('print("seen")', "pass") in told
    assert ('print("seen")', "print('seen~')") in told
    assert any("((x < LIMIT))" in after for _, after in told)
    assert all('"""Papers' in text and '"""Say so' in text and "int | None" in text for text in made)


def test_a_place_in_an_annotation_or_a_decorator_is_idle():
    idle = in_python.Idle(SOURCE)
    at = SOURCE.splitlines().index("    def double(self) -> int | None:") + 1
    assert (at, len("    def double(self) -> int ")) in idle
    assert (at - 1, 5) in idle
    assert (at + 1, 20) not in idle


def test_what_runs_when_a_module_is_loaded_has_no_lines_of_its_own():
    lines = statement_lines(SOURCE)
    assert 2 not in lines
    assert lines[len(SOURCE.splitlines())] == {len(SOURCE.splitlines())}


@pytest.mark.parametrize(
    ("work", "fate", "said"),
    [
        (lambda say: None, "lived", ""),
        (lambda say: say("a test"), "killed", "a test"),
        (lambda say: 1 / 0, "killed", BROKE),
    ],
)
def test_a_child_tells_which_test_noticed_or_that_none_did(work, fate, said):
    got, test = in_child(work, 5.0)
    assert got == fate
    assert test.startswith(said)


def test_a_child_that_goes_round_in_circles_is_ended():
    def circles(say):
        while True:
            pass

    assert in_child(circles, 0.02) == ("timed out", "")


def test_every_change_of_a_row_changes_the_plan_it_was_found_in():
    plan = sound()
    rows = [row for row, _, _ in in_plans.rows(plan)]
    assert {row.field for row in rows} >= {"needs", "otherwise", "expect", "touches", "opens", "restores"}
    assert [row for row in rows if in_plans.changer(row)(plan) == plan] == []


def test_a_row_that_a_plan_has_not_leaves_it_as_it_is():
    plan = sound()
    for row in (
        in_plans.Row("B1", "needs", "Z9", ("any", 0), "left out"),
        in_plans.Row("Z9", "touches", "lid", (), "left out"),
        in_plans.Row("B1", "otherwise", "no such", ("gt", 7), "by 1.1"),
    ):
        assert in_plans.changer(row)(plan) == plan


def test_a_comparison_is_turned_and_a_number_moved_but_names_stay():
    when = {"all": [{"lt": [{"value": "T3"}, 4.0]}, {"gt": [{"limit": "trip"}, 0]}]}
    made = [now for _, _, now in in_plans._changes(when)]
    assert {"all": [{"ge": [{"value": "T3"}, 4.0]}, when["all"][1]]} in made
    assert {"all": [{"lt": [{"value": "T3"}, 4.4]}, when["all"][1]]} in made
    assert {"all": [when["all"][0], {"gt": [{"mul": [1.1, {"limit": "trip"}]}, 0]}]} in made
    assert len(made) == 5


def test_one_that_lives_is_listed_with_its_reason_and_its_key_stays_when_lines_move():
    def at(line):
        return Mutant("a.py", f"line {line}", "x < 1", "x > 1", "", line)

    known = {at(1).key: "equal: x is never 1"}
    (row,) = survivors([Outcome(at(5), "lived"), Outcome(at(6), "killed", "t")], known)
    assert row["why"] == "equal: x is never 1"
    assert shares([Outcome(at(5), "no test")])["a.py"]["share"] == 0.0


def test_what_was_tried_and_seen_is_known_when_the_run_begins_again(tmp_path, monkeypatch):
    monkeypatch.setattr(memory, "FOLDER", tmp_path)
    monkeypatch.setattr(memory, "_sources", list)
    one, other = (Mutant("a.py", "line 1", "x < 1", after, "") for after in ("x > 1", "x <= 1"))
    first = memory.Memory(["tests/a.py"])
    assert first.seen() is None
    first.keep(Outcome(one, "killed", "a test"))
    first.keep_seen(memory.Seen(seconds={"a test": 0.5}))
    again = memory.Memory(["tests/a.py"])
    assert again.outcome(one) == Outcome(one, "killed", "a test")
    assert again.outcome(other) is None
    seen = again.seen()
    assert seen is not None
    assert seen.seconds == {"a test": 0.5}
    assert seen.steps["no test"] == set()
    assert memory.Memory(["tests/b.py"]).outcome(one) is None


def test_a_row_is_asked_of_every_test_of_a_file_that_writes_a_plan_with_its_step(tmp_path, monkeypatch):
    monkeypatch.setattr(memory, "FOLDER", tmp_path)
    monkeypatch.setattr(memory, "_sources", list)
    trying = Trying((), lambda seen: (), memory.Memory(["tests/a.py"]))
    trying.seen.seconds = dict.fromkeys(("a.py::first", "a.py::second", "b.py::other"), 0.1)
    trying.seen.steps["a.py::first"] = {"B1"}
    trying.seen.steps["b.py::other"] = {"C1"}
    row = in_plans.Row("B1", "touches", "lid", (), "left out")
    assert trying._reach(Mutant("plan touches", "", "", "", row)) == {"a.py::first", "a.py::second"}


def test_the_page_says_what_the_evidence_says_and_every_reason_begins_with_its_kind():
    record = page.record()
    assert page.PAGE.read_text(encoding="utf-8") == page.text(record)
    living = record["result"]["survivors"] if record else []
    whys = [row["why"] for row in living]
    assert record is None or record["held"] == all(whys)
    assert {why.partition(":")[0] for why in [*whys, *page.reasons().values()] if why} <= set(page.KINDS)


def test_the_page_gives_shares_and_lists_who_lives_and_why():
    one = Mutant("a.py", "line 5", "x < 1 | y", "x > 1", "", 5)
    living = survivors([Outcome(one, "lived")], {one.key: "equal: x is never 1"})
    result: dict[str, Any] = {
        "drawn": 9,
        "tried": 4,
        "killed": 3,
        "lived": 1,
        "killed share": 0.75,
        "timed out": 1,
    }
    result |= {"by group": shares([Outcome(one, "lived")]), "survivors": living}
    told = page.text(
        {"date": "2026-11-26", "commit": "abc", "seed": 7, "machine": "m", "seconds": 9.0, "result": result}
    )
    assert "**3 killed, 1 alive** (75.0 % killed)" in told
    assert "| `a.py` | 1 | 0 | 1 | 0 % |" in told
    assert "| line 5 | ``x < 1 \\| y`` | ``x > 1`` | equal: x is never 1 |" in told
    assert "Not run yet" in page.text(None)
