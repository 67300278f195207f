"""Times of day as parts of a day beside the date, as a spreadsheet keeps them: 0.59375 is 14:15."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.numbers import Cell, number
from steadyhead.watch.reading.sources import Grid, Row
from steadyhead.watch.reading.times import as_stamp

LOOKED, LEAST, COLUMNS, HEADS = 400, 5, 6, 60
_SERIAL = (25_000, 80_000)
_ZERO = datetime(1899, 12, 30)


def with_parts(grid: Grid) -> Grid:
    """Return a table with parts of days as times of day, and days of a spreadsheet beside them as dates."""
    if grid.container not in ("text", "spreadsheet"):
        return grid
    few = grid.rows[:: max(1, len(grid.rows) // LOOKED)]
    for at in range(COLUMNS):
        if _is_pair(few, at) and _is_headed(grid.rows, at + 1) and _is_pair(grid.rows, at):
            return replace(grid, rows=[(line, _with(cells, at)) for line, cells in grid.rows])
    return grid


def _number(cell: Cell) -> float | None:
    if isinstance(cell, float):
        return cell
    found = number(cell, ".") if isinstance(cell, str) and cell else None
    return number(cell, ",") if found is None and isinstance(cell, str) and cell else found


def _day(cell: Cell) -> bool:
    value = _number(cell)
    if value is not None:
        return value == int(value) and _SERIAL[0] <= value <= _SERIAL[1]
    stamp = as_stamp(cell)
    return stamp is not None and stamp.parts is not None and not stamp.clock


def _is_pair(rows: Sequence[Row], at: int) -> bool:
    pairs = [
        (cells[at], part)
        for _, cells in rows
        if at + 2 < len(cells) and _day(cells[at]) and (part := _number(cells[at + 1])) is not None
    ]
    if len(pairs) < max(LEAST, 0.8 * len(rows) - HEADS):
        return False
    parts = [part for _, part in pairs]
    same = [b > a for (day, a), (next_, b) in pairwise(pairs) if day == next_]
    runs = max(sum(same), len(same) - sum(same)) >= 0.98 * len(same)
    return runs and len(set(parts)) > 3 and all(0 <= one < 1 for one in parts)


def _is_headed(rows: Sequence[Row], at: int) -> bool:
    """Return whether the column is headed as a time, or by nothing."""
    heads = [str(cells[at]) for _, cells in rows[:HEADS] if at < len(cells) and _number(cells[at]) is None]
    heads = [one for one in heads if one]
    return not heads or any(has(plain(one), words.TIME) for one in heads)


def _with(cells: list[Cell], at: int) -> list[Cell]:
    if at + 2 >= len(cells) or not _day(cells[at]) or (part := _number(cells[at + 1])) is None:
        return cells
    seconds = round(part * 86_400)
    clock = f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
    serial = _number(cells[at])
    day: Cell = cells[at] if serial is None else f"{_ZERO + timedelta(days=serial):%Y-%m-%d}"
    return [*cells[:at], day, clock, *cells[at + 2 :]]
