"""Marks of a scale of time: round steps from milliseconds to years, UTC."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

US = 1_000_000
DAY = 86_400 * US
STEPS = tuple(
    round(seconds * US)
    for seconds in (
        0.001, 0.01, 0.1, 0.5, 1, 5, 10, 30, 60, 300, 600, 1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400,
        172_800, 604_800,
    )
)  # fmt: skip
MONTHS = (1, 2, 3, 6, 12, 24, 60, 120)
NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MONTH = 30 * DAY


@dataclass(frozen=True, slots=True)
class TimeMark:
    """A mark: when [µs since 1970], and its words."""

    at: int
    words: str


def moment(micros: int) -> datetime:
    """Return a time. [µs since 1970 UTC]"""
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=micros)


def time_marks(start: int, end: int, count: float) -> tuple[TimeMark, ...]:
    """Return at most about `count` marks between two times.

    Examples
    --------
    >>> [one.words for one in time_marks(0, 3 * DAY, 4)]
    ['1 Jan 1970', '2 Jan', '3 Jan', '4 Jan']
    >>> [one.words for one in time_marks(22 * 3600 * US, 26 * 3600 * US, 3)]
    ['22:00', '2 Jan 1970', '02:00']
    """
    wanted = (end - start) / max(count, 1.0)
    for step in STEPS:
        if step >= wanted:
            return _even(start, end, step)
    for months in MONTHS:
        if months * MONTH >= wanted or months == MONTHS[-1]:
            return _monthly(start, end, months)
    return ()


def _even(start: int, end: int, step: int) -> tuple[TimeMark, ...]:
    offset = 4 * DAY if step == 7 * DAY else 0  # weeks begin on Monday
    first = -(-(start - offset) // step) * step + offset
    out: list[TimeMark] = []
    told_year = False
    for at in range(first, end + 1, step):
        when = moment(at)
        if at % DAY == 0:
            words = f"{when.day} {NAMES[when.month - 1]}"
            if not told_year or (when.month == 1 and when.day <= max(step // DAY, 1)):
                words, told_year = f"{words} {when.year}", True
        else:
            words = f"{when:%H:%M}"
            if step < 60 * US:
                words += f":{when:%S}"
            if step < US:
                words += f".{when.microsecond // 1000:03d}"
        out.append(TimeMark(at, words))
    return tuple(out)


def _monthly(start: int, end: int, months: int) -> tuple[TimeMark, ...]:
    begin, out = moment(start), list[TimeMark]()
    count = begin.year * 12 + begin.month - 1
    count -= count % months
    told_year = False
    while True:
        year, month = divmod(count, 12)
        at = round(
            (datetime(year, month + 1, 1, tzinfo=UTC) - datetime(1970, 1, 1, tzinfo=UTC)).total_seconds()
        )
        if at * US > end:
            return tuple(out)
        if at * US >= start:
            words = NAMES[month] if months < 12 else str(year)
            if months < 12 and (not told_year or month < months):
                words, told_year = f"{words} {year}", True
            out.append(TimeMark(at * US, words))
        count += months
