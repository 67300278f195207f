"""The revisions of a station file: who saved what, when and why; an old one brought back as a new one."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict
from sqlalchemy import func, select

from steadyhead.register import Register
from steadyhead.register.tables import blob, released, revision
from steadyhead.services.stations.kept import revision_file
from steadyhead.services.stations.saving import Saved, save

PAGE = 50
"""Revisions on one page."""


class RevisionView(BaseModel):
    """One saving of a station file."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    number: int
    at: str
    who: str
    why: str
    based_on: int
    file_hash: str
    size: int
    released: tuple[int, ...]


class RevisionsView(BaseModel):
    """Revisions of a station, the last one first; `first`, `last`: places shown of `total`, from 1."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    revisions: tuple[RevisionView, ...]
    first: int
    last: int
    total: int


def revisions(register: Register, key: str, start: int = 1) -> RevisionsView:
    """Return the revisions of a station, fifty at a time.

    start: place of the first one shown, from 1, the last revision being the first.
    """
    start = max(1, start)
    c = revision.c
    query = (
        select(c.number, c.at, c.who, c.why, c.based_on, c.file, blob.c.size)
        .join(blob, blob.c.hash == c.file)
        .where(c.station == key)
        .order_by(c.number.desc())
        .offset(start - 1)
        .limit(PAGE)
    )
    with register.reading() as connection:
        total = connection.execute(select(func.count()).where(c.station == key)).scalar() or 0
        rows = connection.execute(query).all()
        numbers = [row.number for row in rows]
        given = connection.execute(
            select(released.c.number, released.c.revision)
            .where(released.c.station == key, released.c.revision.in_(numbers))
            .order_by(released.c.number)
        ).all()
    return RevisionsView(
        revisions=tuple(
            RevisionView(
                number=row.number,
                at=row.at,
                who=row.who,
                why=row.why,
                based_on=row.based_on,
                file_hash=row.file,
                size=row.size,
                released=tuple(one.number for one in given if one.revision == row.number),
            )
            for row in rows
        ),
        first=start if rows else 0,
        last=start + len(rows) - 1 if rows else 0,
        total=int(total),
    )


def bring_back(
    register: Register, key: str, number: int, who: str, why: str = "", based_on: int | None = None
) -> Saved:
    """Save an earlier revision again, as a new one; nothing in between is lost.

    Raises
    ------
    NotKept
        No such station or revision.
    Conflict
        The last revision is another than `based_on`.
    """
    old = revision_file(register, key, number)
    reason = why or f"revision {number} brought back"
    return save(register, old.source, who, reason, based_on, key)
