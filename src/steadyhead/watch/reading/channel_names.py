"""Headings that only number a channel or shorten it, spelt out by what lines ahead of the samples say."""

from __future__ import annotations

import re
from collections.abc import Sequence

from steadyhead.watch.reading.currents import of_range
from steadyhead.watch.reading.headings import said, unit_and_rest
from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Row
from steadyhead.watch.reading.stamps import stamp

_WORD = (
    r"(?:ch|chan|channel|kan|kanal|kanaal|kanava|voie|canal|canale|input|sensor|eingang|ingang|entree|entrée)"
)
_LINE = re.compile(
    rf"^\W*({_WORD})[\s#._-]*(\d{{1,2}}(?=\D)|[A-H](?=\s*[:=;,]))"
    r"(?:\s+(?:name|label|type))?\s*[:=;,\t -]\s*(.+)$",
    re.I,
)
_HEAD = re.compile(rf"^({_WORD})[\s#._-]*(\d{{1,2}}|[A-H])\b[\s:]*(.*)$", re.I)
_OTHER = re.compile(rf"\b{_WORD}[\s#._-]*\d", re.I)
"""Another channel named in the same line: it is a row of headings."""
_BARE = re.compile(r"^()(\d{1,2}|[A-H])()$")
_SHORT = re.compile(r"^\W*([^\W\d_][\w.-]{0,9})\s*[:=]\s*(\S.*)$")
"""A line as ``PA = Ausgangsdruck [bar]``."""
SHORT = 10
"""Most letters of a heading that a line may spell out."""


def spelt_heads(heads: Sequence[str], header: Sequence[Row]) -> list[str]:
    """Return headings with those that only number or shorten a channel spelt out.

    Examples
    --------
    >>> spelt_heads(["Time", "Ch1 (m)"], [(1, ["Channel 1: Upstream pressure"])])
    ['Time', 'Upstream pressure [m]']
    >>> spelt_heads(["Zeit", "PA"], [(1, ["# PA = Ausgangsdruck [bar]"])])
    ['Zeit', 'Ausgangsdruck [bar]']
    """
    numbered, short = _told(header)
    out = []
    for one in heads:
        found = _HEAD.match(one.strip()) or _BARE.match(one.strip())
        if found and (text := numbered.get(_key(found.group(2)))) and not _tells(found.group(3)):
            out.append(_together(text, found.group(3)))
        elif len(one) <= SHORT and (text := short.get(one.strip())) and _meant_by(one, text):
            out.append(text)
        else:
            out.append(one)
    return out if len(set(out)) == len(set(heads)) else list(heads)


def _told(header: Sequence[Row]) -> tuple[dict[str, str], dict[str, str]]:
    """Return what lines say of channels by number, and of short names."""
    numbered: dict[str, str] = {}
    short: dict[str, str] = {}
    for _, cells in header:
        texts = [str(one).strip() for one in cells if one != ""]
        line = ", ".join(texts)
        if found := _of_channel(line):
            numbered.setdefault(_key(found.group(2)), _clean(found.group(3)))
        elif (found := _SHORT.match(line)) and _tells(found.group(2)) and not _stamped(cells):
            short.setdefault(found.group(1), found.group(2).strip(" ,;"))
    return numbered, short


def is_channel_line(cells: Sequence[str]) -> bool:
    """Return whether a row says of one channel by its number what it is, and so heads no columns.

    Examples
    --------
    >>> is_channel_line(["Channel 1", "Upstream pressure", "bar"]), is_channel_line(["Ch1 flow", "Ch2 level"])
    (True, False)
    """
    return _of_channel(", ".join(one.strip() for one in cells if one)) is not None


def _of_channel(line: str) -> re.Match[str] | None:
    found = _LINE.match(line)
    return found if found and _tells(found.group(3)) and not _OTHER.search(found.group(3)) else None


def _key(text: str) -> str:
    return text.lstrip("0") or "0" if text.isdecimal() else text.casefold()


def _clean(text: str) -> str:
    """Return a text with a unit of its own in brackets: ``Pressure, bar`` as ``Pressure [bar]``."""
    text = text.strip(" ,;")
    head, _, tail = text.rpartition(",")
    unit, rest = unit_and_rest(tail) if head else (None, "")
    return f"{head.strip()} [{tail.strip()}]" if unit is not None and not rest.strip() else text


def _together(text: str, beside: str) -> str:
    """Return what a line says of a channel with the unit that stands at its heading, which goes before."""
    unit = beside.strip().strip("[](){} ,")
    range_ = of_range(text)
    if unit.casefold() == "ma" and range_ is not None:
        return f"{_named(text)} [{range_.name}]"
    if unit:
        return f"{_named(text)} [{unit}]"
    return text if range_ is None else _named(text)


def _named(text: str) -> str:
    """Return a text without a unit or a range behind it."""
    cut = re.split(r"[,;(\[]", text, maxsplit=1)[0].strip()
    return cut if _tells(cut) else unit_and_rest(text)[1].strip(" ,;")


def _meant_by(heading: str, text: str) -> bool:
    """Return whether a line spells a heading out that says nothing, or less, itself."""
    own, spelt = said(heading), said(text)
    if (
        not text[0].isalpha()
        or spelt.unit is None
        or (spelt.quantity is None and not spelt.pressure)
        or ";" in text
    ):
        return False
    return own.unit is None or unit_and_rest(heading)[1].strip() == ""


def _tells(text: str) -> bool:
    found = said(text)
    return (found.quantity is not None and found.quantity != "other") or found.pressure


def _stamped(cells: Sequence[Cell]) -> bool:
    return any(isinstance(one, str) and stamp(one) is not None for one in cells)
