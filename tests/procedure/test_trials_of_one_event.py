"""What is read of one event stands together: a second trip, a peak, a closing, what a note says of them."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from typer.main import get_command

from steadyhead import web
from steadyhead.cli.app import app
from steadyhead.findings import Severity, tell
from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, read
from steadyhead.procedure.plain import plain
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.records.procedure import Procedure
from steadyhead.services.running_words import Speaker
from tests.procedure.in_js import in_node
from tests.procedure.lane import PROVED, RETURNS, against, judged, plan, visit
from tests.procedure.test_in_js import close

BAR = 1e5
LANE, ROW, FENS = "quernhollow-lane", "quillenby-row", "fenwarren-gate"
DIFFER = {("RUN-04", step) for step in ("J2", "R7R", "R8", "F2.SO", "F3.SO", "MN1.MON")}
"""That two devices do not agree is told beside it."""
WATCHED = {**RETURNS, "R8": "returns watched"}
Entries = list[Entry]


def _found(entries: Entries, step: str, name: str) -> Entry:
    return next(one for one in entries if one.node == step and one.payload.get("input") == name)


def _ahead(entries: Entries, step: str, name: str, value: Any, by: float = -5.0, **more: Any) -> Entries:
    """Return the entries with one answer given once before, some seconds ahead of the one that counts."""
    own = _found(entries, step, name)
    number = len(entries)
    bad = replace(
        own,
        id=f"0190dddd-0000-7000-8000-{number:012d}",
        node=more.pop("node", step),
        payload={**own.payload, "value": value, **more},
        device="tab-9",
        device_seq=number,
        clock_offset=own.clock_offset + by,
    )
    return [*entries, bad]


def _beside(entries: Entries, step: str, name: str, kind: str, payload: dict[str, Any], node: str) -> Entries:
    """Return the entries with one made a moment after an answer."""
    own = _found(entries, step, name)
    number = len(entries)
    made = replace(
        own, id=f"0190eeee-0000-7000-8000-{number:012d}", kind=kind, payload=payload, node=node,
        device="tab-9", device_seq=number, clock_offset=own.clock_offset + number / 1000.0 - 4.0,
    )  # fmt: skip
    return [*entries, made]


def _only(entries: Entries, step: str, name: str, value: Any) -> Entries:
    own = _found(entries, step, name)
    return [replace(one, payload={**one.payload, "value": value}) if one is own else one for one in entries]


def _codes(kind: str, entries: Entries, station: str = LANE) -> set[tuple[str, str]]:
    return {(code, about) for code, about in against(judged(kind, entries, station)) if code != "RUN-13"}


def _restart(way: dict[str, str] | None = None) -> Entries:
    return visit("restart", way or RETURNS, ROW)


def _said(how: str, node: str) -> Entries:
    told = _beside(_restart(), "J3", "T3", "position", {"thing": "SO", "is": how}, node)
    return _beside(told, "J3", "T3", "position", {"thing": "SO", "is": "open"}, node)


def _tried(kind: str, payload: dict[str, Any], node: str) -> Entries:
    told = _beside(_restart(), "R7T", "lockup", kind, {"thing": "SO", **payload}, node)
    return _beside(told, "J3", "T3", "position", {"thing": "SO", "is": "open"}, node and "J3")


SECOND: dict[str, tuple[str, Callable[[], Entries]]] = {
    "acts while it is opened": ("J2", lambda: _ahead(_restart(), "J2", "trips", True)),
    "stands tripped in demand": ("J2", lambda: _said("tripped", "J3")),
    "stands shut in demand": ("J2", lambda: _said("Shut", "J3")),
    "stands tripped, at no step": ("J2", lambda: _said("tripped", "")),
    "acts while its reducer is tried": ("J2", lambda: _tried("action", {"do": "trip"}, "R7T")),
    "stands tripped meanwhile, at no step": ("J2", lambda: _tried("position", {"is": "tripped"}, "")),
    "peak at the reset": ("R7R", lambda: _ahead(_restart(), "R7R", "peak", 7.0 * BAR)),
    "does not close at the reset": ("R7R", lambda: _ahead(_restart(), "R7R", "closes", False)),
    "a second trip told at R8": (
        "R8",
        lambda: _only(_ahead(_restart(WATCHED), "R8", "second", True), "R8", "understood", False),
    ),
}


def test_a_second_trip_is_not_hidden_by_noting_once_more_that_the_line_runs_clear():
    way = PROVED
    told = _beside(visit("restart", way, ROW), "J3", "T3", "position", {"thing": "SO", "is": "tripped"}, "")
    told = _beside(told, "J3", "T3", "position", {"thing": "SO", "is": "open"}, "")
    own, last = _found(told, "J1", "clear"), _found(told, "J6", "gauge")
    again = replace(
        own, id="0190ffff-0000-7000-8000-000000000009", device="tab-9", device_seq=len(told) + 9,
        t_device=last.t_device, clock_offset=last.clock_offset + 1.0,
    )  # fmt: skip
    assert ("RUN-08", "J2") in _codes("restart", [*told, again], ROW)
    assert _codes("restart", visit("restart", way, ROW), ROW) == set()


def test_a_second_trip_is_not_hidden_by_noting_every_answer_before_it_once_more():
    told = _beside(
        visit("restart", PROVED, ROW), "J3", "T3", "position", {"thing": "SO", "is": "tripped"}, ""
    )
    told = _beside(told, "J3", "T3", "position", {"thing": "SO", "is": "open"}, "")
    last = _found(told, "J6", "gauge")
    for number, (step, name) in enumerate((("J1", "clear"), ("R8P", "stands"), ("J1", "clear")), start=11):
        own = replace(
            _found(told, step, name), id=f"0190ffff-0000-7000-8000-{number:012d}", device="tab-9",
            device_seq=len(told) + number, t_device=last.t_device, clock_offset=last.clock_offset + number,
        )  # fmt: skip
        told = [*told, own]
    assert ("RUN-08", "J2") in _codes("restart", told, ROW)


def test_the_help_of_run_enter_lists_the_words_by_which_a_note_answers():
    root: Any = get_command(app)
    command = root.commands["run"].commands["enter"]
    said = next(one.help for one in command.params if one.name == "words")
    page = (Path(web.__file__).parent / "templates" / "visits" / "run.html").read_text(encoding="utf-8")
    assert [one for one in plan("first").minding.causes if one not in said or one not in page] == []


@pytest.mark.parametrize("name", list(SECOND))
def test_a_second_trip_stands_whatever_is_entered_after_it(name: str):
    step, entries = SECOND[name]
    assert _codes("restart", entries(), ROW) - DIFFER == {("RUN-08", step)}


def test_no_deviation_accepts_a_second_trip():
    entries = _ahead(_restart(), "J2", "trips", True)
    paper = {
        "about": "J2", "what": "tripped", "risk": "again", "owner": "Owner", "due": "2029-01-01",
        "accepted_by": "Somebody Above",
    }  # fmt: skip
    last = entries[-2]
    accepted = replace(
        last, id="0190ffff-0000-7000-8000-000000000001", kind="deviation", payload=paper, node="",
        device="tab-8", device_seq=1, clock_offset=last.clock_offset + 60.0,
    )  # fmt: skip
    assert ("RUN-08", "J2") in _codes("restart", [*entries, accepted], ROW)


def test_a_second_trip_corrected_by_the_same_person_asks_for_somebody_else():
    entries = _ahead(_restart(), "J2", "trips", True)
    bad = entries[-1]
    mend = replace(
        bad, id="0190ffff-0000-7000-8000-000000000002", kind="correction", replaces=bad.id, node="J2",
        payload={"payload": {"value": False}, "reason": "slip"}, device_seq=bad.device_seq + 1,
        clock_offset=bad.clock_offset + 60.0,
    )  # fmt: skip
    assert _codes("restart", [*entries, mend], ROW) == {("RUN-56", "run")}


def test_a_trip_below_its_lower_edge_is_proved_before_the_station_returns():
    low = _only(_only(_restart(), "R6", "log", True), "R6", "peak", 4.5 * BAR)
    assert _codes("restart", low, ROW) == {("RUN-08", "R8")}


@pytest.mark.parametrize(("kind", "step"), [("first", "F3.SO"), ("yearly", "Y6.SO")], ids=["first", "yearly"])
@pytest.mark.parametrize("name", ["peak.2", "peak.3"])
def test_a_peak_of_a_further_run_past_the_test_limit_is_refused(kind: str, step: str, name: str):
    assert ("RUN-09", step) in _codes(kind, _only(visit(kind), step, name, 7.0 * BAR))
    assert _codes(kind, _ahead(visit(kind), step, name, 7.0 * BAR)) == {("RUN-59", step)}


FACTS = [
    ("F2.SO", "closing", 12.0),
    ("F3.SO", "closing.2", 15.0),
    ("F3.SO", "closing.3", 15.0),
    ("F2.SO", "T3.watch", 5.2 * BAR),
    ("F2.SO", "flow.after", 0.0003),
]


@pytest.mark.parametrize(("step", "name", "value"), FACTS)
def test_what_was_read_of_a_run_is_not_read_again_without_another_run(step: str, name: str, value: float):
    assert _codes("first", _ahead(visit("first"), step, name, value)) - DIFFER == {("RUN-59", step)}


@pytest.mark.parametrize(("station", "step"), [(LANE, "H5.main"), (LANE, "J2"), (ROW, "H5"), (ROW, "J2")])
def test_a_shut_off_that_acted_is_not_answered_by_saying_no(station: str, step: str):
    entries = _ahead(visit("first", None, station), step, "trips", True)
    assert _codes("first", entries, station) - {("RUN-04", step)} == {("RUN-59", step)}
    told = _beside(entries, step, "trips", "note", {"text": "opened in one go: raised too fast"}, step)
    found = judged("first", told, station)
    assert "RUN-59" not in {code for code, _ in against(found)}
    assert "RUN-59" in {one.code for one in found.told}
    ledger = read(dump(entries))
    blocks = judge(plan("first", station), ledger).blocks
    remark = next(one.remark for one in blocks if one.remark.code == "RUN-59")
    said = tell(Speaker(plan("first", station), ledger).finding(remark, Severity.STOP)).statement
    assert "was yes in a trial" in said
    assert "expected no, from first to last" in said


def _typed_as_text(by: float) -> Entries:
    return _ahead(visit("first"), "F1.SO", "act", "7.0 bar", by)


def test_a_value_typed_as_text_stands_against_final_until_it_is_read_again():
    assert _codes("first", _typed_as_text(5.0)) == {("RUN-06", "F1.SO")}
    found = judged("first", _typed_as_text(-5.0))
    assert against(found) == set()
    assert ("RUN-06", "F1.SO") in {(one.code, one.about) for one in found.told}


def _run_again() -> Entries:
    """Return a visit in which the third run closed slowly, was made once more, and closed in time."""
    entries = _ahead(visit("first"), "F3.SO", "closing.3", 15.0, -9.0)
    own = _found(entries, "F3.SO", "closing.3")
    act = _found(entries, "F3.SO", "act.3")
    again = replace(
        act, id="0190ffff-0000-7000-8000-000000000003", device="tab-9", device_seq=len(entries) + 1,
        t_device=own.t_device, clock_offset=own.clock_offset - 4.0,
    )  # fmt: skip
    return [*entries, again]


def test_another_run_answers_it_and_it_is_told():
    found = judged("first", _run_again())
    assert "RUN-59" in {one.code for one in found.told}
    assert "RUN-59" not in {code for code, _ in against(found)}


def _gauge(entries: Entries, step: str, **said: Any) -> Entries:
    """Return the entries with a step read by a second gauge."""
    first = next(one for one in entries if one.kind == "instrument")
    second = replace(
        first, id="0190ffff-0000-7000-8000-000000000004", payload={**first.payload, "name": "TG-3", **said},
        device="tab-9", device_seq=1, clock_offset=first.clock_offset + 1.0,
    )  # fmt: skip
    moved = [
        replace(one, payload={**one.payload, "instrument": "TG-3"})
        if one.node == step and one.payload.get("instrument") == first.payload["name"]
        else one
        for one in entries
    ]
    return [*moved, second]


@pytest.mark.parametrize(
    "said", [{"class": 0.04, "high": 16 * BAR}, {"zero": 0.9 * BAR}, {"class": 0.04, "zero": 0.6 * BAR}]
)
def test_a_lockup_is_read_with_a_gauge_fit_for_it(said: dict[str, Any]):
    assert ("RUN-06", "H2.RV") in _codes("first", _gauge(visit("first"), "H2.RV", **said))


@pytest.mark.parametrize("step", ["F1.SO", "F3.SO", "H2.RV"])
@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"zero": 0.3 * BAR, "division": 1.0 * BAR}, {"zero off", "division too coarse"}),
        ({"zero": 0.3 * BAR, "division": 0.1 * BAR}, {"zero off"}),
        ({"division": 1.0 * BAR}, {"division too coarse"}),
        ({"division": 0.1 * BAR}, set()),
    ],
)
def test_a_coarse_division_excuses_no_zero_and_is_told(step: str, said: dict[str, Any], why: set[str]):
    found = judged("first", _gauge(visit("first"), step, **said))
    blocked = [one.remark for one in found.blocks if one.remark.code == "RUN-06"]
    assert {str(one.params["why"]) for one in blocked} == why


def _pair(hold: float, act: float) -> Entries:
    entries = _ahead(visit("first"), "F1.SO", "hold", hold * BAR, -40.0)
    first = _found(entries, "F1.SO", "hold")
    bad = _ahead(entries, "F1.SO", "act", act * BAR)[-1]
    return [*entries, replace(bad, t_device=first.t_device, clock_offset=first.clock_offset - 20.0)]


@pytest.mark.parametrize(("hold", "act"), [(4.5, 5.10), (4.0, 5.2)])
def test_a_run_in_large_steps_that_leaves_the_trip_inside_found_nothing_outside(hold: float, act: float):
    assert _codes("first", _pair(hold, act)) == set()


@pytest.mark.parametrize(("hold", "act"), [(4.0, 4.6), (4.55, 4.6), (5.4, 5.42)])
def test_a_run_that_acted_outside_did(hold: float, act: float):
    assert _codes("first", _pair(hold, act)) == {("RUN-59", "F1.SO")}


def test_a_monitor_read_below_while_the_reducer_is_raised_up_to_it_is_on_the_way():
    below = _ahead(visit("first", None, FENS), "MN1.MON", "T3", 4.6 * BAR)
    assert _codes("first", below, FENS) <= DIFFER


def _noted(text: str, **more: Any) -> Entries:
    entries = _ahead(visit("first"), "F1.SO", "act", 5.6 * BAR)
    told = _beside(entries, "F1.SO", "act", "note", {"text": text}, "F1.SO")
    return [*told[:-1], replace(told[-1], **more)]


@pytest.mark.parametrize("text", ["raised too fast", "acted at 5.6: Raised too fast.", "cause not found"])
def test_a_note_that_ends_with_a_word_of_the_list_answers(text: str):
    found = judged("first", _noted(text))
    assert against(found) == set()
    assert "RUN-59" in {one.code for one in found.told}


@pytest.mark.parametrize("text", [".", "sunny", "desk informed", "not raised too fast", "raised too fast?"])
def test_any_other_note_does_not(text: str):
    assert _codes("first", _noted(text)) == {("RUN-59", "F1.SO")}


def test_nor_does_a_note_by_nobody():
    assert _codes("first", _noted("raised too fast", who="")) == {("RUN-59", "F1.SO")}


def test_the_plan_lists_the_words_and_the_finding_says_them():
    causes = plan("first").minding.causes
    ledger = read(dump(_noted(".")))
    found = next(one.remark for one in judge(plan("first"), ledger).blocks if one.remark.code == "RUN-59")
    said = tell(Speaker(plan("first"), ledger).finding(found, Severity.STOP))
    assert [one for one in causes if one not in said.cure] == []


@pytest.mark.parametrize(
    "more", [{"node": ""}, {"input": "Act"}, {"input": "T3"}], ids=["no step", "its name", "the tap"]
)
def test_a_trip_reading_that_no_step_asks_for_counts_as_found(more: dict[str, Any]):
    entries = _ahead(visit("first"), "F1.SO", "act", 7.0 * BAR, **more)
    assert _codes("first", entries) == {("RUN-59", "F1.SO")}
    ledger = read(dump(entries))
    words = Speaker(plan("first"), ledger)
    told = [one.remark for one in judge(plan("first"), ledger).blocks if one.remark.code == "RUN-59"]
    assert "7.00 bar" in tell(words.finding(told[0], Severity.STOP)).statement


def test_the_two_judges_agree(tmp_path: Path):
    first = [_ahead(visit("first"), *fact) for fact in FACTS]
    first += [_ahead(visit("first"), step, "trips", True) for step in ("H5.main", "J2")]
    first += [_typed_as_text(5.0), _typed_as_text(-5.0)]
    first += [_run_again(), _pair(4.5, 5.1), _pair(4.0, 4.6), _noted("."), _noted("x: Gauge misread.")]
    first += [_ahead(visit("first"), "F1.SO", "act", 7.0 * BAR, node="")]
    first += [_gauge(visit("first"), "F1.SO", zero=0.3 * BAR, division=1.0 * BAR)]
    _agree(tmp_path, plan("first"), first)
    _agree(tmp_path, plan("restart", ROW), [made() for _, made in SECOND.values()])


def _agree(folder: Path, stored: Procedure, runs: list[Entries]) -> None:
    wanted = [json.loads(json.dumps(plain_judgement(judge(stored, read(dump(one)))))) for one in runs]
    data = {"plan": plain(stored), "runs": [[plain_entry(one) for one in run] for run in runs]}
    got = in_node(folder, "result = data.runs.map((run) => judge(data.plan, run))", data)
    for index, one in enumerate(wanted):
        close(got[index], one, str(index))
