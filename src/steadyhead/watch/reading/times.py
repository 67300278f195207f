"""Where the times of a table stand: full stamps, date and clock apart, numbers, or start and interval."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median

from steadyhead.records.logger import TimeKind
from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.numbers import Cell, is_missing, number
from steadyhead.watch.reading.sources import Row
from steadyhead.watch.reading.stamps import Stamp, of_datetime, stamp

LOOKED = 600
LATE = 2060
"""Year from which on dates beside others are of another calendar. Own estimate."""
_RECEIVED = (
    "received",
    "empfang",
    "server",
    "import",
    "upload",
    "reception",
    "recepcion",
    "ontvangst",
    "arrival",
)


@dataclass(frozen=True, slots=True)
class Source:
    """Columns one time is read from: `at` the stamp or date, `clock` the time of day apart (None: not apart).

    `hours`: the clock column holds whole hours 0 to 24; `packed`: hours and minutes as one number.
    """

    at: int
    clock: int | None = None
    hours: bool = False
    packed: bool = False


@dataclass(frozen=True, slots=True)
class Times:
    """How times stand in a table: kind, sources (in pairs one for each group of columns), other times.

    `tick`: seconds of one unit of a time counted since a start.
    """

    kind: TimeKind
    sources: tuple[Source, ...]
    spare: tuple[int, ...] = ()
    tick: float = 1.0


def as_stamp(cell: Cell) -> Stamp | None:
    """Return the stamp of a cell."""
    if isinstance(cell, str):
        return stamp(cell) if cell else None
    return of_datetime(cell) if isinstance(cell, datetime) else None


@dataclass
class _Tally:
    full: int = 0
    dates: int = 0
    clocks: int = 0
    filled: int = 0


def find(rows: Sequence[Row], heads: Sequence[str]) -> Times:
    """Return where the times stand; `heads`: headings by column as far as known."""
    step = max(1, len(rows) // LOOKED)
    looked = [cells for _, cells in rows[::step]] if len(rows) > 2 * LOOKED else [cells for _, cells in rows]
    width = max((len(one) for one in looked), default=0)
    tallies = [_tally(looked, at) for at in range(width)]
    few = 1 if len(looked) < 12 else 3
    full = [
        at for at, one in enumerate(tallies) if one.full >= few and one.full + one.clocks >= 0.5 * one.filled
    ]
    sparse = any(one.clocks >= few and one.clocks >= 0.5 * one.filled for one in tallies)
    least = 1 if sparse else few
    dates = [
        at
        for at, one in enumerate(tallies)
        if at not in full and one.dates >= least and one.dates >= 0.5 * one.filled
    ]
    dates = _common(dates, looked)
    clocks = [
        at
        for at, one in enumerate(tallies)
        if at not in full and one.clocks >= few and one.clocks >= 0.5 * one.filled
    ]
    if full:
        return _of_full(full, looked, heads)
    if clocks and not dates:
        dates = _sparse_dates(rows, looked, tallies)
    if dates:
        return _of_dates(dates, clocks, looked, heads, width)
    counted = _numeric(looked, heads, width)
    if counted is not None and not (
        clocks and counted.kind == "seconds since start" and not _seconds_heading(heads, counted)
    ):
        return counted
    if clocks:
        return Times("text", (Source(clocks[0]),), tuple(clocks[1:]))
    return Times("start and interval", ())


def _common(dates: list[int], looked: list[list[Cell]]) -> list[int]:
    """Return the columns of dates without those of another calendar: years to come beside years of today."""
    late = [at for at in dates if _is_late(looked, at)]
    return [at for at in dates if at not in late] if len(late) < len(dates) else dates


def _is_late(looked: list[list[Cell]], at: int) -> bool:
    stamps = [as_stamp(cells[at]) for cells in looked if at < len(cells)]
    years = [max(one.parts) for one in stamps if one is not None and one.parts is not None]
    return bool(years) and LATE < median(years) < 2100


def _seconds_heading(heads: Sequence[str], counted: Times) -> bool:
    at = counted.sources[0].at
    return at < len(heads) and bool(heads[at])


def _tally(looked: list[list[Cell]], at: int) -> _Tally:
    out = _Tally()
    midnights = 0
    for cells in looked:
        if at >= len(cells) or cells[at] == "":
            continue
        out.filled += 1
        found = as_stamp(cells[at])
        if found is None:
            continue
        if found.parts is None:
            out.clocks += 1
        elif found.clock is None or (found.clock == 0 and isinstance(cells[at], datetime)):
            out.dates += 1
            midnights += isinstance(cells[at], datetime)
        else:
            out.full += 1
    if out.full >= midnights:  # else date cells of a book, beside times that stand apart
        out.full += midnights
    return out


def _sparse_dates(rows: Sequence[Row], looked: list[list[Cell]], tallies: list[_Tally]) -> list[int]:
    """Return columns that are mostly blank and hold dates, as on the first row of each day only."""
    if len(looked) == len(rows):
        return []
    few = [at for at, one in enumerate(tallies) if one.filled < 0.5 * len(looked)]
    every = [cells for _, cells in rows]
    found = {at: _tally(every, at) for at in few}
    return [at for at, one in found.items() if one.dates and one.dates >= 0.5 * one.filled]


def _of_full(full: list[int], looked: list[list[Cell]], heads: Sequence[str]) -> Times:
    kept = [at for at in full if not (at < len(heads) and has(plain(heads[at]), _RECEIVED))] or full
    groups = []
    for number_, at in enumerate(kept):
        end = kept[number_ + 1] if number_ + 1 < len(kept) else max(len(one) for one in looked)
        if any(_counts(looked, column) for column in range(at + 1, end)):
            groups.append(at)
    if len(groups) < 2 or groups != kept:
        spare = tuple(at for at in full if at != (groups or kept)[0])
        if len(groups) > 1:
            return Times(
                "text", tuple(Source(at) for at in groups), tuple(at for at in full if at not in groups)
            )
        first = kept[0]
        return Times(
            "text",
            (Source(first),),
            tuple(at for at in full if at != first) or spare if len(full) > 1 else (),
        )
    return Times("text", tuple(Source(at) for at in groups), tuple(at for at in full if at not in groups))


def _counts(looked: list[list[Cell]], at: int) -> bool:
    """Return whether a column holds numbers."""
    cells = [one[at] for one in looked if at < len(one) and not is_missing(one[at])]
    return bool(cells) and sum(_any_number(one) is not None for one in cells) >= 0.5 * len(cells)


def _any_number(cell: Cell) -> float | None:
    found = number(cell, ".")
    return number(cell, ",") if found is None else found


def _of_dates(
    dates: list[int], clocks: list[int], looked: list[list[Cell]], heads: Sequence[str], width: int
) -> Times:
    if len(dates) > 1 and len(clocks) >= len(dates):
        pairs = []
        for at in dates:
            clock = _nearest(clocks, at)
            pairs.append(Source(at, clock))
        if len({one.clock for one in pairs}) == len(pairs):
            return Times("text", tuple(pairs))
    if clocks:
        clock = _nearest(clocks, dates[0])
        return Times(
            "text", (Source(dates[0], clock),), tuple(one for one in (*dates[1:], *clocks) if one != clock)
        )
    for at in (dates[0] + 1, dates[0] - 1):
        if 0 <= at < width and _is_hours(looked, at, heads):
            return Times("text", (Source(dates[0], at, hours=True),))
        if 0 <= at < width and _is_packed(looked, at):
            return Times("text", (Source(dates[0], at, hours=True, packed=True),))
    if len(dates) > 1:
        return _of_full(dates, looked, heads)
    return Times("text", (Source(dates[0]),))


def _nearest(clocks: list[int], at: int) -> int:
    """Return the column of clocks nearest to a column of dates; the one after it where two are."""
    return min(clocks, key=lambda one: (abs(one - at), one < at))


def _is_hours(looked: list[list[Cell]], at: int, heads: Sequence[str]) -> bool:
    values = [_any_number(one[at]) for one in looked if at < len(one)]
    good = [one for one in values if one is not None and one == int(one) and 0 <= one <= 24]
    said = at < len(heads) and has(
        plain(heads[at]), ("hour", "hh", "stunde", "heure", "hora", "uur", "ora", "h")
    )
    return said and len(good) > 0.95 * len(values) and len(set(good)) > 1


def _is_packed(looked: list[list[Cell]], at: int) -> bool:
    """Return whether a column holds times such as ``0005`` or ``133000``: four or six digits each."""
    texts = [str(one[at]) for one in looked if at < len(one)]
    good = [one for one in texts if re.fullmatch(r"\d{4}|\d{6}", one) and packed_clock(one) is not None]
    return len(good) > 0.95 * len(texts) - 2 and len(set(good)) > 1


def packed_clock(text: str) -> int | None:
    """Return the seconds of the day of ``1305`` or ``130500``; None where it is no time of day."""
    hours, minutes, seconds = int(text[:2]), int(text[2:4]), int(text[4:6] or 0)
    if hours > 24 or minutes > 59 or seconds > 59 or (hours == 24 and minutes + seconds):
        return None
    return hours * 3600 + minutes * 60 + seconds


def _numeric(looked: list[list[Cell]], heads: Sequence[str], width: int) -> Times | None:
    found: list[tuple[TimeKind, int]] = []
    for at in range(min(width, 24)):
        kind = _numeric_kind(looked, at, heads[at] if at < len(heads) else "")
        if kind is not None:
            found.append((kind, at))
    if not found:
        return None
    rank = {"epoch ms": 0, "epoch s": 0, "serial day": 1, "seconds since start": 2}
    best = min(rank[kind] for kind, _ in found)
    chosen = [(kind, at) for kind, at in found if rank[kind] == best]
    kind = chosen[0][0]
    sources = [Source(at) for one, at in chosen if one == kind]
    if kind == "seconds since start":
        named = [one for one in sources if one.at < len(heads) and _is_seconds(heads[one.at])]
        sources = named[:1] or sources[:1]
    kept = [
        one for one, following in zip(sources, [*sources[1:], None], strict=True)
        if any(_counts(looked, at) for at in range(one.at + 1, following.at if following else width))
    ]  # fmt: skip
    at = (kept or sources)[0].at
    tick = _tick(heads[at]) if kind == "seconds since start" and at < len(heads) else 1.0
    return Times(kind, tuple(kept or sources[:1]), tick=tick)


_TICKS = {
    **dict.fromkeys(("s", "sec", "second", "seconds", "sekunden", "secondes", "segundos", "secondi"), 1.0),
    **dict.fromkeys(("min", "minute", "minutes", "minuten", "minutos", "minuti"), 60.0),
    **dict.fromkeys(("h", "hour", "hours", "stunde", "stunden", "heures", "horas", "ore", "uren"), 3600.0),
    **dict.fromkeys(("d", "day", "days", "tage", "jours", "dias", "giorni", "dagen"), 86_400.0),
    "ms": 1e-3,
}  # fmt: skip
"""Seconds of one unit that a count from the start may be in."""


def _tick(heading: str) -> float:
    """Return the seconds of one unit of a heading such as ``Elapsed (min)``."""
    tokens = plain(heading).split()
    return next((_TICKS[one] for one in reversed(tokens) if one in _TICKS), 1.0)


def _is_seconds(heading: str) -> bool:
    return has(plain(heading), words.TIME) or bool(re.search(r"\b(s|sec|sek|seg)\b", plain(heading)))


def _numeric_kind(looked: list[list[Cell]], at: int, heading: str) -> TimeKind | None:
    values = [_any_number(one[at]) for one in looked if at < len(one) and not is_missing(one[at])]
    good = [one for one in values if one is not None]
    if len(good) < 2 or len(good) < 0.5 * len(values):
        return None
    middle = median(good)
    steps = [b - a for a, b in itertools.pairwise(good)]
    steps = [one for one in steps if one != 0]
    if not steps:
        return None
    forward = sum(one > 0 for one in steps)
    if max(forward, len(steps) - forward) < 0.75 * len(steps):
        return None
    said = _is_seconds(heading)
    if 6e8 <= middle <= 4.2e9 and max(good) - min(good) < 1e9 and (said or at == 0):
        return "epoch s"
    if 6e11 <= middle <= 4.2e12 and (said or at == 0):
        return "epoch ms"
    parts = any(one != int(one) for one in good)
    if 25_000 <= middle <= 80_000 and max(good) - min(good) < 5000 and (parts or said) and (said or at == 0):
        return "serial day"
    even = len({round(one, 3) for one in steps}) <= max(3, 0.05 * len(steps))
    start = 0 <= good[0] <= 86_400
    if (
        forward >= 0.99 * len(steps)
        and start
        and ((said and even) or (said and at == 0))
        and not _is_number(heading)
    ):
        return "seconds since start"
    return None


def _is_number(heading: str) -> bool:
    flat = plain(heading)
    return has(flat, tuple(one for one in words.RUNNING if one != "count")) and not has(
        flat, ("elapsed", "seconds")
    )
