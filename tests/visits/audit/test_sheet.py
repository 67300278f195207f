"""The sheet of a job kept on paper, the command that reads it, and notes of a run that has a plan."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from steadyhead.cli.app import run
from steadyhead.errors import InputErrors
from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import Entry
from steadyhead.services.auditing import audit_record
from steadyhead.services.planning import make_plan
from steadyhead.station import examples
from steadyhead.visits.audit import told_by_words
from steadyhead.visits.audit.sheet import job_of, read_sheet
from tests.procedure.walking import clean_ways, walk
from tests.visits.audit.quernhollow import SCREW_TURNED, SHEET, commissioning


def test_a_sheet_gives_si_numbers():
    job = read_sheet(SHEET)
    assert job.trip == pytest.approx(5.1e5)
    assert job.duty_flow == pytest.approx(5e-3)
    assert job.stopwatch == (5.0, 8.0)
    assert job.test_limit == pytest.approx(5.31e5)


@pytest.mark.parametrize(
    ("line", "field"),
    [
        ("format: other/1", "format"),
        ("kind: monthly", "kind"),
        ("layout: upside down", "layout"),
        ("numbers: {trip: high}", "numbers.trip"),
        ("numbers: {tripp: 5 bar}", "numbers.tripp"),
        ("stopwatch: soon", "stopwatch"),
        ("colour: red", "colour"),
    ],
)
def test_a_field_that_cannot_be_used_is_named_with_a_remedy(line: str, field: str):
    head = "" if line.startswith("format") else "format: steadyhead/job/1\n"
    with pytest.raises(InputErrors) as raised:
        read_sheet(head + line)
    assert raised.value.errors[0].field == field
    assert raised.value.errors[0].remedy


def test_a_record_goes_through_its_file_and_is_audited_the_same():
    book = commissioning()
    audited = audit_record(SHEET.encode(), dump(book.entries))
    assert [f.code for f in audited.findings if f.severity.value == "stop"] == ["RUN-23", "RUN-34"]
    assert not audited.allows_final


def test_the_command_says_what_stands_against_final_and_exits_with_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    sheet, entries = tmp_path / "job.yaml", tmp_path / "entries.jsonl"
    sheet.write_text(SHEET, encoding="utf-8")
    entries.write_bytes(dump(commissioning().entries))
    assert run(["run", "audit", str(sheet), str(entries)]) == 1
    told = capsys.readouterr().out
    assert "Against final: 2" in told
    assert run(["run", "audit", str(sheet), str(entries), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert [f["rule"] for f in data["findings"] if f["severity"] == "stop"] == ["V4", "H2"]
    entries.write_bytes(dump(commissioning(screw_turned=False, lockup_flow=0.0).entries))
    assert run(["run", "audit", str(sheet), str(entries)]) == 0


@pytest.mark.parametrize("name", ["dunmarrow-bottom", "quernhollow-lane"])
def test_notes_beside_a_plan_are_read_and_a_clean_run_tells_nothing(name: str):
    procedure = make_plan(examples.read(name), "first").procedure
    assert procedure is not None
    entries = walk(procedure, clean_ways(procedure)[0])
    assert told_by_words(job_of(procedure), entries) == ()
    for text, codes in ((SCREW_TURNED, ["RUN-23"]), ("SO screw looked at: mark in line, not touched", [])):
        noted = replace(
            entries[-1], id="note-1", node="", kind="note", payload={"text": text}, who="Tam Oduya"
        )
        found = told_by_words(job_of(procedure), (*entries, noted))
        assert [f.code for f in found if f.severity.value == "stop"] == codes


def test_entries_of_strange_content_do_no_harm():
    strange = [
        Entry(
            "1",
            "r",
            "F1",
            "d",
            1,
            "reading",
            {"input": "T3", "value": True, "flow": "much"},
            "",
            "2027-04-14T08:00:00+01:00",
        ),
        Entry("2", "r", "F1", "d", 2, "note", {"text": "((" * 200}, "", "2027-04-14T08:00:00+01:00"),
        Entry(
            "3",
            "r",
            "H2",
            "d",
            3,
            "reading",
            {"input": "T3", "tap": "T3", "as": 7},
            "",
            "2027-04-14T08:00:00+01:00",
        ),
        Entry(
            "4",
            "r",
            "??",
            "d",
            4,
            "sign",
            {"asks": "final", "as_left": {"trip": "high"}},
            "",
            "2027-04-14T08:00:00+01:00",
        ),
        Entry("5", "r", "", "d", 5, "newer kind", {}, "", "2027-04-14T08:00:00+01:00"),
    ]
    for kind in ("first", "yearly", "restart"):
        told_by_words(replace(read_sheet(SHEET), kind=kind), strange)
