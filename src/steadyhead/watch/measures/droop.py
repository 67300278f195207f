"""The droop curve from service: outlet by flow, with rising and with falling flow, and its change."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

import numpy as np

from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats
from steadyhead.watch.measures.day import Days, cells, measured, with_flow
from steadyhead.watch.measures.defaults import LEAST_IN_BIN
from steadyhead.watch.measures.grid import GRAIN, Counts, flow_at
from steadyhead.watch.measures.measure import Measure, Measured, Trust

FEW = 4
"""Bins of flow below which there is no curve."""
SPREAD = 1.645
"""Deviations of a normal law to either side that hold 90 %. Analytic."""


SHARED = 0.02e5
"""Change of a droop curve that other inlets and the grid make at every flow alike. [Pa] Own estimate: a year
without drift gave 0.013 bar."""


@dataclass(frozen=True, slots=True)
class Point:
    """Outlet at one flow [m³/s]: median, tenth and ninetieth percentile [Pa], samples."""

    flow: float
    outlet: float
    low: float
    high: float
    n: int


@dataclass(frozen=True, slots=True)
class DroopCurve:
    """Points of all samples, of rising and of falling flow; droop over the range of flow; hysteresis."""

    points: tuple[Point, ...]
    rising: tuple[Point, ...]
    falling: tuple[Point, ...]
    droop: Measured
    hysteresis: Measured


def droop_curve(days: Days) -> DroopCurve:
    """Return the droop curve of a period.

    Method (design handbook 6.4): medians of the outlet in bins of flow a tenth wide; the droop is the fall of
    the fitted line of outlet on the root of flow from the lowest to the highest bin (Theil-Sen: P. K. Sen,
    1968, DOI 10.1080/01621459.1968.10480934); hysteresis: middle difference of falling over rising flow.
    """
    rows, _ = cells(days.days)
    every = points_of(rows)
    rising, falling = points_of(rows[rows[:, 1] > 0]), points_of(rows[rows[:, 1] < 0])
    return DroopCurve(every, rising, falling, _droop(days, every), _hysteresis(days, rising, falling))


def points_of(rows: Counts) -> tuple[Point, ...]:
    """Return the points of a curve from rows of cells, by bin of flow."""
    out = []
    for place in np.unique(rows[:, 2]).tolist():
        part = rows[rows[:, 2] == place]
        n = int(part[:, 4].sum())
        if place < 0 or n < LEAST_IN_BIN.si:
            continue
        low, middle, high = (quantile(part, share) for share in (0.1, 0.5, 0.9))
        out.append(Point(flow_at(place), middle, low, high, n))
    return tuple(out)


def quantile(rows: Counts, share: float) -> float:
    """Return a quantile of the outlet from counts in bins, evenly spread within a bin. [Pa]"""
    bins, place = np.unique(rows[:, 3], return_inverse=True)
    counts = np.bincount(place, weights=rows[:, 4])
    total = np.cumsum(counts)
    wanted = share * total[-1]
    k = int(np.searchsorted(total, wanted))
    inside = (wanted - (total[k] - counts[k])) / counts[k]
    return float((bins[k] + inside) * GRAIN)


def sen(x: Floats, y: Floats) -> tuple[float, float, float]:
    """Return the Theil-Sen slope with its 90 % interval by Kendall's variance (P. K. Sen 1968)."""
    i, j = np.triu_indices(x.size, 1)
    apart = x[j] - x[i]
    slopes = np.sort((y[j] - y[i])[apart != 0.0] / apart[apart != 0.0])
    n = x.size
    reach = SPREAD * np.sqrt(n * (n - 1.0) * (2.0 * n + 5.0) / 18.0)
    low = int(np.clip(np.floor(0.5 * (slopes.size - reach)), 0, slopes.size - 1))
    high = int(np.clip(np.ceil(0.5 * (slopes.size + reach)), 0, slopes.size - 1))
    return float(np.median(slopes)), float(slopes[low]), float(slopes[high])


def _droop(days: Days, points: tuple[Point, ...]) -> Measured:
    if len(points) < FEW:
        words = "The droop is not known: too few flows were met."
        return measured(days, Measure.DROOP, "Pa", words, n_valid=with_flow(days))
    root = np.sqrt([p.flow for p in points])
    slope, low, high = sen(root, np.array([p.outlet for p in points]))
    span = float(root[-1] - root[0])
    words = (
        f"The outlet falls by {bar(-slope * span)} from {1e3 * points[0].flow:.2f} to "
        f"{1e3 * points[-1].flow:.2f} L/s."
    )
    assumed = (
        "outlet on a line over the root of flow",
        "inlet as it was",
        "bins of 0.01 bar and a tenth of flow",
    )
    return measured(
        days,
        Measure.DROOP,
        "Pa",
        words,
        (-slope * span, -high * span, -low * span),
        assumed,
        n_valid=with_flow(days),
    )


def _hysteresis(days: Days, rising: tuple[Point, ...], falling: tuple[Point, ...]) -> Measured:
    pairs = _pairs(rising, falling)
    if len(pairs) < FEW:
        words = "Rising against falling flow is not known: too few flows were met both ways."
        return measured(days, Measure.HYSTERESIS, "Pa", words, n_valid=with_flow(days))
    value, low, high = middle(pairs)
    words = f"With falling flow the outlet stands {bar(value)} over that with rising flow."
    trust: Trust | None = "poor" if abs(value) < 0.5 * (high - low) else None
    assumed = ("rising and falling: flow changed by more than 10 % in twenty minutes",)
    return measured(
        days, Measure.HYSTERESIS, "Pa", words, (value, low, high), assumed, trust, with_flow(days)
    )


def droop_change(then: DroopCurve, now: DroopCurve, days: Days) -> Measured:
    """Return the middle change of the outlet at equal flow from one curve to another. [Pa]

    `days`: those of the later curve. Flows that only one of them has met take no part.
    """
    pairs = _pairs(then.points, now.points)
    if len(pairs) < FEW:
        words = "The change of the droop curve is not known: too few flows were met in both periods."
        return measured(days, Measure.DROOP_CHANGE, "Pa", words, n_valid=with_flow(days))
    value, low, high = middle(pairs)
    # What the inlet and the grid of 0.01 bar do to both curves is the same at each flow: it does not spread.
    low, high = value - hypot(value - low, SHARED), value + hypot(high - value, SHARED)
    side = "higher" if value > 0.0 else "lower"
    words = f"At equal flow the outlet stands {bar(abs(value))} {side} than before."
    assumed = ("same gauge and setting in both periods", f"{len(pairs)} flows met in both")
    return measured(
        days, Measure.DROOP_CHANGE, "Pa", words, (value, low, high), assumed, n_valid=with_flow(days)
    )


def _pairs(then: tuple[Point, ...], now: tuple[Point, ...]) -> list[tuple[float, int]]:
    """Return changes of the outlet at flows that both have met, with the lesser number of samples."""
    before = {p.flow: p for p in then}
    return [(p.outlet - before[p.flow].outlet, min(p.n, before[p.flow].n)) for p in now if p.flow in before]


def middle(pairs: list[tuple[float, int]]) -> tuple[float, float, float]:
    """Return the weighted median of values, and where it may lie (90 %, by the values' own spread)."""
    order = sorted(pairs)
    values = np.array([v for v, _ in order])
    weight = np.cumsum([n for _, n in order])
    middle = float(values[int(np.searchsorted(weight, 0.5 * weight[-1]))])
    spread = 1.4826 * float(np.median(np.abs(values - middle)))
    reach = SPREAD * 1.2533 * spread / float(np.sqrt(values.size))
    return middle, middle - reach, middle + reach
