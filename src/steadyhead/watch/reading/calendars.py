"""Dates of the calendars of Iran and of the Republic of China, in the common calendar."""

from __future__ import annotations

import re
from datetime import date, timedelta

_REPUBLIC = re.compile(
    r"(?:民國|民国)?\s?(1[0-4]\d)(?:([/.-])(\d{1,2})\2|年\s?(\d{1,2})月\s?)(\d{1,2})日?(?!\d)"
)
"""Years from 1912 on: ``116/03/04``."""
_IRAN = re.compile(r"(13[7-9]\d|14[01]\d)([/.-])(\d{1,2})\2(\d{1,2})(?!\d)")
"""Years of 1991 to 2041; those of the moon's calendar are 1421 and later then."""
_FIRST, _LEAP, _BEFORE = date(2025, 3, 21), (1, 5, 9, 13, 17, 22, 26, 30), 1911
"""First day of 1404, and which of 33 years have a day more, as the calendar stands from 1343 to 1472."""

Found = tuple[tuple[int, int, int], str, str, str]


def of_other_calendar(text: str) -> Found | None:
    """Return year, month and day of a date ahead of a text, its order, its shape, and the rest; None: none.

    Examples
    --------
    >>> of_other_calendar("1405/12/13 10:00")
    ((2027, 3, 4), 'ymd', 'yyyy/mm/dd (Iran)', ' 10:00')
    >>> of_other_calendar("116/03/04 10:00")
    ((2027, 3, 4), 'ymd', 'yyy/mm/dd (Republic)', ' 10:00')
    """
    if found := _IRAN.match(text):
        when = _of_iran(int(found.group(1)), int(found.group(3)), int(found.group(4)))
        mark, shape = found.group(2), "yyyy{0}mm{0}dd (Iran)"
    elif found := _REPUBLIC.match(text):
        when = _day(int(found.group(1)) + _BEFORE, int(found.group(3) or found.group(4)), int(found.group(5)))
        mark, shape = found.group(2) or "", "yyy{0}mm{0}dd (Republic)"
    else:
        return None
    if when is None:
        return None
    return (when.year, when.month, when.day), "ymd", shape.format(mark), text[found.end() :]


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _of_iran(year: int, month: int, day: int) -> date | None:
    most = 31 if month <= 6 else 30 if month < 12 or _is_leap(year) else 29
    if not 1 <= month <= 12 or not 1 <= day <= most:
        return None
    low, high = min(year, 1404), max(year, 1404)
    days = sum(366 if _is_leap(each) else 365 for each in range(low, high))
    first = _FIRST + timedelta(days=days if year >= 1404 else -days)
    return first + timedelta(days=31 * min(month - 1, 6) + 30 * max(month - 7, 0) + day - 1)


def _is_leap(year: int) -> bool:
    return year % 33 in _LEAP
