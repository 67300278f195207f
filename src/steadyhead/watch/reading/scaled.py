"""A factor beside a unit in a heading: what the numbers may mean, for the question that is asked about it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from steadyhead.records.logger import Quantity
from steadyhead.watch.reading.headings import said
from steadyhead.watch.reading.symbols import TIMES, Symbol, named

_PART = r"(?P<part>\b1 ?/ ?10+\b)"
_POWER = r"(?P<power>\b10 ?\^ ?-?\d)"
_BY = r"(?:\b[xX]|[×*]) ?(?P<by>10+|\d+[.,]\d+)\b"
_ANY = re.compile(f"{_PART}|{_POWER}|{_BY}")
_USUAL: dict[Quantity, tuple[float, float]] = {
    "temperature": (-5.0, 32.0), "chamber level": (0.0, 12.0), "battery": (2.0, 30.0), "travel": (0.0, 100.0),
}  # fmt: skip
"""Where the middle of a column lies in its unit (°C, m, V, %). Own estimates."""


def has_factor(heading: str) -> bool:
    """Return whether a heading names a factor beside its unit: ``bar x100``, ``1/10 bar``."""
    return _ANY.search(heading) is not None


def factor_of(heading: str) -> float:
    """Return the factor a heading names; 1 for none.

    Examples
    --------
    >>> [factor_of(one) for one in ("Inlet bar x100", "Inlet [1/10 bar]", "Flow 10^-3 m3/h", "Flow m3/h")]
    [100.0, 0.1, 0.001, 1.0]
    """
    found = _ANY.search(heading)
    if found is None:
        return 1.0
    if part := found["part"]:
        return 1 / float(part.partition("/")[2])
    if power := found["power"]:
        return float(10.0 ** int(power.partition("^")[2]))
    return float(found["by"].replace(",", ".")) or 1.0


def unscaled(heading: str) -> str:
    """Return a heading without the factor it names."""
    if not has_factor(heading):
        return heading
    bare = " ".join(_ANY.sub(" ", heading).split())
    return re.sub(r"[\[({] *[\])}]", "", bare.replace("[ ", "[").replace("( ", "(")).strip()


def unit_beside(heading: str) -> Symbol | None:
    """Return the unit a heading names without its factor."""
    return said(unscaled(heading)).unit


def scaled(unit: Symbol, factor: float) -> tuple[Symbol, ...]:
    """Return what a unit with a factor beside it may mean: the unit, so many of it, such a part of it."""
    return (unit, times(unit, factor), times(unit, 1 / factor)) if factor != 1 else (unit,)


def times(unit: Symbol, factor: float) -> Symbol:
    """Return the unit of numbers that are to be multiplied by `factor` first."""
    factor = float(f"{factor:.9g}")
    return replace(unit, name=f"{unit.name}{TIMES}{factor:g}", factor=unit.factor * factor)


def likeliest(quantity: Quantity, units: Sequence[Symbol], middle: float) -> Symbol:
    """Return the first unit in which the middle of a column lies where it is usual; the bare one for none."""
    low, high = _USUAL.get(quantity, (float("-inf"), float("inf")))
    bare = units[0].factor
    return next((one for one in units if low <= middle * one.factor / bare <= high), units[0])


def in_words(unit: Symbol) -> str:
    """Return a unit as a choice tells it: ``m³/h, its numbers times 10``."""
    bare, scale, factor = unit.name.partition(TIMES)
    return f"{bare}, its numbers times {factor}" if scale else bare


def unscaled_unit(unit: Symbol) -> Symbol:
    """Return a unit without the factor its numbers are multiplied by."""
    bare, scale, _ = unit.name.partition(TIMES)
    return named(unit.kind, bare) if scale else unit
