"""Strainer coefficient by day, its trend, and when it meets a limit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from steadyhead.watch.measures.day import Day, Days, measured
from steadyhead.watch.measures.defaults import LEAST_DAYS
from steadyhead.watch.measures.droop import SPREAD, sen
from steadyhead.watch.measures.measure import Measure, Measured, Trust

DAY = 86_400.0
UNIT = "Pa s2/m6"
YEAR = 365.25 * DAY
SOUND = 3.0
"""Standard error of a day over the middle one of all days beyond which the day takes no part."""
FAR = 3.0 * YEAR
"""Beyond this no date is named. [s]"""


@dataclass(frozen=True, slots=True)
class StrainerTrend:
    """Resistance now [Pa s²/m⁶] and its trend [per day]; when it meets the limit, earliest and latest (90 %).

    A date is None where there is no limit, no growth, or the date is years away; `by_day` holds middle of the
    day, resistance and standard error.
    """

    now: Measured
    trend: Measured
    meets: datetime | None
    earliest: datetime | None
    latest: datetime | None
    by_day: tuple[tuple[datetime, float, float], ...]


def strainer_trend(days: Days, limit: float | None = None) -> StrainerTrend:
    """Return the strainer's coefficient, its trend and the date at which it meets `limit` [Pa s²/m⁶].

    Method (design handbook 6.4): loss over flow squared by day, at flows above 40 % of the highest; without a
    gauge before the strainer the resistance of strainer and supply line together, from changes of inlet and
    flow. Trend by Theil-Sen over the days with Sen's interval (P. K. Sen 1968); the forecast prolongs the
    line of the last third of the days, which an ever faster blinding outruns: it is a latest guess.
    """
    rows = [(d, *d.resistance) for d in days.days if d.resistance is not None]
    usual = float(np.median([e for _, _, e in rows])) if rows else 0.0
    sound = [row for row in rows if row[2] <= SOUND * usual]
    by_day = tuple((middle_of(d), k, e) for d, k, e in sound)
    if len(sound) < LEAST_DAYS.si:
        words = f"The strainer coefficient has no trend yet: {len(sound)} days."
        now = measured(days, Measure.STRAINER, UNIT, words)
        trend = measured(days, Measure.STRAINER_TREND, f"{UNIT} per day", words)
        return StrainerTrend(now, trend, None, None, None, by_day)
    t = np.array([0.5 * (d.start + d.end) for d, _, _ in sound]) / DAY
    k = np.array([row[1] for row in sound])
    last = max(int(LEAST_DAYS.si), len(sound) // 3)
    slope, low, high = sen(t[-last:], k[-last:])
    level = float(np.median(k[-last:] - slope * (t[-last:] - t[-1])))
    now = _now(days, sound, level)
    trend = _trend(days, sound, sen(t, k))
    dates = [date_of(level, s, limit, float(t[-1])) for s in (slope, high, low)]
    return StrainerTrend(now, trend, dates[0], dates[1], dates[2], by_day)


def middle_of(day: Day) -> datetime:
    """Return the middle of a day, UTC."""
    return datetime.fromtimestamp(0.5 * (day.start + day.end), tz=UTC)


def _assumed(sound: list[tuple[Day, float, float]]) -> tuple[str, ...]:
    if all(d.alone for d, _, _ in sound):
        return ("gauges on both sides of the strainer", "flow above 40 % of the highest")
    return ("strainer and supply line together", "changes of the supply are limited, not known")


def _now(days: Days, sound: list[tuple[Day, float, float]], level: float) -> Measured:
    reach = SPREAD * float(np.median([e for _, _, e in sound[-5:]]))
    words = f"The strainer coefficient stands at {level * 1e-11:.2g} bar/(L/s)²."
    trust: Trust = "good" if all(d.alone for d, _, _ in sound) else "fair"
    value = (level, level - reach, level + reach)
    return measured(days, Measure.STRAINER, UNIT, words, value, _assumed(sound), trust)


def _trend(days: Days, sound: list[tuple[Day, float, float]], slope: tuple[float, float, float]) -> Measured:
    middle, low, high = slope
    clear = low > 0.0 or high < 0.0
    first = float(np.median([k for _, k, _ in sound[: max(2, len(sound) // 5)]]))
    part = f"{100.0 * middle * 30.0 / first:+.0f} % in 30 days" if first > 0.0 else "from a start near zero"
    words = f"The strainer coefficient moves {part}." if clear else "The strainer coefficient shows no trend."
    trust: Trust = "poor" if not clear else "good" if all(d.alone for d, _, _ in sound) else "fair"
    return measured(days, Measure.STRAINER_TREND, f"{UNIT} per day", words, slope, _assumed(sound), trust)


def date_of(level: float, slope: float, limit: float | None, last: float) -> datetime | None:
    """Return the date at which the line meets the limit; that of the last day where it is met already."""
    if limit is None:
        return None
    if level >= limit:
        return datetime.fromtimestamp(last * DAY, tz=UTC)
    if slope <= 0.0 or (limit - level) / slope * DAY > FAR:
        return None
    return datetime.fromtimestamp((last + (limit - level) / slope) * DAY, tz=UTC)
