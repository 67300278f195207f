"""Figures beside the limit they are held against."""

from __future__ import annotations

from collections.abc import Sequence

from steadyhead.units.display import MOST_DIGITS, UnitSet, format_value, look_alike, usual_digits
from steadyhead.units.table import from_si


def bare_beside(values: Sequence[float], limit: float, kind: str, units: UnitSet) -> tuple[str, ...]:
    """Return bare figures and that of their limit, last: a decimal more where one would read as the limit.

    Examples
    --------
    >>> from steadyhead.units import METRIC, US
    >>> bare_beside((6.4521e5,), 6.45e5, "pressure", METRIC), bare_beside((6.1e5,), 6.45e5, "pressure", US)
    (('6.452', '6.450'), ('88.5', '93.5'))
    """
    each = []
    for one in units.each(kind):
        unit = one.unit(kind)
        places = usual_digits(from_si(limit, kind, unit), kind, unit)
        pairs = [(value, limit) for value in values]
        while places < MOST_DIGITS and any(
            look_alike(pair, [format_value(v, kind, unit, places) for v in pair]) for pair in pairs
        ):
            places += 1
        told = (format_value(value, kind, unit, places) for value in (*values, limit))
        each.append([figure.replace(".", one.decimal) for figure in told])
    if len(each) == 1:
        return tuple(each[0])
    return tuple(f"{first} ({second})" for first, second in zip(*each, strict=True))
