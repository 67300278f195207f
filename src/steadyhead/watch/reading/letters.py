"""Letters of a zone behind stamps: they mean the zone told where it goes by them, or it is asked for."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row

UNTOLD = ("IST", "CST", "BST", "AST", "GST", "SST", "AMT", "ECT", "WST")
"""Letters of several places, of which none is taken where no zone is told: India or Israel, China or Cuba."""
LOOKED, COLUMNS, MOSTLY = 400, 24, 0.5
_YEARS = (2005, 2015, 2024)
_BEHIND = re.compile(r"(.*\d[:.]\d{2}(?:[:.]\d{2}(?:[.,]\d+)?)?)\s*([\[(]?([A-Z]{2,5})[\])]?)$")


def with_letters(grid: Grid, zone: str) -> Grid:
    """Return a table in which letters of a zone behind times are the offset they have in the zone told.

    Where none is told, letters of several places are left off: the zone is asked.
    """
    if not any(_BEHIND.match(str(cell)) for _, cells in _few(grid.rows) for cell in cells[:COLUMNS]):
        return grid
    offsets = _offsets(zone)
    found = [at for at in range(COLUMNS) if _has_letters(_few(grid.rows), at, offsets, zone)]
    if not found:
        return grid
    rows = [(line, [_put(cell, offsets, zone) if at in found else cell for at, cell in enumerate(cells)])
            for line, cells in grid.rows]  # fmt: skip
    return replace(grid, rows=rows, rewritten=True)


def _few(rows: Sequence[Row]) -> Sequence[Row]:
    return rows[:: max(1, len(rows) // LOOKED)]


def _has_letters(rows: Sequence[Row], at: int, offsets: dict[str, int], zone: str) -> bool:
    texts = [str(cells[at]) for _, cells in rows if at < len(cells) and cells[at] != ""]
    meant = sum(_put(one, offsets, zone) != one for one in texts)
    return meant > MOSTLY * len(texts)


def _offsets(zone: str) -> dict[str, int]:
    """Return the letters that a zone goes by, winter and summer, with the offset of each. [s]"""
    try:
        info = ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return {}
    out: dict[str, int] = {}
    for year in _YEARS:
        for month in (1, 7):
            when = datetime(year, month, 15, 12, tzinfo=info)
            name, off = when.tzname() or "", when.utcoffset() or timedelta()
            if name.isalpha():
                out[name] = int(off.total_seconds())
    return out


def _put(cell: Cell, offsets: dict[str, int], zone: str) -> Cell:
    found = _BEHIND.match(cell) if isinstance(cell, str) else None
    if found is None:
        return cell
    time, letters = found.group(1), found.group(3)
    if letters in offsets:
        seconds = offsets[letters]
        sign, minutes = "-" if seconds < 0 else "+", abs(seconds) // 60
        return f"{time.rstrip()}{sign}{minutes // 60:02d}:{minutes % 60:02d}"
    return time.rstrip() if not zone and letters in UNTOLD else cell
