"""What is usual at a station: the day of the flow, the droop of the outlet, and times set aside."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from steadyhead.watch.defects.defaults import MAD_TO_DEVIATION
from steadyhead.watch.defects.levels import hourly
from steadyhead.watch.defects.series import Floats, Marks, Places, Series
from steadyhead.watch.happening.event import Happening

DAY = 86_400.0
Spans = Sequence[tuple[float, float]]


def deviation(v: Floats) -> float:
    """Return the scatter of values by the median absolute deviation."""
    return float(MAD_TO_DEVIATION * np.median(np.abs(v - np.median(v)))) if v.size else 0.0


def about(happenings: Iterable[Happening], before: float, after: float) -> list[tuple[float, float]]:
    """Return the spans of events with what leads to them and follows from them. [s since 1970]"""
    return [(h.start.timestamp() - before, h.end.timestamp() + after) for h in happenings]


def outside(t: Floats, spans: Spans) -> Marks:
    """Return where the times are in none of the spans."""
    out = np.ones(t.shape, dtype=bool)
    for start, end in spans:
        out[np.searchsorted(t, start) : np.searchsorted(t, end, side="right")] = False
    return out


def touches(start: float, end: float, spans: Spans) -> bool:
    """Return whether a span meets one of others."""
    return any(start <= b and end >= a for a, b in spans)


def blocks(one: Series, block: float, spans: Spans = ()) -> tuple[Floats, Floats]:
    """Return medians of blocks of time outside the spans."""
    keep = outside(one.t, spans)
    return hourly(one.t[keep], one.v[keep], max(block, one.step))


def slots(t: Floats, block: float) -> tuple[Places, Places]:
    """Return the day (from the first) and the place in the day of each block."""
    day = np.floor(t / DAY)
    return (day - day[0]).astype(np.intp), np.floor((t % DAY) / block + 1e-9).astype(np.intp)


def by_day(t: Floats, v: Floats, block: float) -> Floats:
    """Return a table, a row a day and a column a place in the day; NaN where there is no block."""
    day, place = slots(t, block)
    out = np.full((int(day[-1]) + 1, round(DAY / block)), np.nan)
    out[day, np.minimum(place, out.shape[1] - 1)] = v
    return out


def usual_day(t: Floats, v: Floats, block: float) -> Floats:
    """Return for each block the median of the other days at this place in the day.

    Days of the same kind (Saturday and Sunday, or the others) where there are three of them, else all.
    """
    table = by_day(t, v, block)
    day, place = slots(t, block)
    weekend = is_weekend(float(t[0]) // DAY + np.arange(table.shape[0]))
    out = np.full(table.shape, np.nan)
    with np.errstate(all="ignore"):
        for kind in (False, True):
            rows = np.flatnonzero(weekend == kind)
            pool = rows if rows.size >= 3 else np.arange(table.shape[0])
            out[rows] = _middle(table[pool])
    got = out[day, np.minimum(place, table.shape[1] - 1)]
    return np.where(np.isfinite(got), got, float(np.median(v)))


def is_weekend(days: npt.NDArray[np.floating]) -> Marks:
    """Return whether days since 1970 are Saturdays or Sundays."""
    return np.asarray((days + 3.0) % 7.0 >= 5.0)


def _middle(table: Floats) -> Floats:
    """Return medians of columns without those that are empty."""
    order = np.sort(table, axis=0)
    n = np.sum(np.isfinite(table), axis=0)
    low, high = np.maximum((n - 1) // 2, 0), np.maximum(n // 2, 0)
    columns = np.arange(table.shape[1])
    high = np.minimum(high, table.shape[0] - 1)
    got = 0.5 * (order[low, columns] + order[high, columns])
    return np.asarray(np.where(n > 0, got, np.nan))


def droop(flow: Floats, outlet: Floats, day: Places) -> tuple[float, float]:
    """Return the fall of the outlet per root of flow, by the days' own differences, and the scatter left.

    Method (own): day by day about the median, least squares with limited residuals; a level that moves from
    day to day takes no part.
    """
    root = np.sqrt(np.maximum(flow, 0.0))
    x, y = root.copy(), outlet.copy()
    for d in np.unique(day).tolist():
        at = day == d
        x[at] -= np.median(x[at])
        y[at] -= np.median(y[at])
    slope = 0.0
    keep = np.ones(x.size, dtype=bool)
    for _ in range(4):
        slope = float(np.sum(x[keep] * y[keep]) / max(float(np.sum(x[keep] ** 2)), 1e-30))
        off = np.abs(y - slope * x)
        keep = off <= max(3.0 * float(np.median(off)), 1e-9)
    return slope, deviation(y - slope * x)


@dataclass(frozen=True, slots=True)
class Grown:
    """A level that holds until `start` [s] and has grown by `rise` at `end`; `shape`: which law."""

    start: float
    end: float
    base: float
    rise: float
    shape: int

    def at(self, t: Floats) -> Floats:
        """Return the level at times."""
        return self.base + self.rise * _course(t, self.start, self.end, self.shape)


def _course(t: Floats, start: float, end: float, shape: int) -> Floats:
    part = np.clip((t - start) / max(end - start, 1.0), 0.0, 1.0)
    if shape == 2:
        return np.asarray(np.expm1(3.0 * part) / np.expm1(3.0))
    return np.asarray(part ** (shape + 1))


def grown(t: Floats, y: Floats) -> Grown:
    """Return the growth of least absolute error: along a straight line, a square, or ever faster.

    Own method: start and shape by trial, base and rise by least squares with limited residuals.
    """
    best = (np.inf, Grown(float(t[0]), float(t[-1]), 0.0, 0.0, 0))
    end = float(t[-1])
    for start in np.linspace(t[0], t[0] + 0.8 * (end - t[0]), 25).tolist():
        for shape in range(3):
            terms = np.stack([np.ones(t.size), _course(t, start, end, shape)], axis=1)
            weight = np.ones(t.size)
            line: Floats = np.zeros(2)
            for _ in range(3):
                line = np.asarray(np.linalg.lstsq(terms * weight[:, None], y * weight, rcond=None)[0])
                off = np.abs(terms @ line - y)
                weight = np.minimum(1.0, np.sqrt(2.0 * float(np.median(off)) / np.maximum(off, 1e-30)))
            error = float(np.sum(np.abs(terms @ line - y)))
            if error < best[0]:
                best = (error, Grown(start, end, float(line[0]), float(line[1]), shape))
    return best[1]


def fit_rise(t: Floats, y: Floats, like: Grown) -> float:
    """Return by how much another level rises along the course of a growth."""
    shape = _course(t, like.start, like.end, like.shape)
    about = shape - float(np.mean(shape))
    return float(np.sum(about * y) / max(float(np.sum(about**2)), 1e-30))


def rank_with_time(y: Floats) -> float:
    """Return the rank correlation of values in order of time with time (C. Spearman, 1904)."""
    rank = np.empty(y.size)
    rank[np.argsort(y, kind="stable")] = np.arange(y.size)
    return float(np.corrcoef(rank, np.arange(y.size))[0, 1])
