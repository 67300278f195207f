"""Times counted from a year that their heading names, or in days since year 0."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.numbers import Cell, number
from steadyhead.watch.reading.sources import Grid

LOOKED, LEAST, COLUMNS, HEADS = 400, 3, 8, 60
_SINCE = re.compile(
    r"(?<!\d )\b([^\W\d_]+)\.?\s+(?:since|seit|depuis|desde|sinds|od)\s+((?:1[89]|20)\d{2})"
    r"(?:[-/.](\d{1,2})[-/.](\d{1,2}))?(?![-/.]?\d)",
    re.IGNORECASE,
)
_UNITS = (
    (("ms", "millisecond", "milliseconds"), 1e-3), (("min", "minute", "minutes", "minuten", "minutos"), 60.0),
    (("h", "hour", "hours", "stunden", "heures", "horas"), 3600.0),
    (("d", "day", "days", "tage", "jours", "dias"), 86_400.0),
    (("s", "sec", "second", "seconds", "sekunden", "secondes", "segundos", "secs"), 1.0),
)  # fmt: skip
BEFORE_YEAR_1, FIRST, LAST = 367, 727_000, 766_000
"""Days from year 0 to the second of year 1, and of the years 1990 to 2097."""


def with_epochs(grid: Grid) -> Grid:
    """Return a table whose counted times are stamps; else the table as it is."""
    few = grid.rows[:: max(1, len(grid.rows) // LOOKED)]
    for at in range(COLUMNS):
        values = [value for _, cells in few if (value := _value(cells, at)) is not None]
        filled = sum(at < len(cells) and cells[at] != "" for _, cells in few)
        if len(values) < max(LEAST, 0.5 * filled):
            continue
        heads = [
            str(cells[at]) for _, cells in grid.rows[:HEADS] if at < len(cells) and not _is_number(cells[at])
        ]
        if (found := _counted(values, heads, at)) is not None:
            origin, seconds, mark = found
            rows = [(line, _with(cells, at, origin, seconds, mark)) for line, cells in grid.rows]
            return replace(grid, rows=rows)
    return grid


def _is_number(cell: Cell) -> bool:
    return isinstance(cell, float) or number(str(cell), ".") is not None


def _value(cells: Sequence[Cell], at: int) -> float | None:
    if at >= len(cells) or cells[at] == "":
        return None
    cell = cells[at]
    if isinstance(cell, float):
        return cell
    found = number(cell, ".") if isinstance(cell, str) else None
    return number(cell, ",") if found is None and isinstance(cell, str) else found


def _counted(values: Sequence[float], heads: Sequence[str], at: int) -> tuple[datetime, float, str] | None:
    """Return from when a column counts, the seconds of its unit, and its zone; None: it does not."""
    low, high = min(values), max(values)
    forward = sum(b >= a for a, b in pairwise(values))
    if low == high or max(forward, len(values) - 1 - forward) < 0.5 * (len(values) - 1):
        return None
    for head in heads:
        if (since := _since(head)) is not None:
            return since
    fine = any(one != int(one) for one in values)
    named = any("datenum" in plain(one).replace(" ", "") for one in heads)
    if low >= FIRST and high <= LAST and (named or (fine and at == 0 and _is_timely(heads))):
        return datetime(1, 1, 1), 86_400.0, "day of year 0"
    return None


def _since(head: str) -> tuple[datetime, float, str] | None:
    found = _SINCE.search(head)
    if found is None or (found.group(2) == "1970" and not found.group(1).lower().startswith(("m", "h", "d"))):
        return None
    flat = plain(head).split()
    seconds = next((size for named, size in _UNITS if found.group(1).lower() in named), None)
    if seconds is None:
        return None
    try:
        origin = datetime(int(found.group(2)), int(found.group(3) or 1), int(found.group(4) or 1))
    except ValueError:
        return None
    return origin, seconds, "Z" if "utc" in flat or "gmt" in flat else ""


def _is_timely(heads: Sequence[str]) -> bool:
    return any(has(plain(one), words.TIME) for one in heads)


def _with(cells: list[Cell], at: int, origin: datetime, seconds: float, mark: str) -> list[Cell]:
    value = _value(cells, at)
    if value is None:
        return cells
    try:
        since = value - BEFORE_YEAR_1 if mark == "day of year 0" else value
        micros = round(since * seconds * 1e3) * 1000
        if seconds == 86_400:  # parts of a day are written with few places
            micros = round(since * seconds) * 1_000_000
        when = origin + timedelta(microseconds=micros)
    except OverflowError:
        return cells
    return [*cells[:at], f"{when:%Y-%m-%d %H:%M:%S.%f}"[:-3] + ("Z" if mark == "Z" else ""), *cells[at + 1 :]]
