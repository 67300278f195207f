"""A Stop that was said stands in the office as well, and blocks *final* until somebody lifts it."""

from __future__ import annotations

import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from steadyhead.procedure.ledger import dump, gathered
from steadyhead.procedure.stops import said_stops
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.services.running import JudgedRun, judge_run
from steadyhead.services.visits_kept.judged import _others
from steadyhead.units import METRIC
from tests.procedure.walking import Device
from tests.services.field.light import RUN, planned
from tests.web.field.field_js import in_node


def notes() -> dict[str, Entry]:
    one, other = (Device(name, RUN, start=22 * 3600.0) for name in ("tab-7", "tab-8"))
    made = {
        "stop": one.make("note", {"text": "Stop: gas alarm."}, "A4"),
        "nobody": one.make(
            "note", {"text": "After the Stop of tab-7 no. 1: out. Nobody agreed to go on."}, "A4"
        ),
        "elsewhere": one.make("note", {"text": "All well."}, "A5"),
        "again": other.make("note", {"text": "STOP! Somebody fell."}, "A4"),
        "named": other.make("note", {"text": "After the Stop of tab-7 no. 1: aired. Agreed: desk."}, "A4"),
    }
    made["plain"] = one.make("note", {"text": "Aired, all out. Agreed with the desk."}, "A4")
    made["other"] = other.make("note", {"text": "stopwatch 12.0 s"}, "A4")
    made["spoken"] = other.make("note", {"text": "STOP gas alarm"}, "A4")
    made["bare"] = other.make("note", {"text": "stop"}, "A4")
    made["rule"] = other.make("note", {"text": "Stop point not reached"}, "A4")
    made["refused"] = one.make("note", {"text": "Asked the desk, not agreed"}, "A4")
    made["back"] = replace(made["plain"], id="back", clock_offset=-7200.0)
    made["unsure"] = replace(made["plain"], id="unsure", clock_within=7200.0)
    made["tie"] = replace(made["plain"], id="tie", device="tab-9", t_device=made["stop"].t_device)
    return made


CASES = {
    "stop": 1, "stop nobody": 1, "stop elsewhere": 1, "stop plain": 0, "stop refused": 1, "stop back": 0,
    "stop named": 0,
    "stop again": 2, "stop again named": 1, "again plain": 0, "nobody plain": 0,
    "stop other": 1, "spoken": 1, "bare": 1, "rule": 0,
    "again unsure": 1, "stop unsure": 0, "stop tie": 1,
}  # fmt: skip


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_a_stop_stands_until_a_note_lifts_it_in_python_as_on_the_device(tmp_path: Path):
    made = notes()
    runs = [gathered([made[name] for name in case.split()]).standing for case in CASES]
    assert [len(said_stops(run)) for run in runs] == list(CASES.values())
    body = "result = data.runs.map((run) => stopsOf(run, []).map((one) => one.entry))"
    data: dict[str, Any] = {"runs": [[plain_entry(one) for one in run] for run in runs]}
    found = in_node(tmp_path, {"stops": "stopsOf"}, body, data)
    assert found == [[one.id for one in said_stops(run)] for run in runs]


@cache
def judged(*names: str) -> JudgedRun:
    content, entries = planned()
    made = notes()
    return judge_run(content, dump([*entries, *(made[name] for name in names)]))


def test_a_standing_stop_blocks_final_and_is_told_with_who_when_and_why():
    told = [one for one in _others(judged("stop"), METRIC) if one.code == "RUN-92"]
    assert [(one.subject, one.severity) for one in told] == [("A4", "stop")]
    stop = notes()["stop"]
    assert stop.who in told[0].statement
    assert "gas alarm" in told[0].statement
    assert "After the Stop of tab-7 no. 1" in told[0].cure
    assert not judged("stop").is_final


def test_a_stop_that_was_lifted_is_told_no_more():
    assert not [one for one in judged("stop", "named").words if one.code == "RUN-92"]
