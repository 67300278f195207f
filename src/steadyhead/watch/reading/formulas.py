"""Cells of a spreadsheet that hold a formula and no result: a program wrote it and nothing reckoned it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from steadyhead.errors import InputError
from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.numbers import UNRECKONED, Cell
from steadyhead.watch.reading.sources import Row

Cells = Mapping[int, set[int]]
"""Rows (from 1), each with its columns (from 0)."""
MANY = 0.5
"""Share of the rows whose time is a formula without a result, from which a sheet is refused. Own estimate."""
_XLSX = re.compile(
    rb"<(?:\w+:)?c\b([^>]*)>\s*<(?:\w+:)?f\b(?:[^>]*/>|[^>]*>[^<]*</(?:\w+:)?f>)\s*"
    rb"(?:<(?:\w+:)?v\s*/>|<(?:\w+:)?v>\s*</(?:\w+:)?v>)?\s*</(?:\w+:)?c>"
)
_PLACE = re.compile(rb'\br="([A-Z]+)(\d+)"')
_ODS_ROW = re.compile(rb"<table:table-row\b([^>]*?)(?:/>|>(.*?)</table:table-row>)", re.DOTALL)
_ODS_CELL = re.compile(rb"<table:(?:covered-)?table-cell\b([^>]*)>")


def in_xlsx(sheet: bytes) -> dict[int, set[int]]:
    """Return the cells of a sheet's file whose formula has no result; an empty text is one."""
    out: dict[int, set[int]] = {}
    if b"<f" not in sheet and b":f" not in sheet:
        return out
    for found in _XLSX.finditer(sheet):
        place = _PLACE.search(found.group(1))
        if place is None or b't="str"' in found.group(1):
            continue
        column = 0
        for letter in place.group(1):
            column = 26 * column + letter - 64
        out.setdefault(int(place.group(2)), set()).add(column - 1)
    return out


def in_ods(table: bytes) -> dict[int, set[int]]:
    """Return the cells of a table whose formula has no result."""
    out: dict[int, set[int]] = {}
    if b"table:formula=" not in table:
        return out
    row = 1
    for found in _ODS_ROW.finditer(table):
        columns = set(_unreckoned(found.group(2) or b""))
        times = _repeated(found.group(1), b"rows")
        if columns and times < 100_000:
            out |= dict.fromkeys(range(row, row + times), columns)
        row += times
    return out


def _unreckoned(row: bytes) -> Iterator[int]:
    column = 0
    for found in _ODS_CELL.finditer(row):
        times = _repeated(found.group(1), b"columns")
        if b"table:formula=" in found.group(1) and b"office:value-type=" not in found.group(1):
            yield from range(column, column + min(times, 1000))
        column += times


def _repeated(tag: bytes, what: bytes) -> int:
    found = re.search(rb"number-" + what + rb'-repeated="(\d+)"', tag)
    return int(found.group(1)) if found else 1


def put_in(listed: list[list[Cell]], formulas: Cells) -> int:
    """Write a mark for *no value* into blank cells with such a formula; return how many.

    listed: the rows of a sheet from the first one on.
    """
    count = 0
    for at, columns in formulas.items():
        if at > len(listed):
            listed.extend([] for _ in range(at - len(listed)))
        row = listed[at - 1]
        row.extend([""] * (max(columns) + 1 - len(row)))
        for column in columns:
            if row[column] == "":
                row[column] = UNRECKONED
                count += 1
    return count


def refuse_times(rows: list[Row], where: str, sheet: str) -> None:
    """Refuse a sheet whose times are formulas without a result: no row of it could be placed.

    Raises
    ------
    InputError
        It is one.
    """
    for at in {column for _, cells in rows for column, cell in enumerate(cells) if cell == UNRECKONED}:
        column = [cells[at] for _, cells in rows if at < len(cells)]
        count = sum(cell == UNRECKONED for cell in column)
        heading = next((cell for cell in column if isinstance(cell, str) and cell), "")
        if count > MANY * len(rows) and has(plain(heading), words.TIME):
            raise InputError(
                where,
                f"holds formulas for its times and does not keep their results ({heading!r} of sheet "
                f"{sheet!r}, {count} cells).",
                "Open it in a spreadsheet program, let it reckon, save it and read it again.",
            )
