"""Save a station file as the next revision of its station; nothing kept is changed, nothing typed is lost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Protocol

from sqlalchemy import func, insert, select

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.core import Writing
from steadyhead.register.tables import revision, station
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.judged import judge_at, today
from steadyhead.services.stations.kept import Conflict as Conflict
from steadyhead.services.stations.kept import check_new_key, head_in
from steadyhead.services.stations.summary import Summary, keep_summary
from steadyhead.station.canonical import sha256
from steadyhead.station.load import Loaded, load

SHEET = "data sheet"
"""Kind of the record that a data sheet of the library is kept as, beside the file that names it."""
LONGEST_REASON = 400
"""Longest reason of a saving. Own estimate. [characters]"""


@dataclass(frozen=True, slots=True)
class Saved:
    """What a saving came to.

    is_new: whether it made a revision; the same bytes as the last one make none.
    """

    key: str
    number: int
    file_hash: str
    is_new: bool
    at: str
    who: str


class Savable(Protocol):
    """A station file that was read: its bytes, whose it is, and its canonical JSON."""

    @property
    def source(self) -> bytes:
        """The file's bytes."""
        ...

    @property
    def key(self) -> str:
        """Key of the station it is the file of."""
        ...

    @property
    def canonical(self) -> bytes:
        """Canonical JSON of what it holds."""
        ...


@dataclass(frozen=True, slots=True)
class Read:
    """A station file ready to be saved: read without a refusal, and judged so that the saving is short."""

    source: bytes
    loaded: Loaded

    @property
    def key(self) -> str:
        """Key of the station it is the file of."""
        return self.loaded.station.station.id

    @property
    def canonical(self) -> bytes:
        """Canonical JSON of what it holds."""
        return self.loaded.canonical


def read(source: bytes, day: date | None = None) -> Read:
    """Read a station file that is to be saved.

    Raises
    ------
    InputErrors
        Every bad field of the file.
    """
    loaded = load(source)
    judge_at(source, day or today())
    return Read(source, loaded)


def save(
    register: Register,
    source: bytes,
    who: str,
    why: str = "",
    based_on: int | None = None,
    key: str | None = None,
    day: date | None = None,
) -> Saved:
    """Save a station file: the first revision of a new station, or the next one of a station that is kept.

    Parameters
    ----------
    source
        The file's bytes, kept as they are.
    who, why
        Who saves it, and the reason given.
    based_on
        Number of the revision the editing began with; None: the last one, whichever that is.
    key
        Station it is meant for; None: a new station.

    Raises
    ------
    InputErrors
        Every bad field of the file.
    InputError
        The file is another station's, or a new station's key is taken.
    NotKept
        No station of that key.
    Conflict
        The last revision is another than `based_on`.
    """
    made = read(source, day)
    with register.writing(who) as writing:
        return put(writing, register, made, why=why, based_on=based_on, key=key, day=day)


def put(
    writing: Writing,
    register: Register,
    made: Savable,
    *,
    why: str = "",
    based_on: int | None = None,
    key: str | None = None,
    day: date | None = None,
    summary: Summary | None = None,
) -> Saved:
    """Save a file inside a transaction, several of them all or nothing; see `save`.

    summary: of this file on this day, where it was worked out before, so that the transaction is short.
    """
    if key is None:
        _begin(writing, made)
        number = 1
    else:
        head = head_in(writing.connection, key)
        if made.key != key:
            raise InputError(
                "station.id",
                f"is {made.key!r}; this is the station {key!r}.",
                f"Write {key}, or make a new station of this file.",
            )
        if made.source == head.source:
            return Saved(key, head.number, head.file_hash, False, head.at, head.who)
        if based_on is not None and based_on != head.number:
            raise Conflict(head_in(writing.connection, key, based_on), made.source, head, why)
        number = head.number + 1
    digest = _keep(writing, made, number, why)
    _keep_sheets(writing, made)
    if summary is not None:
        keep_summary(writing.connection, made.key, digest, summary, day or today())
    renew(writing, register, made.key, day)
    return Saved(made.key, number, digest, True, writing.at, writing.who)


def _begin(writing: Writing, made: Savable) -> None:
    """Make the row of a new station.

    Raises
    ------
    InputError
        The key is taken, or is one that people would take for another, or that no file can be named by.
    """
    check_new_key(made.key)
    c = station.c
    taken = writing.connection.execute(
        select(c.key, c.name).where(func.lower(c.key) == made.key.lower())
    ).first()
    if taken is not None:
        raise InputError(
            "station.id",
            f"is {made.key!r}; {taken.key} {taken.name} is kept here already.",
            "Open that station and save the file there, or give this one another id.",
        )
    row = {"key": made.key, "made_at": writing.at, "made_by": writing.who}
    writing.connection.execute(insert(station).values(row))


def _keep(writing: Writing, made: Savable, number: int, why: str) -> str:
    digest = writing.blob(made.source)
    row = {
        "station": made.key,
        "number": number,
        "file": digest,
        "canonical": writing.blob(made.canonical),
        "at": writing.at,
        "who": writing.who,
        "why": " ".join(why.split())[:LONGEST_REASON],
        "based_on": number - 1,
    }
    assert digest == sha256(made.source)
    writing.add(revision, row, "station saved" if number > 1 else "station added", made.key, revision=number)
    return digest


def _keep_sheets(writing: Writing, made: Savable) -> None:
    """Keep the data sheets that a file names beside it, each content once.

    The library is a folder of one person on one machine; what the figures rest on stays with the station,
    told in the chain, and goes along in an archive.
    """
    if b'"data_sheet"' not in made.canonical:
        return
    from steadyhead.services.library import completed
    from steadyhead.services.visits_kept.filing import filed, keep

    there = {one.digest for one in filed(writing.connection, made.key, (SHEET,)) if not one.struck}
    for one in completed(load(made.source)).sheets:
        if one.sha256 not in there:
            words = f"data sheet {one.reference}, {one.sheet.source}"
            name, kind = f"{one.sheet.name}.yaml", "application/yaml"
            keep(writing, made.key, SHEET, one.source, name=name, title=words, media=kind)
