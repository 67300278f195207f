"""The nights of a record: outlet at their lowest flow over that of the day; those that draw alike."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from steadyhead.records.logger import Context
from steadyhead.watch.defects.levels import steps
from steadyhead.watch.defects.series import Floats, Marks, Series
from steadyhead.watch.happening.defaults import CREEP_FLOW
from steadyhead.watch.happening.usual import DAY, Spans, blocks, droop

BLOCK = 900.0
LOW, HIGH = 0.15, 0.5
"""Quantiles of a day's flow: its lowest, and from where on it is day."""
BY_DAY = 0.3
"""Quantile of the flow from which on the droop is taken: a creep is none of it."""
TOP = 0.9
LEAST_ALIKE = 7
"""Nights that make a level of the lowest flow: a week."""
STILL = 0.02
"""Lowest flow over that of the middle night below which nights are alike: about none. Own estimate."""


@dataclass(frozen=True, slots=True)
class Nights:
    """The fall of the outlet per root of flow [Pa s^½/m^1.5], and one row a night.

    Middle of its lowest flow [s], outlet there over the day's at equal flow (high and middle), the day's own
    level, highest outlet there [Pa], lowest flow [m³/s], first and last block of it [s].
    """

    droop: float
    t: Floats
    over: Floats
    middle: Floats
    day: Floats
    top: Floats
    flow: Floats
    first: Floats
    last: Floats

    def of(self, at: Marks) -> Nights:
        """Return some of the nights."""
        return Nights(
            self.droop, self.t[at], self.over[at], self.middle[at], self.day[at], self.top[at],
            self.flow[at], self.first[at], self.last[at],
        )  # fmt: skip


def per_night(outlet: Series, flow: Series, context: Context, aside: Spans) -> Nights | None:
    """Return the nights of the record, noon to noon in its zone."""
    t, p = blocks(outlet, BLOCK, aside)
    tq, q = blocks(flow, max(BLOCK, outlet.step), aside)
    common, a, b = np.intersect1d(t, tq, return_indices=True)
    if common.size < 96:
        return None
    p, q = p[a], q[b]
    night = np.floor((common + _ahead(context, float(common[0])) - 0.5 * DAY) / DAY).astype(np.intp)
    by_day = q >= np.quantile(q, BY_DAY)
    slope, _ = droop(q[by_day], p[by_day], night[by_day])
    over = _smooth(p - slope * np.sqrt(np.maximum(q, 0.0)), common)
    rows = [
        _one(common[night == n], over[night == n], p[night == n], q[night == n]) for n in np.unique(night)
    ]
    kept = [row for row in rows if row is not None]
    if not kept:
        return None
    return Nights(slope, *np.array(kept).T)


def _smooth(over: Floats, t: Floats) -> Floats:
    """Return running medians of five blocks: what swings from sample to sample is no creep."""
    if over.size < 5:
        return over
    rows = np.lib.stride_tricks.sliding_window_view(over, 5)
    near = t[4:] - t[:-4] < 6.0 * float(np.median(np.diff(t)))
    out = over.copy()
    out[2:-2] = np.where(near, np.median(rows, axis=1), over[2:-2])
    return out


def _ahead(context: Context, at: float) -> float:
    try:
        offset = datetime.fromtimestamp(at, tz=UTC).astimezone(ZoneInfo(context.zone or "UTC")).utcoffset()
    except (KeyError, ValueError, OSError):
        return 0.0
    return offset.total_seconds() if offset is not None else 0.0


def _one(t: Floats, over: Floats, p: Floats, q: Floats) -> tuple[float, ...] | None:
    if t.size < 0.6 * DAY / max(float(np.median(np.diff(t))) if t.size > 1 else DAY, 1.0):
        return None
    low = q <= np.quantile(q, LOW)
    high = q >= np.quantile(q, HIGH)
    if np.count_nonzero(low) < 4:
        return None
    day = float(np.median(over[high]))
    return (
        float(np.median(t[low])),
        float(np.quantile(over[low], TOP)) - day,
        float(np.median(over[low])) - day,
        day,
        float(np.quantile(p[low], 0.95)),
        float(np.median(q[low])),
        float(np.min(t[low])),
        float(np.max(t[low])),
    )


def alike(nights: Nights) -> list[Nights]:
    """Return the nights once for each level of their lowest flow, each with all that draw about as much.

    Empty where the record has one level only. Method (own): logarithm of the lowest flow, medians of three
    nights, by binary segmentation; two flows are alike within the share from which a droop is known.
    """
    if nights.t.size < 2 * LEAST_ALIKE:
        return []
    least = max(STILL * float(np.median(nights.flow)), 1e-9)
    log = np.log(np.maximum(nights.flow, least))
    reach = -float(np.log(CREEP_FLOW.si))
    levels = steps(nights.t, _middles(log), reach, LEAST_ALIKE)
    if len(levels) < 2:
        return []
    every = [np.abs(log - level.level) <= reach for level in levels]
    return [nights.of(at) for at in every if LEAST_ALIKE <= np.count_nonzero(at) < nights.t.size]


def _middles(x: Floats) -> Floats:
    out = x.copy()
    out[1:-1] = np.median(np.stack([x[:-2], x[1:-1], x[2:]]), axis=0)
    return out
