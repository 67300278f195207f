"""Two gauges are two; the words of an alarm are those of the file; an outlet follows its inlet a little."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.ledger import gathered
from steadyhead.procedure.plain import plain
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.records.run import Judgement
from tests.procedure.in_js import in_node
from tests.procedure.lane import against, judged, plan, visit
from tests.procedure.test_in_js import close
from tests.procedure.walking import GAUGE, SECOND

BAR = 1e5
FOLLOWS = ("T1.first", "T1.last", "T3.first", "T3.last")
Change = Callable[[Entry], Mapping[str, Any] | None]
"""Gives what is said otherwise of an entry; None: nothing."""


def _with(kind: str, change: Change) -> list[Entry]:
    """Return a clean visit with some payloads changed."""
    found = []
    for entry in visit(kind):
        more = change(entry)
        found.append(entry if more is None else replace(entry, payload={**entry.payload, **more}))
    return found


def _at(step: str, **values: Any) -> Change:
    """Return the change of the values of a step, by input."""

    def change(entry: Entry) -> Mapping[str, Any] | None:
        name = str(entry.payload.get("input")).replace(".", "_")
        return {"value": values[name]} if entry.node == step and name in values else None

    return change


def _by(name: str) -> Change:
    """Return the change of the gauge that gives the second reading; described under another writing too."""

    def change(entry: Entry) -> Mapping[str, Any] | None:
        if entry.kind == "instrument" and entry.payload["name"] == SECOND["name"]:
            return {"name": name} if name != GAUGE["name"] else None
        return {"instrument": name} if (entry.node, entry.payload.get("input")) == ("A6", "second") else None

    return change


def _followed(inlet: float, outlet: float) -> Change:
    """Return the change of H6: by how much both moved. [bar]"""
    values = dict(zip(FOLLOWS, (9.0, 9.0 + inlet, 4.0, 4.0 + outlet), strict=True))
    return _at(
        "H6.main", **{name.replace(".", "_"): value * BAR for name, value in values.items()}, done=True
    )


CASES: dict[str, tuple[str, Change]] = {
    "clean": ("first", lambda entry: None),
    "the first gauge again": ("first", _by(str(GAUGE["name"]))),
    "the first gauge in other letters": ("first", _by(" tg-1 ")),
    "words of another station": ("first", _at("G1.SO", right=True, words="PELL MOUNT SO REACHED CLOSED")),
    "words with more around them": (
        "first", _at("G1.SO", right=True, words="02:47 P1 Quernhollow Ln: SO reached closed."),
    ),
    "the wrong contact": ("first", _at("G1.SO", right=True, words="QUERNHOLLOW LN SO LEFT OPEN")),
    "words of another station, a year later": (
        "yearly", _at("Y4.SO", right=True, words="PELL MOUNT SO REACHED CLOSED"),
    ),
    "follows a little": ("first", _followed(2.0, 0.08)),
    "follows too far": ("first", _followed(2.0, 0.3)),
    "moves against it": ("first", _followed(2.0, -0.1)),
    "rests in the band of a reading": ("first", _followed(-0.2, 0.03)),
}  # fmt: skip


@cache
def _judged(name: str) -> Judgement:
    kind, change = CASES[name]
    return judged(kind, _with(kind, change))


def _said(judgement: Judgement, about: str) -> set[str]:
    """Return the ids of the messages that stand against a step or are told of it."""
    remarks = [*(block.remark for block in judgement.blocks), *judgement.told]
    return {one.message.id for one in remarks if one.about == about and one.message is not None}


@pytest.mark.parametrize("name", ["the first gauge again", "the first gauge in other letters"])
def test_a_gauge_compared_with_itself_proves_no_gauge(name: str):
    found = _judged(name)
    assert ("RUN-09", "A6") in against(found)
    assert "rf.one_gauge" in _said(found, "A6")
    assert not any(block.may_accept for block in found.blocks if block.remark.code == "RUN-09")
    assert next(one for one in found.proofs if one.name == "gauges.compared").state != "valid"


def test_two_gauges_compared_leave_a_clean_visit_final():
    assert not against(_judged("clean"))


@pytest.mark.parametrize(
    ("name", "step"),
    [("words of another station", "G1.SO"), ("the wrong contact", "G1.SO"),
     ("words of another station, a year later", "Y4.SO")],
)  # fmt: skip
def test_words_that_are_not_those_of_the_station_file_prove_no_alarm(name: str, step: str):
    found = _judged(name)
    assert ("RUN-09", step) in against(found)
    assert "rf.words_other" in _said(found, step)


def test_the_words_of_the_file_among_others_in_any_case_prove_it():
    assert not against(_judged("words with more around them"))


@pytest.mark.parametrize(
    ("name", "told"),
    [("follows a little", False), ("follows too far", True), ("moves against it", True),
     ("rests in the band of a reading", False)],
)  # fmt: skip
def test_an_outlet_that_follows_its_inlet_too_far_is_told_and_forbids_nothing(name: str, told: bool):
    found = _judged(name)
    assert ("H6.follows.see" in _said(found, "H6.main")) is told
    assert not against(found)


def test_the_step_shows_by_how_much_the_outlet_is_to_follow():
    said = next(one for one in plan("first").node("H6.main").do if one.id == "H6.expected")
    assert [said.params[name].si for name in ("share_least", "share_most")] == [0.01, 0.05]  # type: ignore[union-attr]


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_all_of_these_are_judged_alike_in_javascript(tmp_path: Path):
    body = "result = data.cases.map(([kind, entries]) => judge(data.plans[kind], entries, null))"
    names = [name for name in CASES if name != "clean"]
    cases = [
        (CASES[name][0], [plain_entry(e) for e in gathered(_with(*CASES[name])).entries]) for name in names
    ]
    plans = {kind: json.loads(json.dumps(plain(plan(kind)))) for kind in ("first", "yearly")}
    got = in_node(tmp_path, body, {"plans": plans, "cases": cases})
    for one, name in zip(got, names, strict=True):
        close(one, json.loads(json.dumps(plain_judgement(_judged(name)))), name)
