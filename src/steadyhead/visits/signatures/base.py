"""What the causes of a reading start from: the design, or the values as the visit before left them."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from steadyhead.hydraulics import Model
from steadyhead.records.procedure import Kind
from steadyhead.visits import spans
from steadyhead.visits.gauging import Tap

T = TypeVar("T")
_NEW = ("first",)
"""Visits before which nothing was left: valves and pilots are new, whatever an older certificate says."""


@dataclass(frozen=True, slots=True)
class Base:
    """Values as left, as the gauges at their taps read them; none: the design.

    Parameters
    ----------
    on
        Day they were left, in words; empty: the design.
    duties
        By reducer: the reading [Pa] and the flow it was read at [m³/s], None: at its duty flow.
    lockups, trips
        By reducer and by shut-off. [Pa]
    per_turn
        By valve, as it was found: what a turn of the screw adds. [Pa per turn]
    heights
        Of the screw, by valve; told, no reading hangs on it. [m]
    """

    on: str = ""
    duties: Mapping[str, tuple[float, float | None]] = field(default_factory=dict)
    lockups: Mapping[str, float] = field(default_factory=dict)
    trips: Mapping[str, float] = field(default_factory=dict)
    per_turn: Mapping[str, float] = field(default_factory=dict)
    heights: Mapping[str, float] = field(default_factory=dict)

    @property
    def is_design(self) -> bool:
        """Nothing was left: the design counts."""
        return not (self.duties or self.lockups or self.trips or self.per_turn)


DESIGN = Base()


def for_visit(base: Base, kind: Kind, item: str = "") -> Base:
    """Return what of the values as left is still so when a visit begins.

    Of a first commissioning nothing is, after a repair nothing of the part that was repaired.

    Examples
    --------
    >>> left = Base("1 May 2027", {"RV": (5e5, None)}, {}, {"SO": 6e5})
    >>> for_visit(left, "after_repair", "SO.pilot").trips, for_visit(left, "first").is_design
    ({}, True)
    """
    if kind in _NEW:
        return DESIGN
    named = set(re.split(r"[^\w-]+", item)) if kind == "after_repair" else set()
    found = replace(
        base,
        duties=_without(base.duties, named),
        lockups=_without(base.lockups, named),
        trips=_without(base.trips, named),
        per_turn=_without(base.per_turn, named),
        heights=_without(base.heights, named),
    )
    return DESIGN if found.is_design else found


def _without(values: Mapping[str, T], named: Collection[str]) -> dict[str, T]:
    return {name: value for name, value in values.items() if name not in named}


def at_datum(base: Base, model: Model, taps: Mapping[str, Tap]) -> Base:
    """Return the values of one line as they stand at the datum; those of other lines are left out."""
    heads = {r.id: _head(spans.role_of(model.layout, r.id), model, taps) for r in model.layout.reducers}
    tops = {s.id: _head("T3", model, taps) for s in model.layout.shut_offs}
    return replace(
        base,
        duties={n: (p - heads[n], flow) for n, (p, flow) in base.duties.items() if n in heads},
        lockups={n: p - heads[n] for n, p in base.lockups.items() if n in heads},
        trips={n: p - tops[n] for n, p in base.trips.items() if n in tops},
    )


def _head(role: str, model: Model, taps: Mapping[str, Tap]) -> float:
    """Return what a gauge at a tap reads above the datum. [Pa]"""
    return taps[role].at_tap(0.0, model.density) if role in taps else 0.0
