"""Pressure to pixels, and round ticks."""

from __future__ import annotations

import math
from dataclasses import dataclass

from steadyhead.units import UnitSet, from_si, to_si

_STEPS = (1.0, 2.0, 5.0, 10.0)


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight scale between two pressures and two places on the page.

    Parameters
    ----------
    low, high
        Pressures at the ends. [Pa]
    low_at, high_at
        Where they lie on the page. [px]
    """

    low: float
    high: float
    low_at: float
    high_at: float

    def at(self, pressure: float) -> float:
        """Return the place of `pressure`. [px]

        Examples
        --------
        >>> Scale(0.0, 10e5, 300.0, 0.0).at(5e5)
        150.0
        """
        share = (pressure - self.low) / (self.high - self.low)
        return self.low_at + share * (self.high_at - self.low_at)

    def length(self, pressure: float) -> float:
        """Return the length of a pressure difference, always positive. [px]"""
        return abs(pressure / (self.high - self.low) * (self.high_at - self.low_at))

    def covers(self, pressure: float) -> bool:
        """Say whether `pressure` lies on the scale."""
        return self.low <= pressure <= self.high


def round_step(span: float, count: float) -> float:
    """Return the 1-2-5 step that divides `span` into about `count` parts.

    Examples
    --------
    >>> round_step(12.0, 6)
    2.0
    >>> round_step(0.7, 7)
    0.1
    """
    raw = span / count
    decade: float = 10.0 ** math.floor(math.log10(raw))
    return min((step * decade for step in _STEPS), key=lambda step: abs(math.log(step / raw)))


@dataclass(frozen=True, slots=True)
class Tick:
    """One mark of a scale: the pressure [Pa], or SI of another kind, and the figure beside it."""

    pressure: float
    figure: str


def ticks(low: float, high: float, units: UnitSet, count: float, kind: str = "pressure") -> tuple[Tick, ...]:
    """Return round marks in the display unit between two pressures, or two values of another kind.

    Parameters
    ----------
    low, high
        Ends of the scale. [Pa, or SI of `kind`]
    units
        Display units; the steps are round in them.
    count
        About how many steps.
    kind
        Kind of quantity.

    Examples
    --------
    >>> from steadyhead.units import METRIC
    >>> [tick.figure for tick in ticks(0.0, 12e5, METRIC, 6)]
    ['0', '2', '4', '6', '8', '10', '12']
    """
    unit = units.unit(kind)
    first, last = from_si(low, kind, unit), from_si(high, kind, unit)
    step = round_step(last - first, count)
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    slack = 1e-6
    numbers = range(math.ceil(first / step - slack), math.floor(last / step + slack) + 1)
    return tuple(
        Tick(to_si(number * step, kind, unit), _figure(number * step, places, units)) for number in numbers
    )


def _figure(value: float, places: int, units: UnitSet) -> str:
    text = f"{value:.{places}f}"
    text = f"{0.0:.{places}f}" if float(text) == 0.0 else text
    return text.replace("-", "\u2212").replace(".", units.decimal)


def round_top(high: float, units: UnitSet, count: float) -> float:
    """Return the first round mark at or above `high`. [Pa]

    Examples
    --------
    >>> from steadyhead.units import METRIC
    >>> round_top(11.8e5, METRIC, 6)
    1200000.0
    """
    unit = units.unit("pressure")
    value = from_si(high, "pressure", unit)
    step = round_step(value, count)
    return to_si(step * math.ceil(value / step - 1e-9), "pressure", unit)
