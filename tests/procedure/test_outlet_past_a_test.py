"""An outlet above the highest pressure of a test is a finding at whatever step it is read."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.ledger import dump, read
from steadyhead.procedure.naming import stands_shut
from steadyhead.procedure.plain import plain
from steadyhead.records.entry import Entry, plain_entry
from tests.procedure.in_js import in_node
from tests.procedure.lane import act, against, before, judged, plan, visit
from tests.procedure.test_in_js import close
from tests.procedure.walking import clean_ways

BAR = 1e5
LANE, GATE = "quernhollow-lane", "fenwarren-gate"
PAST = (
    ("first", "F2R.SO", "T3"),
    ("first", "H6.main", "T3.last"),
    ("first", "H3.low", "T3"),
    ("yearly", "Y1", "T3"),
    ("yearly", "Y3.main", "trickle"),
    ("yearly", "Y3.main", "lockup"),
    ("yearly", "Y5.main", "T3"),
    ("restart", "H3.low", "T3"),
)
FOUND = (("restart", "R4", "T3"), ("restart", "R6", "T3.first"), ("restart", "R7R", "T3"))
MOVES = {
    "far": (act("turn", "IV1", amount=30.0, unit="turns"), True),
    "nobody knows": (act("turn", "IV1"), True),
    "set": (act("set", "IV1"), True),
    "adjusted": (act("adjust", "IV1", detail="fully open"), True),
    "a little": (act("turn", "IV1", amount=0.5, unit="turns"), False),
    "in words": (act("set", "IV1", detail="to V2"), False),
}


def _visit(kind: str, station: str = LANE) -> list[Entry]:
    return visit(kind, (clean_ways(plan(kind, station)) or [{}])[0], station)


def _read(entries: list[Entry], step: str, name: str, value: float, note: str = "") -> list[Entry]:
    """Return the entries with one pressure read as another; a note of it behind."""
    own = next(one for one in entries if one.node == step and one.payload.get("input") == name)
    other = replace(own, payload={**own.payload, "value": value})
    made = [other if one is own else one for one in entries]
    if not note:
        return made
    said = replace(
        own, id="0190dddd-0000-7000-8000-000000000001", kind="note", payload={"text": note}, device="tab-9",
        device_seq=1, clock_offset=own.clock_offset + 3.0,
    )  # fmt: skip
    return [*made, said]


@pytest.mark.parametrize(("kind", "step", "name"), PAST)
def test_an_outlet_above_the_test_limit_stands_against_final(kind: str, step: str, name: str) -> None:
    assert against(judged(kind, _read(_visit(kind), step, name, 6.2 * BAR))) == {("RUN-59", step)}


def test_so_it_does_where_a_monitor_protects() -> None:
    entries = _read(_visit("first", GATE), "H6", "T3.last", 6.2 * BAR)
    assert against(judged("first", entries, GATE)) == {("RUN-59", "H6")}


@pytest.mark.parametrize(("kind", "step", "name"), FOUND)
def test_after_a_trip_the_outlet_is_found_as_it_is(kind: str, step: str, name: str) -> None:
    assert not against(judged(kind, _read(_visit(kind), step, name, 6.2 * BAR)))


def test_below_the_limit_nothing_is_said_and_a_note_of_what_was_found_answers_it() -> None:
    assert not against(judged("first", _read(_visit("first"), "H3.low", "T3", 5.2 * BAR)))
    noted = judged("first", _read(_visit("first"), "H3.low", "T3", 6.2 * BAR, "gauge misread"))
    assert not against(noted)
    assert ("RUN-59", "H3.low") in {(one.code, one.about) for one in noted.told}


def test_above_the_rating_no_note_answers_it() -> None:
    entries = _read(_visit("first"), "H6.main", "T3.last", 20.0 * BAR, "gauge misread")
    assert against(judged("first", entries)) == {("RUN-59", "H6.main")}


@pytest.mark.parametrize("name", list(MOVES))
def test_an_inlet_valve_turned_before_a_raise_counts_as_far_as_it_was_turned(name: str) -> None:
    made, is_far = MOVES[name]
    found = against(judged("first", before(_visit("first"), "F1.SO", made)))
    assert (("RUN-48", "F1.SO") in found) is is_far


def test_a_valve_in_use_is_not_shut_by_a_lock_or_a_seal() -> None:
    for text in ("locked in service", "sealed hose, flowing", "tagged, normal"):
        assert not stands_shut(text), text
    for text in ("locked", "tagged shut, normal", "capped and dry"):
        assert stands_shut(text), text


@pytest.mark.parametrize(("station", "step"), [("mesquill-flat", "C5.low")])
def test_a_line_that_is_filled_goes_by_its_own_limits(station: str, step: str) -> None:
    assert ("RUN-59", step) not in against(judged("first", _visit("first", station), station))


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_the_two_judges_agree(tmp_path: Path) -> None:
    runs = [(kind, _read(_visit(kind), step, name, 6.2 * BAR)) for kind, step, name in (*PAST, *FOUND)]
    runs += [("first", before(_visit("first"), "F1.SO", made)) for made, _ in MOVES.values()]
    runs += [("first", _read(_visit("first"), "H3.low", "T3", 6.2 * BAR, "gauge misread"))]
    data = {
        "plans": {kind: plain(plan(kind)) for kind, _ in runs},
        "runs": [{"kind": kind, "entries": [plain_entry(one) for one in entries]} for kind, entries in runs],
    }
    got = in_node(tmp_path, "result = data.runs.map((one) => judge(data.plans[one.kind], one.entries))", data)
    for (kind, entries), one in zip(runs, got, strict=True):
        wanted = json.loads(json.dumps(plain_judgement(judged(kind, read(dump(entries)).entries))))
        close(one, wanted, kind)
