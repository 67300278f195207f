"""Times that count from the start as hours, minutes and seconds: they are no times of day."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import median

from steadyhead.errors import InputError
from steadyhead.watch.reading.clock import begun
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row
from steadyhead.watch.reading.times import as_stamp

WORDS = (
    "elapsed", "elapsed time", "since start", "run time", "runtime", "laufzeit", "verstrichen", "seit start",
    "messdauer", "temps ecoule", "ecoule", "verstreken", "verlopen", "transcurrido", "trascorso", "decorrido",
    "forloepet", "forlobet", "forloebet", "foerfluten", "kulunut",
)  # fmt: skip
LOOKED, LEAST = 60, 3
"""Rows at the top among which the heading may stand, and cells below it that all must be so."""
_SPAN = re.compile(r"(?:(\d+)[dD. ]\s*)?(\d{1,5}):(\d{2}):(\d{2}(?:[.,]\d+)?)$")
_TWO = re.compile(r"(\d{1,5}):(\d{2}(?:[.,]\d+)?)$")
_MINUTES = re.compile(r"\bm{1,2}:s{1,2}\b|\bmin\w*:s", re.IGNORECASE)
_HOURS = re.compile(r"\bh{1,2}:m{1,2}\b|\bh\w*:min", re.IGNORECASE)


def in_seconds(grid: Grid) -> Grid:
    """Return a table in which a column like *elapsed* with ``26:15:00`` counts seconds; else it as it is."""
    for place, (_, cells) in enumerate(grid.rows[:LOOKED]):
        at = next((k for k, one in enumerate(cells) if isinstance(one, str) and _names(one)), None)
        if at is None:
            continue
        below = grid.rows[place + 1 :]
        if _dated(below, at) or not (size := _size(grid.rows[: place + 1], below, at)):
            continue
        heads = (grid.rows[place][0], [*cells[:at], f"{cells[at]} (s)", *cells[at + 1 :]])
        rows = [*grid.rows[:place], heads, *((line, _with(one, at, size)) for line, one in below)]
        return replace(grid, rows=rows, rewritten=True)
    return grid


def refuse_unclear(grid: Grid, where: str) -> None:
    """Refuse a table whose column like *elapsed* may be hours and minutes, or minutes and seconds.

    Raises
    ------
    InputError
        It is one.
    """
    for place, (line, cells) in enumerate(grid.rows[:LOOKED]):
        at = next((k for k, one in enumerate(cells) if isinstance(one, str) and _names(one)), None)
        below = grid.rows[place + 1 :]
        if at is None or _dated(below, at) or not _two(below, at):
            continue
        if not _size(grid.rows[: place + 1], below, at):
            raise InputError(
                where, f"counts its time in {str(cells[at])[:40]!r} (row {line}) as hours and minutes, or as "
                "minutes and seconds: it does not say which.",
                "Write mm:ss or hh:mm into the heading.",
            )  # fmt: skip


def _names(text: str) -> bool:
    return len(text) <= 40 and has(plain(text), WORDS)


def _dated(rows: Sequence[Row], at: int) -> bool:
    """Return whether dates stand beside a column in most rows: then the times are there."""
    dated = 0
    looked = rows[:: max(1, len(rows) // 200)]
    for _, cells in looked:
        found = (as_stamp(one) for k, one in enumerate(cells) if k != at)
        dated += any(one is not None and one.parts is not None for one in found)
    return dated > 0.5 * len(looked)


def _size(ahead: Sequence[Row], rows: Sequence[Row], at: int) -> float:
    """Return the seconds of the last part but one of the spans of a column; 0: they are none, or unclear."""
    if _rising([_of_three(cells[at]) for _, cells in rows if at < len(cells) and cells[at] != ""]):
        return 60.0
    texts = _two(rows, at)
    if not texts:
        return 0.0
    heading = str(ahead[-1][1][at])
    if _MINUTES.search(heading) or any("." in one or "," in one for one in texts):
        return 60.0
    if _HOURS.search(heading):
        return 3600.0
    every = begun(ahead, {}).interval or 0.0
    spans = [one for text in texts if (one := _seconds(text, 60.0)) is not None]
    step = median(b - a for a, b in pairwise(spans))
    for size in (60.0, 3600.0) if every else ():
        if abs(step * size / 60.0 - every) < 0.01 * every:
            return size
    return 0.0


def _two(rows: Sequence[Row], at: int) -> list[str]:
    """Return the cells of a column of spans in two parts; none where it is no such column."""
    cells = [str(cells[at]).strip() for _, cells in rows if at < len(cells) and cells[at] != ""]
    found = [one for one in cells if _TWO.match(one)]
    return found if _rising([_seconds(one, 60.0) if _TWO.match(one) else None for one in cells]) else []


def _rising(found: Sequence[float | None]) -> bool:
    spans = [one for one in found if one is not None]
    return len(spans) >= max(LEAST, 0.9 * len(found)) and spans == sorted(spans)


def _seconds(cell: Cell, size: float) -> float | None:
    """Return the seconds of a span; `size`: seconds of the first of two parts."""
    if (whole := _of_three(cell)) is not None:
        return whole
    if isinstance(cell, str) and (found := _TWO.match(cell.strip())) is not None:
        return int(found.group(1)) * size + float(found.group(2).replace(",", ".")) * size / 60.0
    return None


def _of_three(cell: Cell) -> float | None:
    found = _SPAN.match(cell.strip()) if isinstance(cell, str) else None
    if found is None or int(found.group(3)) > 59:
        return None
    days, hours, minutes = (int(one or 0) for one in found.groups()[:3])
    return ((days * 24 + hours) * 60 + minutes) * 60 + float(found.group(4).replace(",", "."))


def _with(cells: list[Cell], at: int, size: float) -> list[Cell]:
    value = _seconds(cells[at], size) if at < len(cells) else None
    return cells if value is None else [*cells[:at], value, *cells[at + 1 :]]
