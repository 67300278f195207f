"""Trip margin: the highest outlet of each day against the trip, its trend, and when they may meet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from steadyhead.watch.counting import counted
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.measures.day import Day, Days, measured
from steadyhead.watch.measures.defaults import LEAST_TOPS
from steadyhead.watch.measures.droop import sen
from steadyhead.watch.measures.measure import Measure, Measured, Trust
from steadyhead.watch.measures.strainer import DAY, date_of

COARSE = 60.0
"""Interval beyond which the peaks of a day lie between its samples. [s]"""
HIGH = 0.95


@dataclass(frozen=True, slots=True)
class TripMargin:
    """Margin and trend of the daily top; when it may reach the trip, earliest and latest (90 %).

    None: no trend, or years away. `by_day`: time and height of each day's top. [Pa]
    """

    margin: Measured
    trend: Measured
    reaches: datetime | None
    earliest: datetime | None
    latest: datetime | None
    by_day: tuple[tuple[datetime, float], ...]


def trip_margin(days: Days, trip: float) -> TripMargin:
    """Return how far the highest outlet of the days stays below the trip's lower edge. [Pa]

    Method (design handbook 6.4): highest sample of each day, times of trips aside; the margin is that of the
    day exceeded on one day in twenty, `low` that of the highest day. Trend by Theil-Sen over the days; the
    date is where the line through that twentieth day meets the trip.
    """
    tops = [(d, d.more.top) for d in days.days if d.more.top is not None]
    by_day = tuple((datetime.fromtimestamp(top.at, tz=UTC), top.value) for _, top in tops)
    if len(tops) < LEAST_TOPS.si:
        words = f"The margin to the trip is not known: {len(tops)} days with an outlet pressure."
        return TripMargin(
            measured(days, Measure.TRIP_MARGIN, "Pa", words),
            measured(days, Measure.TRIP_MARGIN_TREND, "Pa per day", words), None, None, None, by_day,
        )  # fmt: skip
    t = np.array([0.5 * (d.start + d.end) for d, _ in tops]) / DAY
    v = np.array([top.value for _, top in tops])
    slope, low, high = sen(t, v)
    level = float(np.quantile(v - slope * (t - t[-1]), HIGH))
    own = all(top.own for _, top in tops)
    margin = _margin(days, v, trip, own=own)
    trend = _trend(days, (slope, low, high), v.size)
    clear = low > 0.0
    dates = [date_of(level, s if clear else 0.0, trip, float(t[-1])) for s in (slope, high, low)]
    return TripMargin(margin, trend, dates[0], dates[1], dates[2], by_day)


def _margin(days: Days, v: np.ndarray, trip: float, *, own: bool) -> Measured:
    value, least = trip - float(np.quantile(v, HIGH)), trip - float(np.max(v))
    step = max(d.more.steps[1] for d in days.days)
    blind = not own and step > COARSE
    edge = "the trip's lower edge"
    days_near = f"On nineteen days in twenty the highest outlet stays {bar(value)} below {edge}"
    if value < 0.0:
        days_near = f"On one day in twenty the highest outlet stands {bar(-value)} or more above {edge}"
    most = f"leaves {bar(least)}" if least >= 0.0 else f"stands {bar(-least)} above it"
    words = f"{days_near}; the highest day {most}."
    if blind:
        words += f" Samples lie {step:g} s apart: shorter peaks are not in it."
    assumed = (
        "the logger's own maximum" if own else f"single samples {step:g} s apart",
        "times of trips and lost supply left out",
        "trip: lower edge as given",
    )
    trust: Trust | None = "poor" if blind else None
    return measured(days, Measure.TRIP_MARGIN, "Pa", words, (value, least, value), assumed, trust)


def _trend(days: Days, slope: tuple[float, float, float], n: int) -> Measured:
    middle, low, high = slope
    clear = low > 0.0 or high < 0.0
    move = f"{'rises' if middle > 0.0 else 'falls'} by {bar(abs(middle) * 30.0)} in 30 days"
    words = (
        f"The highest outlet of the day {move}." if clear else "The highest outlet of the day shows no trend."
    )
    trust: Trust | None = None if clear else "poor"
    assumed = (f"Theil-Sen over {counted(n, 'day')}",)
    return measured(days, Measure.TRIP_MARGIN_TREND, "Pa per day", words, slope, assumed, trust)


def highest(days: Days) -> Day | None:
    """Return the day with the highest outlet; None: there is none."""
    tops = [d for d in days.days if d.more.top is not None]
    return max(tops, key=lambda d: d.more.top.value if d.more.top is not None else 0.0, default=None)
