"""Year, month, day, hour and minute in columns of their own, put together: by their headings or order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from steadyhead.watch.reading.headings import plain
from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row
from steadyhead.watch.reading.times import as_stamp

NAMES = {
    "year": ("year", "jahr", "annee", "ano", "anno", "jaar", "ar", "vuosi", "yyyy", "yr"),
    "month": ("month", "monat", "mois", "mes", "mese", "maand", "maned", "manad", "kuukausi", "mm", "mon"),
    "day": ("day", "tag", "jour", "dia", "giorno", "dag", "paiva", "dd"),
    "hour": ("hour", "hours", "hr", "stunde", "heure", "hora", "ora", "uur", "time", "timme", "hh", "h"),
    "minute": ("minute", "minutes", "min", "minuto", "minuut", "minutt", "minut", "mi"),
    "second": ("second", "seconds", "sec", "sekunde", "seconde", "segundo", "secondo", "sekund", "ss"),
}  # fmt: skip
LIMITS = {
    "year": (1980, 2100),
    "month": (1, 12),
    "day": (1, 31),
    "hour": (0, 24),
    "minute": (0, 59),
    "second": (0, 59),
}
LOOKED, LEAST, MOSTLY = 60, 6, 0.95
"""Rows at the top among which the headings may stand, rows below them, and which share must be so."""
FEW, FIRST = 400, 10
"""Rows looked at first, and rows that must be so, where no heading names the columns."""


def together(grid: Grid) -> Grid:
    """Return a table with date and time in one column each; else the table as it is."""
    for place, (_, cells) in enumerate(grid.rows[:LOOKED]):
        found = _named(cells)
        below = grid.rows[place + 1 :]
        if {"year", "month", "day"} <= set(found):
            used = {name: found[name] for name in ("year", "month", "day")}
            if "hour" in found and _holds(below, {"hour": found["hour"]}):
                used |= {name: found[name] for name in ("hour", "minute", "second") if name in found}
        elif {"hour", "minute"} <= set(found) and _has_dates(below, found["hour"]):
            used = {name: found[name] for name in ("hour", "minute", "second") if name in found}
        else:
            continue
        if _holds(below, used):
            return replace(
                grid, rows=[*grid.rows[: place + 1], *((at, _put(row, used)) for at, row in below)]
            )
    return _unnamed(grid)


def _unnamed(grid: Grid) -> Grid:
    """Return a text whose rows begin with year, month, day, hour and minute in order, put together."""
    used = {name: at for at, name in enumerate(NAMES)}
    head = next((plain(str(cells[5])) for _, cells in grid.rows[:LOOKED] if len(cells) > 5), "")
    if head != "s" and not head.startswith(("sec", "sek", "seg", "ss")):
        del used["second"]
    few = grid.rows[:: max(1, len(grid.rows) // FEW)]
    if grid.container != "text" or not _begin_so(few, used) or not _begin_so(grid.rows, used):
        return grid
    return replace(grid, rows=[(at, _put(row, used)) for at, row in grid.rows])


def _begin_so(rows: Sequence[Row], used: dict[str, int]) -> bool:
    found = [when for _, cells in rows if len(cells) > len(used) and (when := _when(cells, used)) is not None]
    enough = len(found) >= max(FIRST, 0.9 * len(rows) - 5)
    return enough and found == sorted(found) and len(set(found)) > 0.5 * len(found)


def _named(cells: Sequence[Cell]) -> dict[str, int]:
    """Return the columns that are named as a part of a time, each name once."""
    out: dict[str, int] = {}
    for at, cell in enumerate(cells):
        flat = plain(cell) if isinstance(cell, str) else ""
        name = next((key for key, listed in NAMES.items() if flat in listed), "")
        if name:
            out.setdefault(name, at)
    return out


def _whole(cells: Sequence[Cell], at: int) -> int | None:
    cell = cells[at] if at < len(cells) else ""
    if isinstance(cell, float):
        return int(cell) if cell == int(cell) else None
    text = str(cell).strip()
    return int(text) if text.isdecimal() and len(text) <= 4 else None


def _holds(rows: Sequence[Row], used: dict[str, int]) -> bool:
    """Return whether nearly all rows hold such numbers, and more than one time."""
    found = [_when(cells, used) for _, cells in rows]
    known = [one for one in found if one is not None]
    return len(known) >= max(LEAST, MOSTLY * len(found)) and ("hour" not in used or len(set(known)) > 1)


def _when(cells: Sequence[Cell], used: dict[str, int]) -> datetime | None:
    """Return the time of a row; of the first day where no date is among the parts."""
    parts = {name: _whole(cells, at) for name, at in used.items()}
    for name, value in parts.items():
        if value is None or not LIMITS[name][0] <= value <= LIMITS[name][1]:
            return None
    year, month, day = (parts.get(name) or 1 for name in ("year", "month", "day"))
    try:
        when = datetime(year if "year" in parts else 2000, month, day)
    except ValueError:
        return None
    hour, minute, second = (parts.get(name) or 0 for name in ("hour", "minute", "second"))
    return when + timedelta(hours=hour, minutes=minute, seconds=second)


def _put(cells: list[Cell], used: dict[str, int]) -> list[Cell]:
    when = _when(cells, used)
    if when is None:
        return cells
    out = list(cells)
    for at in used.values():
        out[at] = ""
    if "year" in used and "hour" in used:
        text = f"{when:%Y-%m-%d %H:%M:%S}"
    elif "year" in used:
        text = f"{when:%Y-%m-%d}"
    else:
        text = f"{when:%H:%M:%S}" if when.day == 1 else "24:00:00"
    out[min(used.values())] = text
    return out


def _has_dates(rows: Sequence[Row], beside: int) -> bool:
    """Return whether a column ahead of one holds a date without a time in nearly all rows."""
    for at in range(max(0, beside - 3), beside):
        found = [as_stamp(cells[at]) for _, cells in rows if at < len(cells)]
        dates = sum(one is not None and one.parts is not None and not one.clock for one in found)
        if len(found) and dates >= MOSTLY * len(rows):
            return True
    return False
