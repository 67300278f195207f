"""Shapes of tables that would be read wrongly: an hour in each column, dates of which some were turned."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import pairwise

from steadyhead.errors import InputError
from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Row
from steadyhead.watch.reading.times import as_stamp

LOOKED = 60
"""Rows at the top of a table among which one may name hours."""
HOURS, DAYS = 24, 2
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::00)?$")
_DATE = re.compile(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{4})(?:[ T]+(\d{1,2}):(\d{2})(?::(\d{2}))?)?$")


def refuse_hours_across(rows: Sequence[Row], where: str) -> None:
    """Refuse a table with a column for each hour of the day that `across` could not lay out by itself.

    Raises
    ------
    InputError
        It is one.
    """
    for at, cells in rows[:LOOKED]:
        minutes = [one for one in map(clock_minutes, cells) if one is not None]
        if len(minutes) < HOURS or len(minutes) < len(cells) - 4:
            continue
        steps = {b - a for a, b in pairwise(minutes)}
        if len(steps) == 1 and (step := steps.pop()) > 0 and step * len(minutes) == HOURS * 60:
            raise InputError(
                where, f"has a column for each {step:g} minutes of the day (row {at}); that is not read.",
                "Write a row for each time.",
            )  # fmt: skip


def refuse_days_across(rows: Sequence[Row], where: str) -> None:
    """Refuse a table with a column for each day that `across` could not lay out by itself.

    Raises
    ------
    InputError
        It is one.
    """
    for (at, cells), (_, below) in pairwise(rows[:LOOKED]):
        days = [one for one in map(as_stamp, cells) if one is not None and one.parts and not one.clock]
        first = as_stamp(below[0]) if below else None
        if len(days) < DAYS or len(days) < len(cells) - 2 or len(below) < len(days):
            continue
        parts = {one.parts for one in days}
        if len(parts) == len(days) and first is not None and first.parts is None:
            raise InputError(
                where, f"has a column for each of {len(days)} days (row {at}); that is not read.",
                "Write a row for each time.",
            )  # fmt: skip


def refuse_markup(rows: Sequence[Row], where: str) -> None:
    """Refuse a web page or XML that was named as a table.

    Raises
    ------
    InputError
        It is one.
    """
    first = " ".join(str(one) for _, cells in rows[:3] for one in cells).lstrip().casefold()
    if first.startswith(("<html", "<!doctype", "<table", "<?xml", "<head", "<meta", "<div")):
        raise InputError(
            where, "is a page of markup (HTML or XML), whatever its name says.",
            "Open it in a spreadsheet program and save it as .xlsx or .csv.",
        )  # fmt: skip


def clock_minutes(cell: Cell) -> float | None:
    """Return the minutes of the day that a heading names: ``07:15``, 7."""
    text = f"{cell:g}" if isinstance(cell, float) else str(cell).strip()
    if found := _CLOCK.match(text):
        return int(found.group(1)) * 60 + int(found.group(2))
    return int(text) * 60 if text.isdecimal() and len(text) <= 2 else None


def turned_dates(rows: list[Row]) -> tuple[int, ...]:
    """Turn dates of which a spreadsheet took the day for the month, and return their rows.

    Such a program takes 03/04 for a date of its own country and leaves 13/04, which is none there, as text.
    Turned are dates only where rows run on so and step back otherwise.
    """
    out: list[int] = []
    for at in range(min(max((len(cells) for _, cells in rows), default=0), 8)):
        cells = [(number, row[at]) for number, row in rows if at < len(row)]
        dates = [one for _, one in cells if isinstance(one, datetime)]
        texts = [one for _, one in cells if isinstance(one, str) and _DATE.match(one.strip())]
        if len(dates) < 2 or len(texts) < 2 or any(one.day > 12 for one in dates):
            continue
        for is_day_first in (True, False):
            as_they_are = list(_run(cells, is_day_first, is_turned=False))
            turned = list(_run(cells, is_day_first, is_turned=True))
            if None not in turned and _runs_on(turned) and not _runs_on(as_they_are):
                for number, row in rows:
                    if at < len(row) and isinstance(one := row[at], datetime) and one.day != one.month:
                        row[at] = _turned(one)
                        out.append(number)
                break
    return tuple(out)


def _turned(one: datetime) -> datetime:
    return one.replace(day=one.month, month=one.day)


def _run(cells: list[tuple[int, Cell]], is_day_first: bool, *, is_turned: bool) -> Iterator[datetime | None]:
    """Yield the times of a column; None for a text that would have been taken for a date, too."""
    for _, cell in cells:
        if isinstance(cell, datetime):
            yield _turned(cell) if is_turned else cell
        elif isinstance(cell, str) and (found := _DATE.match(cell.strip())):
            first, second, year, hour, minute, seconds = (int(one or 0) for one in found.groups())
            day, month = (first, second) if is_day_first else (second, first)
            try:
                yield datetime(year, month, day, hour, minute, seconds) if day > 12 else None
            except ValueError:
                yield None


def _runs_on(times: Sequence[datetime | None]) -> bool:
    known = [one for one in times if one is not None]
    return all(a <= b for a, b in pairwise(known))
