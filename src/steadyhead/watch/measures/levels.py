"""The outlet's level by day at equal flow, the droop curve without it, and whether it goes by the clock."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from steadyhead.watch.counting import counted
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats
from steadyhead.watch.measures.day import Day, Days, cells, measured, with_flow
from steadyhead.watch.measures.defaults import LEAST_IN_BIN
from steadyhead.watch.measures.droop import FEW, Point, points_of, sen
from steadyhead.watch.measures.grid import GRAIN, Counts, flow_at
from steadyhead.watch.measures.measure import Measure, Measured, Trust

DAY = 86_400.0
LEAST_DAYS = 14
"""Days below which there is no trend of the outlet at equal flow. Own estimate."""
LEAST_DRIFT = 0.03e5
"""Change over the period from which a trend is told: days differ by less. [Pa] Own estimate."""
LOW = 0.4
"""Share of the time with the lowest flows that takes no part in a day's level: a leaking seat lifts the
outlet there. Own estimate."""
LOWEST = 0.25
"""The same where the hours are compared: what creeps at the lowest flows alone is no clock. Own estimate."""
ROUNDS = 3
"""How often curve and levels are worked out from each other."""
BY_CLOCK = 0.1e5
"""Difference of the hours' outlets at equal flow from which it goes by the clock. [Pa] Own estimate."""


@dataclass(frozen=True, slots=True)
class Levelled:
    """The droop curve with each day's own level taken out, and these levels over it [Pa] by the day's number.

    floor: flow above which they are taken. [m³/s]
    """

    points: tuple[Point, ...]
    levels: Mapping[int, float]
    floor: float

    def at(self, flow: float, day: Day) -> float | None:
        """Return the outlet of a day at a flow; None: it lies beside the flows met, or no level. [Pa]"""
        level = self.levels.get(day.number)
        curve = _curve(self.points, flow)
        return None if level is None or curve is None else curve + level


def levelled(days: Days) -> Levelled:
    """Return the droop curve of a period from which each day's own level is taken.

    A duty that was turned, or that moves with the season, is then no droop. Curve (medians in bins of flow)
    and levels (weighted median of a day's outlet over the curve, at the flows of `LOW` and above) are worked
    out from each other some rounds.
    """
    rows, _ = cells(days.days)
    rows = rows[rows[:, 2] >= 0]
    if not rows.size:
        return Levelled((), {}, 0.0)
    place = _quantile(rows[:, 2], rows[:, 4], LOW)
    sizes = [int(np.count_nonzero(d.cells[:, 2] >= 0)) for d in days.days]
    which = np.repeat(np.arange(len(days.days), dtype=np.int32), sizes)
    shift = np.zeros(len(days.days))
    points = points_of(rows)
    for _ in range(ROUNDS):
        over = _over(rows, points, place)
        shift = _middles(over, rows[:, 4], which, len(days.days))
        moved = rows.copy()
        moved[:, 3] -= np.round(np.nan_to_num(shift[which]) / GRAIN).astype(np.int32)
        points = points_of(moved[np.isfinite(shift[which])])
    levels = {d.number: float(one) for d, one in zip(days.days, shift, strict=True) if np.isfinite(one)}
    return Levelled(points, levels, flow_at(place))


def by_clock(days: Days, found: Levelled) -> float:
    """Return how far the outlets of the hours lie apart at equal flow, the lowest flows left out. [Pa]

    A pilot that is moved by a clock shows there, where hours of both kinds meet a flow; a leaking seat does
    not.
    """
    rows, _ = cells(days.days)
    shift = np.array([found.levels.get(d.number, np.nan) for d in days.days])
    which = np.repeat(np.arange(len(days.days), dtype=np.int32), [len(d.cells) for d in days.days])
    if not rows.size:
        return 0.0
    flowing = rows[:, 2] >= 0
    low = _quantile(rows[flowing, 2], rows[flowing, 4], LOWEST) if flowing.any() else 0
    over = _over(rows, found.points, low) - shift[which]
    hours = _middles(over, rows[:, 4], rows[:, 0], 24)
    known = hours[np.isfinite(hours)]
    return float(np.ptp(known)) if known.size > 1 else 0.0


def level_trend(days: Days, found: Levelled | None = None) -> Measured:
    """Return the trend of the outlet at equal flow. [Pa per day]

    found: levels of these days, where they are known already.

    Each day's level (see `levelled`), its trend by Theil-Sen with Sen's interval. It shows what settles or is
    turned step by step; a logger that drifts looks the same until a visit's gauge is read beside it.
    """
    code, unit, seen = Measure.LEVEL_TREND, "Pa per day", with_flow(days)
    found = found or levelled(days)
    by_day = [(d, found.levels[d.number]) for d in days.days if d.number in found.levels]
    if len(by_day) < LEAST_DAYS or len(found.points) < FEW:
        words = f"The outlet at equal flow has no trend: {counted(len(by_day), 'day')} with outlet and flow."
        return measured(days, code, unit, words, n_valid=seen)
    t = np.array([0.5 * (d.start + d.end) for d, _ in by_day]) / DAY
    slope, low, high = sen(t, np.array([level for _, level in by_day]))
    change = abs(slope) * float(t[-1] - t[0])
    clear = (low > 0.0 or high < 0.0) and change >= LEAST_DRIFT
    words = "At equal flow the outlet shows no trend."
    if clear:
        way = "rises" if slope > 0.0 else "falls"
        words = (
            f"At equal flow the outlet {way} by {bar(change)} over the period; a gauge read beside the "
            "logger tells whether it is the logger."
        )
    assumed = ("droop of the period taken out", f"Theil-Sen over {counted(len(by_day), 'day')}")
    trust: Trust | None = None if clear else "poor"
    return measured(days, code, unit, words, (slope, low, high), assumed, trust, seen)


def _over(rows: Counts, points: Sequence[Point], place: int) -> Floats:
    """Return the outlet of each row over the curve; NaN at flows below a bin and beside the curve. [Pa]"""
    if len(points) < 2:
        return np.full(len(rows), np.nan)
    bins = np.arange(int(rows[:, 2].max()) + 1)
    flows = np.array([flow_at(int(one)) for one in bins])
    curve = np.interp(
        np.sqrt(flows), np.sqrt([p.flow for p in points]), [p.outlet for p in points], np.nan, np.nan
    )
    curve[(bins < place) | (flows < 0.999 * points[0].flow)] = np.nan
    at = np.where(rows[:, 2] >= 0, curve[rows[:, 2]], np.nan)
    return np.asarray((rows[:, 3] + 0.5) * GRAIN - at, dtype=np.float64)


def _middles(over: Floats, counts: Counts, which: Counts, groups: int) -> Floats:
    """Return the weighted median of each group; NaN where it has too few samples."""
    ok = np.isfinite(over)
    value, weight, group = over[ok], counts[ok].astype(np.float64), which[ok]
    order = np.lexsort((value, group))
    value, weight, group = value[order], weight[order], group[order]
    total = np.bincount(group, weights=weight, minlength=groups)
    before = np.concatenate([[0.0], np.cumsum(total)[:-1]])
    at = np.searchsorted(np.cumsum(weight), before + 0.5 * total)
    out = np.full(groups, np.nan)
    enough = total >= LEAST_IN_BIN.si
    out[enough] = value[at[enough]]
    return out


def _curve(points: Sequence[Point], flow: float) -> float | None:
    """Return the outlet of the curve at a flow, up to a quarter over the highest met. [Pa]"""
    if len(points) < FEW or not points[0].flow <= flow <= BESIDE * points[-1].flow:
        return None
    root, y = np.sqrt([p.flow for p in points]), np.array([p.outlet for p in points])
    if flow <= points[-1].flow:
        return float(np.interp(flow**0.5, root, y))
    slope = sen(root, y)[0]
    return float(np.median(y - slope * root)) + slope * float(flow**0.5)


BESIDE = 1.25
"""How far over the highest flow met the curve is followed. Own estimate."""


def _quantile(values: Counts, counts: Counts, share: float) -> int:
    order = np.argsort(values, kind="stable")
    total = np.cumsum(counts[order])
    return int(values[order][int(np.searchsorted(total, share * total[-1]))])
