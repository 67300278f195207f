"""Stamps in text: every form met in logger files, read without guessing the order of day and month."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import lru_cache

from steadyhead.watch.reading.calendars import of_other_calendar
from steadyhead.watch.reading.headings import plain
from steadyhead.watch.reading.months import MONTHS, month_of
from steadyhead.watch.reading.scripts import common_year, western
from steadyhead.watch.reading.weekdays import is_weekday, without_day

US = 1_000_000
DAY = 86_400 * US
ZONES = {
    "utc": 0, "gmt": 0, "z": 0, "cet": 3600, "cest": 7200, "mez": 3600, "mesz": 7200, "bst": 3600, "wet": 0,
    "west": 3600, "eet": 7200, "eest": 10800, "est": -18000, "edt": -14400, "cst": -21600, "cdt": -18000,
    "mst": -25200, "mdt": -21600, "pst": -28800, "pdt": -25200, "hnec": 3600, "heec": 7200,
    "aest": 36000, "aedt": 39600, "nzst": 43200, "nzdt": 46800, "sast": 7200, "ut": 0, "oez": 7200, "tu": 0,
    "eat": 10800, "cat": 7200, "wat": 3600, "pkt": 18000, "npt": 20700, "wib": 25200, "wita": 28800,
    "wit": 32400, "ict": 25200, "jst": 32400, "kst": 32400, "sgt": 28800, "hkt": 28800, "pht": 28800,
    "msk": 10800, "trt": 10800, "brt": -10800, "art": -10800, "uyt": -10800, "pet": -18000, "cot": -18000,
    "bot": -14400, "vet": -14400,
}  # fmt: skip
_WEEKDAY = re.compile(r"^(?:[^\W\d_]{2,10}\.?,?\s+)(?=\d|[^\W\d_]{3,})", re.UNICODE)
_YMD = re.compile(r"(\d{4})(\. |[-/._]|\s)(\d{1,2})\2(\d{1,2})(?!\d)\.?")
_KANJI = re.compile(r"(\d{4})(\d{2})(\d{2})(?=[ T_\-]|\d{4}|\d{6}|$)")
_WEEK = re.compile(r"(\d{4})-?W(\d{2})-?([1-7])(?!\d)")
_ORDINAL = re.compile(r"(\d{4})-(\d{3})(?=[T ]|$)")
_NUM = re.compile(r"(\d{1,2})(\. |[-/._ ])(\d{1,2})\2(\d{4}|\d{2})(?!\d)(?:\.(?=\s|$))?")
_NAMED = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th)?[-. /_]*(?:de )?([^\W\d_]{3,12})\.?[-. ,/_]*(?:de )?(\d{4}|\d{2})(?!\d)",
    re.UNICODE,
)
_NAME_FIRST = re.compile(r"([^\W\d_]{3,10})\.?[- ]+(\d{1,2})(?:st|nd|rd|th)?,?[- ]+(\d{4})", re.UNICODE)
_YEAR_NAME = re.compile(r"(\d{4})[- /.]([^\W\d_]{3,10})[- /.](\d{1,2})(?!\d)", re.UNICODE)
_CLOCK = re.compile(
    r"(\d{1,2})(?:[:hH]|\.(?=\d{2}(?:\.\d{2}|\s|$)))(\d{2})(?:[:.mM](\d{2})(?:[.,:](\d{1,9}))?)?(?![\d])\s?(?:s|Uhr|uur|h)?",
)  # fmt: skip
_CLOCK_COMPACT = re.compile(r"(\d{2})(\d{2})(\d{2})?(?:[.,](\d{1,9}))?(?!\d)")
_AT = re.compile(r"^[\s,]*(?:kl\.?|klo|às|as|à|at|um|om|alle|ore|a las)\s+(?=\d)", re.IGNORECASE)
"""Words between a date and its time of day."""
_PASS = re.compile(r"(?<!\d)(0?[1-3])([AB])(?::(\d{2}(?::\d{2})?))$")
"""The hour that comes twice as ``2A:15`` and ``2B:15``."""
_DEN = re.compile(r"^den\s+(?=\d)", re.IGNORECASE)
_HOUR_ONLY = re.compile(r"(\d{1,2})(?=\s?[AaPp]\.?\s?[Mm])")
_HALF = re.compile(r"\s*(?:([AaPp])\.?\s?[Mm]|([ap]))\b\.?")
_OFFSET = re.compile(r"\s*\(?(?:UTC|GMT|utc|gmt)?\s?([+\-−])(\d{1,2})(?::?(\d{2}))?\)?$")
_ZONE = re.compile(r"\s*[\[(]?([A-Za-z]{1,5})[\])]?$")


@dataclass(frozen=True, slots=True)
class Stamp:
    """One stamp as written.

    Parameters
    ----------
    parts
        The three numbers of the date in the order written, or year, month, day; None: no date.
    order
        ``ymd`` where that is certain, ``?`` for three short numbers or two and a year at the end.
    clock
        Time of day; 24:00 is the day's length. None: no time. [µs]
    offset
        Offset to UTC that the stamp carries; None: none. [s]
    form
        Its shape in words, for the report: ``d.m.yyyy hh:mm``.
    """

    parts: tuple[int, int, int] | None
    order: str
    clock: int | None
    offset: int | None
    form: str


@lru_cache(maxsize=200_000)
def stamp(text: str) -> Stamp | None:
    """Return the stamp that `text` is, or None.

    Examples
    --------
    >>> stamp("04.03.2027 24:00").clock == DAY, stamp("3/4/27 1:05 PM").form, stamp("12.5")
    (True, 'n/n/yy hh:mm AM', None)
    >>> stamp("2027-03-04T01:00:00+01:00").offset
    3600
    """
    text = _PASS.sub(r"\1:\3 \2", western(text.strip().strip("\"'")))
    if not 4 <= len(text) <= 48 or not any(one.isdigit() for one in text):
        return None
    if _AT.match(text):
        return _clock_only(text)
    body = text = _DEN.sub("", text)
    if text[0].isalpha() and not (_NAME_FIRST.match(text) and plain(text.split()[0])[:3] in _MONTH_STARTS):
        ahead = _WEEKDAY.match(text)
        if ahead is not None and not is_weekday(ahead.group()):
            return None  # words about a time, as in a last line of a print
        body = text[ahead.end() :] if ahead is not None else text
    parts, order, form, rest = _date(body)
    if parts is None:
        return _clock_first(text) or _clock_only(text)
    parts, form = _common(parts, order, form)
    joint = rest[:1]
    rest = without_day(rest)
    rest = _AT.sub("", rest)
    rest = rest.lstrip(" T_,;-–/") if not re.match(r"[+-]\d\d:?\d\d$", rest) else rest
    if not rest:
        return Stamp(parts, order, None, None, form)
    clock, shape, rest = _clock(rest, after_compact="yyyymmdd" in form)
    if clock is None:
        zone = _zone(rest)
        return (
            None if zone is None or joint not in " TZ+-(" else Stamp(parts, order, None, zone, f"{form} zone")
        )
    if not rest.strip():
        return Stamp(parts, order, clock, None, f"{form}{'T' if joint == 'T' else ' '}{shape}")
    zone = _zone(rest)
    if zone is None:
        return None
    return Stamp(parts, order, clock, zone, f"{form}{'T' if joint == 'T' else ' '}{shape} zone")


_TIME_AHEAD = re.compile(r"(\d{1,2}:\d{2}(?::\d{2})?(?:\s?[AaPp]\.?[Mm]\.?)?)[\s,;\-]+(\d\S*[-./]\d\S*)$")


def _clock_first(text: str) -> Stamp | None:
    """Return a stamp whose time of day stands ahead of its date, as in Vietnam; None: it is none."""
    if (found := _TIME_AHEAD.match(text)) is None:
        return None
    turned = stamp(f"{found.group(2)} {found.group(1)}")
    if turned is None or turned.parts is None or turned.clock is None or turned.offset is not None:
        return None
    date_, _, clock = turned.form.partition(" ")
    return replace(turned, form=f"{clock} {date_}")


def _common(parts: tuple[int, int, int], order: str, form: str) -> tuple[tuple[int, int, int], str]:
    """Return a date in the common calendar, and its shape, which names the calendar it was written in."""
    at = 0 if order == "ymd" else 2
    year = common_year(parts[at])
    if year is None or year == parts[at]:
        return parts, form
    return (*parts[:at], year, *parts[at + 1 :]), f"{form} (Buddhist year)"  # type: ignore[return-value]


_MONTH_STARTS = {name[:3] for name in MONTHS if name.isascii()}


def _date(text: str) -> tuple[tuple[int, int, int] | None, str, str, str]:
    if (other := of_other_calendar(text)) is not None:
        return other
    if found := _YMD.match(text):
        y, m, d = int(found.group(1)), int(found.group(3)), int(found.group(4))
        mark = found.group(2).strip() or " "
        if _fits(y, m, d):
            return (y, m, d), "ymd", f"yyyy{mark}mm{mark}dd", text[found.end() :]
        return None, "", "", text
    if found := _WEEK.match(text):
        y, week, day = (int(one) for one in found.groups())
        try:
            when = date.fromisocalendar(y, week, day)
        except ValueError:
            return None, "", "", text
        return (when.year, when.month, when.day), "ymd", "year, week, day", text[found.end() :]
    if found := _ORDINAL.match(text):
        y, day = int(found.group(1)), int(found.group(2))
        if 1970 <= y <= 2100 and 1 <= day <= 365 + (y % 4 == 0):
            when = date(y, 1, 1) + timedelta(days=day - 1)
            return (when.year, when.month, when.day), "ymd", "year, day of the year", text[found.end() :]
    if found := _KANJI.match(text):
        y, m, d = (int(one) for one in found.groups())
        if 1970 <= y <= 2100 and _fits(y, m, d):
            return (y, m, d), "ymd", "yyyymmdd", text[found.end() :]
    if found := _NUM.match(text):
        a, b, c = (int(found.group(at)) for at in (1, 3, 4))
        mark = found.group(2).strip() or " "
        years = len(found.group(4))
        if mark == " " and years == 2:
            return None, "", "", text
        if years == 2 or (max(a, b) <= 31 and min(a, b) >= 1 and common_year(c)):
            return (a, b, c), "?", f"n{mark}n{mark}{'y' * years}", text[found.end() :]
        return None, "", "", text
    for pattern, at in ((_NAMED, (3, 2, 1)), (_NAME_FIRST, (3, 1, 2)), (_YEAR_NAME, (1, 2, 3))):
        found = pattern.match(text)
        if found:
            month = month_of(found.group(at[1]))
            y, d = int(found.group(at[0])), int(found.group(at[2]))
            y += 2000 if y < 70 else 1900 if y < 100 else 0
            if month and _fits(y, month, d):
                return (y, month, d), "ymd", "day, month by name, year", text[found.end() :]
    return None, "", "", text


def _fits(y: int, m: int, d: int) -> bool:
    year = common_year(y)
    try:
        date(year or 0, m, d)
    except ValueError:
        return False
    return True


def _clock(text: str, after_compact: bool = False) -> tuple[int | None, str, str]:
    found = _CLOCK.match(text)
    if found is None and after_compact:
        found = _CLOCK_COMPACT.match(text)
    if found is None:
        found = _HOUR_ONLY.match(text)
        if found is None:
            return None, "", text
        hours, minutes, seconds, part = int(found.group(1)), 0, None, None
    else:
        hours, minutes, seconds, part = (
            int(found.group(1)),
            int(found.group(2)),
            found.group(3),
            found.group(4),
        )
    rest = text[found.end() :]
    if 1 <= hours <= 3 and rest.strip() in ("A", "B"):  # the two passes of the hour that comes twice
        rest = ""
    half = _HALF.match(rest)
    shape = "hh:mm" + (":ss" if seconds is not None else "") + (".f" if part else "")
    if half:
        if not 1 <= hours <= 12 and hours != 0:
            return None, "", text
        hours = hours % 12 + (12 if (half.group(1) or half.group(2)) in "Pp" else 0)
        rest, shape = rest[half.end() :], shape + " AM"
    if (
        minutes > 59
        or int(seconds or 0) > 60
        or hours > 24
        or (hours == 24 and (minutes or int(seconds or 0)))
    ):
        return None, "", text
    micro = int(((part or "") + "000000")[:6])
    return (hours * 3600 + minutes * 60 + int(seconds or 0)) * US + micro, shape, rest


def _zone(text: str) -> int | None:
    if found := _OFFSET.match(text):
        sign = -1 if found.group(1) in "-−" else 1
        hours, minutes = int(found.group(2)), int(found.group(3) or 0)
        return sign * (hours * 3600 + minutes * 60) if hours <= 14 and minutes < 60 else None
    found = _ZONE.match(text)
    return ZONES.get(found.group(1).casefold()) if found else None


def _clock_only(text: str) -> Stamp | None:
    bare, text = text, _AT.sub("", text)
    clock, shape, rest = _clock(text)
    if clock is None or (rest.strip() and _zone(rest) is None):
        return None
    if text == bare and "." in text and ":" not in text and text.count(".") < 2 and "AM" not in shape:
        return None  # a number such as 12.34
    return Stamp(None, "", clock, _zone(rest) if rest.strip() else None, shape)


def days(parts: tuple[int, int, int], order: str) -> int | None:
    """Return the day since 1970-01-01 of three numbers read in `order`; None: they are no date."""
    a, b, c = parts
    y, m, d = {"ymd": (a, b, c), "dmy": (c, b, a), "mdy": (c, a, b)}[order]
    y += (2000 if y < 70 else 1900) if y < 100 else 0
    if not 1 <= m <= 12 or not 1 <= d <= 31:
        return None
    return _days(y, m, d)


@lru_cache(maxsize=50_000)
def _days(y: int, m: int, d: int) -> int | None:
    try:
        return date(y, m, d).toordinal() - 719_163
    except ValueError:
        return None


def of_datetime(value: datetime) -> Stamp:
    """Return the stamp of a date cell of a spreadsheet, to the millisecond."""
    micro = ((value.hour * 60 + value.minute) * 60 + value.second) * US + value.microsecond
    off = value.utcoffset()
    micro = (micro + 500) // 1000 * 1000
    zone = None if off is None else int(off.total_seconds())
    return Stamp((value.year, value.month, value.day), "ymd", micro, zone, "date cell")
