"""Stamps that give the interval of a sample from its begin to its end: ``04/03/2027 08:00 - 08:15``."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row

LOOKED, LEAST, COLUMNS, DAY = 400, 5, 4, 86_400
_CLOCK = r"(\d{1,2}):(\d{2})(?::(\d{2}))?"
_RANGE = re.compile(
    rf"(.*?{_CLOCK})\s*(?:-|–|—|~|/|to|until|bis|au|à|al|hasta|até|do|tot)\s*"
    rf"(?:\d{{1,4}}[-/.]\d{{1,2}}[-/.]\d{{1,4}}[T ])?{_CLOCK}$"
)


def begun_only(grid: Grid) -> Grid:
    """Return a table whose stamps of intervals are those of their begin.

    An offset to UTC looks alike, ``08:00-05:00``: an end lies the same time after each begin.
    """
    few = grid.rows[:: max(1, len(grid.rows) // LOOKED)]
    for at in range(COLUMNS):
        if _is_of_ranges(few, at):
            rows = [(line, _with(cells, at)) for line, cells in grid.rows]
            return replace(grid, rows=rows, rewritten=True)
    return grid


def _is_of_ranges(rows: Sequence[Row], at: int) -> bool:
    texts = [str(cells[at]) for _, cells in rows if at < len(cells) and cells[at] != ""]
    found = [match for one in texts if (match := _RANGE.match(one)) is not None]
    if len(found) < max(LEAST, 0.9 * len(texts) - 5):
        return False
    lasts = {(_seconds(one.groups()[4:7]) - _seconds(one.groups()[1:4])) % DAY for one in found}
    ends = {one.groups()[4:7] for one in found}
    return len(ends) > 2 and len(lasts) <= 2 and min(lasts) > 0


def _seconds(clock: Sequence[str | None]) -> int:
    hours, minutes, seconds = (int(one or 0) for one in clock)
    return hours * 3600 + minutes * 60 + seconds


def _with(cells: list[Cell], at: int) -> list[Cell]:
    found = _RANGE.match(str(cells[at])) if at < len(cells) else None
    return cells if found is None else [*cells[:at], found.group(1), *cells[at + 1 :]]
