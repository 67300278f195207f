"""Where in a note the shut-off acts: what stands ahead of it was so at the time, what follows came after."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from steadyhead.units import from_si
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.model import Moment

_FIGURE: Final = re.compile(
    r"(?<![\d.,])(\d+(?:[.,]\d+)?)(?![\d.,]*\d)(?!\s*(?:['’′]|s\b|secs?\b|seconds?\b|min|h\b|hours?\b|mm\b|%|"
    r"turns?\b|L/|l/|gpm|m3/h|m³/h|°|deg|C\b|F\b))"
)


def spot_of(text: str, values: Iterable[float | None], unit: str) -> int | None:
    """Return where a note first gives one of some pressures, None where it gives none of them.

    Examples
    --------
    >>> spot_of("0.07 steps, 15 s. 5.11 no, 5.18 yes", (5.11e5, 5.18e5), "bar")
    18
    """
    wanted = []
    for value in values:
        if value is not None:
            try:
                wanted.append(from_si(value, "pressure", unit))
            except KeyError:
                wanted.append(value / 1e5)
    for found in _FIGURE.finditer(text):
        figure = float(found.group(1).replace(",", "."))
        if any(abs(figure - one) <= lim.SAME_FIGURE * abs(one) for one in wanted):
            return found.start()
    return None


def act_spot(moment: Moment, unit: str) -> int | None:
    """Return where a note first gives the hold before the trip or the trip itself, None where it does not."""
    return spot_of(moment.text, (r.value for r in moment.reads if r.is_trip or r.is_hold), unit)
