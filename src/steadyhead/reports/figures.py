"""Figures as they stand on a paper: in the reader's units, with the trade's usual decimals."""

from __future__ import annotations

from steadyhead.units import UnitSet, bare, from_si, paired, say, say_band
from steadyhead.units.table import KINDS

LITRE = 1e-3
FEW_LITRES = 10.0 * 1e3 * LITRE
"""Below this a metric volume is told in litres. [m³]"""
LONG_VISIT = 120.0
"""From here on a visit is told in hours. [min]"""
_QUARTERS = {0: "", 1: "¼", 2: "½", 3: "¾"}


def unit(kind: str, units: UnitSet) -> str:
    """Return the unit a quantity of this kind is written in, the second in parentheses; empty where none.

    Examples
    --------
    >>> from steadyhead.units import METRIC
    >>> unit("pressure", METRIC), unit("yes_no", METRIC)
    ('bar', '')
    """
    return units.heading(kind) if kind in KINDS else ""


def site_unit(kind: str, units: UnitSet) -> str:
    """Return the one unit a person on site writes in: lengths there are screw heights, in mm or inches.

    Examples
    --------
    >>> from steadyhead.units import METRIC, US
    >>> site_unit("length", METRIC), site_unit("length", US), site_unit("pressure", US)
    ('mm', 'in', 'psi')
    """
    if kind == "length":
        return "mm" if units.unit(kind) == "m" else "in"
    return unit(kind, units.first)


def figure(si: float, kind: str, units: UnitSet, digits: int | None = None) -> str:
    """Return the bare figure in the reader's unit, the second in parentheses.

    Examples
    --------
    >>> from steadyhead.units import US
    >>> figure(4.2e5, "pressure", US)
    '60.9'
    """
    return bare(si, kind, units, digits)


def between(low: float | None, high: float | None, kind: str, units: UnitSet) -> str:
    """Return a band in words, rounded inwards and one-sided where one end is missing.

    Examples
    --------
    >>> from steadyhead.units import METRIC
    >>> between(4.0e5, 4.2e5, "pressure", METRIC), between(None, 5.31e5, "pressure", METRIC)
    ('4.00 to 4.20 bar', 'at most 5.31 bar')

    A gauge stops at its pin: a band that begins below zero is told by its upper end.
    """
    if kind == "yes_no":
        return "" if low is None and high is None else "yes" if (low or 0.0) > 0.5 else "no"
    if kind not in KINDS:
        return ""
    if low is None and high is None:
        return ""
    if low is not None and kind == "pressure" and low < 0.0:
        return say_band(None, high or 0.0, kind, units)
    return say_band(low, high, kind, units)


def height(si: float, units: UnitSet) -> str:
    """Return the height of a screw with its unit, as a rule on site shows it: half mm, or inches.

    Examples
    --------
    >>> from steadyhead.units import METRIC, US
    >>> height(0.031, METRIC), height(0.0315, METRIC), height(0.031, US)
    ('31 mm', '31.5 mm', '1.22 in')
    """
    unit = site_unit("length", units)
    shown = f"{half_mm(si):g}" if unit == "mm" else f"{from_si(si, 'length', unit):.2f}"
    return f"{shown} {unit}"


def half_mm(si: float) -> float:
    """Return a length to the half mm that is told from a rule: half a turn of a screw is not lost. [mm]"""
    return round(2.0 * from_si(si, "length", "mm")) / 2.0


def turns(count: float) -> str:
    """Return turns of a screw or spindle, in quarters where they are quarters.

    Examples
    --------
    >>> turns(0.0), turns(0.25), turns(1.0), turns(2.75), turns(0.04)
    ('0', '¼', '1', '2¾', '0.04')
    """
    quarters = round(count * 4)
    if abs(count * 4 - quarters) > 1e-6:
        return f"{count:.2f}"
    whole, part = divmod(quarters, 4)
    return f"{whole or ''}{_QUARTERS[part]}" or "0"


def volume(si: float, units: UnitSet) -> str:
    """Return a volume of water let off; few litres as litres. Takes m³.

    Examples
    --------
    >>> from steadyhead.units import METRIC
    >>> volume(0.81, METRIC), volume(26.6, METRIC)
    ('810 L', '26.6 m³')
    """

    def told(one: UnitSet) -> str:
        few = one.unit("volume") == "m³" and abs(si) < FEW_LITRES
        return f"{si / LITRE:.0f} L" if few else say(si, "volume", one)

    return paired(told, units)


def minutes(seconds: float) -> str:
    """Return a duration in whole minutes, at least one where there is any. Takes s.

    Examples
    --------
    >>> minutes(0.0), minutes(20.0), minutes(2040.0)
    ('0 min', '1 min', '34 min')
    """
    return f"{max(round(seconds / 60), 1 if seconds > 0 else 0)} min"


def working_time(shortest: float, longest: float) -> str:
    """Return the hands-on time of a visit, in minutes or half hours. Takes min.

    Examples
    --------
    >>> working_time(40.0, 40.0), working_time(631.0, 692.0)
    ('40 min', '10.5 to 11.5 h')
    """
    if longest < LONG_VISIT:
        low, high, sign = f"{shortest:.0f}", f"{longest:.0f}", "min"
    else:
        low, high, sign = f"{round(shortest / 30) / 2:g}", f"{round(longest / 30) / 2:g}", "h"
    return f"{high} {sign}" if low == high else f"{low} to {high} {sign}"


def duration(seconds: float) -> str:
    """Return a short time in s, a longer one in min. Takes s.

    Examples
    --------
    >>> duration(2.0), duration(30.0), duration(120.0)
    ('2 s', '30 s', '2 min')
    """
    return f"{seconds / 60:.3g} min" if seconds >= 60.0 else f"{seconds:.3g} s"
