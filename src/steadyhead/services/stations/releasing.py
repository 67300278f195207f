"""Release a design of the register: the record of a folder release, kept under the next free number."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

from pydantic import BaseModel, ConfigDict, TypeAdapter
from sqlalchemy import Connection, select

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.core import Writing
from steadyhead.register.tables import blob, released, revision
from steadyhead.services.certificates.design import read_release
from steadyhead.services.files import LARGEST_FILE
from steadyhead.services.judging import Judged
from steadyhead.services.ports import Clock, SystemClock
from steadyhead.services.prepared import prepared
from steadyhead.services.protection import has_something_to_prove
from steadyhead.services.release import Released, release_design, rests_on_of
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.judged import judge_at, today
from steadyhead.services.stations.kept import Head, NotKept, head_in, revision_file
from steadyhead.services.stations.proofs import at_hand
from steadyhead.services.stations.trying import Draft, drafted
from steadyhead.station.canonical import sha256

MOST_RECORD = 5 * LARGEST_FILE
"""Largest record of a release taken in. Own estimate. [bytes]"""
MOST_SHOWN = 50
"""Releases shown."""


class ReleaseView(BaseModel):
    """One release: its number, whose revision it is (0: its file is no revision here), who, when, on what."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    number: int
    revision: int
    at: str
    by: str
    sha256: str
    grounds: str
    file_name: str


class RegisterShelf:
    """The releases of one station as a shelf, inside a transaction; see `steadyhead.services.ports.Shelf`."""

    def __init__(self, writing: Writing, key: str, number: int, by: str) -> None:
        self._writing = writing
        self._key = key
        self._number = number
        self._by = by

    def names(self) -> tuple[str, ...]:
        """Return the names of the records of this station."""
        query = select(released.c.number).where(released.c.station == self._key)
        numbers = self._writing.connection.execute(query).scalars()
        return tuple(sorted(file_name(self._key, number) for number in numbers))

    def read(self, name: str) -> bytes:
        """Return the record under a name.

        Raises
        ------
        InputError
            There is none.
        """
        content = _record(self._writing.connection, self._key, _number(name))
        if content is None:
            raise InputError(name, "is not kept here.", "See the list of releases.")
        return content

    def keep(self, name: str, content: bytes) -> str:
        """Keep a record under a free name.

        Raises
        ------
        FileExistsError
            The name is taken.
        """
        if name in self.names():
            raise FileExistsError(name)
        _keep(self._writing, self._key, _number(name), self._number, content, self._by, "design released")
        return name


def file_name(key: str, number: int) -> str:
    """Return what the record of a release is called.

    Examples
    --------
    >>> file_name("QHL-01", 3)
    'QHL-01.r3.release.json'
    """
    return f"{key}.r{number}.release.json"


def _number(name: str) -> int:
    digits = name.removesuffix(".release.json").rpartition(".r")[2]
    return int(digits) if digits.isdecimal() else 0


def as_saved(head: Head, day: date) -> tuple[Draft, Judged]:
    """Return a revision as a draft without changes, judged with its proof where that is at hand."""
    judged = judge_at(head.source, day)
    return replace(drafted(head.source, (), day), judged=judged), judged


def release(
    register: Register,
    key: str,
    who: str,
    *,
    by: str = "",
    revision_number: int = 0,
    without_proof: bool = False,
    again: bool = False,
    clock: Clock | None = None,
) -> Released:
    """Release the last revision of a station, or refuse with the findings that forbid it.

    Parameters
    ----------
    who, by
        Whom the chain names, and who releases it; the same where left out.
    revision_number
        Revision that was looked at; another one since refuses. 0: the last one, whichever that is.
    without_proof
        Release although no protection proof is at hand.

    Raises
    ------
    NotReleasable
        Findings forbid it; carries them.
    InputError
        No name; the proof is not at hand; another revision was saved meanwhile.
    NotKept
        No such station.
    """
    clock = clock or SystemClock()
    head = revision_file(register, key, 0)
    if revision_number not in (0, head.number):
        raise InputError(
            "revision",
            f"{revision_number} was looked at; the last one is {head.number} now, by {head.who}.",
            "Look at that one, then release it.",
        )
    day = clock.now().date()
    judged, known = judge_at(head.source, day), at_hand(head.file_hash)
    proof = known.sheet if known is not None and judged.sheet.protection else None
    if proof is None and has_something_to_prove(judged.loaded.station) and not without_proof:
        raise InputError(
            "without_proof",
            "no protection proof of this file is at hand.",
            "Work it out under Surge first, or say that it is released without one.",
        )
    with register.writing(who) as writing:
        if head_in(writing.connection, key).number != head.number:
            raise InputError("revision", "another was saved meanwhile.", "Look at it, then release it.")
        found = release_design(
            judged.loaded,
            judged.source,
            judged.sheet,
            by=by or who,
            clock=clock,
            shelf=RegisterShelf(writing, key, head.number, by or who),
            again=again,
            proof=proof,
        )
        if found.is_new:
            renew(writing, register, key, day)
    return found


def take_in(register: Register, key: str, content: bytes, who: str, day: date | None = None) -> ReleaseView:
    """Take in the record of a release made elsewhere, unchanged.

    Raises
    ------
    InputError
        It is no such record, another station's, or its number is taken by another record.
    NotKept
        No such station.
    """
    if len(content) > MOST_RECORD:
        raise InputError("record", "is too large for a record of a release.", "Name another file.")
    found = read_release(content, "record")
    told = json.loads(content)
    number = int(found.revision[1:])
    if told.get("station_id") != key:
        raise InputError(
            "record", f"is of the station {str(told.get('station_id'))[:40]!r}.", f"This is {key}."
        )
    if not 1 <= number <= 1_000_000:
        raise InputError("record", f"has the number {found.revision}.", "Name the record as it was written.")
    with register.writing(who) as writing:
        head_in(writing.connection, key)
        known = _record(writing.connection, key, number)
        if known is not None and known != content:
            raise InputError(
                "record",
                f"is release {found.revision}; another one of that number is kept here.",
                "Both stay as they are: compare them, and release anew where one is right.",
            )
        if known is None:
            of = _revision_of(writing.connection, key, sha256(found.source))
            _keep(writing, key, number, of, content, found.by, "release taken in")
            renew(writing, register, key, day or today())
    return next(one for one in releases(register, key) if one.number == number)


def _revision_of(connection: Connection, key: str, digest: str) -> int:
    query = select(revision.c.number).where(revision.c.station == key, revision.c.file == digest)
    return int(connection.execute(query.order_by(revision.c.number.desc()).limit(1)).scalar() or 0)


def _keep(writing: Writing, key: str, number: int, of: int, content: bytes, by: str, act: str) -> None:
    row = {
        "station": key,
        "number": number,
        "revision": of,
        "record": writing.blob(content),
        "at": writing.at,
        "who": by,
    }
    writing.add(released, row, act, key, release=number, revision=of)


def _record(connection: Connection, key: str, number: int) -> bytes | None:
    query = (
        select(blob.c.bytes)
        .join(released, released.c.record == blob.c.hash)
        .where(released.c.station == key, released.c.number == number)
    )
    found = connection.execute(query).scalar()
    return None if found is None else bytes(found)


def record_of(register: Register, key: str, number: int) -> bytes:
    """Return the record of a release as it is kept.

    Raises
    ------
    NotKept
        There is none.
    """
    with register.reading() as connection:
        content = _record(connection, key, number)
    if content is None:
        raise NotKept("release", f"{key[:40]} has no release r{number}.", "See the list of its releases.")
    return content


def releases(register: Register, key: str) -> tuple[ReleaseView, ...]:
    """Return the last fifty releases of a station, the last one first."""
    c = released.c
    query = select(c.number, c.revision, c.record).where(c.station == key)
    with register.reading() as connection:
        rows = connection.execute(query.order_by(c.number.desc()).limit(MOST_SHOWN)).all()
    if not rows:
        return ()

    def make() -> bytes:
        return _RELEASES.dump_json(tuple(_view(register, key, *row) for row in rows))

    parts = {"records": " ".join(f"{row.number} {row.revision} {row.record}" for row in rows)}
    return _RELEASES.validate_json(prepared(register, key, "releases", parts, make))


def _view(register: Register, key: str, number: int, of: int, digest: str) -> ReleaseView:
    content = register.content(digest) or b"{}"
    told = json.loads(content)
    return ReleaseView(
        number=number,
        revision=of,
        at=str(told.get("released_at", "")),
        by=str(told.get("released_by", "")),
        sha256=digest,
        grounds=rests_on_of(content).grounds,
        file_name=file_name(key, number),
    )


_RELEASES = TypeAdapter(tuple[ReleaseView, ...])
