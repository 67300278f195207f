"""Members of an uncalibrated band held against what was seen of a reducer on site.

No figure is adjusted: members that contradict an observation are left out, and what is left is the band.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf

import numpy as np
from numpy.typing import NDArray

from steadyhead.records.parts import Observed
from steadyhead.records.stability import Fit, UncalibratedValue
from steadyhead.records.values import Value
from steadyhead.surge import defaults as d
from steadyhead.surge.plan import ReducerRow
from steadyhead.surge.quiet import Point, unstable_roots
from steadyhead.surge.uncalibrated import between

Mask = NDArray[np.bool_]
PointsAt = Callable[[float, float, Mask], Sequence[Point | None]]
"""Members of a mask at a flow [m³/s], with so much more inlet pressure than the draft has [Pa]."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One thing seen: its words, and the share of the members still in that it takes out. [1]"""

    words: str
    takes_out: float


class Held:
    """Members held against one observation after the other; those that contradict one are not asked again.

    Parameters
    ----------
    members
        How many.
    lockup
        Outlet at no flow, where the file states it: a reading too.
    inlet
        Inlet pressure of the draft. [Pa]
    points_at
        Gives the members asked for; None for a member that has no steady state there or whose pilot is
        saturated: it agrees with nothing seen there.

    Notes
    -----
    Outlets are compared as differences, so a screw that stands elsewhere takes nothing out: by the steady
    droop law P₂ = P_lock − b_p y. Each may be off by its ±, or `OBSERVED_READING`. Hunting: a root of χ(s)
    that grows.
    """

    def __init__(self, members: int, lockup: Value | None, inlet: float, points_at: PointsAt) -> None:
        self.agrees: Mask = np.ones(members, dtype=bool)
        self.seen: list[Seen] = []
        self._inlet = inlet
        self._points_at = points_at
        self._reference = lockup
        self._below = np.zeros(members)
        self._at = "no flow"

    def against(self, one: Observed) -> None:
        """Take out the members that contradict an observation."""
        more = 0.0 if one.inlet is None else one.inlet.si - self._inlet
        points = self._points_at(one.flow.si, more, self.agrees)
        if one.stands is not None:
            words = "hunts" if one.stands == "hunts" else "stands still"
            self._take_out(f"{words} at {one.flow.text}", self._stands(points, one.stands == "hunts"))
        if one.outlet is not None:
            self._outlet(one.outlet, one.flow.text, points)

    def _stands(self, points: Sequence[Point | None], hunts: bool) -> Mask:
        asked = [p is not None and bool(is_in) for p, is_in in zip(points, self.agrees, strict=True)]
        there = np.array(asked)
        found = np.zeros(len(points), dtype=bool)
        some = [p for p, is_in in zip(points, asked, strict=True) if p is not None and is_in]
        if some:
            found[there] = (unstable_roots(some) > 0) == hunts
        return found

    def _outlet(self, outlet: Value, flow: str, points: Sequence[Point | None]) -> None:
        below = np.array([np.nan if point is None else _below_lockup(point) for point in points])
        if self._reference is None:
            self._reference, self._below, self._at = outlet, below, flow
            return
        droop = self._reference.si - outlet.si
        wrong = np.nan_to_num(np.abs(below - self._below - droop), nan=inf)
        words = f"{self._reference.text} at {self._at} and {outlet.text} at {flow}"
        self._take_out(words, wrong <= _error(self._reference) + _error(outlet))

    def _take_out(self, words: str, right: Mask) -> None:
        before = int(self.agrees.sum())
        self.agrees = self.agrees & right
        self.seen.append(Seen(words, 1.0 - int(self.agrees.sum()) / before if before else 0.0))


def _error(read: Value) -> float:
    return d.OBSERVED_READING.si if read.spread is None else read.spread


def _below_lockup(point: Point) -> float:
    """Return how far the outlet of a member stands below its lock-up. [Pa]"""
    row = next(
        one for one in point.plant.plan.parts if isinstance(one, ReducerRow) and one.id == point.reducer
    )
    return row.band * point.rest.pilots[point.reducer]


def fit_of(
    held: Held, shares: NDArray[np.float64], bands: Sequence[UncalibratedValue]
) -> tuple[Fit, NDArray[np.int64], tuple[UncalibratedValue, ...]]:
    """Return the fit, the places of the members that agree with all that was seen, and their bands.

    Where too few agree, places are all of them and bands stay as they are.

    Parameters
    ----------
    held
        The members, held against all that was seen.
    shares
        Of the members drawn, one line each, one column for each band. [1]
    bands
        What was moved.
    """
    kept = np.flatnonzero(held.agrees)
    misses = tuple((one.words, one.takes_out) for one in held.seen)
    is_used = len(kept) >= int(d.OBSERVED_FEWEST.si)
    if not is_used:
        fit = Fit(len(held.seen), len(shares), len(kept), False, (), misses)
        return fit, np.arange(len(shares)), tuple(bands)
    fitted, still_open = [], []
    for column, one in enumerate(bands):
        low, high = (float(edge) for edge in np.quantile(shares[kept, column], (0.1, 0.9)))
        fitted.append(replace(one, fitted=(between(one, low), between(one, high))))
        if one.high > one.low and (high - low) >= d.NOT_DETERMINED.si * 0.8:
            still_open.append(one.name)
    fit = Fit(len(held.seen), len(shares), len(kept), True, tuple(still_open), misses)
    return fit, kept, tuple(fitted)
