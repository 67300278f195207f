"""The gist of a station: what the list finds, sorts and shows of it, and what heads each of its pages.

It follows from the last revision, runs, proofs and upkeep, and is renewed in the transaction that changes one
of these, and on the days on which something falls due.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any

from sqlalchemy import Connection, delete, func, insert, select, update

from steadyhead.design.twin import SteadyTwin
from steadyhead.drawings.station_row import RowFacts, draw_row
from steadyhead.errors import InputErrors
from steadyhead.records.station import Station
from steadyhead.register import Register
from steadyhead.register.core import Writing
from steadyhead.register.reading import order_told
from steadyhead.register.tables import (
    audit,
    blob,
    fitting,
    listing,
    piece,
    record,
    released,
    revision,
    station,
)
from steadyhead.register.tables import due as due_table
from steadyhead.register.tables import gist as table
from steadyhead.services.logs.crossed import standing_in
from steadyhead.services.stations.judged import judge_at, today
from steadyhead.services.stations.kept import not_kept
from steadyhead.services.stations.last_read import LastRead, last_read
from steadyhead.services.stations.situation import Judgement, Mark, Situation, situation
from steadyhead.services.stations.summary import EMPTY, Summary, summary_in
from steadyhead.services.upkeep.next_due import NextDue, next_due
from steadyhead.services.upkeep.renew import put_standing, renew_due
from steadyhead.services.upkeep.unproved import never_proved
from steadyhead.services.visits_kept.standing import Standing, standing

PROOF_MARKS: Mapping[str, Mark] = {
    "none": "unknown",
    "stands": "holds",
    "due": "due",
    "stale": "slipped",
    "open": "due",
    "tripped": "dropped",
    "refused": "struck",
}
"""The state mark of each proof state."""
MOST_WORDS = 4_000
"""Most characters of what a station is found by. Own estimate."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What the register holds of a station besides its file, as the gist needs it."""

    number: int
    digest: str
    release: int
    release_of: int
    changed_at: str
    changed_by: str
    changed: str
    struck: str
    records: Mapping[str, int]
    serials: tuple[str, ...]


def renew(writing: Writing | Connection, register: Register, key: str, day: date | None = None) -> Situation:
    """Work out the gist of a station anew, inside the transaction that changed something of it.

    day: as of when; today where left out.

    Raises
    ------
    NotKept
        No such station.
    """
    connection = writing.connection if isinstance(writing, Writing) else writing
    day = day or today()
    kept = _kept(connection, key)
    before = connection.execute(select(table.c.body).where(table.c.station == key)).scalar()
    known = json.loads(before) if before else {}
    turns = known["turns"] if known.get("file") == kept.digest else None
    try:
        summary = summary_in(
            connection, key, kept.digest, lambda: _bytes(connection, kept.digest), day, turns
        )
    except InputErrors as problem:
        summary = _unreadable(connection, key, problem)
    read = None
    if summary.layout != EMPTY.layout:
        read = last_read(connection, key, kept.digest, lambda: _station(connection, kept.digest, day))
    renew_due(connection, register, key, day)
    proof = standing(connection, register, key, day)
    is_shut = proof.state == "tripped"  # what went stale before a trip is due all the same
    proofs = standing(connection, register, key, day, is_trip_told=False) if is_shut else proof
    put_standing(connection, key, proofs, day)
    due = next_due(connection, key, day)
    unproved = never_proved(connection, key, day)
    crossed = standing_in(connection, key, day)
    if kept.struck:  # off the list, so on none of upkeep, nor in a calendar
        connection.execute(delete(due_table).where(due_table.c.station == key))
    judged = situation(
        summary.findings, proof, due, day, prove=summary.prove, unproved=unproved, crossed=crossed
    )
    connection.execute(
        update(station).where(station.c.key == key).values(_row(key, kept, summary, judged, proof, due, day))
    )
    body = _json(_body(kept, summary, judged, proof, due, read))
    line = _json(_line(summary, judged, proof, read))
    if before is None:
        connection.execute(insert(table).values(station=key, body=body, line=line))
    else:
        connection.execute(update(table).where(table.c.station == key).values(body=body, line=line))
    return judged


def renew_old(register: Register, day: date | None = None, most: int = 200) -> int:
    """Renew gists of another day, the oldest first, and return how many were renewed.

    Of a later day too: such a one was made while a clock was wrong.

    For the worker, at its start and each day: call it until it returns 0. Each takes a short transaction.
    """
    day = day or today()
    query = select(station.c.key).where(station.c.gist_day != day.isoformat(), station.c.head > 0)
    with register.reading() as connection:
        keys = (
            connection.execute(query.order_by(station.c.gist_day, station.c.key).limit(most)).scalars().all()
        )
    from steadyhead.services.stations.beforehand import work_out_beforehand

    for at in range(0, len(keys), AT_ONCE):
        for key in keys[at : at + AT_ONCE]:
            work_out_beforehand(register, key, day)
        with register.caching() as connection:
            for key in keys[at : at + AT_ONCE]:
                renew(connection, register, key, day)
    return len(keys)


AT_ONCE = 10
"""Gists renewed in one transaction, so that nobody who writes waits long. Own estimate."""


def _unreadable(connection: Connection, key: str, problem: InputErrors) -> Summary:
    """Return what is known of a station whose kept file this version refuses; the rest of it goes on."""
    c = station.c
    name, place = connection.execute(select(c.name, c.place).where(c.key == key)).one()
    told = Judgement("stop", "", f"station file is not read by this version: {problem.errors[0]}")
    return replace(EMPTY, name=name or key, place=place, findings=(told,))


def _json(plain: dict[str, Any]) -> str:
    return json.dumps(plain, ensure_ascii=False, separators=(",", ":"))


def _kept(connection: Connection, key: str) -> Kept:
    c, r, a = revision.c, released.c, audit.c
    head = connection.execute(
        select(c.number, c.file).where(c.station == key).order_by(c.number.desc()).limit(1)
    ).first()
    if head is None:
        raise not_kept(key)
    last = connection.execute(
        select(r.number, r.revision).where(r.station == key).order_by(r.number.desc()).limit(1)
    ).first()
    done = connection.execute(
        select(a.at, a.who, a.act).where(a.subject == key).order_by(a.seq.desc()).limit(1)
    ).first()
    counts = connection.execute(
        select(record.c.kind, func.count()).where(record.c.station == key).group_by(record.c.kind)
    ).all()
    serials = connection.execute(
        select(piece.c.serial)
        .join(fitting, fitting.c.piece == piece.c.id)
        .where(fitting.c.station == key)
        .distinct()
        .order_by(piece.c.serial)
    ).scalars()
    return Kept(
        number=head.number,
        digest=head.file,
        release=last.number if last else 0,
        release_of=last.revision if last else 0,
        changed_at=done.at if done else "",
        changed_by=done.who if done else "",
        changed=done.act if done else "",
        struck=_struck(connection, key),
        records={str(kind): int(count) for kind, count in counts},
        serials=tuple(serials),
    )


def _struck(connection: Connection, key: str) -> str:
    """Return why a station is off the list; empty where it is on it."""
    c = listing.c
    rows = connection.execute(select(c.id, c.what, c.reason).where(c.station == key)).all()
    if not rows:
        return ""
    told = order_told(connection, key, listing)
    last = max(rows, key=lambda row: told.get(row.id, 0))
    return str(last.reason) if last.what == "off" else ""


def _bytes(connection: Connection, digest: str) -> bytes:
    return bytes(connection.execute(select(blob.c.bytes).where(blob.c.hash == digest)).scalar_one())


def _station(connection: Connection, digest: str, day: date) -> tuple[Station, float]:
    """Return the station of a file, and the density of its water [kg/m³]."""
    station = judge_at(_bytes(connection, digest), day).loaded.station
    return station, SteadyTwin(station).water.density


def _row(
    key: str, kept: Kept, summary: Summary, judged: Situation, proof: Standing, due: NextDue, day: date
) -> dict[str, Any]:
    worst = judged.words + (f", because {judged.because}" if judged.because else "")
    return {
        "name": summary.name,
        "place": summary.place,
        "head": kept.number,
        "weight": judged.weight,
        "worst": worst if judged.needs else "",
        "proof": proof.state,
        "proof_words": proof.words,
        "next_due": due.on,
        "due_words": due.words,
        "changed_at": kept.changed_at,
        "released": f"r{kept.release}" if kept.release and kept.release_of == kept.number else "",
        "struck": kept.struck,
        "search": _words(key, kept, summary, judged, proof, due),
        "gist_day": day.isoformat(),
    }


def _words(key: str, kept: Kept, summary: Summary, judged: Situation, proof: Standing, due: NextDue) -> str:
    """Return what a station is found by, in small letters."""
    needs = (f"{one.words} {one.code}" for one in judged.needs)
    words = (key, summary.name, summary.place, summary.words, *kept.serials, *needs, proof.words, due.words)
    return " ".join(" ".join(words).casefold().split())[:MOST_WORDS]


def counts(read: LastRead, proof: Standing) -> bool:
    """Return whether readings say how a station stands: what was read before it tripped does not."""
    return proof.state != "tripped" or read.day > proof.since


def _line(summary: Summary, judged: Situation, proof: Standing, read: LastRead | None) -> dict[str, Any]:
    """Return what a row of the list shows beside its narrow columns."""
    seen = read.at(summary.outlet_tap) if read is not None and counts(read, proof) else None
    drawn = draw_row(
        RowFacts(
            inlet=summary.inlet,
            duty=summary.duty,
            alarm=summary.alarm,
            trip=summary.trip,
            limit=summary.limit,
            read=seen.pressure if seen is not None else None,
            is_down=proof.state == "tripped",
        )
    )
    first = judged.needs[0] if judged.needs else None
    return {
        "svg": drawn.svg,
        "labels": drawn.labels,
        "inlet": summary.inlet,
        "duty": summary.duty,
        "alarm": summary.alarm,
        "trip": summary.trip,
        "limit": summary.limit,
        "read": seen.pressure if seen is not None else None,
        "read_day": seen.at[:10] if seen is not None else "",
        "mark": judged.mark,
        "proof_mark": PROOF_MARKS[proof.state],
        "also": len(judged.needs) - 1 if judged.needs else 0,
        "then": first.then if first else "",
    }


def _body(
    kept: Kept,
    summary: Summary,
    judged: Situation,
    proof: Standing,
    due: NextDue,
    read: LastRead | None,
) -> dict[str, Any]:
    return {
        "file": kept.digest,
        "turns": summary.turns,
        "release": [kept.release, kept.release_of],
        "mark": judged.mark,
        "state": judged.words,
        "because": judged.because,
        "needs": [asdict(one) for one in judged.needs],
        "proof": asdict(proof),
        "proof_mark": PROOF_MARKS[proof.state],
        "read": asdict(read) if read is not None and counts(read, proof) else None,
        "is_read": summary.layout != EMPTY.layout,
        "due": asdict(due),
        "changed": [kept.changed_at, kept.changed_by, kept.changed],
        "records": dict(kept.records),
        "layout": summary.layout,
        "window": summary.window,
        "is_proved": summary.is_proved,
        "verdict": summary.verdict,
        "travel": summary.travel,
        "peaks": summary.peaks,
    }
