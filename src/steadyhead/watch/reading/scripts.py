"""Stamps of other scripts, calendars and habits, written as the rest of the reading knows them."""

from __future__ import annotations

import re

from steadyhead.watch.reading.weekdays import without_marks

_ZEROS = (0x0660, 0x06F0, 0x0966, 0x0E50, 0xFF10)
"""Noughts of the digits of Arabic, Persian, Hindi, Thai, and the wide ones of East Asia."""
_MARKS = {0x066B: ".", 0x066C: "'", 0xFF1A: ":", 0xFF0F: "/", 0xFF0E: "."}
_TURNED = {zero + one: str(one) for zero in _ZEROS for one in range(10)} | _MARKS
_FAR = re.compile("[" + "".join(map(chr, _TURNED)) + "]")
_FORMULA = re.compile(r'(?<![^;,\t\r\n"])="([^"\r\n]*)"')
"""A text that a formula keeps a spreadsheet from turning: ``="04/03/2027"``, at the start of a cell."""
_YEAR_MARK = re.compile(r"(\d{4})\s?[年년]\s?(\d{1,2})\s?[月월]\s?(\d{1,2})\s?[日일]\s?")
_ERA = re.compile(r"(令和|平成)\s?(\d{1,2}|元)\s?年")
_ERAS = {"令和": 2018, "平成": 1988}
"""Years of the eras of Japan: the year ahead of the first one."""
_CLOCK_MARKS = re.compile(r"(\d{1,2})\s?[時时시]\s?(\d{1,2})\s?[分분](?:\s?(\d{1,2})\s?[秒초])?")
_TIME = r"(\d{1,2})(:\d{2}(?::\d{2})?)"
_AHEAD = {
    "上午": "AM", "午前": "AM", "오전": "AM", "下午": "PM", "午後": "PM", "오후": "PM",
    "am": "AM", "pm": "PM", "öö": "AM", "ös": "PM", "de.": "AM", "du.": "PM",
}  # fmt: skip
_BEHIND = _AHEAD | {
    "πμ": "AM", "μμ": "PM", "π.μ.": "AM", "μ.μ.": "PM", "ص": "AM", "م": "PM", "sa": "AM", "ch": "PM",
    "dop.": "AM", "odp.": "PM", "fm": "AM", "em": "PM", "pg": "AM", "ptg": "PM",
    "ق.ظ": "AM", "ب.ظ": "PM", "pd": "AM", "md": "PM", "e paradites": "AM", "e pasdites": "PM",
    "пр.об.": "AM", "сл.об.": "PM", "पूर्वाह्न": "AM", "अपराह्न": "PM",
}  # fmt: skip
"""Marks of the half of the day, ahead of a time or behind it, in lower case."""
_HALF_AHEAD = re.compile(rf"({'|'.join(map(re.escape, _AHEAD))})\s*{_TIME}(?!\d)", re.IGNORECASE)
_HALF_BEHIND = re.compile(
    rf"(?<![\d:]){_TIME}\s*({'|'.join(map(re.escape, sorted(_BEHIND, key=len, reverse=True)))})$",
    re.IGNORECASE,
)
_YEAR_WORD = re.compile(r"(?<=\d)\s?(?:года|год|г|р|рік)\b\.?,?")
"""*Year* behind a date, as offices of Cyrillic countries write it: ``04.03.2027 г.``"""
_CONTROLLER = re.compile(r"^L?(?:DT|DATE_AND_TIME|D|DATE|TOD|TIME_OF_DAY)#", re.IGNORECASE)
"""Kind of a constant ahead of it, as controllers write a time: ``DT#2027-03-04-10:00:00``."""
_YEAR_LAST = re.compile(
    r"(?:[A-Za-z]{3,9},?\s+)?([A-Za-z]{3,9})\s+(\d{1,2})\s+(\d{1,2}:\d{2}(?::\d{2})?)\s+(?:([A-Z]{2,5})\s+)?(\d{4})$"
)
"""A stamp with the time amid the date: ``Thu Mar  4 10:00:00 2027``."""
_BUDDHIST, _FIRST, _LAST = 543, 2443, 2643
"""Years of the Buddhist calendar are so many ahead; read as such are those from 1900 to 2100."""
_HIJRI = range(1300, 1500)
"""Years of the calendars that count from the Hijra."""


def is_far(text: str) -> bool:
    """Return whether a text has digits of another script, or texts kept by formulas: `near` turns them."""
    return (not text.isascii() and _FAR.search(text) is not None) or _FORMULA.search(text) is not None


def near(text: str) -> str:
    """Return a text with digits 0 to 9, and without the formulas that keep texts.

    Examples
    --------
    >>> near("٢٠٢٧/٠٣/٠٤;٧٫٧٢"), near('="04/03/2027",="7.72"')
    ('2027/03/04;7.72', '"04/03/2027","7.72"')
    """
    if not text.isascii() and _FAR.search(text):
        text = text.translate(_TURNED)
    return _FORMULA.sub(r'"\1"', text) if '="' in text else text


def western(text: str) -> str:
    """Return a stamp with its date in numbers and its half of the day as AM or PM behind it.

    Examples
    --------
    >>> western("2027年3月4日 下午1:05"), western("4/3/2027 1:05:00 μμ"), western("Thu Mar  4 10:00:00 2027")
    ('2027-3-4 1:05 PM', '4/3/2027 1:05:00 PM', '4 Mar 2027 10:00:00')
    """
    if not text.isascii():
        text = _ERA.sub(_of_era, text.translate(_TURNED))
        text = _YEAR_MARK.sub(r"\1-\2-\3 ", text)
        text = _CLOCK_MARKS.sub(_clock, text).strip()
    elif found := _YEAR_LAST.match(text):
        month, day, clock, zone, year = found.groups()
        return f"{day} {month} {year} {clock} {zone or ''}".strip()
    if text.isdigit():
        return text
    if not text.isascii():
        text = without_marks(_YEAR_WORD.sub("", text, count=1))
    text = _CONTROLLER.sub("", text)
    text = _HALF_AHEAD.sub(
        lambda found: _half(found.group(2), found.group(3), _AHEAD[found.group(1).lower()]), text
    )
    return _HALF_BEHIND.sub(
        lambda found: _half(found.group(1), found.group(2), _BEHIND[found.group(3).lower()]), text
    )


def _of_era(found: re.Match[str]) -> str:
    name, year = found.groups()
    return f"{_ERAS[name] + (1 if year == '元' else int(year))}年"


def _clock(found: re.Match[str]) -> str:
    hour, minute, second = found.groups()
    return f"{hour}:{minute:0>2}" + (f":{second:0>2}" if second else "")


def _half(hour: str, rest: str, mark: str) -> str:
    return f"{hour}{rest}" if int(hour) > 12 else f"{hour}{rest} {mark}"


def common_year(year: int) -> int | None:
    """Return a year in the common calendar; None: it is of a calendar that is not read.

    Examples
    --------
    >>> common_year(2570), common_year(2027), common_year(1405)
    (2027, 2027, None)
    """
    if year in _HIJRI:
        return None
    return year - _BUDDHIST if _FIRST <= year <= _LAST else year
