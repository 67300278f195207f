"""Which run is judged, where none was begun and one id has several contents: alike on every device."""

from __future__ import annotations

import json
import random
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.judging import judge, run_of
from steadyhead.procedure.ledger import Ledger, gathered
from steadyhead.procedure.plain import plain
from steadyhead.records.entry import Entry, plain_entry
from tests.procedure.in_js import in_node
from tests.procedure.test_in_js import close
from tests.procedure.test_judging import PLAN, random_runs


def _note(id_: str, run: str, minute: int, text: str = "seen", kind: str = "note") -> Entry:
    payload = {"plan": ""} if kind == "run" else {"text": text}
    clock = f"2027-04-14T09:{minute:02d}:00+01:00"
    return Entry(id_, run, "", "tab-1", minute, kind, payload, "Ilse Marrow", clock)


def _twice(id_: str, *runs: str, minute: int = 1) -> list[Entry]:
    return [_note(id_, run, minute, f"form {number}") for number, run in enumerate(runs)]


CASES: list[tuple[str, list[Entry], str]] = [
    ("the run of the first entry", [_note("a", "r1", 2), _note("b", "r2", 3)], "r1"),
    ("the run that was begun", [_note("a", "r1", 2), _note("b", "r2", 3, kind="run")], "r2"),
    ("not by an earlier id of two contents", [*_twice("c", "r2", "r2"), _note("a", "r1", 2)], "r1"),
    (
        "by such an id where there is nothing else",
        [*_twice("c", "r2", "r1"), *_twice("d", "r0", "r3", minute=2)],
        "r1",
    ),
    ("none of nothing", [], ""),
]


@pytest.mark.parametrize(("entries", "wanted"), [row[1:] for row in CASES], ids=[row[0] for row in CASES])
def test_the_run_that_is_judged_is_the_same_in_any_order_of_the_lines(entries: list[Entry], wanted: str):
    assert {run_of(gathered(listed)) for listed in (entries, entries[::-1])} == {wanted}


def test_an_id_of_two_contents_is_judged_in_neither_run_that_they_name():
    ledger = gathered([_note("a", "r1", 2), *_twice("c", "r1", "r2", minute=3)])
    assert [entry.id for entry in ledger.of_run("r1").entries] == ["a"]
    codes = [(block.remark.code, block.remark.about) for block in judge(PLAN, ledger).blocks]
    assert ("RUN-02", "c") in codes
    assert not ledger.of_run("r9").clashes


def _tangled(seed: int, count: int) -> Iterator[list[Entry]]:
    """Yield random visits of several runs, seldom begun, with ids of two contents and clocks that jump."""
    rng = random.Random(seed)
    for made in random_runs(seed, count):
        kept = [one for one in made if one.kind != "run" or rng.random() < 0.2]
        found = [replace(one, run=rng.choice(["r", "r", "r", "other", "third"])) for one in kept]
        for one in rng.sample(found, min(3, len(found))):
            run, who, offset = (
                rng.choice(["r", "other", one.run]),
                f"other {one.who}",
                rng.choice([0.0, -900.0, 40.0]),
            )
            found.append(replace(one, run=run, who=who, clock_offset=offset))
        if rng.random() < 0.1:
            found = [one for one in found if sum(one.id == each.id for each in found) > 1]
        rng.shuffle(found)
        yield found


def _wanted(ledger: Ledger) -> object:
    return json.loads(json.dumps(plain_judgement(judge(PLAN, ledger))))


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_tangled_runs_are_judged_alike_in_javascript(tmp_path: Path):
    body = """
const flat = (one) => JSON.stringify(one, (key, value) => (value !== null && typeof value === "object"
  && !Array.isArray(value) ? Object.fromEntries(Object.entries(value).sort()) : value))
result = data.cases.map((one) => {
  const { entries, clashes } = merge([one], (a, b) => flat(a) === flat(b))
  return judge(data.plan, entries, null, clashes)
})
"""
    cases = [*(entries for _, entries, _ in CASES), *_tangled(5, 60)]
    data = {"plan": plain(PLAN), "cases": [[plain_entry(one) for one in case] for case in cases]}
    for found, case in zip(in_node(tmp_path, body, data), cases, strict=True):
        close(found, _wanted(gathered(case)))
