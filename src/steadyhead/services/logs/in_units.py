"""Figures of measures as a person reads them: in the reader's units, as close as they are known."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from steadyhead.services.logs.measuring import MeasureView
from steadyhead.units import UnitSet
from steadyhead.units.display import say_apart

Told = Callable[[Sequence[float], UnitSet], Sequence[str]]
HOUR: Final = 3600.0
TO_BAR_PER_SQUARE: Final = 1e-11
"""From Pa s²/m⁶ to bar/(L/s)²."""


def in_units(one: MeasureView, units: UnitSet) -> str:
    """Return the value of a measure and between what it may lie; empty where it is not known.

    Examples
    --------
    A droop of 12.6 kPa: ``0.126 bar, between 0.121 bar and 0.131 bar``.
    """
    if one.value is None:
        return ""
    base, _, per = one.unit.partition(" per ")
    told = _TELLS.get(base, _plain(base))
    known = one.low is not None and one.high is not None and one.low < one.high
    values = (one.value, one.low, one.high) if known else (one.value,)
    words = [
        f"{word} per {per}" if per else word for word in told([v for v in values if v is not None], units)
    ]
    return words[0] if not known else f"{words[0]}, between {words[1]} and {words[2]}"


def _of(kind: str) -> Told:
    return lambda values, units: say_apart(values, kind, units)


def _percent(values: Sequence[float], units: UnitSet) -> Sequence[str]:
    return tuple(f"{100 * value:.3g} %".replace("-", "−") for value in values)


def _resistance(values: Sequence[float], units: UnitSet) -> Sequence[str]:
    return tuple(f"{figure(value * TO_BAR_PER_SQUARE)} bar/(L/s)²" for value in values)


def _hours(values: Sequence[float], units: UnitSet) -> Sequence[str]:
    if max(map(abs, values)) < 2.0 * HOUR:
        return _plain("s")(values, units)
    return tuple(f"{figure(value / HOUR)} h" for value in values)


def _plain(unit: str) -> Told:
    return lambda values, units: tuple(f"{figure(value)} {unit}".strip() for value in values)


def figure(value: float) -> str:
    """Return a number with three figures and no exponent, the minus as it is printed.

    Examples
    --------
    >>> figure(0.0024021), figure(-4.295e-5), figure(0.0)
    ('0.0024', '−0.000043', '0')
    """
    if value == 0.0:
        return "0"
    places = max(0, 2 - _exponent(value)) if abs(value) >= 1.0 else 1 - _exponent(value)
    return f"{value:.{places}f}".replace("-", "−")


def _exponent(value: float) -> int:
    return int(f"{value:e}".partition("e")[2])


_TELLS: Final[dict[str, Told]] = {
    "Pa": _of("pressure"),
    "m3/s": _of("flow"),
    "fraction": _percent,
    "Pa/Pa": _plain(""),
    "Pa s2/m6": _resistance,
    "s": _hours,
}
"""How each unit of a measure is told; another one is told as it is."""
