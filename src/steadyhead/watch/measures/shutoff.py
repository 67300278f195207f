"""Resistance of the shut-off by day and its trend: not fully open, or something in it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from steadyhead.watch.counting import signed, two_figures
from steadyhead.watch.measures.day import Day, Days, measured
from steadyhead.watch.measures.defaults import LEAST_DAYS
from steadyhead.watch.measures.droop import SPREAD, sen
from steadyhead.watch.measures.measure import Measure, Measured, Trust
from steadyhead.watch.measures.strainer import DAY, SOUND, UNIT, middle_of


@dataclass(frozen=True, slots=True)
class ShutOffTrend:
    """Resistance now and its trend [per day]; `by_day`: middle of the day, resistance, standard error."""

    now: Measured
    trend: Measured
    by_day: tuple[tuple[datetime, float, float], ...]


ASSUMED = (
    "the shut-off stands before the reducer, gauges on both sides of it",
    "flow above 40 % of the highest",
    "both gauges keep their zero",
)


def shut_off_trend(days: Days, open_: float | None = None) -> ShutOffTrend:
    """Return the resistance from the inlet to between the valves and its trend. [Pa s²/m⁶]

    `open_`: what it is fully open, by the station's file, where known. Method (design handbook 6.4): loss
    over flow squared by day at flows above 40 % of the highest; trend by Theil-Sen with Sen's interval.
    """
    rows = [(d, *d.shut_off) for d in days.days if d.shut_off is not None]
    usual = float(np.median([e for _, _, e in rows])) if rows else 0.0
    sound = [row for row in rows if row[2] <= SOUND * usual]
    by_day = tuple((middle_of(d), k, e) for d, k, e in sound)
    if len(sound) < LEAST_DAYS.si:
        words = (
            f"The resistance of the shut-off has no trend: {len(sound)} days with flow and gauges on "
            "both sides."
        )
        now = measured(days, Measure.SHUT_OFF, UNIT, words)
        return ShutOffTrend(now, measured(days, Measure.SHUT_OFF_TREND, f"{UNIT} per day", words), by_day)
    t = np.array([0.5 * (d.start + d.end) for d, _, _ in sound]) / DAY
    k = np.array([row[1] for row in sound])
    trend = sen(t, k)
    return ShutOffTrend(_now(days, sound, open_), _trend(days, k, trend), by_day)


def _now(days: Days, sound: list[tuple[Day, float, float]], open_: float | None) -> Measured:
    last = [k for _, k, _ in sound[-max(3, len(sound) // 5) :]]
    level = float(np.median(last))
    reach = SPREAD * max(float(np.median([e for _, _, e in sound[-5:]])), float(np.std(last)))
    words = f"The resistance of the shut-off stands at {two_figures(level * 1e-11)} bar/(L/s)²."
    if open_:
        words = words[:-1] + f", {level / open_:.1f} times that of the open valve."
    return measured(days, Measure.SHUT_OFF, UNIT, words, (level, level - reach, level + reach), ASSUMED)


def _trend(days: Days, k: np.ndarray, slope: tuple[float, float, float]) -> Measured:
    middle, low, high = slope
    clear = low > 0.0 or high < 0.0
    first = float(np.median(k[: max(2, k.size // 5)]))
    part = (
        f"{signed(f'{100.0 * middle * 30.0 / first:+.0f}')} % in 30 days"
        if first > 0.0
        else "from a start near zero"
    )
    words = f"The resistance of the shut-off moves {part}."
    if not clear:
        words = "The resistance of the shut-off shows no trend."
    trust: Trust | None = None if clear else "poor"
    return measured(days, Measure.SHUT_OFF_TREND, f"{UNIT} per day", words, slope, ASSUMED, trust)
