"""The local time of each row: dates carried on, days of a spreadsheet, seconds, a start with an interval."""

from __future__ import annotations

import itertools
import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from steadyhead.records.logger import Choice, Context, Doubt
from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.carried import days_of
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.numbers import number
from steadyhead.watch.reading.order import Decided, key_of
from steadyhead.watch.reading.sources import Row
from steadyhead.watch.reading.stamps import DAY, US, Stamp, days
from steadyhead.watch.reading.times import Source, Times, as_stamp, packed_clock
from steadyhead.watch.reading.zones import rule_of

SERIAL_ZERO = -25_569 * DAY
"""1899-12-30, day 0 of spreadsheets. [µs]"""
EPOCH = datetime(1970, 1, 1)
LATER = 1462 * DAY
"""From the end of 1899, from which most spreadsheets count days, to 1904, from which some do. [µs]"""
_SPAN = re.compile(
    r"(\d+(?:[.,]\d+)?)\s*(ms|sec|sek|seg|s|min|mn|h|hr|std|stunden|hours?|minut\w*|second\w*|sekund\w*|tag|day|d)\b",
    re.I,
)
_RATE = re.compile(
    r"(\d+(?:[.,]\d+)?)\s*(k?hz|samples?\s*(?:/|per|pro|par)\s*s|sps|s/s|messwerte?\s*(?:/|pro)\s*s|/\s?s)(?![a-z])",
    re.I,
)
"""How often a second: ``20 Hz``."""
_AHEAD = re.compile(r"^\W*(?:[^\W\d_]+\W+){1,2}")
"""Words ahead of a time, as in ``Record begun on``."""
_HMS = re.compile(r"\b(\d{1,2}):(\d{2})(?::(\d{2}))?\b")
_SECONDS_OF = {"ms": 1e-3, "s": 1.0, "m": 60.0, "h": 3600.0, "t": 86400.0, "d": 86400.0}


@dataclass(frozen=True, slots=True)
class Begun:
    """Start [local µs, offset s or None] and interval [s] that a header states; None: not stated."""

    start: int | None
    offset: int | None
    interval: float | None


def stamps_of(rows: Sequence[Row], source: Source) -> list[Stamp]:
    """Return the stamps or dates of rows, in the order of the file."""
    found = (as_stamp(cells[source.at]) for _, cells in rows if source.at < len(cells))
    return [one for one in found if one is not None]


_Stated = tuple[int | None, int | None, int | None]
"""Day [µs], time of day [µs] and offset [s] of a row, as far as stated."""


def header_stamps(header: Sequence[Row]) -> list[Stamp]:
    """Return the stamps with a date that header rows hold."""
    return [one for _, cells in header for one in _stamps_in(cells)]


def _stamps_in(cells: Sequence[object]) -> list[Stamp]:
    out = []
    for cell in cells:
        if isinstance(cell, datetime) and (found := as_stamp(cell)) is not None:
            out.append(found if found.clock else replace(found, clock=None))
        if not isinstance(cell, str):
            continue
        parts = (cell.partition(mark)[2] for mark in (":", "=", " "))
        for text in (cell, *parts, _AHEAD.sub("", cell), cell.strip("=-*#_ ")):
            found = as_stamp(text.strip())
            if found is not None and found.parts is not None:
                out.append(found)
                break
    for a, b in itertools.pairwise(cells):
        if (
            isinstance(a, str)
            and isinstance(b, str)
            and (one := as_stamp(a))
            and one.parts
            and one.clock is None
        ):
            both = as_stamp(f"{a} {b}")
            if both is not None and both.clock is not None:
                out.append(both)
    return out


def begun(header: Sequence[Row], decided: dict[str, Decided]) -> Begun:
    """Return the start and interval that header rows state."""
    start: Stamp | None = None
    day: Stamp | None = None
    clock: int | None = None
    interval: float | None = None
    for _, cells in header:
        line = " ".join(str(one) for one in cells if one != "")
        flat = plain(line)
        found = _stamps_in(cells)
        if (
            found
            and (has(flat, words.START) or start is None)
            and not has(flat, ("end", "ende", "stop", "fin"))
        ):
            full = [one for one in found if one.clock is not None]
            if full and (start is None or has(flat, words.START)):
                start = full[0]
            elif day is None and not full:
                day = found[0]
        elif not found and clock is None:
            clock = next(
                (
                    one.clock
                    for cell in cells
                    if (one := as_stamp(cell)) and one.parts is None and not has(flat, words.INTERVAL)
                ),
                clock,
            )
        if interval is None and has(flat, words.INTERVAL):
            interval = span(line.split(":", 1)[-1] if ":" in line and not _HMS.search(line) else line)
    if start is None and day is not None:
        start = Stamp(day.parts, day.order, clock or 0, None, day.form)
    if start is None:
        return Begun(None, None, interval)
    local = local_of(start, decided)
    return Begun(local, start.offset, interval)


def span(text: str) -> float | None:
    """Return the seconds that a text such as ``5 min``, ``00:05:00`` or ``300`` states.

    Examples
    --------
    >>> span("Interval: 00:05:00"), span("Intervall 5 min"), span("300")
    (300.0, 300.0, 300.0)
    """
    if found := _HMS.search(text):
        hours, minutes, seconds = found.groups()
        return float(int(hours) * 3600 + int(minutes) * 60 + int(seconds or 0)) or None
    if found := _RATE.search(text):
        many = float(found.group(1).replace(",", ".")) * (1000.0 if found.group(2)[:1] in "kK" else 1.0)
        return 1.0 / many if many else None
    if found := _SPAN.search(text):
        unit = found.group(2).casefold()
        size = (
            _SECONDS_OF["ms"]
            if unit == "ms"
            else 3600.0
            if unit in ("std", "stunden")
            else _SECONDS_OF[unit[0]]
        )
        return float(found.group(1).replace(",", ".")) * size or None
    bare = re.search(r"(\d+(?:[.,]\d+)?)\s*\]?$", text.strip())
    if bare:
        unit_ahead = re.search(r"[\[(](ms|s|sec|min|h)[\])]", text)
        size = _SECONDS_OF[unit_ahead.group(1)[0]] if unit_ahead and unit_ahead.group(1) != "ms" else 1.0
        return float(bare.group(1).replace(",", ".")) * size or None
    return None


def local_of(one: Stamp, decided: dict[str, Decided]) -> int | None:
    """Return the local time of a stamp with a date [µs since 1970 on its wall clock]; None: no such date."""
    if one.parts is None:
        return None
    if one.order == "ymd":
        order = "ymd"
    else:
        found = decided.get(key_of(one))
        order = found.order if found else next((each.order for each in decided.values()), "dmy")
    day = days(one.parts, order)
    if day is None and one.order == "?":
        day = days(one.parts, "mdy" if order == "dmy" else "dmy")
    return None if day is None else day * DAY + (one.clock or 0)


def row_times(
    rows: Sequence[Row], times: Times, source: Source, decided: dict[str, Decided], begins: Begun,
    context: Context, decimal: str, lone: Sequence[Row] = (), after: int | None = None,
) -> tuple[list[int | None], list[int | None]]:  # fmt: skip
    """Return local time [µs] and offset [s] of each row; None where the row has none.

    `lone`: rows between the samples; a date alone in one of them holds for the rows after it. `after`: the
    local time of the row before these [µs], for rows that state no date.
    """
    if times.kind == "text":
        return _text_times(rows, source, decided, begins, context, lone, after)
    if times.kind == "start and interval":
        return _counted(rows, begins, context)
    return _number_times(rows, times, source, begins, context, decimal)


def _text_times(
    rows: Sequence[Row], source: Source, decided: dict[str, Decided], begins: Begun, context: Context,
    lone: Sequence[Row], after: int | None,
) -> tuple[list[int | None], list[int | None]]:  # fmt: skip
    first: int | None = None if begins.start is None else begins.start // DAY * DAY
    if first is None and context.start is not None:
        first = _wall_clock(context.start, context) // DAY * DAY
    parts = [_parts(cells, source, decided) for _, cells in rows]
    if source.clock is None:
        parts = _without_groups(parts)
    dates = [(at, found) for at, cells in lone if (found := _lone_date(cells, decided)) is not None]
    numbers = [at for at, _ in rows]
    ahead = {bisect_right(numbers, at): day for at, day in dates if numbers and at < numbers[-1]}
    out = days_of(parts, ahead, first, after)
    return out, [None if local is None else offset for local, (_, _, offset) in zip(out, parts, strict=True)]


def _without_groups(parts: list[_Stated]) -> list[_Stated]:
    """Return days and times without rows that give a day alone ahead of its midnight: sums over the day.

    So a pivot of a spreadsheet writes it: ``04/03/2027``, then ``00:00``, ``00:15`` below.
    """
    out = list(parts)
    for at, (one, below) in enumerate(itertools.pairwise(parts)):
        if one[0] is not None and not one[1] and below[0] is None and below[1] == 0:
            out[at], out[at + 1] = (None, None, None), (one[0], 0, below[2])
    return out


def _parts(
    cells: Sequence[object], source: Source, decided: dict[str, Decided]
) -> tuple[int | None, int | None, int | None]:
    """Return the day [µs, None: none stated], the time of day [µs] and the offset [s] of a row."""
    first = as_stamp(cells[source.at]) if source.at < len(cells) else None  # type: ignore[arg-type]
    if source.clock is None:
        if first is None:
            return None, None, None
        local = local_of(first, decided)
        return (None if local is None else local - (first.clock or 0)), first.clock, first.offset
    stated = None
    if first is not None and first.parts is not None:
        local = local_of(first, decided)
        stated = None if local is None else local - (first.clock or 0)
    cell = cells[source.clock] if source.clock < len(cells) else ""
    if source.packed:
        text = str(cell)
        seconds = packed_clock(text) if text.isdigit() and len(text) in (4, 6) else None
        return stated, None if seconds is None else seconds * US, None
    if source.hours:
        value = number(cell, ".")  # type: ignore[arg-type]
        return stated, None if value is None else int(value) * 3600 * US, None
    second = as_stamp(cell)  # type: ignore[arg-type]
    if second is None:
        return stated, None, None
    offset = second.offset if second.offset is not None else first.offset if first else None
    return stated, second.clock, offset


def _wall_clock(when: datetime, context: Context) -> int:
    """Return a time as a clock in the zone of the stamps shows it. [µs since 1970]"""
    rule = rule_of(context.zone, context.zone_note)
    utc = int(when.timestamp() * US)
    if rule is None or rule.info is None:
        return utc + (0 if rule is None else rule.offset * US)
    offset = when.astimezone(rule.info).utcoffset()
    return utc + (0 if offset is None else int(offset.total_seconds()) * US)


def _lone_date(cells: Sequence[object], decided: dict[str, Decided]) -> int | None:
    found = _stamps_in(cells)
    if len(found) == 1 and found[0].clock is None:
        return local_of(found[0], decided)
    return None


def _counted(
    rows: Sequence[Row], begins: Begun, context: Context
) -> tuple[list[int | None], list[int | None]]:
    start, offset = begins.start, begins.offset
    if start is None and context.start is not None:
        start, offset = int(context.start.timestamp() * US), 0
    start = start or 0
    step = round((begins.interval or context.interval or 1.0) * US)
    return [start + number_ * step for number_ in range(len(rows))], [offset] * len(rows)


def _number_times(
    rows: Sequence[Row], times: Times, source: Source, begins: Begun, context: Context, decimal: str
) -> tuple[list[int | None], list[int | None]]:
    values: list[float | None] = []
    for _, cells in rows:
        cell = cells[source.at] if source.at < len(cells) else ""
        value = number(cell, decimal)
        values.append(number(cell, "." if decimal == "," else ",") if value is None else value)
    if times.kind == "epoch s":
        return [None if one is None else round(one * US) for one in values], [
            None if one is None else 0 for one in values
        ]
    if times.kind == "epoch ms":
        return [None if one is None else round(one * 1000) for one in values], [
            None if one is None else 0 for one in values
        ]
    if times.kind == "serial day":
        zero = serial_zero(context)
        fine = [None if one is None else zero + round(one * 86_400_000) * 1000 for one in values]
        return _to_grid(fine, rows, source, context.interval), [None] * len(values)
    start, offset = begins.start, begins.offset
    if start is None:
        start = int(context.start.timestamp() * US) if context.start is not None else 0
        offset = 0
    ticks = times.tick * US
    return [None if one is None else start + round(one * ticks) for one in values], [offset] * len(values)


def serial_zero(context: Context) -> int:
    """Return the time from which days of a spreadsheet count. [µs since 1970]"""
    return SERIAL_ZERO + (LATER if context.from_1904 else 0)


def days_doubt(last: int | None, kind: str, context: Context) -> list[Doubt]:
    """Return the doubt from when days count, where the later reading is not in the future.

    last: the latest stamp as most spreadsheets count. [µs since 1970]
    """
    if kind != "serial day" or last is None or context.now is None or context.from_1904 is not None:
        return []
    if last + LATER > round(context.now.timestamp() * US) + 2 * DAY:
        return []
    early, late = (f"{EPOCH + timedelta(microseconds=one):%Y-%m-%d}" for one in (last, last + LATER))
    choices = (
        Choice("1900", f"from the end of 1899, as most spreadsheets do: the last sample is of {early}"),
        Choice("1904", f"from the first day of 1904: the last sample is of {late}"),
    )
    return [Doubt("days from", "From when does the file count its days?", choices, "1900")]


def _to_grid(
    times_: list[int | None], rows: Sequence[Row], source: Source, interval: float | None
) -> list[int | None]:
    """Round days with few decimals to the second, or to the interval where all lie that close to it."""
    texts = [str(cells[source.at]) for _, cells in rows[:400] if source.at < len(cells)]
    places = max((len(re.split(r"[.,]", one)[-1]) for one in texts if re.search(r"[.,]", one)), default=0)
    fineness = 86_400 * 10.0**-places / 2 * US
    step = US
    if fineness > 0.3 * US and interval and interval >= 2:
        base = interval if interval <= 60 or interval % 60 else 60.0
        wide = round(base * US)
        good = [one for one in times_ if one is not None]
        if all(abs(one - round(one / wide) * wide) <= fineness * 1.3 + 5000 for one in good):
            step = wide
    elif fineness < 0.02 * US:
        near = [one for one in times_ if one is not None]
        if any(abs(one - round(one / US) * US) > 20_000 for one in near):
            return times_
    return [None if one is None else round(one / step) * step for one in times_]


def uncut(local: list[int], interval: float | None) -> tuple[list[int], float] | None:
    """Return times spread evenly where stamps lost their seconds: several samples share each minute.

    None where that is not so. The second value is the interval taken. [µs; s]
    """
    for step in (60 * US, US):
        if any(one % step for one in local) or (interval is not None and interval >= step / US):
            continue
        groups: list[list[int]] = []
        for at, one in enumerate(local):
            if groups and local[groups[-1][0]] == one:
                groups[-1].append(at)
            else:
                groups.append([at])
        sizes = sorted(len(one) for one in groups)
        usual = sizes[len(sizes) // 2]
        if usual < 2 or len(groups) < 2 or len(local) < 6:
            return None
        apart = sorted(abs(local[b[0]] - local[a[0]]) for a, b in itertools.pairwise(groups))
        if apart[len(apart) // 2] > 1.5 * step:  # days without times of day lost more than seconds
            return None
        every = interval if interval and interval < step / US else step / US / usual
        return _spread_groups(local, groups, every, step), every
    return None


def _spread_groups(local: list[int], groups: list[list[int]], every: float, step: int) -> list[int]:
    out = list(local)
    full = round(step / US / every)
    for number_, rows in enumerate(groups):
        missing = max(0, full - len(rows)) if number_ == 0 else 0
        for k, at in enumerate(rows):
            out[at] = local[at] + round((k + missing) * every * US)
    return out
