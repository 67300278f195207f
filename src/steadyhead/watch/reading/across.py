"""Tables with a column for each time of the day, or for each day: laid out with a row for each sample."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from itertools import pairwise

from steadyhead.watch.counting import counted
from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row
from steadyhead.watch.reading.tables import DAYS, HOURS, LOOKED, clock_minutes
from steadyhead.watch.reading.times import as_stamp

SAMPLES, CHANNELS = 8, 40
"""From how many stamps in a row on a table may be turned round, and below it that many rows at the most."""


def laid_along(grid: Grid) -> Grid:
    """Return a table with a row for each sample where its times run across; any other as it is.

    Read are a day in each row, under clock times that part the whole day evenly, a time in each row under
    days, and a table turned round. Columns behind the last time, as of sums, are told of and not read. What
    has more columns ahead than the day (and its name), or hours as bare numbers from 1, is left for the
    refusal of it.
    """
    return _hours(grid) or _days(grid) or _turned(grid) or grid


def _hours(grid: Grid) -> Grid | None:
    for place, (line, cells) in enumerate(grid.rows[:LOOKED]):
        found = [(at, one) for at, cell in enumerate(cells) if (one := clock_minutes(cell)) is not None]
        if len(found) < HOURS or not _is_run([at for at, _ in found], 1):
            continue
        minutes = [one for _, one in found]
        step = minutes[1] - minutes[0]
        if step <= 0 or not _is_run(minutes, step) or step * len(minutes) != HOURS * 60:
            return None
        if minutes[0] and all(":" not in str(cells[at]) for at, _ in found):
            return None
        first, last = found[0][0], found[-1][0]
        body = grid.rows[place + 1 :]
        day = _day_column(body, first)
        if day is None:
            return None
        rows: list[Row] = [*grid.rows[:place], (line, ["Date", "Time", _heading(cells, first)])]
        for at, given in body:
            if len(given) <= first or not _is_day(given[day]):
                rows.append((at, given))
                continue
            for k, each in enumerate(minutes):
                cell = given[first + k] if first + k < len(given) else ""
                rows.append((at, [_text(given[day]), f"{int(each) // 60:02d}:{int(each) % 60:02d}", cell]))
        return _told(grid, rows, f"time of the day ({step:g} min)", [str(one) for one in cells[last + 1 :]])
    return None


def _days(grid: Grid) -> Grid | None:
    for place, ((line, cells), (_, below)) in enumerate(pairwise(grid.rows[:LOOKED])):
        days = [at for at, cell in enumerate(cells) if _is_day(cell)]
        if len(days) < DAYS or not _is_run(days, 1) or days[0] != 1:
            continue
        if len({_text(cells[at]) for at in days}) < len(days) or not below or not _is_time(below[0]):
            return None
        body = grid.rows[place + 1 :]
        rows: list[Row] = [*grid.rows[:place], (line, ["Date", "Time", _heading(cells, 1)])]
        for day in days:
            rows += [
                (at, [_text(cells[day]), str(given[0]), given[day] if day < len(given) else ""])
                for at, given in body
                if given and _is_time(given[0])
            ]
        rows += [(at, given) for at, given in body if not given or not _is_time(given[0])]
        return _told(grid, rows, "day", [str(one) for one in cells[days[-1] + 1 :]])
    return None


def _turned(grid: Grid) -> Grid | None:
    """Return a table whose times stand in one row, and a channel in each row below it, turned round."""
    for place, (_, cells) in enumerate(grid.rows[:LOOKED]):
        stamps = [at for at, cell in enumerate(cells) if _is_whole(cell)]
        body = grid.rows[place + 1 :]
        if len(stamps) < SAMPLES or not _is_run(stamps, 1) or stamps[0] == 0 or not 0 < len(body) <= CHANNELS:
            continue
        first, last = stamps[0], stamps[-1]
        names = [" ".join(str(one) for one in given[:first] if one != "") for _, given in body]
        if not all(names) or any(
            _is_whole(given[at]) for _, given in body for at in (first,) if at < len(given)
        ):
            return None
        ahead = [(at, given) for at, (_, given) in enumerate(grid.rows[:place], 1)]
        rows: list[Row] = [*ahead, (place + first, ["Time", *names])]
        rows += [
            (place + at + 1, [cells[at], *(given[at] if at < len(given) else "" for _, given in body)])
            for at in range(first, last + 1)
        ]
        behind = f", behind {counted(place, 'row')} ahead of them" if place else ""
        words = f"The times stand in one row: row numbers count columns{behind}."
        return replace(grid, rows=rows, rows_total=place + last + 1, told=(*grid.told, words))
    return None


def _is_whole(cell: Cell) -> bool:
    """Return whether a cell is a stamp with date and time."""
    found = as_stamp(cell)
    return found is not None and found.parts is not None and found.clock is not None


def _is_run(found: Sequence[float], step: float) -> bool:
    return all(b - a == step for a, b in pairwise(found))


def _day_column(body: Sequence[Row], first: int) -> int | None:
    """Return the only column ahead of the times that holds anything but names of days: the dates."""
    filled = [
        {_text(cells[at]) for _, cells in body if len(cells) > first and cells[at] != ""}
        for at in range(first)
    ]
    days = [at for at, one in enumerate(filled) if one and sum(map(_is_day, one)) > 0.9 * len(one)]
    other = [one for at, one in enumerate(filled) if at not in days and len(one) > 1]
    names = all(len(one) <= 7 and all(each.strip(".").isalpha() for each in one) for one in other)
    return days[0] if len(days) == 1 and names else None


def _is_day(cell: Cell) -> bool:
    found = as_stamp(cell)
    return found is not None and found.parts is not None and not found.clock


def _is_time(cell: Cell) -> bool:
    found = as_stamp(cell)
    return found is not None and found.parts is None and found.clock is not None


def _text(cell: Cell) -> str:
    return f"{cell:%Y-%m-%d}" if isinstance(cell, datetime) else str(cell)


def _heading(cells: Sequence[Cell], first: int) -> str:
    """Return what the corner of the table says beside its times: ``Pressure [bar]``, mostly nothing."""
    corner = [str(one) for one in cells[:first] if one != "" and not isinstance(one, datetime)]
    return corner[-1] if corner and ("[" in corner[-1] or "(" in corner[-1]) else ""


def _told(grid: Grid, rows: list[Row], what: str, behind: Sequence[str]) -> Grid:
    left = [one for one in behind if one.strip()]
    words = f"A column for each {what}: each of its cells is a sample." + (
        f" Not read are the columns behind: {', '.join(left)[:120]}." if left else ""
    )
    return replace(grid, rows=rows, told=(*grid.told, words))
