"""Figures of measures as a person reads them: in the reader's units, as close as they are known."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

from steadyhead.units import UnitSet, paired, to_si
from steadyhead.units.display import say_apart

if TYPE_CHECKING:
    from steadyhead.services.logs.measuring import MeasureView

Told = Callable[[Sequence[float], UnitSet], Sequence[str]]
HOUR: Final = 3600.0


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
    def told(value: float) -> str:
        return paired(lambda one: f"{figure(value / square_factor(one))} {resistance_unit(one)}", units)

    return tuple(map(told, values))


def resistance_unit(units: UnitSet) -> str:
    """Return the unit in which a loss over flow squared is told.

    Examples
    --------
    >>> from steadyhead.units import US
    >>> resistance_unit(US)
    'psi/(US gpm)²'
    """
    return f"{units.unit('pressure')}/({units.unit('flow')})²"


def square_factor(units: UnitSet) -> float:
    """Return what one of a reader's pressure over flow squared is. [Pa s²/m⁶]"""
    flow = to_si(1.0, "flow", units.unit("flow"))
    return to_si(1.0, "pressure", units.unit("pressure")) / flow**2


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
