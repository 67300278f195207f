"""Times counted since 1970 in millionths or thousand-millionths of a second, spelt out in UTC."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.numbers import Cell, number
from steadyhead.watch.reading.sources import Grid, Row

LOOKED, LEAST, COLUMNS, HEADS = 400, 2, 8, 60
"""Rows looked at first, rows that must be so, columns, and rows at the top that may hold the heading."""
FINE = ((10**17, 4_200_000_000_000_000_000, 1000), (10**14, 4_200_000_000_000_000, 1))
"""From and to what a count of billionths, or millionths, goes; how many of them a millionth has."""
FIRST = datetime(2001, 1, 1, tzinfo=UTC)
"""Counts that are mostly older are no times: numbers of devices have 15 digits, too."""
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def fine_epochs(grid: Grid) -> Grid:
    """Return a table with a column that counts so as times spelt out; else the table as it is.

    In one of the first two columns nearly all rows count; in others, and where fewer do, the heading is that
    of a time.
    """
    few = grid.rows[:: max(1, len(grid.rows) // LOOKED)]
    for at in range(COLUMNS):
        if _share(few, at) >= 0.5 and _is_counted(grid, few, at):
            return replace(grid, rows=[(line, _with(cells, at)) for line, cells in grid.rows])
    return grid


def _share(rows: Sequence[Row], at: int) -> float:
    """Return which share of the filled cells of a column are counts that run on; 0: they do not."""
    filled = sum(at < len(cells) and cells[at] != "" for _, cells in rows)
    found = [one for _, cells in rows if at < len(cells) and (one := _when(cells[at])) is not None]
    forward = sum(b >= a for a, b in pairwise(found))
    runs = max(forward, len(found) - 1 - forward) >= 0.5 * (len(found) - 1)
    recent = sum(one >= FIRST for one in found) >= 0.9 * len(found)
    enough = len(found) >= LEAST and len(set(found)) > 1
    return min(1.0, (len(found) + 5) / filled) if enough and runs and recent else 0.0


def _is_counted(grid: Grid, few: Sequence[Row], at: int) -> bool:
    """Return whether a column of such counts is one of times: by its heading or place and all rows."""
    heads = (str(cells[at]) for _, cells in grid.rows[:HEADS] if at < len(cells) and _when(cells[at]) is None)
    timely = at == 0 or any(has(plain(one), words.TIME) for one in heads)
    return (timely and sum(at < len(cells) and _when(cells[at]) is not None for _, cells in few) > LEAST) or (
        at < 2 and _share(few, at) >= 0.9 and _share(grid.rows, at) >= 0.9
    )


def _when(cell: Cell) -> datetime | None:
    if (value := _whole(cell)) is None:
        return None
    parts = next((parts for least, most, parts in FINE if least <= value <= most), 0)
    return EPOCH + timedelta(microseconds=value // parts) if parts else None


def _whole(cell: Cell) -> int | None:
    """Return the whole number of a cell, to its last digit; None: it is none of 15 digits or more."""
    if isinstance(cell, float):
        return round(cell) if 1e14 <= cell < 1e19 else None
    if not isinstance(cell, str) or len(cell) < 15:
        return None
    text = cell.strip().strip("'\"")
    if text.isascii() and text.isdigit():
        return int(text)
    value = number(text, ".")
    value = number(text, ",") if value is None else value
    return round(value) if value is not None and 1e14 <= value < 1e19 else None


def _with(cells: list[Cell], at: int) -> list[Cell]:
    when = _when(cells[at]) if at < len(cells) else None
    return cells if when is None else [*cells[:at], f"{when:%Y-%m-%dT%H:%M:%S.%f}Z", *cells[at + 1 :]]
