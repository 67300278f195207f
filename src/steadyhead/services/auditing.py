"""Audit a finished record: one kept on paper against its sheet, or the words of a run with a plan."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from steadyhead.errors import InputError
from steadyhead.findings import Finding, Severity
from steadyhead.procedure.ledger import Ledger, read
from steadyhead.records.job import Job
from steadyhead.records.procedure import Procedure
from steadyhead.services.judging import finding_data
from steadyhead.services.plan_files import BEGINS
from steadyhead.visits.audit import allows_final, audit, told_by_words
from steadyhead.visits.audit.sheet import job_of, read_sheet
from steadyhead.visits.audit.untold import agreed_notes, untold

TOUCH = "RUN-23"
"""The finding of a touch after its proof."""


@dataclass(frozen=True, slots=True)
class Audited:
    """A record, the numbers it was held against and what was found."""

    job: Job
    ledger: Ledger
    findings: tuple[Finding, ...]

    @property
    def allows_final(self) -> bool:
        """Nothing found stands against a final signature."""
        return allows_final(self.findings)


def audit_record(
    sheet: bytes, entries: bytes, *, sheet_name: str = "sheet", entries_name: str = "entries"
) -> Audited:
    """Return what a record kept on paper shows against the handbook.

    Parameters
    ----------
    sheet, entries
        Contents of the two files.
    sheet_name, entries_name
        Names of the files, for messages.

    Raises
    ------
    InputError, InputErrors
        A sheet or entries that cannot be used. A bad line of entries is no error; the ledger names it.
    """
    if sheet.startswith(BEGINS):
        problem = "is a plan; the audit reads a record kept on paper, against the sheet of its job."
        remedy = (
            "Give the sheet, which begins with 'format: steadyhead/job/1'. By a plan: steadyhead run judge."
        )
        raise InputError(sheet_name, problem, remedy)
    job = read_sheet(sheet, sheet_name)
    ledger = read(entries, entries_name)
    return Audited(job, ledger, audit(job, ledger.standing))


def audit_words(procedure: Procedure, ledger: Ledger) -> tuple[Finding, ...]:
    """Return what the notes of a run with a plan tell beyond its entries by step.

    A touch read out of a note of which somebody says that nothing was touched is told, and stands against
    nothing; of what protects, somebody else than who wrote the note must say so, or give it a second look.
    """
    answered = agreed_notes(procedure, ledger.standing)
    told = tuple(
        replace(one, severity=Severity.HEED) if one.code == TOUCH and one.subject in answered else one
        for one in told_by_words(job_of(procedure), ledger.standing)
    )
    known = {finding.subject for finding in told if finding.severity is Severity.STOP}
    more = (one for one in untold(procedure, ledger.standing) if one.subject not in known)
    return (*told, *more)


def audited_data(audited: Audited) -> dict[str, Any]:
    """Return an audit as plain data."""
    return {
        "format": "steadyhead/audit/1",
        "job": audited.job.name,
        "allows_final": audited.allows_final,
        "bad_lines": [str(fault) for fault in audited.ledger.faults],
        "findings": [
            {
                **finding_data(f),
                "entry": f.subject,
                "rule": str(f.params["rule"]),
                "step": str(f.params["step"]),
            }
            for f in audited.findings
        ],
    }
