"""Answers in the station file: which questions they settle, and which no longer fit anything."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from steadyhead.findings import CATALOGUE, Finding, Input, Severity
from steadyhead.records.station import Answer, Station

SETTLED = (Severity.ASK, Severity.HEED)
"""What an answer can settle; a stop stays, unless its catalogue entry says that it can be accepted."""


def answered(findings: Sequence[Finding], answers: Sequence[Answer]) -> tuple[Finding, ...]:
    """Return the findings, those with a fitting answer turned into notes that carry it.

    An answer fits a finding of the same code and subject while the value it was given for is unchanged.
    A finding of severity *stop* is returned as it is, unless its catalogue entry lets it be accepted. Where
    the entry asks for an authority, an answer without one, or without the day it decided, settles nothing.
    Dates are not looked at: `until` is for whoever knows the day, see `without_expired`.
    """
    given = {(answer.to, answer.at, answer.value): answer for answer in answers}
    return tuple(_settle(finding, given.get(_key(finding))) for finding in findings)


def unmatched(findings: Sequence[Finding], answers: Sequence[Answer]) -> tuple[Finding, ...]:
    """Return a finding for each answer that settles nothing: value changed, subject gone, no authority named.

    Parameters
    ----------
    findings
        All findings of the station; `answered` leaves code, subject and value as they are.
    """
    keys = {_key(finding) for finding in findings}
    found = []
    for index, answer in enumerate(answers):
        fits = (answer.to, answer.at, answer.value) in keys
        if fits and not _lacks_authority(answer):
            continue
        params = {"to": answer.to, "at": answer.at, "by": answer.by, "answer": answer.answer}
        found.append(Finding("STN-13" if fits else "STN-01", f"answers[{index}]", Severity.HEED, params))
    return tuple(found)


def without_expired(station: Station, day: date) -> tuple[Station, tuple[Finding, ...]]:
    """Return the station without answers whose `until` has passed, and a finding for each of them.

    A day that cannot be read counts as passed: an answer must not last longer than was meant.
    """
    kept, told = [], []
    for index, answer in enumerate(station.answers):
        if not answer.until or _is_to_come(answer.until, day):
            kept.append(answer)
            continue
        params = {"to": answer.to, "at": answer.at, "by": answer.by, "until": answer.until}
        told.append(Finding("STN-02", f"answers[{index}]", Severity.HEED, params))
    return station.model_copy(update={"answers": tuple(kept)}), tuple(told)


def _is_to_come(until: str, day: date) -> bool:
    try:
        return date.fromisoformat(until.strip()) >= day
    except ValueError:
        return False


def _key(finding: Finding) -> tuple[str, str, str]:
    return finding.code, finding.subject, finding.value_hash


def _lacks_authority(answer: Answer) -> bool:
    """Return whether an answer leaves out the authority, or its day, that the finding asks for."""
    entry = CATALOGUE.get(answer.to)
    asked = entry is not None and entry.needs_authority
    return asked and not (answer.authority.strip() and answer.decided.strip())


def _settle(finding: Finding, answer: Answer | None) -> Finding:
    if answer is None:
        return finding
    acceptable = finding.severity is Severity.STOP and CATALOGUE[finding.code].acceptable
    if finding.severity not in SETTLED and not acceptable:
        return finding
    if _lacks_authority(answer):
        return finding
    decided = f", decided by {answer.authority}" if answer.authority else ""
    on = f", on {answer.decided}" if answer.decided else ""
    until = f", until {answer.until}" if answer.until else ""
    given = Input("answer", answer.answer, f"{answer.by}{decided}{on}{until}")
    return replace(finding, severity=Severity.NOTE, inputs=(*finding.inputs, given))
