"""A station file judged, ready to be shown: worked out once for each file, stage of its days, and units."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

from pydantic import BaseModel, ConfigDict
from sqlalchemy import select

from steadyhead.design.sheet import to_json
from steadyhead.findings import Amount, Finding, tell
from steadyhead.findings.telling import answer_line
from steadyhead.records.station import Station
from steadyhead.register import Register
from steadyhead.register.tables import gist, revision
from steadyhead.services.judging import Judged, judge_file
from steadyhead.services.page_words import as_told
from steadyhead.services.prepared import prepared
from steadyhead.services.protection import key_of
from steadyhead.services.stations.days import today as today
from steadyhead.services.stations.kept import not_kept
from steadyhead.services.stations.proofs import KeptProof, at_hand, look_up
from steadyhead.station.canonical import sha256
from steadyhead.station.load import load
from steadyhead.units import METRIC, UnitSet, say

AT_HAND = 24
"""Judged files kept in this process; each takes about one megabyte. Own estimate."""
_HASH = re.compile(r"[0-9a-f]{64}")


class FindingView(BaseModel):
    """A finding as a page shows it, words and figures in the reader's units."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    code: str
    severity: str
    subject: str
    title: str
    statement: str
    why: str
    cure: str
    case: str
    answer: str
    value: str
    limit: str
    margin: str
    value_hash: str
    answer_line: str


class JudgedView(BaseModel):
    """A station file judged: its findings in words, most serious first, and its design sheet in SI."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    file_hash: str
    layout: str
    releasable: bool
    findings: tuple[FindingView, ...]
    sheet: dict[str, Any]


def turning_days(record: Station) -> tuple[str, ...]:
    """Return the days on which this file is judged otherwise than the day before, in order.

    A gauge whose calibration ran out the day before, an answer that held until the day before.
    """
    days = {_day_after(one) for one in (*(g.due for g in record.gauges), *(a.until for a in record.answers))}
    return tuple(sorted(days - {""}))


def stage(days: Iterable[str], day: date) -> str:
    """Return the last of the turning days that has come; empty where none has.

    Examples
    --------
    >>> stage(("2027-03-01", "2028-01-01"), date(2027, 6, 1))
    '2027-03-01'
    """
    return max((one for one in days if one <= day.isoformat()), default="")


def _day_after(words: str) -> str:
    try:
        return (date.fromisoformat(words.strip()) + timedelta(days=1)).isoformat()
    except (ValueError, OverflowError):
        return ""


def judge_at(source: bytes, day: date) -> Judged:
    """Return a file judged as of a day, with its protection proof where one is kept; the last stay at hand.

    Raises
    ------
    InputErrors
        Every bad field of the file.
    """
    return _judged(source, stage(turns_of(source), day), at_hand(sha256(source)))


@lru_cache(maxsize=256)
def turns_of(source: bytes) -> tuple[str, ...]:
    """Return the turning days of a file.

    Raises
    ------
    InputErrors
        Every bad field of the file.
    """
    return turning_days(load(source).station)


@lru_cache(maxsize=AT_HAND)
def _judged(source: bytes, at: str, proof: KeptProof | None) -> Judged:
    day = date.fromisoformat(at) if at else date.min
    judged = judge_file(source, day=day, proof=None if proof is None else proof.sheet)
    if proof is not None and judged.loaded.sheets and key_of(judged.loaded.station) != proof.key:
        return judge_file(source, day=day)  # a data sheet of the library is another by now
    return judged


def judged_view(register: Register, of: str, units: UnitSet = METRIC, day: date | None = None) -> bytes:
    """Return a `JudgedView` as JSON, made now where it was not.

    of: key of a station, for its last revision; or the SHA-256 of a file that is kept.

    Raises
    ------
    NotKept
        No such station or file.
    """
    key, digest, turns, proof = _asked_for(register, of)
    at = stage(turns, day or today())
    parts = {"file": digest, "stage": at, "units": f"{units.name} {units.decimal}", "proof": proof}

    def make() -> bytes:
        return _view(_content(register, digest), digest, at, units).model_dump_json().encode()

    return prepared(register, key, "judged", parts, make)


def _asked_for(register: Register, of: str) -> tuple[str, str, tuple[str, ...], str]:
    """Return key, hash of the file, its turning days, and the hash of its proof."""
    query = select(revision.c.station, revision.c.file, revision.c.canonical, gist.c.body).join(
        gist, gist.c.station == revision.c.station, isouter=True
    )
    by_hash = _HASH.fullmatch(of) is not None
    with register.reading() as connection:
        asked = query.where(revision.c.file == of if by_hash else revision.c.station == of)
        found = connection.execute(asked.order_by(revision.c.number.desc()).limit(1)).first()
        proof = look_up(connection, found.station, found.file, found.canonical) if found else ""
    if found is None:
        raise not_kept(of)
    body = json.loads(found.body) if found.body else {}
    if body.get("file") == found.file:
        return found.station, found.file, tuple(body["turns"]), proof
    return found.station, found.file, turns_of(_content(register, found.file)), proof


def _content(register: Register, digest: str) -> bytes:
    content = register.content(digest)
    if content is None:
        raise not_kept(digest)
    return content


def _view(source: bytes, digest: str, at: str, units: UnitSet) -> JudgedView:
    judged = _judged(source, at, at_hand(digest))
    return JudgedView(
        file_hash=digest,
        layout=judged.sheet.layout,
        releasable=judged.sheet.releasable,
        findings=tuple(finding_view(one, units) for one in judged.sheet.findings),
        sheet=to_json(judged.sheet),
    )


def finding_view(finding: Finding, units: UnitSet = METRIC) -> FindingView:
    """Return a finding in words."""
    told = tell(finding, units)
    return FindingView(
        code=told.code,
        severity=told.severity.value,
        subject=told.subject,
        title=told.title,
        statement=as_told(told.statement),
        why=as_told(told.why),
        cure=as_told(told.cure),
        case=told.case,
        answer=told.answer,
        value=_figure(finding.value, units),
        limit=_figure(finding.limit, units),
        margin=_figure(finding.margin, units),
        value_hash=finding.value_hash,
        answer_line=answer_line(finding) if told.severity.value == "ask" else "",
    )


def _figure(amount: Amount | None, units: UnitSet) -> str:
    return "" if amount is None else say(amount.si, amount.kind, units)
