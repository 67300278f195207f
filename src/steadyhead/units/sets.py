"""Unit sets by name, as a person writes them: ``us``, ``us+metric``, ``metric,flow=m³/h``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from steadyhead.units.display import METRIC, METRIC_KPA, METRIC_M3H, UK, US, UnitSet, beside
from steadyhead.units.parse import UnitError
from steadyhead.units.table import KINDS, find, units_of

SETS: Mapping[str, UnitSet] = {one.name: one for one in (METRIC, METRIC_M3H, METRIC_KPA, UK, US)}
"""The sets that have a name. Common practice by region (design handbook 9.1)."""
MOST_SETS = 2
LONGEST_CHOICE = 200
HOW = (
    f"Write one of: {', '.join(SETS)}; two as us+metric, the second stands in parentheses; "
    "another unit for one kind as metric,flow=m³/h."
)


def read_units(text: str) -> UnitSet:
    """Return the units a person asks for.

    Parameters
    ----------
    text
        A name of `SETS`, with ``,kind=unit`` for each kind read in another unit; two joined by ``+`` print
        both, the second in parentheses.

    Raises
    ------
    UnitError
        A name, kind or unit that is not known, or more than two sets.

    Examples
    --------
    >>> read_units("us+metric").heading("pressure"), read_units("metric,flow=m3/h").unit("flow")
    ('psi (bar)', 'm³/h')
    """
    if len(text) > LONGEST_CHOICE:
        raise UnitError(f"got {len(text)} characters.", HOW)
    parts = text.split("+")
    if len(parts) > MOST_SETS:
        raise UnitError(f"got {text!r}, more than two sets of units.", HOW)
    first, *rest = (_one(part.strip(), text) for part in parts)
    return beside(first, rest[0]) if rest else first


def _one(part: str, whole: str) -> UnitSet:
    name, *changes = (piece.strip() for piece in part.split(","))
    known = SETS.get(name.casefold())
    if known is None:
        got = f"got {whole!r}, which" if name == whole.strip() else f"got {whole!r}; {name!r}"
        raise UnitError(f"{got} is no set of units.", HOW)
    units = dict(known.units)
    for change in changes:
        kind, unit = _change(change)
        units[kind] = unit
        if kind == "pressure" and find("pressure_per_turn", f"{unit}/turn") is not None:
            units["pressure_per_turn"] = f"{unit}/turn"
    called = ",".join([known.name, *(f"{kind}={unit}" for kind, unit in map(_change, changes))])
    return replace(known, name=called, units=units)


def _change(change: str) -> tuple[str, str]:
    kind, mark, symbol = (piece.strip() for piece in change.partition("="))
    kind = "_".join(kind.casefold().split())
    if not mark or kind not in KINDS:
        raise UnitError(f"got {change!r}, which names no kind of quantity.", f"Kinds: {', '.join(KINDS)}.")
    unit = find(kind, symbol)
    if unit is None or unit.absolute or not unit.symbol:
        raise UnitError(
            f"got {change!r}; {symbol!r} is no unit to read {kind.replace('_', ' ')} in.",
            f"Use one of: {', '.join(one for one in units_of(kind) if not one.endswith(' a'))}.",
        )
    return kind, unit.symbol
