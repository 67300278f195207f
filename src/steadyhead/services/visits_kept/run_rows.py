"""Rows of runs and their entries, as they are read."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, func, select

from steadyhead.records.entry import FORMAT
from steadyhead.register.tables import blob, entry, record, run
from steadyhead.services.stations.kept import NotKept
from steadyhead.station.canonical import canonical

LEFT_OFF = "left-off.json"
"""Name of the record by which a visit is left off."""
HEAD = canonical({"format": FORMAT}) + b"\n"
"""First line of a file of entries."""


@dataclass(frozen=True, slots=True)
class Run:
    """A visit begun on a plan.

    Parameters
    ----------
    id, station
        Its own id, as its entries carry it, and its station.
    kind, title
        Kind of plan, and what is shown.
    plan
        SHA-256 of the plan file's bytes.
    plan_record
        Record of that plan.
    at, who
        When it was begun here, and by whom.
    entries
        How many were taken in.
    left
        Why it was left off; empty: it was not.
    """

    id: str
    station: str
    kind: str
    title: str
    plan: str
    plan_record: str
    at: str
    who: str
    entries: int = 0
    left: str = ""


def runs(connection: Connection, key: str) -> tuple[Run, ...]:
    """Return the runs of a station, the newest first."""
    return tuple(_runs(connection, run.c.station == key))


def one_run(connection: Connection, key: str, one: str) -> Run:
    """Return one run of a station.

    Raises
    ------
    NotKept
        The station has no such run.
    """
    found = next(_runs(connection, (run.c.station == key) & (run.c.id == one)), None)
    if found is None:
        raise NotKept("run", f"{key[:40]} has no visit {one[:40]!r}.", "See its visits.")
    return found


def _runs(connection: Connection, where: Any) -> Iterator[Run]:
    counts = select(func.count()).select_from(entry).where(entry.c.run == run.c.id).scalar_subquery()
    query = (
        select(run, counts.label("entered"), why_left().label("left"))
        .where(where)
        .order_by(run.c.at.desc(), run.c.id.desc())
    )
    for row in connection.execute(query):
        yield run_of(row)


def why_left() -> Any:
    """Return what tells beside a row of a run that it was left off."""
    c = record.c
    asked = select(func.max(c.about)).where(c.station == run.c.station, c.run == run.c.id, c.name == LEFT_OFF)
    return asked.scalar_subquery()


def run_of(row: Any) -> Run:
    """Return a run from its row, with ``entered`` and ``left`` beside it."""
    left = str(json.loads(row.left)["reason"]) if row.left else ""
    told = (row.id, row.station, row.kind, row.title, row.plan, row.plan_name, row.at, row.who)
    return Run(*told, row.entered, left)


def entries_of(connection: Connection, one: str) -> bytes:
    """Return the entries of a run as a file: every line as it came, in the order of acceptance."""
    found = connection.execute(select(entry.c.line).where(entry.c.run == one).order_by(entry.c.seq)).scalars()
    rows = [line.encode() for line in found]
    return HEAD + b"".join(line + b"\n" for line in rows) if rows else b""


def files_of(connection: Connection, of: Run) -> tuple[bytes, bytes]:
    """Return plan file and entries of a run."""
    plan = connection.execute(select(blob.c.bytes).where(blob.c.hash == of.plan)).scalar_one()
    return bytes(plan), entries_of(connection, of.id)
