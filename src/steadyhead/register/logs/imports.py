"""Imports: brought in whole or not at all, found again by their files, undone; each told in the chain."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, func, select

from steadyhead.errors import InputError
from steadyhead.register.core import Register, Writing
from steadyhead.register.logs.layout import LogsFolder, move, settle, write_durably
from steadyhead.register.logs.manifest import Manifest, manifest_of
from steadyhead.register.logs.profiles import keep_profile
from steadyhead.register.logs.staging import Staged, sweep, take_away
from steadyhead.register.tables import blob, logger_file, logger_import, logger_undo, station

MADE, UNDONE = "logger data taken in", "logger data undone"
US = 1_000_000


@dataclass(frozen=True, slots=True)
class Import:
    """An import: its number in the register, whose it is, when and by whom, and whether it was undone.

    `begins`, `ends`: first and last sample, ISO, UTC; empty where there is none.
    """

    number: int
    token: str
    station: str
    source: str
    begins: str
    ends: str
    at: str
    who: str
    undone_at: str = ""
    undone_by: str = ""
    reason: str = ""

    @property
    def is_undone(self) -> bool:
        """Whether its samples are shown no more."""
        return bool(self.undone_at)


class Changed(Exception):
    """Another import came or went meanwhile; what was compared must be compared again."""


class UndoneBefore(InputError):
    """An import that was undone before; knows it, so that a person can be told by whom.

    by: how people call who undid it; left out: as it is kept.
    """

    def __init__(self, one: Import, by: str = "") -> None:
        when = datetime.fromisoformat(one.undone_at)
        day = f"{when.day} {when:%b} {when.year} at {when:%H:%M} UTC"
        problem = f"number {one.number} was undone on {day} by {by or one.undone_by}."
        super().__init__("import", problem, "Nothing is left to undo.")
        self.one = one


def moment_text(micros: int | None) -> str:
    """Return a time as it is kept; empty for none. [µs since 1970 UTC]"""
    if micros is None:
        return ""
    when = datetime.fromtimestamp(micros // US, UTC).replace(microsecond=micros % US)
    return when.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def commit(register: Register, one: Staged, manifest: Manifest, who: str, compared_to: int) -> Import:
    """Bring an import in: when this returns all of it is there, after a kill before that nothing.

    compared_to: what `state_of` said when overlaps were looked for.

    Raises
    ------
    Changed
        An import of the station came since, or was undone; compare again and commit again.
    InputError
        The station is not kept.
    """
    logs = one.logs
    one.note(manifest)
    for part in manifest.parts:
        if (written := one.written[part.name]).exists():
            move(written, logs.part(part.name))
    settle(logs.part(part.name).parent for part in manifest.parts)
    with register.writing(who) as writing:
        if state_of(writing.connection, manifest.station) != compared_to:
            raise Changed
        made = _rows(writing, manifest)
        for file, path in zip(one.files, one.paths, strict=True):
            if not logs.raw_file(file.sha256).exists():
                move(path, logs.raw_file(file.sha256))
        settle(logs.raw_file(file.sha256).parent for file in one.files)
        write_durably(logs.manifest(manifest.token), manifest.content())
    return made


def _rows(writing: Writing, manifest: Manifest) -> Import:
    connection, key = writing.connection, manifest.station
    if connection.execute(select(station.c.key).where(station.c.key == key)).first() is None:
        raise InputError("station", f"{key[:40]!r} is not kept here.", "Look it up under Stations.")
    number = 1 + int(connection.execute(select(func.max(logger_import.c.number))).scalar() or 0)
    begins, ends = moment_text(manifest.first), moment_text(manifest.last)
    row = {
        "number": number, "token": manifest.token, "station": key, "source": manifest.source,
        "manifest": writing.blob(manifest.content()), "begins": begins, "ends": ends, "at": writing.at,
        "who": writing.who,
    }  # fmt: skip
    writing.add(logger_import, row, MADE, key, words=f"import {number}", files=len(manifest.files))
    for file in manifest.files:
        told = {"place": file.place, "sha256": file.sha256, "name": file.name, "size": file.size}
        writing.add(logger_file, {"number": number, **told}, "logger file kept", key, sha256=file.sha256)
    keep_profile(writing, number, manifest)
    return Import(number, manifest.token, key, manifest.source, begins, ends, writing.at, writing.who)


def state_of(connection: Connection, key: str) -> int:
    """Return a number that is another one after each import and undoing of a station."""
    c, gone = logger_import.c, logger_undo.c
    number = connection.execute(select(func.max(c.number)).where(c.station == key)).scalar() or 0
    undone = connection.execute(
        select(func.count()).select_from(logger_undo).join(logger_import, c.number == gone.number)
        .where(c.station == key)
    ).scalar() or 0  # fmt: skip
    return int(number) * 1_000_000 + int(undone)


def undo(register: Register, logs: LogsFolder, number: int, who: str, reason: str = "") -> Import:
    """Undo an import: its samples are shown no more and taken away; its files stay as they were given.

    Raises
    ------
    InputError
        No such import, or it was undone before.
    """
    sweep(register, logs)
    with register.writing(who) as writing:
        found = find(writing.connection, number)
        if found.is_undone:
            raise UndoneBefore(found)
        row = {"number": number, "reason": reason, "at": writing.at, "who": who}
        told = {"words": f"import {number}"} | ({"reason": reason} if reason else {})
        writing.add(logger_undo, row, UNDONE, found.station, **told)
    if logs.manifest(found.token).exists():
        take_away(logs, found.token)
    with register.reading() as connection:
        return find(connection, number)


_COLUMNS = (
    *(logger_import.c[name] for name in ("number", "token", "station", "source", "begins", "ends")),
    *(logger_import.c.at, logger_import.c.who),
    *(logger_undo.c.at.label("gone"), logger_undo.c.who.label("by"), logger_undo.c.reason),
)


def _import(row: Any) -> Import:
    return Import(*row[:8], *(one or "" for one in row[8:]))


def find(connection: Connection, number: int) -> Import:
    """Return an import by its number.

    Raises
    ------
    InputError
        There is none.
    """
    asked = select(*_COLUMNS).outerjoin(logger_undo, logger_undo.c.number == logger_import.c.number)
    row = connection.execute(asked.where(logger_import.c.number == number)).first()
    if row is None:
        raise InputError("import", f"got {number}, which is none.", "The list of imports names each.")
    return _import(row)


def imports_of(connection: Connection, key: str) -> list[Import]:
    """Return the imports of a station, undone ones too, in their order."""
    asked = select(*_COLUMNS).outerjoin(logger_undo, logger_undo.c.number == logger_import.c.number)
    asked = asked.where(logger_import.c.station == key).order_by(logger_import.c.number)
    return [_import(row) for row in connection.execute(asked).all()]


def known_files(connection: Connection, digests: Sequence[str]) -> Mapping[str, list[Import]]:
    """Return by checksum in which imports, not undone, files are."""
    file = logger_file.c
    asked = (
        select(file.sha256, *_COLUMNS)
        .join_from(logger_file, logger_import, logger_import.c.number == file.number)
        .outerjoin(logger_undo, logger_undo.c.number == logger_import.c.number)
        .where(file.sha256.in_(list(digests)), logger_undo.c.number.is_(None))
        .order_by(file.number)
    )
    out: dict[str, list[Import]] = {}
    for row in connection.execute(asked).all():
        out.setdefault(row[0], []).append(_import(row[1:]))
    return out


def has_size(connection: Connection, size: int) -> bool:
    """Return whether a file of this size was ever taken in; none with the same content, where not. [bytes]"""
    return (
        connection.execute(select(logger_file.c.number).where(logger_file.c.size == size)).first() is not None
    )


def manifests(connection: Connection, key: str) -> list[tuple[int, Manifest]]:
    """Return the manifests of a station's imports that are not undone, with their numbers, in their order."""
    c = logger_import.c
    asked = (
        select(c.number, blob.c.bytes)
        .join_from(logger_import, blob, blob.c.hash == c.manifest)
        .outerjoin(logger_undo, logger_undo.c.number == c.number)
        .where(c.station == key, logger_undo.c.number.is_(None))
        .order_by(c.number)
    )
    return [(number, manifest_of(bytes(content))) for number, content in connection.execute(asked).all()]


def undone_of(connection: Connection, key: str) -> frozenset[int]:
    """Return the numbers of a station's imports that were undone."""
    asked = (
        select(logger_undo.c.number)
        .join(logger_import, logger_import.c.number == logger_undo.c.number)
        .where(logger_import.c.station == key)
    )
    return frozenset(connection.execute(asked).scalars())
