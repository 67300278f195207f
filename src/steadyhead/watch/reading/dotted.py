"""Times of day with points, in a column beside the date: ``00.15.00`` is no day, ``14.05`` no number."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row
from steadyhead.watch.reading.stamps import stamp

LOOKED, LEAST, COLUMNS, HEADS = 400, 5, 12, 60
_SECONDS = re.compile(r"(\d{1,2})\.(\d{2})\.(\d{2})$")
_MINUTES = re.compile(r"(\d{1,2})\.(\d{2})$")
NO_DATE = 0.05
"""Share of the cells from which on they are no dates, read in whatever order. Own estimate."""


def with_colons(grid: Grid) -> Grid:
    """Return a table whose times of day with points are written with colons; else the table as it is."""
    if grid.container not in ("text", "spreadsheet"):
        return grid
    few = grid.rows[:: max(1, len(grid.rows) // LOOKED)]
    for at in range(COLUMNS):
        beside = [one for one in (at - 1, at + 1) if one >= 0 and _is_of_dates(few, one)]
        if not beside:
            continue
        form = _SECONDS if _is_clock(few, at) else _MINUTES if _is_short(few, at, grid.rows) else None
        if form is not None:
            rows = [(line, _with(cells, at, form)) for line, cells in grid.rows]
            return replace(grid, rows=rows)
    return grid


def _texts(rows: Sequence[Row], at: int) -> list[str]:
    return [str(cells[at]).strip() for _, cells in rows if at < len(cells) and cells[at] != ""]


def _is_of_dates(rows: Sequence[Row], at: int) -> bool:
    """Return whether a column holds dates without a time of day, and with the year in four digits."""
    found = [one for one in map(stamp, _texts(rows, at)) if one is not None and one.parts and not one.clock]
    whole = [one for one in found if one.parts and max(one.parts) > 1000]
    return len(whole) >= max(LEAST, 0.8 * len(_texts(rows, at)) - HEADS)


def _clocks(texts: Sequence[str], form: re.Pattern[str]) -> list[tuple[int, ...]]:
    """Return the numbers of the texts that are times of day; nothing where some are not."""
    digits = [one for one in texts if one[:1].isdigit()]
    found = [match for one in digits if (match := form.match(one)) is not None]
    times = [tuple(int(one) for one in match.groups()) for match in found]
    good = [one for one in times if one[0] < 25 and all(part < 60 for part in one[1:])]
    return good if len(good) >= LEAST and len(good) >= 0.97 * len(digits) else []


def _is_clock(rows: Sequence[Row], at: int) -> bool:
    times = _clocks(_texts(rows, at), _SECONDS)
    orders = ((0, 1), (1, 0), (2, 1))  # day and month, where the year is the third or the first
    return bool(times) and all(
        sum(not (1 <= one[day] <= 31 and 1 <= one[month] <= 12) for one in times) > NO_DATE * len(times)
        for day, month in orders
    )


def _is_short(rows: Sequence[Row], at: int, every: Sequence[Row]) -> bool:
    """Return whether hours and minutes stand in a column that is headed as a time."""
    times = _clocks(_texts(rows, at), _MINUTES)
    heads = [str(cells[at]) for _, cells in every[:HEADS] if at < len(cells) and isinstance(cells[at], str)]
    named = any(has(plain(one), words.TIME) and not one[:1].isdigit() for one in heads)
    return named and len(set(times)) > 3


def _with(cells: list[Cell], at: int, form: re.Pattern[str]) -> list[Cell]:
    if at >= len(cells) or not isinstance(cell := cells[at], str) or not form.match(cell.strip()):
        return cells
    return [*cells[:at], cell.strip().replace(".", ":"), *cells[at + 1 :]]
