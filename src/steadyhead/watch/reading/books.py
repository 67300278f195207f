"""Spreadsheets, JSON lines and Parquet to grids of cells."""

from __future__ import annotations

import io
import json
import re
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from steadyhead.errors import InputError
from steadyhead.watch.reading.across import laid_along
from steadyhead.watch.reading.formulas import in_ods, in_xlsx, put_in, refuse_times
from steadyhead.watch.reading.nested import of_columns, unrolled, with_units
from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.senml import resolved
from steadyhead.watch.reading.sources import Grid, Row, decode
from steadyhead.watch.reading.tables import refuse_days_across, refuse_hours_across, turned_dates

if TYPE_CHECKING:
    import polars as pl

MOST_UNPACKED = 400_000_000
"""Largest spreadsheet once unpacked. [bytes]"""
MOST_CELLS = 1_600_000
"""Most cells of a spreadsheet, which is read as a whole: with them memory stays below 1 GB, reckoned from
smaller ones. Own estimate."""
_SAVE = "Open it in a spreadsheet program and save it as .csv or .xlsx."
_MILLISECONDS = re.compile(r"\\?/Date\((-?\d{9,14})(?:[+-]\d{4})?\)\\?/")
"""A time as some programs write it into JSON: ms since 1970, UTC; an offset behind is for show."""
_ROW = re.compile(rb"<(?:\w+:)?row\b([^>]*)>")
_ODS_ROW = re.compile(rb"<table:table-row\b([^>]*)>")


def is_book(content: bytes) -> bool:
    """Return whether the bytes are a spreadsheet (packed, or of the old binary kind)."""
    return content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0"))


def book_grids(content: bytes, where: str) -> list[Grid]:
    """Return a grid for each sheet that holds anything, hidden sheets too.

    Raises
    ------
    InputError
        The file is locked, damaged, or unpacks to more than can be read.
    """
    from python_calamine import CalamineError, CalamineWorkbook, PasswordError, SheetVisibleEnum

    hidden, formulas = _beside_values(content, where) if content.startswith(b"PK") else ({}, {})
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        out = []
        cells_of = 0
        for number, name in enumerate(book.sheet_names):
            sheet = book.get_sheet_by_index(number)
            left = [""] * (sheet.start or (0, 0))[1]
            above = (sheet.start or (0, 0))[0]
            cells_of += sheet.height * sheet.width
            if cells_of > MOST_CELLS:
                raise InputError(where, f"has more than {MOST_CELLS} cells.", "Save its sheets as .csv.")
            listed: list[list[Cell]] = [[] for _ in range(above)]
            listed += [[*left, *(_cell(one) for one in cells)] for cells in sheet.iter_rows()]
            unreckoned = put_in(listed, formulas.get(number, {}))
            rows: list[Row] = []
            for at, row in enumerate(listed, 1):
                while row and row[-1] == "":
                    row.pop()
                if row:
                    rows.append((at, row))
            if rows:
                along = laid_along(Grid(rows, len(listed)))
                rows = along.rows
                refuse_hours_across(rows, where)
                refuse_days_across(rows, where)
                refuse_times(rows, where, name)
                turned = turned_dates(rows)
                out.append(
                    Grid(
                        _filled(rows), along.rows_total, "spreadsheet", sheet=name,
                        hidden=hidden.get(number, ()), turned=turned, formulas=unreckoned,
                        is_hidden=book.sheets_metadata[number].visible != SheetVisibleEnum.Visible,
                        told=along.told,
                    )
                )  # fmt: skip
        return out
    except InputError:
        raise
    except PasswordError:
        raise InputError(where, "is locked by a password.", "Save a copy without one.") from None
    except (CalamineError, ValueError, OSError) as problem:
        raise InputError(where, f"cannot be read as a spreadsheet: {str(problem)[:120]}.", _SAVE) from None


def _filled(rows: list[Row]) -> list[Row]:
    """Give short rows the blanks that a spreadsheet leaves out at their end."""
    widths = sorted(len(cells) for _, cells in rows)
    usual = widths[len(widths) // 2]
    return [
        (at, cells + [""] * (usual - len(cells)) if 1 < len(cells) < usual else cells) for at, cells in rows
    ]


def _cell(value: Any) -> Cell:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "1" if value else "0"
    if isinstance(value, int | float):
        return float(value)
    if isinstance(value, datetime):
        return value
    if isinstance(value, date):
        return datetime(value.year, value.month, value.day)
    if isinstance(value, time):
        return f"{value:%H:%M:%S}"
    if isinstance(value, timedelta):
        seconds = round(value.total_seconds())
        return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
    text = str(value).strip()
    if found := _MILLISECONDS.fullmatch(text):
        return datetime.fromtimestamp(int(found.group(1)) / 1000, UTC)
    return text


def _beside_values(
    content: bytes, where: str
) -> tuple[dict[int, tuple[int, ...]], dict[int, dict[int, set[int]]]]:
    """Return the hidden rows, and the cells with a formula and no result, of each sheet by its number."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as source:
            if sum(one.file_size for one in source.infolist()) > MOST_UNPACKED:
                raise InputError(
                    where,
                    f"unpacks to more than {MOST_UNPACKED // 1_000_000} MB.",
                    "Save its sheets as .csv.",
                )
            names = set(source.namelist())
            if "content.xml" in names:
                tables = source.read("content.xml").split(b"<table:table ")[1:]
                return dict(enumerate(map(_hidden_ods, tables))), dict(enumerate(map(in_ods, tables)))
            hidden: dict[int, tuple[int, ...]] = {}
            formulas: dict[int, dict[int, set[int]]] = {}
            for number, name in enumerate(_sheet_files(source, names)):  # one at a time: they are large
                sheet = source.read(name)
                hidden |= {number: rows} if (rows := _hidden_xlsx(sheet)) else {}
                formulas |= {number: cells} if (cells := in_xlsx(sheet)) else {}
            return hidden, formulas
    except InputError:
        raise
    except (zipfile.BadZipFile, zlib.error, OSError, ValueError, KeyError, NotImplementedError, RuntimeError):
        raise InputError(where, "is damaged: it cannot be unpacked.", _SAVE) from None


def _sheet_files(source: zipfile.ZipFile, names: set[str]) -> list[str]:
    """Return the files of the sheets in the order of the book."""
    try:
        book = source.read("xl/workbook.xml").decode("utf-8", "replace")
        links = source.read("xl/_rels/workbook.xml.rels").decode("utf-8", "replace")
    except KeyError:
        return []
    targets = {}
    for tag in re.findall(r"<Relationship\b[^>]*>", links):
        one, to = re.search(r'\bId="([^"]+)"', tag), re.search(r'\bTarget="([^"]+)"', tag)
        if one and to:
            targets[one.group(1)] = to.group(1)
    out = []
    for tag in re.findall(r"<(?:\w+:)?sheet\b[^>]*>", book):
        link = re.search(r'\br:id="([^"]+)"|\b\w+:id="([^"]+)"', tag)
        target = targets.get((link.group(1) or link.group(2)) if link else "", "").lstrip("/")
        name = target if target.startswith("xl/") else f"xl/{target}"
        if name in names:
            out.append(name)
    return out


def _hidden_xlsx(content: bytes) -> tuple[int, ...]:
    at, rows = 0, list[int]()
    for found in _ROW.finditer(content):
        said = re.search(rb'\br="(\d+)"', found.group(1))
        at = int(said.group(1)) if said else at + 1
        if re.search(rb'\bhidden="(1|true)"', found.group(1)):
            rows.append(at)
    return tuple(rows)


def _hidden_ods(table: bytes) -> tuple[int, ...]:
    at, rows = 1, list[int]()
    for found in _ODS_ROW.finditer(table.split(b"</table:table>")[0]):
        times = re.search(rb'number-rows-repeated="(\d+)"', found.group(1))
        count = int(times.group(1)) if times else 1
        if re.search(rb'table:visibility="(collapse|filter)"', found.group(1)) and count < 100_000:
            rows.extend(range(at, at + count))
        at += count
    return tuple(rows)


def json_grid(content: bytes) -> Grid | None:
    """Return the grid of JSON lines (or one JSON list of objects); None where it is neither."""
    text, encoding, replaced = decode(content)
    lines = [(at, one) for at, one in enumerate(text.splitlines(), 1) if one.strip()]
    if not lines or lines[0][1].lstrip()[:1] not in "[{":
        return None
    records, bad = _records(text, lines)
    if records is None or len(records) < max(1, len(bad)):
        return None
    keys: dict[str, None] = {}
    flat = with_units([(at, dict(_flattened(one))) for at, one in unrolled(resolved(records))])
    for _, one in flat:
        keys |= dict.fromkeys(one)
    rows: list[Row] = [(0, list(keys))]
    rows += [(at, [_cell(one.get(key)) for key in keys]) for at, one in flat]
    rows += [(at, [line.strip()]) for at, line in bad]
    total = len(text.splitlines()) if len(lines) >= len(records) else len(records)
    rows.sort(key=lambda row: row[0])
    return Grid(rows, total, "json lines", encoding, replaced=replaced)


def _in_line(line: str) -> object:
    """Return what a line of JSON holds; None: it is none by itself."""
    try:
        return json.loads(line.strip().rstrip(","))
    except (ValueError, RecursionError):
        return None


def _records(
    text: str, lines: list[tuple[int, str]]
) -> tuple[list[tuple[int, dict[str, Any]]] | None, list[tuple[int, str]]]:
    good: list[tuple[int, dict[str, Any]]] = []
    bad: list[tuple[int, str]] = []
    for at, line in lines:
        found = _in_line(line)
        if found is None and at == lines[0][0]:
            found = _in_line(line.lstrip().removeprefix("["))
        elif found is None and at == lines[-1][0]:
            found = _in_line(line.rstrip().removesuffix("]"))
        if found is None:
            bad.append((at, line))
        elif isinstance(found, dict):
            good.append((at, found))
    if len(good) == 1 and not bad and (columns := of_columns(good[0][1])) is not None:
        return columns, []
    if good and len(good) >= len(bad):
        return good, bad
    try:
        whole = json.loads(text)
    except (ValueError, RecursionError):
        return None, bad
    if (columns := of_columns(whole)) is not None:
        return columns, []
    if isinstance(whole, dict):
        whole = next((one for one in whole.values() if isinstance(one, list)), None)
    if isinstance(whole, list) and whole and isinstance(whole[0], dict):
        return [(at, one) for at, one in enumerate(whole, 1) if isinstance(one, dict)], []
    return None, bad


def _flattened(record: dict[str, Any], ahead: str = "") -> Iterator[tuple[str, Any]]:
    for key, value in record.items():
        name = f"{ahead} {key}".strip()
        if isinstance(value, dict):
            yield from _flattened(value, name)
        elif not isinstance(value, list):
            yield name, value


def parquet_grid(content: bytes, where: str) -> Grid:
    """Return the grid of a small Parquet file.

    Raises
    ------
    InputError
        The file is damaged.
    """
    import polars as pl

    try:
        frame = pl.read_parquet(io.BytesIO(content))
    except (pl.exceptions.PolarsError, OSError) as problem:
        said = str(problem).splitlines()[0][:120]
        raise InputError(where, f"cannot be read as Parquet: {said}.", "Send the file again.") from None
    frame = _without_structs(frame)
    return frame_grid(frame.columns, frame.iter_rows(), frame.height)


def _without_structs(frame: pl.DataFrame) -> pl.DataFrame:
    """Return a frame with the fields of each structure as columns, named like nested keys of JSON lines."""
    import polars as pl

    while nested := [name for name, kind in frame.schema.items() if isinstance(kind, pl.Struct)]:
        name = nested[0]
        inner = frame[name].struct.unnest()
        inner = inner.rename({one: f"{name} {one}" for one in inner.columns})
        at = frame.columns.index(name)
        left, right = frame.columns[:at], frame.columns[at + 1 :]
        frame = pl.concat([frame.select(left), inner, frame.select(right)], how="horizontal")
    return frame


def frame_grid(columns: list[str], listed: Iterable[tuple[Any, ...]], height: int) -> Grid:
    """Return the grid of rows with names."""
    rows: list[Row] = [(0, list(columns))]
    rows += [(at, [_cell(one) for one in cells]) for at, cells in enumerate(listed, 1)]
    return Grid(rows, height, "parquet")
