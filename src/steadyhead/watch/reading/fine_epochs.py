"""Times counted since 1970 in millionths or thousand-millionths of a second, spelt out in UTC."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row

LEAST, LOOKED = 2, 400
"""Rows that all have to be so, and rows that are looked at first."""
DIGITS = {16: 1, 19: 1000}
"""Digits of such a count today, and how many of its units are a millionth of a second."""
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
YEARS = (2001, 2099)


def fine_epochs(grid: Grid) -> Grid:
    """Return a table whose first column counts so, with its times spelt out; else the table as it is."""
    if grid.container not in ("text", "json lines"):
        return grid
    for at in (0, 1):
        if _all(grid.rows[:: max(1, len(grid.rows) // LOOKED)], at) and _all(grid.rows, at):
            return replace(grid, rows=[(line, _with(cells, at)) for line, cells in grid.rows])
    return grid


def _all(rows: Sequence[Row], at: int) -> bool:
    cells = [cells[at] for _, cells in rows if at < len(cells)]
    found = [one for cell in cells if (one := _when(cell)) is not None]
    return len(found) >= max(LEAST, 0.9 * len(cells) - 5) and len(set(found)) > 1


def _when(cell: Cell) -> datetime | None:
    text = f"{cell:.0f}" if isinstance(cell, float) and cell > 1e15 else str(cell).strip().strip("'\"")
    if len(text) not in DIGITS or not re.fullmatch(r"\d+", text):
        return None
    when = EPOCH + timedelta(microseconds=int(text) // DIGITS[len(text)])
    return when if YEARS[0] <= when.year <= YEARS[1] else None


def _with(cells: list[Cell], at: int) -> list[Cell]:
    when = _when(cells[at]) if at < len(cells) else None
    return cells if when is None else [*cells[:at], f"{when:%Y-%m-%dT%H:%M:%S.%f}Z", *cells[at + 1 :]]
