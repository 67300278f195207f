"""How people of a region read quantities; nothing computed depends on it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from steadyhead.units.parse import UnitError, parse
from steadyhead.units.sizes import nominal
from steadyhead.units.table import FOOT, find, from_si

_DIGITS: dict[str, int] = {
    "bar": 2, "psi": 1, "kPa": 0, "MPa": 3, "m head": 1, "ft head": 1, "mbar": 0, "Pa": 0, "kgf/cm²": 2,
    "L/s": 2, "m³/h": 1, "US gpm": 0, "imp gpm": 0, "L/min": 1, "mL/min": 0, "US gph": 1, "L/h": 1,
    "m³/d": 0, "Ml/d": 3, "MGD": 3, "imp MGD": 3, "cfs": 2, "cfm": 1,
    "m": 1, "ft": 1, "mm": 1, "in": 2, "°C": 1, "°F": 1, "K": 1, "1/GPa": 2, "Kv": 1, "Cv": 1,
    "s": 1, "min": 0, "h": 1, "m³": 1, "L": 0, "US gal": 0, "ft³": 0,
    "m/s": 1, "ft/s": 1, "%": 0, "": 2, "turns": 2,
    "bar/turn": 2, "psi/turn": 1, "kPa/turn": 0, "m head/turn": 1, "DN": 0, "m²": 4, "in²": 2,
}  # fmt: skip
_FINER_BELOW: dict[str, tuple[float, ...]] = {
    "US gpm": (100.0, 10.0), "imp gpm": (100.0, 10.0), "m³/h": (10.0,), "m³/d": (100.0, 10.0),
    "Kv": (1.0, 0.1), "Cv": (1.0, 0.1),
}  # fmt: skip
"""Flows and coefficients that a coarse unit would hide: one more decimal below each of these figures."""
MOST_DIGITS = 9
"""Decimals at which two figures that still look alike are taken as one."""
AS_ONE = 1e-9
"""Relative difference below which two values are one value, written in two ways. [1]"""
_EDGE_SLACK = 1e-6
"""Share of the last decimal that a band's edge may lie off a round figure and still be printed as it."""
_COUNTED = ("L", "US gal", "imp gal")
"""Units of volume in which water let off is counted; more than three digits would be read as measured."""
_BEFORE = ("DN", "Kv", "Cv")
"""Units that stand before their figure."""


@dataclass(frozen=True, slots=True)
class UnitSet:
    """The display unit for each kind of quantity, the decimal mark, and what stands beside in parentheses.

    Parameters
    ----------
    name
        How a person writes this set.
    units
        Symbol by kind; metric where left out.
    decimal
        Decimal mark.
    second
        Units of the other people who read the same print; None where there are none.
    """

    name: str
    units: dict[str, str] = field(default_factory=dict)
    decimal: str = "."
    second: UnitSet | None = None

    def unit(self, kind: str) -> str:
        """Return the symbol this person reads `kind` in."""
        return self.units.get(kind, METRIC_UNITS[kind])

    def heading(self, kind: str) -> str:
        """Return the symbol at the head of a column, the second one in parentheses.

        Examples
        --------
        >>> US.heading("pressure"), beside(US, METRIC).heading("pressure")
        ('psi', 'psi (bar)')
        """
        return paired(lambda units: units.unit(kind), self)

    def shows_both(self, kind: str) -> bool:
        """Return whether a quantity of this kind is printed in two units."""
        return self.second is not None and self.second.unit(kind) != self.unit(kind)

    @property
    def first(self) -> UnitSet:
        """These units alone, nothing in parentheses."""
        return self if self.second is None else replace(self, second=None)

    def each(self, kind: str) -> tuple[UnitSet, ...]:
        """Return the sets a quantity of this kind is printed in, one or two."""
        return (self.first, self.second.first) if self.second and self.shows_both(kind) else (self.first,)

    def at_dial(self, unit: str) -> UnitSet:
        """Return these units for a gauge whose dial reads in `unit`: it comes first, theirs beside.

        Examples
        --------
        >>> say(5.0e5, "pressure", METRIC.at_dial("psi")), say(0.01, "flow", METRIC.at_dial("psi"))
        ('72.5 psi (5.00 bar)', '10.00 L/s')
        """
        if not unit or unit == self.unit("pressure"):
            return self
        dial = {"pressure": unit}
        if find("pressure_per_turn", f"{unit}/turn") is not None:
            dial["pressure_per_turn"] = f"{unit}/turn"
        beside_it = (self.second or self).units | {kind: self.unit(kind) for kind in dial}
        second = UnitSet((self.second or self).name, beside_it, self.decimal)
        return UnitSet(self.name, self.units | dial, self.decimal, second)


METRIC_UNITS: dict[str, str] = {
    "pressure": "bar", "flow": "L/s", "length": "m", "temperature": "°C", "flow_coefficient": "Kv",
    "time": "s", "volume": "m³", "velocity": "m/s", "ratio": "%", "turns": "turns",
    "pressure_per_turn": "bar/turn", "compressibility": "1/GPa", "size": "DN", "area": "m²", "leak": "mL/min",
    "loss_factor": "bar/(L/s)²",
}  # fmt: skip
METRIC = UnitSet("metric", dict(METRIC_UNITS))
METRIC_M3H = UnitSet("metric-m3h", {**METRIC_UNITS, "flow": "m³/h"})
METRIC_KPA = UnitSet("metric-kpa", {**METRIC_UNITS, "pressure": "kPa", "pressure_per_turn": "kPa/turn"})
UK = UnitSet("uk", {**METRIC_UNITS, "pressure": "m head", "pressure_per_turn": "m head/turn"})
US = UnitSet(
    "us",
    {
        **METRIC_UNITS,
        "pressure": "psi", "flow": "US gpm", "length": "ft", "temperature": "°F",
        "flow_coefficient": "Cv", "volume": "US gal", "velocity": "ft/s",
        "pressure_per_turn": "psi/turn", "size": "in", "leak": "US gph", "area": "in²",
    },
)  # fmt: skip


def beside(first: UnitSet, second: UnitSet) -> UnitSet:
    """Return a set that prints the units of `first`, those of `second` in parentheses where they differ."""
    return replace(first.first, name=f"{first.name}+{second.name}", second=second.first)


def paired(told: Callable[[UnitSet], str], units: UnitSet) -> str:
    """Return what is told in the first units, what is told in the second in parentheses where it differs.

    Examples
    --------
    >>> paired(lambda units: f"up to {units.unit('pressure')}", beside(US, UK))
    'up to psi (up to m head)'
    """
    first = told(units.first)
    if units.second is None:
        return first
    second = told(units.second.first)
    return first if first == second else f"{first} ({second})"


def usual_digits(number: float, kind: str, unit: str) -> int:
    """Return the decimals a figure usually has in this unit."""
    places = _DIGITS.get(unit, 3)
    if kind in ("flow", "flow_coefficient"):
        places += sum(abs(number) < below for below in _FINER_BELOW.get(unit, ()) if number)
    return places


def format_value(si: float, kind: str, unit: str, digits: int | None = None, *, signed: bool = False) -> str:
    """Return the bare figure of an SI value in `unit`, with the trade's usual number of decimals.

    The minus is U+2212; minus zero is printed as zero.

    Examples
    --------
    >>> format_value(4.2e5, "pressure", "bar")
    '4.20'
    """
    number = from_si(si, kind, unit)
    if digits is None and kind == "volume" and unit in _COUNTED:
        return _three_figures(number)
    places = usual_digits(number, kind, unit) if digits is None else digits
    figure = f"{number:+.{places}f}" if signed else f"{number:.{places}f}"
    if float(figure) == 0.0:
        figure = f"{0.0:.{places}f}"
    return figure.replace("-", "\u2212")


def _three_figures(number: float) -> str:
    """Return a figure with the three digits that an amount of water is known to; fewer below a hundred."""
    size = abs(number)
    if size >= 99.5:
        number = float(f"{number:.3g}")
    places = 0 if size >= 9.95 or size == 0.0 else 1 if size >= 0.95 else 2
    figure = f"{number:.{places}f}"
    return f"{0.0:.{places}f}" if float(figure) == 0.0 else figure.replace("-", "\u2212")


def two_figures(number: float) -> str:
    """Return a number to two figures, without an exponent.

    Examples
    --------
    >>> two_figures(120.0), two_figures(96.34), two_figures(0.534)
    ('120', '96', '0.53')
    """
    return f"{float(f'{number:.2g}'):.15g}"


def bare(si: float, kind: str, units: UnitSet, digits: int | None = None) -> str:
    """Return the figure alone, for a column headed by its unit; the second one in parentheses.

    Examples
    --------
    >>> bare(4.2e5, "pressure", US), bare(4.2e5, "pressure", beside(US, METRIC))
    ('60.9', '60.9 (4.20)')
    """
    told = [
        format_value(si, kind, one.unit(kind), digits).replace(".", one.decimal) for one in units.each(kind)
    ]
    return told[0] if len(told) == 1 else f"{told[0]} ({told[1]})"


def say_typed(si: float, text: str, kind: str, units: UnitSet = METRIC) -> str:
    """Return a value as it was typed where the reader uses that unit, else figure and unit of that reader.

    Examples
    --------
    >>> say_typed(96.0, "314.96 ft", "length", US), say_typed(95.9998, "314.96 ft", "length", METRIC)
    ('314.96 ft', '96.0 m')
    """
    try:
        typed_in = parse(text, kind).unit
    except UnitError:
        typed_in = ""
    as_typed = " ".join(text.split())
    return paired(lambda one: as_typed if typed_in == one.unit(kind) else say(si, kind, one), units)


def say_short(si: float, kind: str, units: UnitSet = METRIC) -> str:
    """Return figure and unit in three figures, however small: for values nobody stated.

    A length below a foot is told in inches where lengths are told in feet.

    Examples
    --------
    >>> say_short(1.26e4, "pressure"), say_short(2012.46, "flow_coefficient"), say_short(1e-5, "ratio")
    ('0.126 bar', 'Kv 2010', '0.00001')
    """
    return paired(lambda one: _short(si, kind, one), units)


def _short(si: float, kind: str, units: UnitSet) -> str:
    unit = "" if kind == "ratio" else units.unit(kind)
    if unit == "ft" and abs(si) < FOOT:
        unit = "in"
    number = float(f"{from_si(si, kind, unit):.3g}")
    figure = f"{number:.9f}".rstrip("0").rstrip(".").replace("-", "\u2212").replace(".", units.decimal)
    return _with_unit(figure, unit)


def say(
    si: float, kind: str, units: UnitSet = METRIC, digits: int | None = None, *, signed: bool = False
) -> str:
    """Return figure and unit as a person of this region reads it.

    Examples
    --------
    >>> say(0.1, "size")
    'DN 100'
    >>> say(4.2e5, "pressure", US)
    '60.9 psi'
    >>> say(4.2e5, "pressure", beside(US, METRIC)), say(11.0, "time", beside(US, METRIC))
    ('60.9 psi (4.20 bar)', '11.0 s')
    """
    return paired(lambda one: _say(si, kind, one, digits, signed=signed), units)


def _say(si: float, kind: str, units: UnitSet, digits: int | None, *, signed: bool = False) -> str:
    unit = units.unit(kind)
    named = nominal(si, unit) if kind == "size" else None
    if named is not None:
        return named
    return _with_unit(format_value(si, kind, unit, digits, signed=signed).replace(".", units.decimal), unit)


def _with_unit(figure: str, unit: str) -> str:
    return f"{unit} {figure}" if unit in _BEFORE else f"{figure} {unit}".rstrip()


def say_apart(values: Sequence[float], kind: str, units: UnitSet = METRIC) -> tuple[str, ...]:
    """Return values to be compared in figures that tell them apart, with as many decimals as that takes.

    Values that differ by less than a part in a thousand million are one value.

    Examples
    --------
    >>> say_apart((5.9412e5, 5.94e5), "pressure"), say_apart((5.1e5, 5.94e5), "pressure")
    (('5.941 bar', '5.940 bar'), ('5.10 bar', '5.94 bar'))
    """
    each = [_apart(values, kind, one) for one in units.each(kind)]
    if len(each) == 1:
        return tuple(each[0])
    return tuple(f"{first} ({second})" for first, second in zip(*each, strict=True))


def _apart(values: Sequence[float], kind: str, units: UnitSet) -> list[str]:
    told = [_say(value, kind, units, None) for value in values]
    finite = [value for value in values if math.isfinite(value)]
    unit = units.unit(kind)
    if len(finite) < len(values) or kind == "size" or not finite:
        return told
    places = max(usual_digits(from_si(value, kind, unit), kind, unit) for value in values)
    while places < MOST_DIGITS and look_alike(values, told):
        places += 1
        told = [_say(value, kind, units, places) for value in values]
    return told


def look_alike(values: Sequence[float], told: Sequence[str]) -> bool:
    """Return whether two values that differ read the same."""
    by_figure: dict[str, float] = {}
    for value, figure in zip(values, told, strict=True):
        other = by_figure.setdefault(figure, value)
        if abs(value - other) > AS_ONE * max(abs(value), abs(other)):
            return True
    return False


def say_size(si: float, kind: str, units: UnitSet = METRIC) -> str:
    """Return a difference, with more decimals where it would read zero.

    Examples
    --------
    >>> say_size(0.3e5, "pressure"), say_size(300.0, "pressure"), say_size(0.0, "pressure")
    ('0.30 bar', '0.003 bar', '0.00 bar')
    """
    if si == 0.0:
        return say(si, kind, units)
    return paired(lambda one: _apart((si, 0.0), kind, one)[0], units)


def band(low: float, high: float, kind: str, units: UnitSet = METRIC) -> tuple[str, str]:
    """Return the bare figures of a band, rounded inwards: what lies on a printed edge lies in the band.

    A band too narrow for the usual decimals gets more. Of two units the second stands in parentheses.

    Examples
    --------
    >>> band(4.9968e5, 5.4032e5, "pressure"), band(5.001e5, 5.004e5, "pressure")
    (('5.00', '5.40'), ('5.001', '5.004'))
    """
    each = [_band(low, high, kind, one) for one in units.each(kind)]
    if len(each) == 1:
        return each[0]
    return f"{each[0][0]} ({each[1][0]})", f"{each[0][1]} ({each[1][1]})"


def say_band(low: float | None, high: float | None, kind: str, units: UnitSet = METRIC) -> str:
    """Return a band with its unit, rounded inwards; one-sided where one end is missing.

    Examples
    --------
    >>> say_band(4.0e5, 4.2e5, "pressure", beside(US, METRIC)), say_band(None, 5.319e5, "pressure")
    ('58.1 to 60.9 psi (4.00 to 4.20 bar)', 'at most 5.31 bar')
    """

    def told(one: UnitSet) -> str:
        if low is None and high is None:
            return "any"
        least, most = _band(low, high, kind, one)
        unit = one.unit(kind)
        if low is None:
            return f"at most {_with_unit(most, unit)}"
        if high is None:
            return f"at least {_with_unit(least, unit)}"
        return _with_unit(f"{least} to {most}", unit)

    return paired(told, units)


def _band(low: float | None, high: float | None, kind: str, units: UnitSet) -> tuple[str, str]:
    unit = units.unit(kind)
    least, most = (None if one is None else from_si(one, kind, unit) for one in (low, high))
    places = max(usual_digits(one, kind, unit) for one in (least, most) if one is not None)
    while True:
        inner = (_rounded(least, places, up=True), _rounded(most, places, up=False))
        if inner[0] is None or inner[1] is None or inner[0] <= inner[1] or places >= MOST_DIGITS:
            break
        places += 1
    if least is not None and most is not None and (inner[0] or 0.0) > (inner[1] or 0.0):
        inner = (round(least, places), round(most, places))  # narrower than the last decimal
    figures = ("" if one is None else f"{one or 0.0:.{places}f}" for one in inner)
    first, last = (one.replace("-", "\u2212").replace(".", units.decimal) for one in figures)
    return first, last


def say_most(si: float, kind: str, units: UnitSet = METRIC) -> str:
    """Return the most that is allowed, rounded down, with its unit.

    Examples
    --------
    >>> say_most(5.5199e5, "pressure"), say_most(5.94e5, "pressure", US)
    ('5.51 bar', '86.1 psi')
    """
    return paired(lambda one: _with_unit(_band(None, si, kind, one)[1], one.unit(kind)), units)


def say_window(
    low: float, high: float | None, values: Sequence[float], kind: str, units: UnitSet = METRIC
) -> tuple[str, ...]:
    """Return a window in words, both its edges, then the values held against it, each with its unit.

    The one way in which a window is printed: its edges are rounded inwards, those of an empty one to the
    nearest, with as many decimals as it takes for each value to stand on the right side of each edge.

    Parameters
    ----------
    low, high
        Edges, SI; `high` None: not known, and the words say so.
    values
        What is held against the window, a setting or its middle. SI.

    Returns
    -------
    tuple of str
        From edge to edge, lower edge, upper edge, then the values.

    Examples
    --------
    >>> say_window(4.8312e5, 5.4988e5, (5.2e5,), "pressure")
    ('4.84 to 5.49 bar', '4.84 bar', '5.49 bar', '5.20 bar')
    >>> say_window(4.8312e5, 5.4988e5, (5.5e5, 5.4985e5), "pressure")
    ('4.8312 to 5.4988 bar', '4.8312 bar', '5.4988 bar', '5.5000 bar', '5.4985 bar')
    >>> say_window(4.8312e5, None, (), "pressure")
    ('from 4.84 bar up', '4.84 bar', 'not known')
    """
    each = [_window(low, high, values, kind, one) for one in units.each(kind)]
    if len(each) == 1:
        return tuple(each[0])
    pairs = zip(*each, strict=True)
    return tuple(first if first == second else f"{first} ({second})" for first, second in pairs)


def _window(low: float, high: float | None, values: Sequence[float], kind: str, units: UnitSet) -> list[str]:
    unit = units.unit(kind)
    if high is not None and low > high:
        least, most, *rest = _apart((low, high, *values), kind, units)
        return [f"from {least} up and {most} down", least, most, *rest]
    edges = [from_si(one, kind, unit) for one in (low, high) if one is not None]
    inner = [from_si(one, kind, unit) for one in values]
    places = max(usual_digits(one, kind, unit) for one in (*edges, *inner))
    while True:
        told = [_rounded(one, places, up=not index) or 0.0 for index, one in enumerate(edges)]
        beside_them = [round(one, places) for one in inner]
        if places >= MOST_DIGITS or _on_the_same_sides((edges, inner), (told, beside_them)):
            break
        places += 1
    if told[0] > told[-1]:  # narrower than the last decimal
        told = [round(one, places) for one in edges]
    figures = [f"{one or 0.0:.{places}f}".replace("-", "\u2212") for one in (*told, *beside_them)]
    said = [_with_unit(one.replace(".", units.decimal), unit) for one in figures]
    if high is None:
        return [f"from {said[0]} up", said[0], "not known", *said[1:]]
    return [_with_unit(f"{figures[0]} to {figures[1]}".replace(".", units.decimal), unit), *said]


Held = tuple[Sequence[float], Sequence[float]]


def _on_the_same_sides(true: Held, told: Held) -> bool:
    """Return whether printed values stand to printed edges as the true ones do, edges in their order."""

    def sides(held: Held) -> list[int]:
        edges, values = held
        apart = [(value, edge) for value in values for edge in edges]
        return [
            0 if abs(one - other) <= AS_ONE * max(abs(one), abs(other)) else 1 if one > other else -1
            for one, other in apart
        ]

    return sides(true) == sides(told) and told[0][0] <= told[0][-1]


def format_edge(si: float, kind: str, unit: str, digits: int | None = None, *, up: bool) -> str:
    """Return the bare figure of one edge of a band, rounded up or down into it.

    Examples
    --------
    >>> format_edge(5.319e5, "pressure", "bar", up=False), format_edge(5.31e5, "pressure", "bar", up=True)
    ('5.31', '5.31')
    """
    number = from_si(si, kind, unit)
    places = usual_digits(number, kind, unit) if digits is None else digits
    inner = _rounded(number, places, up=up)
    return f"{inner or 0.0:.{places}f}".replace("-", "\u2212")


def _rounded(number: float | None, places: int, *, up: bool) -> float | None:
    """Return a number rounded up or down to so many decimals, unless it is round already."""
    if number is None or not math.isfinite(number):
        return number
    scaled = number * 10.0**places
    if abs(scaled) * 1e-15 > _EDGE_SLACK:
        return number
    whole = math.ceil(scaled - _EDGE_SLACK) if up else math.floor(scaled + _EDGE_SLACK)
    return float(whole / 10.0**places)
