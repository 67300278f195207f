"""What single screens say: a cock after a night, a Stop that says a thing once, no signal, answers again."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.web.field.field_js import in_node

pytestmark = [pytest.mark.skipif(not shutil.which("node"), reason="no Node"), pytest.mark.by_turns(2)]


def test_a_cock_that_nobody_noted_stands_as_the_last_step_that_names_it_says(tmp_path: Path):
    nodes = [
        {"id": "B1", "do": ["Shut IV2; tag it.", "IV1 shut."]},
        {"id": "C1", "do": ["TD a little open. IV2 shut.", "Read T3 at IV1.", "T1 runs high."]},
        {"id": "C2", "do": ["Gauge cock of T4 shut."]},
    ]
    standing = [{"node": "B1", "who": "Ilse"}, {"node": "C1", "who": "Tam"}, {"node": "", "who": "Tam"}]
    standing.append({"node": "C2", "who": "Tam"})
    body = """
const book = { standing: data.standing, node: new Map(data.nodes.map((one) => [one.id, one])) }
result = ["IV1", "IV2", "TD", "V2", "SD", "T1", "T4"].map((part) => setBy(book, part, (words) => words))
"""
    data = {"nodes": nodes, "standing": standing}
    found: list[Any] = in_node(tmp_path, {"screens/nights": "setBy"}, body, data)
    said = [None if one is None else (one["words"], one["entry"]["node"]) for one in found]
    assert said == [("IV1 shut.", "B1"), ("IV2 shut.", "C1"), ("TD a little open.", "C1"), None, None, None,
                    ("Gauge cock of T4 shut.", "C2")]  # fmt: skip


def test_a_stop_says_a_sentence_once(tmp_path: Path):
    late, cure = "Watched too briefly. Watch 5 min.", "Do it again."
    cases = [
        [late, [late], f"F2 does not count: {late}", cure],
        ["T3 5.60 bar. Too high.", ["Draw water.", "Tell the desk."], "RV leaks.", cure],
        [late, [late, "Flow out of range."], "", cure],
    ]
    body = "result = data.map((one) => saidOnce(...one))"
    found = in_node(tmp_path, {"screens/stopping": "saidOnce"}, body, cases)
    assert found == [
        {"actions": [cure], "means": ""},
        {"actions": ["Draw water.", "Tell the desk."], "means": "RV leaks."},
        {"actions": ["Flow out of range."], "means": ""},
    ]


def test_nothing_is_being_sent_without_a_signal(tmp_path: Path):
    told = [{"state": "sending", "words": "Sending."}, {"state": "idle", "words": "Everything is sent."}]
    body = "result = data.map((one) => [false, true].map((isOnLine) => whenAway(one, isOnLine).words))"
    found = in_node(tmp_path, {"screens/sending": "whenAway"}, body, told)
    sent = "Everything is sent."
    assert found == [["No signal. Everything stays on this device.", "Sending."], [sent, sent]]


def test_what_made_a_stop_is_asked_again_before_everything_else(tmp_path: Path):
    inputs = [
        {"name": "T1", "kind": "pressure", "verdict": {"where": "inside"}},
        {"name": "T3", "kind": "pressure", "verdict": {"where": "outside"}},
        {"name": "photo", "kind": "photo", "verdict": None},
        {"name": "open", "kind": "yes_no", "verdict": {"where": ""}},
    ]
    body = "result = data.map(({ step, asked }) => stopping(step, asked).map((one) => one.name))"
    cases = [
        {"step": {"otherwise": [{"fires": fires, "tells": False}]}, "asked": inputs}
        for fires in (True, False)
    ]
    assert in_node(tmp_path, {"screens/again": "stopping"}, body, cases) == [["T3", "open"], ["T3"]]
