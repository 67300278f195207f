"""A last look at columns whose heading states a unit: far from what is known, they are asked about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import log

import numpy as np

from steadyhead.records.logger import Choice, Doubt, Known, Quantity
from steadyhead.watch.reading.asking import Meant
from steadyhead.watch.reading.gather import Raw
from steadyhead.watch.reading.headings import KIND_OF
from steadyhead.watch.reading.symbols import Symbol, named

FACTOR: dict[Quantity, float] = {"inlet pressure": 3.0, "outlet pressure": 3.0, "flow": 30.0}
"""How many times as much, or as little, as is known is no reason to ask yet. Own estimates."""
POSSIBLE: dict[str, tuple[float, float]] = {"pressure": (5e3, 6e6), "flow": (1e-7, 5.0)}
"""Where nothing is known of a station: the middle of its pressures lies within [Pa], of its flow [m³/s]."""
NEAR = 1.5
"""A unit by which the middle comes this near to what is known is taken instead, with the question."""
_OTHERS = {
    "pressure": ("bar", "kPa", "psi", "m head", "MPa", "mbar"),
    "flow": ("m³/h", "L/s", "L/min", "m³/d", "L/h", "US gpm"),
}


def far_asked(every: Sequence[Raw], meant: Sequence[Meant], known: Known) -> list[Meant]:
    """Return what columns are, with a question for those whose middle lies far from what is known.

    Only numbers that a heading gives a unit to are looked at, and none of which something is asked already.
    """
    return [_looked_at(one, each, known) for one, each in zip(every, meant, strict=True)]


def _looked_at(one: Raw, meant: Meant, known: Known) -> Meant:
    kind = KIND_OF.get(meant.quantity, "")
    values = np.abs([v for v in one.v if v is not None])
    stands = meant.doubt is not None or one.unit is None or bool(one.own) or meant.quantity not in FACTOR
    if stands or not len(values):
        return meant
    middle = float(np.median(values[values > 0])) if np.any(values > 0) else 0.0
    if middle == 0 or not _is_far(_off(middle, meant.unit), meant.quantity, known):
        return meant
    expected = _expected(meant.quantity, known)
    units = [meant.unit, *(named(kind, each) for each in _OTHERS[kind] if each != meant.unit.name)]
    ranked = sorted(units[1:], key=lambda each: abs(log(_off(middle, each) / expected)))[:2]
    best = ranked[0] if abs(log(_off(middle, ranked[0]) / expected)) < log(NEAR) else meant.unit
    stated = f"{middle:.4g} {meant.unit.name}"
    choices = tuple(
        Choice(
            f"{meant.quantity}, {each.name}",
            f"{meant.quantity} in {each.name}" + (", as its heading says" if each is meant.unit else ""),
            f"the middle is {stated}, far from what is usual here" if each is meant.unit else "",
        )
        for each in (meant.unit, *ranked)
    )
    question = f"The middle of {one.heading!r} is {stated}, far from what is usual here. Which unit is it in?"
    doubt = Doubt("unit", question, choices, f"{meant.quantity}, {best.name}")
    return replace(meant, unit=best, doubt=doubt)


def _off(middle: float, unit: Symbol) -> float:
    return middle * unit.factor


def _expected(quantity: Quantity, known: Known) -> float:
    """Return about what a quantity is here; of a station of which nothing is known, what is usual. SI."""
    usual = {"inlet pressure": 8e5, "outlet pressure": 4e5, "flow": 1e-2}
    told = {"inlet pressure": known.inlet, "outlet pressure": known.lockup, "flow": known.flow}
    return told[quantity] or usual[quantity]


def _is_far(si: float, quantity: Quantity, known: Known) -> bool:
    told = {"inlet pressure": known.inlet, "outlet pressure": known.lockup, "flow": known.flow}[quantity]
    if told:
        return abs(log(si / told)) > log(FACTOR[quantity])
    low, high = POSSIBLE[KIND_OF[quantity]]
    return not low <= si <= high
