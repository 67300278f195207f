"""Times of day as bare digits, beside a date or one of bare digits, too: ``1032027``, ``500`` for 05:00.

Noughts ahead may be lost.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import pairwise

from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row
from steadyhead.watch.reading.times import as_stamp, packed_clock

LOOKED, LEAST, COLUMNS, HEADS = 400, 10, 6, 60
"""Rows looked at first, rows that must be so, columns, and rows at the top that may hold the heading."""
CLOCKS, MOSTLY, BACK = 12, 0.98, 0.1
"""Times of day beside dates: how many, which share of the rows, and which share of the steps goes back."""
APART = timedelta(days=20)
"""Longest step from which on an order of day and month is the worse one. Own estimate."""
_FORMS = {8: ("%Y%m%d", "%d%m%Y", "%m%d%Y"), 6: ("%d%m%y", "%y%m%d", "%m%d%y")}


def packed(grid: Grid) -> Grid:
    """Return a table whose dates and times of bare digits are written out; else the table as it is.

    Where the dates are digits, too, taken is an order of day, month and year in which all rows run on; read
    in others they leap by weeks. Beside dates times that lost their noughts are known by their heading.
    """
    if grid.container not in ("text", "spreadsheet"):
        return _beside_dates(grid)
    few = grid.rows[:: max(1, len(grid.rows) // LOOKED)]
    for at in range(COLUMNS):
        if (found := _form(few, at)) and (found := _form(grid.rows, at)):
            rows = [(line, _put(cells, at, *found)) for line, cells in grid.rows]
            return replace(grid, rows=rows)
    return _beside_dates(grid)


def _digits(cell: Cell) -> str:
    text = f"{cell:.0f}" if isinstance(cell, float) and cell.is_integer() else str(cell).strip()
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
    day, seconds = _day(date.zfill(wide), form), packed_clock(clock.zfill(long))
    return None if day is None or seconds is None or seconds == 86_400 else day + timedelta(seconds=seconds)


@lru_cache(maxsize=4096)
def _day(digits: str, form: str) -> datetime | None:
    try:
        return datetime.strptime(digits, form)
    except ValueError:
        return None


def _put(cells: list[Cell], at: int, form: str, wide: int, long: int) -> list[Cell]:
    if at + 2 >= len(cells) or not (date := _digits(cells[at])) or not (clock := _digits(cells[at + 1])):
        return cells
    when = _when(date, clock, form, wide, long)
    return cells if when is None else [*cells[:at], f"{when:%Y-%m-%d %H:%M:%S}", "", *cells[at + 2 :]]


def _beside_dates(grid: Grid) -> Grid:
    """Return a table with four digits for each time of day that stands beside a date and lost noughts."""
    for place, (_, cells) in enumerate(grid.rows[:HEADS]):
        for at, one in enumerate(cells):
            if not isinstance(one, str) or not has(plain(one), ("hhmm", *words.TIME)):
                continue
            below = grid.rows[place + 1 :]
            if _is_clock(below[:: max(1, len(below) // LOOKED)], at) and _lost(below, at):
                rows = [*grid.rows[: place + 1], *((line, _filled(row, at)) for line, row in below)]
                return replace(grid, rows=rows)
    return grid


def _clock(cell: Cell) -> str:
    """Return the four digits of a time of day; "": it is none."""
    text = _digits(cell)
    return text.zfill(4) if text and len(text) <= 4 and packed_clock(text.zfill(4)) is not None else ""


def _is_clock(rows: Sequence[Row], at: int) -> bool:
    cells = [cells[at] for _, cells in rows if at < len(cells)]
    return sum(_clock(one) != "" for one in cells) >= max(CLOCKS, MOSTLY * len(cells))


def _lost(rows: Sequence[Row], at: int) -> bool:
    """Return whether a column holds times of the day of one to four digits that run on, beside dates."""
    cells = [(cells[at], clock) for _, cells in rows if at < len(cells) and (clock := _clock(cells[at]))]
    clocks = [int(clock) for _, clock in cells]
    if not _is_clock(rows, at) or not any(len(_digits(cell)) < 3 for cell, _ in cells):
        return False
    back = sum(b < a for a, b in pairwise(clocks))
    runs = min(back, len(clocks) - 1 - back) <= BACK * (len(clocks) - 1)
    dated = sum(_has_date(cells, at) for _, cells in rows)
    return runs and max(clocks) > 60 and len(set(clocks)) > 3 and dated >= MOSTLY * len(rows)


def _has_date(cells: Sequence[Cell], at: int) -> bool:
    for beside in (at - 1, at + 1):
        found = as_stamp(cells[beside]) if 0 <= beside < len(cells) else None
        if found is not None and found.parts is not None and not found.clock:
            return True
    return False


def _filled(cells: list[Cell], at: int) -> list[Cell]:
    clock = _clock(cells[at]) if at < len(cells) else ""
    return [*cells[:at], clock, *cells[at + 1 :]] if clock else cells
