"""Hours and minutes as one number that lost its leading zeros: ``0``, ``15``, ``130`` for 01:30."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row
from steadyhead.watch.reading.times import as_stamp, packed_clock

LOOKED, LEAST = 60, 12
"""Rows at the top among which the heading may stand, and rows below it that all must be so."""
FEW = 400
"""Rows that are looked at first."""


def with_zeros(grid: Grid) -> Grid:
    """Return a table with the zeros put back, where a column beside dates holds such times; else as it is."""
    for place, (_, cells) in enumerate(grid.rows[:LOOKED]):
        for at, one in enumerate(cells):
            if not isinstance(one, str) or not has(plain(one), ("hhmm", *words.TIME)):
                continue
            below = grid.rows[place + 1 :]
            few = below[:: max(1, len(below) // FEW)]
            if _all_clocks(few, at) and _lost(below, at):
                rows = [*grid.rows[: place + 1], *((line, _with(row, at)) for line, row in below)]
                return replace(grid, rows=rows)
    return grid


def _lost(rows: Sequence[Row], at: int) -> bool:
    """Return whether a column holds times of the day of one to four digits, with a date beside each."""
    found = _clocks(rows, at)
    if not _all_clocks(rows, at) or not any(len(one) < 3 for one in found):
        return False
    if not any(int(one) > 60 for one in found) or len(set(found)) < 4:
        return False
    dated = sum(_has_date(cells, at) for _, cells in rows)
    return dated >= 0.98 * len(rows) and _runs(rows, at)


def _clocks(rows: Sequence[Row], at: int) -> list[str]:
    texts = [_digits(cells[at]) for _, cells in rows if at < len(cells)]
    return [one for one in texts if one and packed_clock(one.zfill(4)) is not None]


def _all_clocks(rows: Sequence[Row], at: int) -> bool:
    return len(_clocks(rows, at)) >= max(LEAST, 0.98 * sum(at < len(cells) for _, cells in rows))


def _runs(rows: Sequence[Row], at: int) -> bool:
    """Return whether the times rise within each day, or fall."""
    values = [int(text) for _, cells in rows if at < len(cells) and (text := _digits(cells[at]))]
    steps = [b - a for a, b in pairwise(values)]
    back = sum(one < 0 for one in steps)
    return min(back, len(steps) - back) <= 0.1 * len(steps)


def _has_date(cells: Sequence[Cell], at: int) -> bool:
    for beside in (at - 1, at + 1):
        found = as_stamp(cells[beside]) if 0 <= beside < len(cells) else None
        if found is not None and found.parts is not None and not found.clock:
            return True
    return False


def _digits(cell: Cell) -> str:
    if isinstance(cell, float):
        return str(int(cell)) if 0 <= cell <= 2400 and cell == int(cell) else ""
    text = str(cell).strip()
    return text if text.isdecimal() and len(text) <= 4 else ""


def _with(cells: list[Cell], at: int) -> list[Cell]:
    text = _digits(cells[at]) if at < len(cells) else ""
    return [*cells[:at], text.zfill(4), *cells[at + 1 :]] if text else cells
