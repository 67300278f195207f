"""Times as bare digits, or in columns for year, day of the year and hour, spelt out: ``2603010815``."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row

LOOKED, LEAST = 400, 10
"""Rows that are looked at, and rows that all have to be so."""
_FORMS = {10: "%y%m%d%H%M", 12: "%y%m%d%H%M%S"}


def spelt_out(grid: Grid) -> Grid:
    """Return a table whose times of ten or twelve digits are written as dates; else the table as it is.

    Ten digits may count seconds since 1970, too: taken for a date is only what is one in every row, in order.
    """
    if grid.container != "text":
        return grid
    few = grid.rows[:: max(1, len(grid.rows) // LOOKED)]
    for at in (0, 1):  # an identity of the kind of row may stand ahead
        if _is_day_of_year(few, at) and _is_day_of_year(grid.rows, at):
            rows = [
                (line, [*cells[:at], *_put(cells[at:], _of_three(cells[at:]))]) for line, cells in grid.rows
            ]
            return replace(grid, rows=rows)
    for at in (0, 1):
        if _size(few, at) and (size := _size(grid.rows, at)):
            rows = [(line, _with(cells, at, size)) for line, cells in grid.rows]
            return replace(grid, rows=rows)
    return grid


def _size(rows: Sequence[Row], at: int) -> int:
    texts = [str(cells[at]).strip() for _, cells in rows if at < len(cells)]
    digits = [one for one in texts if re.fullmatch(r"\d{10}|\d{12}", one)]
    if len(digits) < max(LEAST, 0.8 * len(texts)) or len({len(one) for one in digits}) != 1:
        return 0
    size = len(digits[0])
    times = [_read(one, size) for one in digits[:: max(1, len(digits) // LOOKED)]]
    known = [one for one in times if one is not None]
    if len(known) < len(times):
        return 0
    ordered = known == sorted(known) or known == sorted(known, reverse=True)
    return size if ordered and known[0] != known[-1] else 0


def _read(text: str, size: int) -> datetime | None:
    try:
        return datetime.strptime(text, _FORMS[size])
    except ValueError:
        return None


def _with(cells: list[Cell], at: int, size: int) -> list[Cell]:
    text = str(cells[at]).strip() if at < len(cells) else ""
    when = _read(text, size) if re.fullmatch(rf"\d{{{size}}}", text) else None
    if when is None:
        return cells
    return [*cells[:at], f"{when:%Y-%m-%d %H:%M:%S}", *cells[at + 1 :]]


def _is_day_of_year(rows: Sequence[Row], at: int) -> bool:
    """Return whether rows begin with a year, a day of the year, and hours and minutes as one number."""
    found = [when for _, cells in rows if (when := _of_three(cells[at:])) is not None]
    clocks = {(when.hour, when.minute) for when in found}
    if not any(when.hour > 12 for when in found):  # else it may be year, month and day
        return False
    return len(found) >= max(LEAST, 0.9 * len(rows) - 5) and len(clocks) > 3 and found == sorted(found)


def _of_three(cells: list[Cell]) -> datetime | None:
    texts = [str(one).strip() for one in cells[:3]]
    if len(cells) < 4 or not all(re.fullmatch(r"\d{1,4}", one) for one in texts[:2]):
        return None
    if (spelt := re.fullmatch(r"(\d{1,2}):?(\d{2})(?::00)?|(\d{1,2})", texts[2])) is None:
        return None
    year, day = int(texts[0]), int(texts[1])
    hours, minutes = int(spelt.group(1) or 0), int(spelt.group(2) or spelt.group(3))
    clock = hours * 100 + minutes
    if not 1980 <= year <= 2100 or not 1 <= day <= 366 or hours > 24 or minutes > 59 or clock > 2400:
        return None
    return datetime(year, 1, 1) + timedelta(days=day - 1, hours=hours, minutes=minutes)


def _put(cells: list[Cell], when: datetime | None) -> list[Cell]:
    return cells if when is None else [f"{when:%Y-%m-%d %H:%M:%S}", "", "", *cells[3:]]
