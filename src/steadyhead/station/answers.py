"""Answers in the station file: which questions they settle, and which no longer fit anything."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from steadyhead.findings import Finding, Severity
from steadyhead.records.station import Answer

SETTLED = (Severity.ASK, Severity.HEED, Severity.NOTE)
"""What an answer can settle; a stop stays a stop until the station changes."""


def answered(findings: Sequence[Finding], answers: Sequence[Answer]) -> tuple[Finding, ...]:
    """Return the findings, those with a fitting answer turned into notes that carry it.

    An answer fits a finding of the same code and subject while the value it was given for is unchanged.
    A finding of severity *stop* is returned as it is.
    """
    given = {(answer.to, answer.at, answer.value): answer for answer in answers}
    return tuple(_settle(finding, given.get(_key(finding))) for finding in findings)


def unmatched(findings: Sequence[Finding], answers: Sequence[Answer]) -> tuple[Finding, ...]:
    """Return a finding for each answer that fits none of the findings: its value changed, or its subject is gone.

    Parameters
    ----------
    findings
        All findings of the station, before or after `answered`.
    """
    keys = {_key(finding) for finding in findings}
    return tuple(
        Finding(
            "STN-01",
            f"answers[{index}]",
            Severity.HEED,
            {"to": answer.to, "at": answer.at, "by": answer.by, "answer": answer.answer},
        )
        for index, answer in enumerate(answers)
        if (answer.to, answer.at, answer.value) not in keys
    )


def _key(finding: Finding) -> tuple[str, str, str]:
    return finding.code, finding.subject, finding.value_hash


def _settle(finding: Finding, answer: Answer | None) -> Finding:
    if answer is None or finding.severity not in SETTLED:
        return finding
    return replace(finding, severity=Severity.NOTE, case=f"answered by {answer.by}: {answer.answer}")
