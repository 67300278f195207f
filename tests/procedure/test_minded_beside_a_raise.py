"""Read beyond its place, let off, run through or refused in words: it stands against final, or is told."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.naming import refuses, stands_shut, was_opened
from steadyhead.procedure.plain import plain
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.records.run import Judgement
from tests.procedure.in_js import in_node
from tests.procedure.lane import act, against, before, judged, plan, stands, visit
from tests.procedure.test_in_js import close
from tests.procedure.walking import clean_ways

BAR = 1e5
Made = tuple[str, list[Entry]]


def _visit(kind: str) -> list[Entry]:
    return visit(kind, (clean_ways(plan(kind)) or [{}])[0])


def _said(kind: str, step: str, **values: float | str | bool) -> Made:
    """Return a clean visit with answers of one step given otherwise."""
    made = [
        replace(one, payload={**one.payload, "value": values[str(one.payload.get("input"))]})
        if one.node == step and one.payload.get("input") in values
        else one
        for one in _visit(kind)
    ]
    return kind, made


def _done(step: str, *made: Entry, inside: bool = False) -> Made:
    """Return a clean first visit with entries before a step, or after the first reading in it."""
    entries = before(_visit("first"), step, *made)
    if inside:
        new = {one.id for one in entries[-len(made) :]}
        entries = [
            replace(one, clock_offset=one.clock_offset + 45.0) if one.id in new else one for one in entries
        ]
    return "first", entries


CASES: dict[str, tuple[Callable[[], Made], set[tuple[str, str]], set[tuple[str, str]]]] = {
    "critical point": (lambda: _said("first", "J3", critical=6.2 * BAR), {("RUN-59", "J3")}, set()),
    "consumers": (lambda: _said("first", "B1", **{"T4.first": 6.2 * BAR}), {("RUN-59", "B1")}, set()),
    "consumers found": (lambda: _said("yearly", "Y1", T4=6.2 * BAR), {("RUN-59", "Y1")}, set()),
    "between": (lambda: _said("first", "F2R.SO", T2=17.0 * BAR), {("RUN-59", "F2R.SO")}, set()),
    "between, reset": (lambda: _said("restart", "R7R", T2=17.0 * BAR), {("RUN-59", "R7R")}, set()),
    "between, within": (lambda: _said("first", "F2R.SO", T2=11.0 * BAR), set(), set()),
    "sample": (
        lambda: _done("H2.RV", act("sample", "TD"), inside=True),
        {("RUN-48", "RV.lockup")},
        set(),
    ),
    "sample before": (lambda: _done("H2.RV", act("sample", "TD")), set(), set()),
    "flush": (lambda: _done("F1.SO", act("flush", "IV1")), set(), {("RUN-49", "IV1")}),
    "fill": (lambda: _done("F1.SO", act("fill", "IV1")), set(), {("RUN-49", "IV1")}),
    "then said": (lambda: _done("F1.SO", act("vent", "IV1"), stands("IV1", "V2")), set(), set()),
    "stroke": (lambda: _done("F1.SO", act("stroke by hand", "IV1")), {("RUN-48", "F1.SO")}, set()),
    "remove": (lambda: _done("F1.SO", act("remove", "IV1")), {("RUN-48", "F1.SO")}, set()),
    "remove its tag": (lambda: _done("F1.SO", act("remove", "IV1 tag")), set(), set()),
    "three turns": (lambda: _done("F1.SO", stands("IV1", "three turns")), {("RUN-48", "F1.SO")}, set()),
    "not full": (lambda: _done("F1.SO", stands("IV1", "not fully open")), {("RUN-48", "F1.SO")}, set()),
    "one and a half": (lambda: _done("F1.SO", stands("IV1", "one and a half turns")), set(), set()),
    "not shut": (lambda: _done("F1.SO", stands("IV1", "not shut")), set(), {("RUN-49", "IV1")}),
    "shut again": (
        lambda: _done("F1.SO", stands("IV2", "shut again after 2 turns"), inside=True),
        {("RUN-48", "SO.acts")},
        set(),
    ),
    "still shut": (lambda: _done("F1.SO", stands("IV2", "still shut"), inside=True), set(), set()),
    "operator": (lambda: _said("first", "G1.SO", operator="nobody"), {("RUN-06", "G1.SO")}, set()),
    "told": (lambda: _said("first", "J5", told="not done"), {("RUN-06", "J5")}, set()),
    "seals": (lambda: _said("first", "J4", seals="no"), {("RUN-06", "J4")}, set()),
    "positions": (lambda: _said("first", "A7", positions="no"), set(), {("RUN-06", "A7")}),
    "no debris": (lambda: _said("first", "B4", found="none"), set(), set()),
    "inlet left": (lambda: _said("first", "H6.main", done=False), set(), {("RUN-08", "H6.main")}),
    "second look": (lambda: _said("first", "K2", steady=False), set(), {("RUN-08", "K2")}),
    "peak not known": (lambda: _said("restart", "R10", known=False), set(), {("RUN-08", "R10")}),
    "peak": (
        lambda: _said("restart", "R10", peak=9.0 * BAR, inspected=False),
        {("RUN-08", "R10")},
        set(),
    ),
    "inspected": (lambda: _said("restart", "R10", peak=9.0 * BAR), set(), set()),
}  # fmt: skip


@cache
def _judged(name: str) -> Judgement:
    return judged(*CASES[name][0]())


@pytest.mark.parametrize("name", list(CASES))
def test_it_stands_against_final_or_is_told(name: str) -> None:
    _, blocked, told = CASES[name]
    found = _judged(name)
    assert blocked <= against(found)
    assert blocked or not against(found)
    assert told <= {(one.code, one.about) for one in found.told}


def test_words_are_read_in_the_careful_direction() -> None:
    assert not stands_shut("not fully closed")
    assert [was_opened(text) for text in ("reshut", "shut again", "seen again, still shut")] == [1, 1, 0]
    assert [refuses(text, empty=False) for text in ("NO", "never told", "none", "no debris")] == [1, 1, 0, 0]


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_the_two_judges_agree(tmp_path: Path) -> None:
    runs = [(name, *case[0]()) for name, case in CASES.items()]
    data = {
        "plans": {kind: plain(plan(kind)) for _, kind, _ in runs},
        "runs": [{"kind": kind, "entries": [plain_entry(one) for one in made]} for _, kind, made in runs],
    }
    got = in_node(tmp_path, "result = data.runs.map((one) => judge(data.plans[one.kind], one.entries))", data)
    for (name, _, _), one in zip(runs, got, strict=True):
        close(one, json.loads(json.dumps(plain_judgement(_judged(name)))), name)
