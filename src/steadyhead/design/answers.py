"""Answers of the file meet findings: what a person accepted, with the very value judged, becomes a note."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from steadyhead.findings import CATALOGUE, Finding, Input, Severity
from steadyhead.records.station import Answer


def settled(findings: Iterable[Finding], answers: tuple[Answer, ...]) -> tuple[Finding, ...]:
    """Return the findings with those answered turned to notes.

    An answer meets a finding where code, subject and value hash are the same; when the value changes it falls
    away by itself. Questions and cautions can be answered. A stop stands, unless its catalogue entry says
    that it can be accepted. Dates are not looked at: `until` is for whoever knows the day.

    Parameters
    ----------
    findings
        In any order.
    answers
        From the station file.
    """
    known = {(a.to, a.at, a.value): a for a in answers}
    return tuple(_settled(one, known.get((one.code, one.subject, one.value_hash))) for one in findings)


def _settled(one: Finding, answer: Answer | None) -> Finding:
    if answer is None or one.severity is Severity.NOTE:
        return one
    if one.severity is Severity.STOP and not CATALOGUE[one.code].acceptable:
        return one
    until = f", until {answer.until}" if answer.until else ""
    return replace(
        one,
        severity=Severity.NOTE,
        inputs=(*one.inputs, Input("answer", answer.answer, f"{answer.by}{until}")),
    )
