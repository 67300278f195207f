"""The commissioning of handbook 10.2: blocked for exactly its two mistakes, and for nothing else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.findings import Finding, Severity
from steadyhead.visits.audit import allows_final, audit, told_by_words
from steadyhead.visits.audit.sheet import read_sheet
from tests.visits.audit.notebook import Notebook
from tests.visits.audit.quernhollow import SHEET, commissioning

pytestmark = pytest.mark.source(kind="published", ref="design handbook 10.2 and its answer key")


def findings(book: Notebook) -> tuple[Finding, ...]:
    return audit(read_sheet(SHEET), book.entries)


def said(book: Notebook) -> list[tuple[str, str]]:
    return [(f.code, str(f.params["step"])) for f in findings(book) if f.severity is not Severity.NOTE]


def test_the_day_is_blocked_for_its_two_mistakes_and_for_nothing_else():
    book = commissioning()
    assert said(book) == [("RUN-23", "no step"), ("RUN-34", "H2")]
    assert all(f.severity is Severity.STOP for f in findings(book) if f.severity is not Severity.NOTE)
    assert not allows_final(findings(book))


def test_without_the_turned_screw_only_the_lock_up_stands_against_final():
    assert said(commissioning(screw_turned=False)) == [("RUN-34", "H2")]


def test_with_no_flow_in_the_lock_up_only_the_turned_screw_stands_against_final():
    assert said(commissioning(lockup_flow=0.0)) == [("RUN-23", "no step")]


def test_the_day_without_its_mistakes_is_final_with_nothing_said():
    """Among it: mixed branch, D2 beyond the trip, 5.22 and 5.29, alarm 4.83, H2 after H3."""
    book = commissioning(screw_turned=False, lockup_flow=0.0)
    assert said(book) == []
    assert allows_final(findings(book))


@pytest.mark.parametrize("share", [0.25, 0.5, 0.75, 1.0])
def test_of_a_run_under_way_the_notes_tell_nothing_of_what_is_still_to_come(share: float):
    book = commissioning(screw_turned=False, lockup_flow=0.0)
    half = book.entries[: int(share * len(book.entries))]
    assert told_by_words(read_sheet(SHEET), half) == ()


def test_what_a_note_leaves_out_is_not_told_by_its_words():
    book = commissioning(screw_turned=False, lockup_flow=0.0)
    book.row("J2", "IV2 opened.", acts=[("open", "IV2", "")])
    assert "RUN-22" in {f.code for f in findings(book)}
    assert told_by_words(read_sheet(SHEET), book.entries) == ()


def _edited(old: str, new: str) -> Notebook:
    """Return the clean day with one note of the first run written otherwise."""
    book = commissioning(screw_turned=False, lockup_flow=0.0)
    at = next(k for k, e in enumerate(book.entries) if e.node == "F1" and old in str(e.payload.get("text")))
    entry = book.entries[at]
    text = str(entry.payload["text"]).replace(old, new)
    book.entries[at] = replace(entry, payload={**entry.payload, "text": text})
    return book


@pytest.mark.parametrize(
    "new",
    ["flow 0.3 L/s went on, T3 rising slowly", "T3 slowly climbing", "flow 0.2 L/s continued"],
)
def test_water_that_runs_on_after_the_closing_stands_against_final(new: str):
    assert said(_edited("flow 0, T3 flat", new)) == [("RUN-44", "F1")]


def test_an_alarm_never_put_live_again_stands_against_final():
    book = commissioning(screw_turned=False, lockup_flow=0.0)
    kept = [e for e in book.entries if e.payload.get("do") != "alarm live" and e.node != "J5"]
    book.entries[:] = kept
    assert ("RUN-27", Severity.STOP) in {(f.code, f.severity) for f in findings(book)}
