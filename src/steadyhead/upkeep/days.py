"""Days of the calendar: months added, spans in words, and which days a person may enter."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, datetime, timedelta, timezone
from math import floor

from steadyhead.errors import InputError
from steadyhead.records.checking import FIRST_YEAR, LAST_YEAR, not_a_day

DAYS_OF_A_MONTH = 30.4375
"""Mean month of the calendar, 365.25 / 12. [days]"""
FARTHEST_EAST = timezone(timedelta(hours=14))
"""The clocks that show the next day first: 14 hours ahead of UTC."""
FIRST, LAST = date(FIRST_YEAR, 1, 1), date(LAST_YEAR, 12, 31)


def later(day: date, months: float) -> date:
    """Return the day a number of months on: the same day of the month, or its last day where it is shorter.

    Parameters
    ----------
    day
        Where it is counted from.
    months
        May be negative; a part of a month counts in mean days. [months]

    Examples
    --------
    >>> later(date(2028, 2, 29), 12), later(date(2027, 8, 31), 6)
    (datetime.date(2029, 2, 28), datetime.date(2028, 2, 29))
    """
    whole = floor(months)
    count = day.year * 12 + day.month - 1 + whole
    year, month = divmod(count, 12)
    if not FIRST.year <= year <= LAST.year:
        return FIRST if year < FIRST.year else LAST
    moved = date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
    return min(LAST, max(FIRST, moved + timedelta(days=round((months - whole) * DAYS_OF_A_MONTH))))


def span(days: int) -> str:
    """Return a span in words a person would use.

    Examples
    --------
    >>> [span(n) for n in (0, 1, 13, 30, 61, 400, 1100)]
    ['today', '1 day', '13 days', '4 weeks', '2 months', '13 months', '3 years']
    """
    if days == 0:
        return "today"
    if days < 28:
        return _counted(days, "day")
    if days < 61:
        return _counted(days // 7, "week")
    months = floor(days / DAYS_OF_A_MONTH + 0.01)
    return _counted(months, "month") if months < 24 else _years(months)


def _years(months: int) -> str:
    years, rest = divmod(months, 12)
    return _counted(years, "year") if rest < 6 else f"{years}½ years"


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def interval(months: float) -> str:
    """Return an interval in words.

    Examples
    --------
    >>> [interval(n) for n in (7 / DAYS_OF_A_MONTH, 1, 9, 12, 42, 48)]
    ['1 week', '1 month', '9 months', '12 months', '42 months', '4 years']
    """
    if months < 1.0 or months != floor(months):
        days = round(months * DAYS_OF_A_MONTH)
        return _counted(days // 7, "week") if days % 7 == 0 else _counted(days, "day")
    if months >= 24 and months % 12 == 0:
        return _counted(int(months) // 12, "year")
    return _counted(int(months), "month")


def told(day: date) -> str:
    """Return a day nobody can misread.

    Examples
    --------
    >>> told(date(2027, 4, 5))
    '5 April 2027'
    """
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


def latest(now: datetime) -> date:
    """Return the last day that has begun anywhere on earth: a later one has not come for anybody.

    now: the moment, with its zone.
    """
    return now.astimezone(FARTHEST_EAST).date()


def read_day(field: str, text: str, *, first: date | None = None, last: date | None = None) -> date:
    """Return a day a person wrote, year first.

    Parameters
    ----------
    field
        Its name, for messages.
    text
        As typed.
    first, last
        Days between which it may lie, both counted in.

    Raises
    ------
    InputError
        Empty, no day of the calendar, or outside; says the remedy.
    """
    typed = text.strip()
    if not typed:
        raise InputError(field, "got no day.", "Write it as 2027-06-30.")
    try:
        day = date.fromisoformat(typed) if len(typed) == 10 else None
    except ValueError:
        day = None
    if day is None or day.isoformat() != typed or not FIRST <= day <= LAST:
        raise InputError(field, f"got {typed[:40]!r}, {not_a_day(typed)}", "Write it as 2027-06-30.")
    if last is not None and day > last:
        raise InputError(
            field, f"got {typed}, which lies after {last.isoformat()}.", "Write a day that has come."
        )
    if first is not None and day < first:
        raise InputError(
            field, f"got {typed}, which lies before {first.isoformat()}.", "Write that day or a later one."
        )
    return day
