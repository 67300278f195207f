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
    the entry asks for an authority, an answer without one, without the day it decided, or without what it
    decided, settles nothing; a decision against what stands in the line turns the question into a stop.
    Dates are not looked at: `until` is for whoever knows the day, see `without_expired`.
    """
    given = {_given(answer): answer for answer in answers}
    return tuple(_settle(finding, given.get(_key(finding))) for finding in findings)


def unmatched(findings: Sequence[Finding], answers: Sequence[Answer]) -> tuple[Finding, ...]:
    """Return a finding for each answer that settles nothing: value changed, subject gone, no decision named.

    One beside another that does fit the same question is not told: a question answered with the protection
    proof and without it has two values.

    Parameters
    ----------
    findings
        All findings of the station; `answered` leaves code, subject and value as they are.
    """
    keys = {_key(finding) for finding in findings}
    settling = {_asked(one) for one in answers if _given(one) in keys and not _lacks(one)}
    found = []
    for index, answer in enumerate(answers):
        fits, lacks = _given(answer) in keys, _lacks(answer)
        if (fits and not lacks) or (not fits and _asked(answer) in settling):
            continue
        params = {"to": answer.to, "at": answer.at, "by": answer.by, "answer": answer.answer}
        params |= {"lacks": " and ".join(lacks)} if fits else {}
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


def _given(answer: Answer) -> tuple[str, str, str]:
    return answer.to, answer.at, answer.value


def _asked(answer: Answer) -> tuple[str, str]:
    return answer.to, answer.at


def _lacks(answer: Answer) -> list[str]:
    """Return which fields an answer leaves out that its finding asks for."""
    entry = CATALOGUE.get(answer.to)
    if entry is None:
        return []
    wanted = [("authority", answer.authority), ("decided", answer.decided)] if entry.needs_authority else []
    wanted += [("shut_off", answer.shut_off)] if entry.stops_on else []
    return [name for name, given in wanted if not given.strip()]


def _settle(finding: Finding, answer: Answer | None) -> Finding:
    if answer is None:
        return finding
    acceptable = finding.severity is Severity.STOP and CATALOGUE[finding.code].acceptable
    if finding.severity not in SETTLED and not acceptable:
        return finding
    if _lacks(answer):
        return finding
    decided = f", decided by {answer.authority}" if answer.authority else ""
    on = f", on {answer.decided}" if answer.decided else ""
    until = f", until {answer.until}" if answer.until else ""
    words = f"Shut-off {answer.shut_off}. {answer.answer}" if answer.shut_off else answer.answer
    given = Input("answer", words, f"{answer.by}{decided}{on}{until}")
    stops = answer.shut_off in CATALOGUE[finding.code].stops_on
    weight = Severity.STOP if stops else Severity.NOTE
    return replace(finding, severity=weight, inputs=(*finding.inputs, given))
