"""Lines of names and values to a table, as in text messages and logs: ``PIN=7.72bar Q=9.4l/s``."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.stamps import stamp
from steadyhead.watch.reading.symbols import symbol

LOOKED, LEAST, MOSTLY, KEYS = 400, 5, 0.6, 60
_DATE = r"(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/. ](?:\d{1,2}|[^\W\d_]{3,9})[-/. ]\d{2,4})"
_STAMP = re.compile(
    rf"(?<![\d.]){_DATE}(?:T|[, _]+)\d{{1,2}}:\d{{2}}(?::\d{{2}}(?:[.,]\d+)?)?"
    r"(?:\s?[AaPp][Mm]\b|\s?Z\b|\s?[+-]\d{2}:?\d{2}\b)?"
)
_EPOCH = re.compile(
    r"(?:(?<!\w)(?:ts|t|time|timestamp|epoch|date)\s?[=:]\s?|(?<![\w.=:]))(\d{10}|\d{13}|\d{16}|\d{19})(?![\w.])"
)
_PAIR = re.compile(
    r"(?<![\w.])([A-Za-z_][\w./-]{0,40}?)(?:\s?=\s?|:\s?(?=[+-]?\d))([+-]?\d+(?:[.,]\d+)?(?![\w:]*:)|[^\s,;|]{1,12})"
    r"(?:\s?([A-Za-z°³²/0-9]{1,8}(?:/[A-Za-z]{1,3})?)(?=$|[\s,;|\])}]))?"
)
"""A name, ``=`` (``:`` ahead of a number, too), a value, and a unit behind it."""
_QUOTED = re.compile(r'"([A-Za-z_][\w ./-]{0,40})"\s?:')
"""A name as JSON has it."""
_LISTED = re.compile(r"[=:]\s?\d+(?:\.\d+)?(?:,\d+(?:\.\d+)?){2}")
"""Several values of one name: samples at an interval, which are not read so."""
_WITHIN = (5e8, 4.2e9)


@dataclass(frozen=True, slots=True)
class Line:
    """What a line states: its times, and of each name the value with its unit."""

    times: tuple[str, ...]
    values: dict[str, tuple[str, str]]


def keyed(numbered: Sequence[tuple[int, str]]) -> list[tuple[int, list[Cell]]] | None:
    """Return the rows of a table, its headings as row 0; None where the lines are not of this kind.

    Of two times of a line the first one is of the message, the second one of the sample.
    """
    few = numbered[:: max(1, len(numbered) // LOOKED)]
    if sum(_is_so(said(line)) for _, line in few) < max(LEAST, MOSTLY * len(few)):
        return None
    listed = [(at, text, said(text)) for at, text in numbered]
    good = [one for _, _, one in listed if _is_so(one)]
    counts = Counter(key for one in good for key in one.values)
    keys = [key for key, often in counts.items() if often > 0.02 * len(good)][:KEYS]
    twice = sum(len(one.times) > 1 for one in good) > 0.8 * len(good)
    units = {key: _unit(key, good) for key in keys}
    heads: list[Cell] = [*(("received", "time") if twice else ("time",))]
    heads += [f"{key} [{units[key]}]" if units[key] else key for key in keys]
    rows: list[tuple[int, list[Cell]]] = [(0, heads)]
    for at, text, one in listed:
        if not _is_so(one) or (twice and len(one.times) < 2):
            rows.append((at, [text]))
            continue
        rows.append((at, [*one.times[: 2 if twice else 1], *(_cell(one, key, units[key]) for key in keys)]))
    return rows


def said(line: str) -> Line:
    """Return what a line states.

    Examples
    --------
    >>> said("04/03/2027 10:00 PRV7 PIN=7.72bar Q: 9.4 l/s").values
    {'PIN': ('7.72', 'bar'), 'Q': ('9.4', 'l/s')}
    """
    if ("=" not in line and ":" not in line) or _LISTED.search(line):
        return Line((), {})
    line = _QUOTED.sub(r"\1:", line)
    times = [found.group() for found in _STAMP.finditer(line)]
    times = [
        one for one in times if (read := stamp(one)) is not None and read.parts and read.clock is not None
    ]
    rest = _STAMP.sub(" ", line)
    if not times:
        times = [text for one in _EPOCH.findall(rest) if (text := _counted(one))]
        rest = _EPOCH.sub(" ", rest)
    values: dict[str, tuple[str, str]] = {}
    for key, value, unit in _PAIR.findall(rest):
        is_unit = bool(unit) and symbol(unit) is not None
        values.setdefault(key, (value, unit if is_unit else ""))
    return Line(tuple(times), values)


def _counted(digits: str) -> str:
    seconds = int(digits) / 10 ** (len(digits) - 10)
    if not _WITHIN[0] < seconds < _WITHIN[1]:
        return ""
    return f"{datetime.fromtimestamp(seconds, UTC):%Y-%m-%d %H:%M:%S.%f}"[:-3] + "Z"


def _is_so(one: Line) -> bool:
    numbers = sum(value[-1:].isdigit() for value, _ in one.values.values())
    return bool(one.times) and numbers > 1


def _unit(key: str, good: Sequence[Line]) -> str:
    """Return the unit that stands behind nearly all values of a name; "" for none."""
    units = Counter(one.values[key][1] for one in good if key in one.values)
    unit, often = units.most_common(1)[0]
    return unit if unit and often > 0.8 * sum(units.values()) and len(units) < 3 else ""


def _cell(one: Line, key: str, usual: str) -> Cell:
    value, unit = one.values.get(key, ("", ""))
    return value if unit == usual or not unit else f"{value} {unit}"
