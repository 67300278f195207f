"""Times given as spans, ``00:15-00:30``: each is read by its start, and its end is no offset to UTC."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row

LOOKED, LEAST, MOSTLY, COLUMNS, DAY = 400, 5, 0.9, 4, 86_400
"""Rows looked at first, rows that must be so and which share of them, columns, and seconds of a day."""
_CLOCK = r"(\d{1,2}):(\d{2})(?::(\d{2}))?(?:\s?[ap]\.?m\.?|Z)?"
_WORDS = r"to|till?|until|bis|à|au|al|hasta|até|do|tot"
_SPAN = re.compile(
    rf"(.*?{_CLOCK})\s*(?:-|–|—|~|/|{_WORDS})\s*"
    rf"(\d{{1,4}}[-/.]\d{{1,2}}[-/.]\d{{1,4}}(?:T|\s+))?{_CLOCK}(?:\s*(?:Uhr|h|uur))?$",
    re.IGNORECASE,
)


def starts(grid: Grid) -> Grid:
    """Return a table whose spans are cut to their starts; else the table as it is.

    An offset to UTC looks alike, ``08:00-05:00``: it is the same in all rows, or changes with the season.
    """
    few = grid.rows[:: max(1, len(grid.rows) // LOOKED)]
    for at in range(COLUMNS):
        if _is_of_spans(few, at) and _is_of_spans(grid.rows, at):
            return replace(grid, rows=[(line, _with(cells, at)) for line, cells in grid.rows])
    return grid


def _found(cells: Sequence[Cell], at: int) -> re.Match[str] | None:
    cell = cells[at] if at < len(cells) else ""
    return _SPAN.match(cell.strip()) if isinstance(cell, str) and ":" in cell else None


def _is_of_spans(rows: Sequence[Row], at: int) -> bool:
    """Return whether nearly all cells of a column are spans: their ends have dates, or are of many kinds."""
    filled = sum(at < len(cells) and cells[at] != "" for _, cells in rows)
    found = [one for _, cells in rows if (one := _found(cells, at)) is not None]
    if len(found) < max(LEAST, MOSTLY * filled - 5):
        return False
    ends = {one.groups()[4:8] for one in found}
    if len(ends) > 3:
        return True
    lasting = {(_seconds(one.groups()[5:8]) - _seconds(one.groups()[1:4])) % DAY for one in found}
    return len(ends) == 3 and len(lasting) <= 2 and min(lasting) > 0


def _seconds(clock: Sequence[str | None]) -> int:
    hours, minutes, seconds = (int(one or 0) for one in clock)
    return hours * 3600 + minutes * 60 + seconds


def _with(cells: list[Cell], at: int) -> list[Cell]:
    found = _found(cells, at)
    return cells if found is None else [*cells[:at], found.group(1), *cells[at + 1 :]]
