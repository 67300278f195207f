"""A trial that lay outside is not answered by a newer reading alone, nor by taking it back (F3, F5)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.findings import Severity, tell
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, read
from steadyhead.records.entry import Entry
from steadyhead.services.running_words import Speaker
from tests.procedure.lane import act, against, judged, plan, visit
from tests.procedure.walking import Device

BAR = 1e5
FENS, MILL = "fenwarren-gate", "orrowby-mill"


def _outside(kind: str, step: str, name: str, bar: float, station: str = "quernhollow-lane") -> list[Entry]:
    """Return a clean visit in which a reading was first taken outside, some seconds before the one inside."""
    entries = visit(kind, None, station)
    inside = next(one for one in entries if one.node == step and one.payload.get("input") == name)
    bad = replace(
        inside,
        id="0190bbbb-0000-7000-8000-000000000001",
        payload={**inside.payload, "value": bar * BAR},
        device="tab-9",
        device_seq=1,
        clock_offset=inside.clock_offset - 5.0,
    )
    return [*entries, bad]


def _then(entries: list[Entry], seconds: float, one: Entry) -> list[Entry]:
    """Return the entries with one more, so much after the reading outside."""
    bad = entries[-1] if entries[-1].device == "tab-9" else entries[-2]
    id_ = f"0190cccc-0000-7000-8000-{len(entries):012d}"
    offset = bad.clock_offset + seconds
    placed = replace(one, id=id_, run=bad.run, t_device=bad.t_device, clock_offset=offset)
    return [*entries, placed]


def _codes(entries: list[Entry], kind: str = "first", station: str = "quernhollow-lane") -> set[str]:
    return {code for code, _ in against(judged(kind, entries, station))}


@pytest.mark.parametrize("bar", [5.55, 7.0, 4.5])
def test_a_first_run_outside_and_read_again_stands_against_final(bar: float):
    assert _codes(_outside("first", "F1.SO", "act", bar)) == {"RUN-59"}


@pytest.mark.parametrize(
    ("step", "name", "bar"),
    [
        ("F1.SO", "hold", 5.5),
        ("F2.SO", "peak", 5.6),
        ("F3.SO", "act.2", 5.6),
        ("F3.SO", "act.3", 4.4),
    ],
)
def test_so_do_a_hold_a_peak_and_a_further_run(step: str, name: str, bar: float):
    assert _codes(_outside("first", step, name, bar)) == {"RUN-59"}


def test_a_run_inside_and_read_again_asks_nothing():
    assert _codes(_outside("first", "F1.SO", "act", 5.12)) == set()


def test_so_do_further_runs_of_a_yearly_proof():
    assert _codes(_outside("yearly", "Y6.SO", "act.2", 5.6), "yearly") == {"RUN-59"}


@pytest.mark.parametrize(
    ("station", "step", "name", "bar"),
    [(MILL, "R1.RL", "crack", 9.9), (FENS, "MN1.MON", "T3", 6.4), (FENS, "MN1.MON", "peak", 6.4)],
)
def test_so_do_a_lift_and_what_a_monitor_holds(station: str, step: str, name: str, bar: float):
    assert _codes(_outside("first", step, name, bar, station), "first", station) >= {"RUN-59"}


def test_a_note_of_that_day_at_the_step_answers_it_and_it_is_told():
    note = Device("tab-2").make("note", {"text": "acted at 7.0: raised too fast"}, "F1.SO")
    found = judged("first", _then(_outside("first", "F1.SO", "act", 7.0), 2.0, note))
    assert against(found) == set()
    assert [one.about for one in found.told if one.code == "RUN-59"] == ["F1.SO"]


def test_a_note_elsewhere_does_not():
    note = Device("tab-2").make("note", {"text": "raised too fast"}, "F2.SO")
    assert _codes(_then(_outside("first", "F1.SO", "act", 7.0), 2.0, note)) == {"RUN-59"}


def test_no_note_answers_what_passed_the_rating_of_the_section():
    note = Device("tab-2").make("note", {"text": "raised too fast"}, "F1.SO")
    assert _codes(_then(_outside("first", "F1.SO", "act", 16.5), 2.0, note)) == {"RUN-59"}


def test_a_touch_after_it_answers_it_and_makes_stale_what_was_gained_before():
    touched = _then(_outside("first", "F1.SO", "act", 7.0), 1.0, act("turn", "SO.setting"))
    assert "RUN-59" not in _codes(touched)
    assert _codes(_then(_outside("first", "F1.SO", "act", 7.0), 1.0, act("turn", "RV.nut"))) >= {"RUN-59"}


def test_taken_back_by_the_same_person_somebody_else_looks():
    entries = _outside("first", "F1.SO", "act", 7.0)
    void = Device("tab-2").make("void", {"reason": "slip"})
    void = replace(void, replaces=entries[-1].id, who=entries[-1].who)
    assert _codes(_then(entries, 60.0, void)) == {"RUN-56"}


def test_it_is_told_in_words():
    ledger = read(dump(_outside("first", "F1.SO", "act", 7.0)))
    found = judge(plan("first"), ledger)
    words = Speaker(plan("first"), ledger)
    told = [one.remark for one in found.blocks if one.remark.code == "RUN-59"]
    said = tell(words.finding(told[0], Severity.STOP)).statement
    assert "7.00 bar in a trial at" in said
    assert "expected up to 5.34 bar" in said
