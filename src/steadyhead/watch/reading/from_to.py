"""Times given as spans, ``00:15-00:30``: each is read by its start, and its end is no offset to UTC."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row

LOOKED, LEAST, MOSTLY = 400, 6, 0.9
"""Rows that are looked at, rows that must be so, and which share of them."""
_SPAN = re.compile(
    r"^(.*?\b\d{1,2}:\d{2}(?::\d{2})?)\s*(?:-|–|—|bis|to|à|tot|til|till)\s*"
    r"((?:\d{1,4}[./-]\d{1,2}[./-]\d{1,4}\s+)?\d{1,2}:\d{2}(?::\d{2})?)(?:\s*(?:Uhr|h|uur))?$"
)


def starts(grid: Grid) -> Grid:
    """Return a table whose spans are cut to their starts; else the table as it is."""
    if not grid.rows:
        return grid
    few = grid.rows[:: max(1, len(grid.rows) // LOOKED)]
    for at in range(min(4, max(len(cells) for _, cells in few))):
        if _spans(few, at) and _spans(grid.rows, at):
            return replace(grid, rows=[(line, _with(cells, at)) for line, cells in grid.rows])
    return grid


def _spans(rows: Sequence[Row], at: int) -> bool:
    """Return whether nearly all cells of a column are spans, whose ends are not one and the same offset."""
    cells = [cells[at] for _, cells in rows if at < len(cells) and cells[at] != ""]
    found = [one for cell in cells if isinstance(cell, str) and (one := _SPAN.match(cell.strip()))]
    return len(found) >= max(LEAST, MOSTLY * len(cells) - 5) and len({one.group(2) for one in found}) > 3


def _with(cells: list[Cell], at: int) -> list[Cell]:
    cell = cells[at] if at < len(cells) else ""
    found = _SPAN.match(cell.strip()) if isinstance(cell, str) else None
    return cells if found is None else [*cells[:at], found.group(1), *cells[at + 1 :]]
