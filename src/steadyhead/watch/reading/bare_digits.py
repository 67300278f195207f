"""Dates and times of day as bare digits in two columns, noughts ahead lost or not: ``1032027``, ``500``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row

LOOKED, LEAST, COLUMNS = 400, 10, 6
APART = timedelta(days=20)
"""Longest step from which on an order of day and month is the worse one. Own estimate."""
_FORMS = {8: ("%Y%m%d", "%d%m%Y", "%m%d%Y"), 6: ("%d%m%y", "%y%m%d", "%m%d%y")}


def packed(grid: Grid) -> Grid:
    """Return a table whose dates and times of bare digits are written out; else the table as it is.

    Taken is an order of day, month and year where all rows run on in it; read in others they leap by weeks.
    """
    if grid.container not in ("text", "spreadsheet"):
        return grid
    few = grid.rows[:: max(1, len(grid.rows) // LOOKED)]
    for at in range(COLUMNS):
        if (found := _form(few, at)) and (found := _form(grid.rows, at)):
            rows = [(line, _put(cells, at, *found)) for line, cells in grid.rows]
            return replace(grid, rows=rows, rewritten=True)
    return grid


def _digits(cell: Cell) -> str:
    text = f"{cell:.0f}" if isinstance(cell, float) and cell == int(cell) else str(cell).strip()
    return text if text.isdecimal() and text.isascii() else ""


def _pairs(rows: Sequence[Row], at: int) -> Iterator[tuple[str, str]]:
    for _, cells in rows:
        if at + 2 < len(cells) and (date := _digits(cells[at])) and (clock := _digits(cells[at + 1])):
            yield date, clock


def _form(rows: Sequence[Row], at: int) -> tuple[str, int, int] | None:
    """Return the form of the dates, and digits of date and time; None: the columns are none."""
    pairs = list(_pairs(rows, at))
    if len(pairs) < max(LEAST, 0.9 * len(rows) - 5):
        return None
    wide, long = max(len(date) for date, _ in pairs), max(len(clock) for _, clock in pairs)
    wide, long = wide + wide % 2, long + long % 2  # a nought ahead may be lost throughout
    if wide not in _FORMS or long not in (4, 6) or min(len(date) for date, _ in pairs) < wide - 1:
        return None
    if len({clock for _, clock in pairs}) < 4:
        return None
    gaps = {form: gap for form in _FORMS[wide] if (gap := _gap(pairs, form, wide, long)) is not None}
    best = min(gaps, key=lambda form: gaps[form], default="")
    if (
        not best
        or (wide < 8 and gaps[best] > APART)
        or any(gap < APART for form, gap in gaps.items() if form != best)
    ):
        return None
    return best, wide, long


def _gap(pairs: Sequence[tuple[str, str]], form: str, wide: int, long: int) -> timedelta | None:
    """Return the longest step of times that run on, read in a form; None: they do not."""
    times = [_when(date, clock, form, wide, long) for date, clock in pairs]
    known = [one for one in times if one is not None and 1980 <= one.year <= 2100]
    if len(known) < len(times) or known[0] == known[-1]:
        return None
    if known[0] > known[-1]:
        known.reverse()
    steps = [b - a for a, b in pairwise(known)]
    return max(steps) if min(steps) >= timedelta(0) else None


def _when(date: str, clock: str, form: str, wide: int, long: int) -> datetime | None:
    try:
        return datetime.strptime(
            date.zfill(wide) + clock.zfill(long), form + ("%H%M%S" if long == 6 else "%H%M")
        )
    except ValueError:
        return None


def _put(cells: list[Cell], at: int, form: str, wide: int, long: int) -> list[Cell]:
    if at + 2 >= len(cells) or not (date := _digits(cells[at])) or not (clock := _digits(cells[at + 1])):
        return cells
    when = _when(date, clock, form, wide, long)
    return cells if when is None else [*cells[:at], f"{when:%Y-%m-%d %H:%M:%S}", "", *cells[at + 2 :]]
