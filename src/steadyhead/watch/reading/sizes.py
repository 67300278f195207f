"""The size of a meter's pulse in a text, and headings of pulses that take it over from a line ahead."""

from __future__ import annotations

import re
from collections.abc import Sequence

from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain
from steadyhead.watch.reading.sources import Row

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_UNIT = r"(l|lt|ltr|lit(?:er|re|ro|ri)s?|m3|m³|cbm)"
_PULSE = r"(?:imp(?:\.|uls\w*)?|pul[sz]\w*)"
_PER = re.compile(rf"{_NUMBER}\s*{_UNIT}\s*(?:/|per|pro|par|por|je|al?|an?)\s*{_PULSE}", re.IGNORECASE)
_IS = re.compile(rf"{_PULSE}[^\d=:;]{{0,24}}[=:;,]\s*{_NUMBER}\s*{_UNIT}(?![\w/])", re.IGNORECASE)


def size_in(text: str) -> tuple[float, str] | None:
    """Return number and unit of a pulse that a text tells; None: it tells none.

    Examples
    --------
    >>> size_in("Pulse total (1 pulse = 10 L)"), size_in("100 l/Imp"), size_in("Pulses")
    ((10.0, 'L'), (100.0, 'L'), None)
    """
    found = _PER.search(text) or _IS.search(text)
    if found is None:
        return None
    unit = "m³" if found.group(2)[0] in "mMcC" else "L"
    size = float(found.group(1).replace(",", "."))
    return (size, unit) if size > 0 else None


def with_sizes(heads: Sequence[str], header: Sequence[Row]) -> list[str]:
    """Return headings of pulses with the one size that lines ahead tell, where they tell none themselves."""
    told = {size for _, cells in header if (size := size_in(" ".join(str(one) for one in cells))) is not None}
    if len(told) != 1:
        return list(heads)
    number, unit = told.pop()
    return [
        f"{one} (1 pulse = {number:g} {unit})"
        if has(plain(one), words.PULSES) and size_in(one) is None
        else one
        for one in heads
    ]
