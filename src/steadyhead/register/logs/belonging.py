"""Every file that belongs to a register's logger data: for archives, and held against what was told of it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, func, select

from steadyhead.errors import InputError
from steadyhead.register.logs.copying import AT_ONCE
from steadyhead.register.logs.layout import NAME, SETTING, LogsFolder
from steadyhead.register.logs.manifest import manifest_of
from steadyhead.register.reading import found
from steadyhead.register.tables import blob, logger_file, logger_import, logger_undo, setting


@dataclass(frozen=True, slots=True)
class Belonging:
    """A file of logger data.

    Parameters
    ----------
    station, number
        Whose it is, and the first import that brought it.
    name
        Of a file as given: its name. Of samples: where they lie below their station's folder.
    is_given
        A file as it was given; else samples.
    sha256, size
        Of its bytes. [bytes]
    """

    station: str
    number: int
    name: str
    is_given: bool
    sha256: str
    size: int

    def path(self, logs: LogsFolder) -> Path:
        """Return where it lies."""
        if self.is_given:
            return logs.raw_file(self.sha256)
        return logs.part(f"{self.station}/{self.name}")

    def words(self) -> str:
        """Return what to call it."""
        if self.is_given:
            return f"{self.name}, given with import {self.number} of {self.station}"
        return f"samples {self.station}/{self.name} of import {self.number}"


@dataclass(frozen=True, slots=True)
class Told:
    """An import with its manifest as it is kept, and whether it was undone."""

    number: int
    token: str
    content: bytes
    is_undone: bool


def has_any(connection: Connection) -> bool:
    """Return whether logger data were ever taken in."""
    return bool(connection.execute(select(func.count()).select_from(logger_import)).scalar_one())


def told(connection: Connection) -> Iterator[Told]:
    """Yield the imports in their order, undone ones too."""
    c, gone = logger_import.c, logger_undo.c.number
    asked = (
        select(c.number, c.token, blob.c.bytes, gone.label("gone"))
        .join_from(logger_import, blob, blob.c.hash == c.manifest)
        .outerjoin(logger_undo, gone == c.number)
        .order_by(c.number)
    )
    for row in found(connection, asked):
        yield Told(row["number"], row["token"], bytes(row["bytes"]), row["gone"] is not None)


def belongings(connection: Connection) -> Iterator[Belonging]:
    """Yield files as given, each content once, then the samples of imports that are not undone."""
    seen: set[str] = set()
    file = logger_file.c
    asked = (
        select(file.number, file.sha256, file.name, file.size, logger_import.c.station)
        .join(logger_import, logger_import.c.number == file.number)
        .order_by(file.number, file.place)
    )
    for row in found(connection, asked):
        if row["sha256"] not in seen:
            seen.add(row["sha256"])
            yield Belonging(
                row["station"], row["number"], row["name"], True, row["sha256"], row["size"]
            )  # fmt: skip
    for one in told(connection):
        if one.is_undone:
            continue
        manifest = manifest_of(one.content)
        for part in manifest.parts:
            name = part.name.partition("/")[2]
            yield Belonging(manifest.station, one.number, name, False, part.sha256, part.size)


def folder_of(connection: Connection, place: str, named: str = "") -> LogsFolder | None:
    """Return the folder of the logger data of a register that is only looked at; None: it is not known.

    place: its folder, or the URL of a server.
    """
    if named:
        return LogsFolder(Path(named))
    known = connection.execute(select(setting.c.value).where(setting.c.name == SETTING)).scalar()
    if known is not None:
        return LogsFolder(Path(known))
    path = Path(place)
    return None if "://" in place else LogsFolder((path.parent if path.is_file() else path) / NAME)


def pieces(path: Path) -> Iterator[bytes]:
    """Yield the bytes of a file.

    Raises
    ------
    InputError
        It is not there, or cannot be read.
    """
    try:
        with path.open("rb") as source:
            while block := source.read(AT_ONCE):
                yield block
    except OSError as problem:
        raise InputError(
            "logger data", f"{path} cannot be read: {problem.strerror}.",
            "Put it back from a copy, or try again if an import was undone just now. steadyhead verify names "
            "everything that is not whole.",
        ) from None  # fmt: skip


def wrong_with(one: Belonging, logs: LogsFolder) -> str:
    """Return what is wrong with a file; empty where it is as it was kept."""
    digest, size = hashlib.sha256(), 0
    path = one.path(logs)
    if not path.is_file():
        return f"is not there: {path}"
    try:
        for block in pieces(path):
            digest.update(block)
            size += len(block)
    except InputError as problem:
        return problem.problem.rstrip(".")
    if size != one.size or digest.hexdigest() != one.sha256:
        got, kept = digest.hexdigest()[:12], one.sha256[:12]
        return f"has {size} bytes with the hash {got}…; {one.size} with {kept}… were kept"
    return ""
