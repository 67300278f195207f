"""Make a register again out of an archive: in one stroke, compared with what it came from, or not at all."""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any, BinaryIO

from sqlalchemy import Connection, Table, func, insert, select, text
from sqlalchemy.exc import DBAPIError

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register, open_register, tables
from steadyhead.register.logs import LogsFolder
from steadyhead.register.logs.layout import NAME as LOGS
from steadyhead.register.migrating import newest
from steadyhead.register.opening import FILE
from steadyhead.register.restoring import filling
from steadyhead.register.verifying import first_trouble
from steadyhead.services import library
from steadyhead.services.archive.content import kept_files
from steadyhead.services.archive.layout import CHAIN, ROWS, SETTINGS, is_logger, rows_name
from steadyhead.services.archive.logger import placing, put_logs_in_place
from steadyhead.services.archive.reading import Archive, Damaged, opened
from steadyhead.services.stations.saving import SHEET
from steadyhead.station.valve_sheets import load_sheet
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

AT_ONCE = 500
LEFT_AFTER = 24 * 3600.0
"""Age from which what lies there of an import is of one that was killed. [s] Own estimate."""
_STAGED = ".import-"
_NOT_CHANGED = "Nothing was changed."
_TABLES = ("history/", "rebuild/")


class Stopped(InputError):
    """Somebody stopped the import; nothing was changed."""


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What an archive brought.

    Parameters
    ----------
    stations, revisions, records, runs, entries
        How many of each.
    links, head
        Length of the chain and its last hash.
    compared
        Files of the archive that were made anew from the register and found equal.
    """

    stations: int
    revisions: int
    records: int
    runs: int
    entries: int
    links: int
    head: str
    compared: int


def import_into(
    archive: str | Path,
    place: str | Path,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
    data: str = "",
) -> TakenIn:
    """Take an archive into a folder or a server's database that holds no register, or an empty one.

    data: folder of logger data, where it is not to lie beside the database.

    Raises
    ------
    InputError
        Not empty, or an archive that cannot be taken; nothing is changed then.
    """
    words = str(place)
    with opened(archive) as source:
        if "://" in words or (Path(words) / FILE).exists():
            register = open_register(words)
            try:
                found = take_in(source, register, progress, cancel, data=data)
                _sheets_back(register)
            finally:
                register.close()
            return found
        with _beside(Path(words)) as staged:
            register = open_register(staged)
            try:
                found = take_in(source, register, progress, cancel, data=data)
                _settle(register)
                _sheets_back(register)
            finally:
                register.close()
            put_logs_in_place(staged / LOGS, Path(words) / LOGS)
            _put_in_place(staged / FILE, Path(words) / FILE)
    return found


@contextmanager
def _beside(folder: Path) -> Iterator[Path]:
    """Give a folder inside the one named, gone afterwards; with it the one named where it was not there."""
    was_there = folder.is_dir()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _clear_left(folder)
        staged = Path(tempfile.mkdtemp(prefix=_STAGED, dir=folder))
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or "the name cannot be used"
        raise InputError(str(folder), f"cannot be written: {reason}.", "Choose another folder.") from None
    try:
        yield staged
    except BaseException:
        shutil.rmtree(staged, ignore_errors=True)
        if not was_there:
            with suppress(OSError):
                folder.rmdir()
        raise
    shutil.rmtree(staged, ignore_errors=True)


def _clear_left(folder: Path) -> None:
    """Clear away what imports left that were killed; a younger one may be under way."""
    for one in folder.glob(f"{_STAGED}*"):
        with suppress(OSError):
            if time.time() - one.stat().st_mtime > LEFT_AFTER:
                shutil.rmtree(one, ignore_errors=True)


def _settle(register: Register) -> None:
    """Bring all that the log beside a database holds into its file, which alone is put in place.

    Raises
    ------
    InputError
        There is no room for it.
    """
    try:
        with register.engine.connect() as connection:
            connection.execute(text("PRAGMA wal_checkpoint(TRUNCATE)")).one()
    except DBAPIError as problem:
        raise InputError(
            str(Path(register.folder).parent),
            f"cannot hold the register: the database says {_said(problem)}.",
            f"Make room there, or name another folder. {_NOT_CHANGED}",
        ) from None  # fmt: skip


def _put_in_place(staged: Path, target: Path) -> None:
    """Give a finished database its name; one that came there meanwhile is left alone."""
    if (log := staged.with_name(f"{staged.name}-wal")).exists() and log.stat().st_size:
        raise InputError(str(log), "still holds a part of the register.", f"Try again, alone. {_NOT_CHANGED}")
    try:
        os.link(staged, target)
    except FileExistsError:
        raise InputError(
            str(target), "is there now; it was not when the import began.", f"Look at it. {_NOT_CHANGED}"
        ) from None
    except OSError:  # a file system without hard links
        staged.rename(target)


def take_in(
    archive: Archive,
    register: Register,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
    *,
    to_verify: bool = False,
    data: str = "",
) -> TakenIn:
    """Fill an empty register from an archive, check it, make the archive's files anew and compare.

    data: folder of logger data, named; to_verify: take in what contradicts itself too, for somebody who looks
    at it and names everything.

    Raises
    ------
    InputError
        The register is not empty, or the archive is damaged, newer, or contradicts itself.
    """
    _refuse_newer_tables(archive)
    steps = _Steps(len(archive.contents) * 2, progress, cancel)
    try:
        with placing(register, data) as logger, filling(register) as connection:
            if not to_verify:
                _refuse_damaged_copies(archive, steps)
            _bytes(connection, archive, steps)
            _settings(connection, archive)
            for table in _asked_of(archive):
                _rows(connection, archive, rows_name(table), table)
                steps.step(f"rows of {table.name}")
            _rows(connection, archive, CHAIN, tables.audit)
            if not to_verify:
                _refuse_trouble(connection, archive)
            logger.put(connection, archive, steps.step)
            compared = _compare(connection, archive, steps, logger.logs)
            return _counted(connection, archive, compared)
    except DBAPIError as problem:
        raise InputError(
            archive.where, f"cannot be taken in: the database says {_said(problem)}.", _NOT_CHANGED
        ) from None


def _asked_of(archive: Archive) -> list[Table]:
    """Return the tables whose rows an archive must hold: one of an older version knew none of later steps."""
    made_with = str(archive.manifest.get("tables", ""))
    is_new = {rows_name(one) for one in ROWS if tables.SINCE.get(one.name, "") > made_with}
    return [one for one in ROWS if rows_name(one) not in is_new - set(archive.contents)]


def _said(problem: DBAPIError) -> str:
    return str(problem.orig).strip().splitlines()[0][:160]


class _Steps:
    """Progress, counted in files; asked between two whether to stop."""

    def __init__(self, total: int, progress: Progress, cancel: Cancel) -> None:
        self._total, self._done = max(total, 1), 0
        self._progress, self._cancel = progress, cancel

    def step(self, what: str) -> None:
        self._done += 1
        self._progress(min(self._done, self._total), self._total, what)
        if self._cancel():
            raise Stopped("import", "was stopped.", _NOT_CHANGED)


def _refuse_newer_tables(archive: Archive) -> None:
    made_with = str(archive.manifest.get("tables", ""))
    if made_with > newest():
        raise InputError(
            archive.where,
            f"was made by a newer version of steadyhead ({archive.manifest.get('made_by', '')}, tables "
            f"{made_with!r:.20}).",
            f"Read it with that version or a newer one. {_NOT_CHANGED}",
        )


def _refuse_damaged_copies(archive: Archive, steps: _Steps) -> None:
    """Read the files that nothing is made from, lists and entries as people read them, against their list."""
    for name, told in archive.contents.items():
        if not told.kept:
            for _ in archive.pieces(name):
                pass
            steps.step("files looked through")


def _bytes(connection: Connection, archive: Archive, steps: _Steps) -> None:
    """Keep the bytes of every file the register is made from, each once, under its hash."""
    blob = tables.blob
    for name in archive.names():
        if is_logger(name) or (name.startswith(_TABLES) and not name.startswith("rebuild/blobs/")):
            continue
        content, digest = archive.content(name), archive.contents[name].sha256
        if connection.execute(select(blob.c.hash).where(blob.c.hash == digest)).first() is None:
            connection.execute(insert(blob).values(hash=digest, size=len(content), bytes=content))
        steps.step("files taken in")


def _settings(connection: Connection, archive: Archive) -> None:
    for row in _lines(archive, "rebuild/setting.jsonl"):
        if row.get("name") in SETTINGS:
            connection.execute(insert(tables.setting).values(name=row["name"], value=str(row.get("value"))))


def _lines(archive: Archive, name: str) -> Iterable[dict[str, Any]]:
    if name not in archive.contents:
        raise Damaged(name, f"is missing in {archive.where}.", _NOT_CHANGED)
    return archive.lines(name)


def _rows(connection: Connection, archive: Archive, name: str, table: Table) -> None:
    known = {column.name: column for column in table.columns}
    lines = iter(_lines(archive, name))
    while some := list(islice(lines, AT_ONCE)):
        for row in some:
            if strange := sorted(set(row) - set(known)):
                raise Damaged(
                    name, f"in {archive.where} has {strange[0]!r:.40}, which {table.name} has not.",
                    f"Read it with a newer steadyhead. {_NOT_CHANGED}",
                )  # fmt: skip
            _refuse_kinds(row, known, name, archive)
        for names, alike in _alike(some).items():
            connection.execute(insert(table), [{key: row[key] for key in names} for row in alike])


def _alike(some: Iterable[dict[str, Any]]) -> dict[tuple[str, ...], list[dict[str, Any]]]:
    """Return rows by the columns they have: rows of an older version lack some."""
    found: dict[tuple[str, ...], list[dict[str, Any]]] = {}
    for row in some:
        found.setdefault(tuple(row), []).append(row)
    return found


def _refuse_kinds(row: dict[str, Any], known: dict[str, Any], name: str, archive: Archive) -> None:
    for key, value in row.items():
        wanted = known[key].type.python_type
        fits = isinstance(value, (int, float) if wanted is float else wanted) and not isinstance(value, bool)
        if not fits and not (value is None and known[key].nullable):
            raise Damaged(
                name, f"in {archive.where} has {value!r:.40} where {key} is {wanted.__name__}.", _NOT_CHANGED
            )


def _refuse_trouble(connection: Connection, archive: Archive) -> None:
    """Refuse an archive whose chain is broken or does not tell of its rows; hashes were checked."""
    trouble = first_trouble(connection)
    if trouble:
        raise InputError(
            archive.where, f"contradicts itself: {trouble}",
            f"steadyhead verify {archive.where} names everything. {_NOT_CHANGED}",
        )  # fmt: skip
    head = connection.execute(
        select(tables.audit.c.hash).order_by(tables.audit.c.seq.desc()).limit(1)
    ).scalar()
    if (head or "") != archive.manifest.get("head"):
        problem = "contradicts itself: its chain ends in another link than its manifest says."
        raise InputError(archive.where, problem, _NOT_CHANGED)


def _compare(connection: Connection, archive: Archive, steps: _Steps, logs: LogsFolder | None) -> int:
    """Make every file anew that the register came from, and hold it against the archive; return how many."""
    seen = 0
    left_out = {rows_name(one) for one in ROWS} - {rows_name(one) for one in _asked_of(archive)}
    for one in kept_files(connection, logs):
        if one.name in left_out:
            continue
        digest = hashlib.sha256()
        for piece in one.chunks():
            digest.update(piece)
        told = archive.contents.get(one.name)
        if told is None or told.sha256 != digest.hexdigest():
            raise Damaged(one.name, f"made anew is not what {archive.where} holds.", _NOT_CHANGED)
        seen += 1
        steps.step("files made anew and compared")
    if seen != len(archive.names()):
        missed = len(archive.names()) - seen
        raise InputError(
            archive.where, f"holds {missed} files that the register made from it has not.", _NOT_CHANGED
        )
    return seen


def _counted(connection: Connection, archive: Archive, compared: int) -> TakenIn:
    def count(table: Table) -> int:
        return int(connection.execute(select(func.count()).select_from(table)).scalar_one())

    return TakenIn(
        count(tables.station),
        count(tables.revision),
        count(tables.record),
        count(tables.run),
        count(tables.entry),
        count(tables.audit),
        str(archive.manifest.get("head")),
        compared,
    )


def take_in_stream(
    source: BinaryIO,
    where: str,
    register: Register,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
    data: str = "",
) -> TakenIn:
    """Fill an empty register that is open, from an archive that was handed over; see `take_in`."""
    with opened(source, where) as archive:
        found = take_in(archive, register, progress, cancel, data=data)
        _sheets_back(register)
    return found


def _sheets_back(register: Register) -> None:
    """Put the data sheets that came along into the library, where it has none of that name.

    One that cannot be put there stays a record of its station; the page of the station then says what lacks.
    """
    one = tables.record.c
    asked = select(tables.blob.c.bytes).join_from(
        tables.record, tables.blob, one.content == tables.blob.c.hash
    )
    with register.reading() as connection:
        kept = connection.execute(asked.where(one.kind == SHEET).order_by(one.at.desc())).scalars().all()
    for content in kept:
        with suppress(InputError, InputErrors, OSError):
            sheet = load_sheet(bytes(content))
            if library.find(sheet.sheet.name) is None:
                library.keep(sheet)
