"""Every file of an archive, in one order, out of one state of the register."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import partial
from typing import Any

from sqlalchemy import Connection, Select, Table, func, select

from steadyhead.errors import InputError
from steadyhead.register import tables
from steadyhead.register.logs import LogsFolder
from steadyhead.register.logs.belonging import Belonging, belongings, pieces
from steadyhead.register.reading import found, in_order, rows
from steadyhead.services.archive.layout import (
    CHAIN,
    LOGGER,
    MAP,
    README,
    ROWS,
    SETTINGS,
    File,
    blob_name,
    rows_name,
    safe_name,
)
from steadyhead.services.archive.readme import readme
from steadyhead.services.exports.files import as_csv, as_geojson, as_parquet
from steadyhead.services.exports.lists import LISTS
from steadyhead.station.canonical import canonical

_NAMED = (
    tables.revision.c.file,
    tables.revision.c.canonical,
    tables.released.c.record,
    tables.record.c.content,
    tables.run.c.plan,
)
"""Columns by which bytes get a name that a person can read."""


def kept_files(connection: Connection, logs: LogsFolder | None) -> Iterator[File]:
    """Yield what the register is made of: files, releases, records, plans, logger data, rows and the chain.

    logs: its folder of logger data; None: not known.

    Raises
    ------
    InputError
        There are logger data and their folder is not known.
    """
    yield from _revisions(connection)
    yield from _releases(connection)
    yield from _records(connection)
    yield from _plans(connection)
    for one, name in logger_files(connection):
        if logs is None:
            raise InputError(
                "folder of logger data", "is not known, and this register has such data.",
                "Name it: --data FOLDER.",
            )  # fmt: skip
        yield File(name, partial(pieces, one.path(logs)), size=one.size)
    yield from _nameless(connection)
    yield File("rebuild/setting.jsonl", partial(_settings, connection))
    for table in ROWS:
        yield File(rows_name(table), partial(_lines, connection, table))
    yield File(CHAIN, partial(_lines, connection, tables.audit))


def worked_out_files(connection: Connection) -> Iterator[File]:
    """Yield what follows from it, for people and other programs: words, entries of runs, tables, a map."""
    yield File(README, lambda: [readme()], kept=False)
    yield from _entries(connection)
    for name in LISTS:
        yield File(f"tables/{name}.csv", partial(as_csv, connection, name), kept=False)
        yield File(f"tables/{name}.parquet", partial(as_parquet, connection, name), kept=False)
    yield File(MAP, partial(as_geojson, connection), kept=False)


def counted(connection: Connection) -> int:
    """Return about how many files there will be, for progress."""
    total = 2 * len(LISTS) + len(ROWS) + 4 + sum(1 for _ in belongings(connection))
    for table, times in ((tables.revision, 2), (tables.released, 1), (tables.record, 1), (tables.run, 2)):
        total += times * connection.execute(select(func.count()).select_from(table)).scalar_one()
    return total


def _lines(connection: Connection, table: Table) -> Iterator[bytes]:
    for row in rows(connection, table):
        yield canonical(row) + b"\n"


def _settings(connection: Connection) -> Iterator[bytes]:
    for row in rows(connection, tables.setting):
        if row["name"] in SETTINGS:
            yield canonical(row) + b"\n"


def _content(connection: Connection, digest: str) -> Iterable[bytes]:
    got = connection.execute(select(tables.blob.c.bytes).where(tables.blob.c.hash == digest)).scalar()
    if got is None:
        raise InputError(
            "register", f"lacks the bytes {digest[:12]}….", "Run steadyhead verify on its folder: it names "
            "everything that is not whole.",
        )  # fmt: skip
    return [bytes(got)]


def _file(connection: Connection, name: str, digest: str, size: int | None) -> File:
    return File(name, partial(_content, connection, digest), size=-1 if size is None else size)


def _sized(table: Table, *digests: str) -> Select[Any]:
    """Return the rows of a table with the sizes of the bytes they name."""
    asked = select(table)
    for digest in digests:
        blob = tables.blob.alias(f"of_{digest}")
        asked = asked.outerjoin(blob, blob.c.hash == table.c[digest]).add_columns(
            blob.c.size.label(f"size_{digest}")
        )
    return asked


def _revisions(connection: Connection) -> Iterator[File]:
    one = tables.revision
    asked = _sized(one, "file", "canonical").order_by(*in_order(connection, one.c.station, one.c.number))
    for row in found(connection, asked):
        stem = f"stations/{row['station']}/revisions/{row['number']:04d}"
        yield _file(connection, f"{stem}.yaml", row["file"], row["size_file"])
        yield _file(connection, f"{stem}.json", row["canonical"], row["size_canonical"])


def _releases(connection: Connection) -> Iterator[File]:
    one = tables.released
    asked = _sized(one, "record").order_by(*in_order(connection, one.c.station, one.c.number))
    for row in found(connection, asked):
        name = f"stations/{row['station']}/releases/r{row['number']}.release.json"
        yield _file(connection, name, row["record"], row["size_record"])


def _records(connection: Connection) -> Iterator[File]:
    """Yield every record under its name; where one station has a name twice, the later gets a number."""
    one = tables.record
    asked = _sized(one, "content").order_by(*in_order(connection, one.c.station, one.c.at, one.c.id))
    station, taken = "", _Taken()
    for row in found(connection, asked):
        if row["station"] != station:
            station, taken = row["station"], _Taken()
        name = taken.free(safe_name(row["name"] or f"{row['kind']}-{row['id']}"))
        yield _file(connection, f"stations/{station}/records/{name}", row["content"], row["size_content"])


class _Taken:
    """Names of one folder; case counts for nothing, as on many systems."""

    def __init__(self) -> None:
        self._names: set[str] = set()

    def free(self, name: str) -> str:
        stem, dot, ending = name.rpartition(".")
        stem, dot, ending = (stem, dot, ending) if stem else (name, "", "")
        tried, count = name, 1
        while tried.casefold() in self._names:
            count += 1
            tried = f"{stem} ({count}){dot}{ending}"
        self._names.add(tried.casefold())
        return tried


def logger_files(connection: Connection) -> Iterator[tuple[Belonging, str]]:
    """Yield the files of logger data with the names they have in an archive."""
    number, taken = -1, _Taken()
    for one in belongings(connection):
        stem = f"stations/{one.station}/{LOGGER}"
        if not one.is_given:
            yield one, f"{stem}/samples/{one.name}"
            continue
        if one.number != number:
            number, taken = one.number, _Taken()
        yield one, f"{stem}/{number:04d}/{taken.free(safe_name(one.name))}"


def _run_stem(row: dict[str, Any]) -> str:
    return f"stations/{row['station']}/runs/{safe_name(row['id'])}"


def _plans(connection: Connection) -> Iterator[File]:
    one = tables.run
    asked = _sized(one, "plan").order_by(*in_order(connection, one.c.station, one.c.id))
    for row in found(connection, asked):
        yield _file(connection, f"{_run_stem(row)}.plan", row["plan"], row["size_plan"])


def _entries(connection: Connection) -> Iterator[File]:
    for row in rows(connection, tables.run, tables.run.c.station, tables.run.c.id):
        yield File(f"{_run_stem(row)}.entries.jsonl", partial(_entered, connection, row["id"]), kept=False)


def _entered(connection: Connection, run: str) -> Iterator[bytes]:
    one = tables.entry
    for row in found(connection, select(one.c.line).where(one.c.run == run).order_by(one.c.seq)):
        yield row["line"].rstrip("\n").encode() + b"\n"


def _nameless(connection: Connection) -> Iterator[File]:
    """Yield bytes that no row names: results of studies, and what a later version may keep so."""
    blob = tables.blob
    asked = select(blob.c.hash, blob.c.size)
    for column in _NAMED:
        asked = asked.where(~select(column).where(column == blob.c.hash).exists())
    for row in found(connection, asked.order_by(*in_order(connection, blob.c.hash))):
        yield _file(connection, blob_name(row["hash"]), row["hash"], row["size"])


Make = Callable[[Connection], Iterator[File]]
