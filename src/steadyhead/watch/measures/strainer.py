"""Strainer coefficient by day, its trend, and when it meets a limit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

import numpy as np

from steadyhead.watch.counting import signed, two_figures
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats
from steadyhead.watch.measures import line
from steadyhead.watch.measures.day import Day, Days, cells, measured
from steadyhead.watch.measures.defaults import CLEAN_DAYS, LEAST_DAYS, LOSS_SEEN, OPENED_AT
from steadyhead.watch.measures.droop import SPREAD, sen
from steadyhead.watch.measures.grid import flow_at
from steadyhead.watch.measures.measure import Measure, Measured, Trust

DAY = 86_400.0
UNIT = "Pa s2/m6"
YEAR = 365.25 * DAY
MEDIAN = 1.2533
"""Standard error of a median over that of a mean, normal law: √(π/2). Analytic."""
SOUND = 3.0
"""Standard error of a day over the middle one of all days beyond which the day takes no part."""
CLEAR = 0.1
"""Standard error over the coefficient of a strainer's day up to which it takes part whatever others
have: one that blinds within the day scatters."""
LEAST_TOLD = 1.0
"""Movement below which no number is told. [% in 30 days]"""
FAR = 3.0 * YEAR
"""Beyond this no date is named. [s]"""


@dataclass(frozen=True, slots=True)
class LossLimit:
    """Coefficient at which a strainer is opened [Pa s²/m⁶] and its standard error; whose limit that is.

    alone: it is that of the strainer, and says nothing of a supply line before it.
    """

    value: float
    source: str
    error: float = 0.0
    alone: bool = True


@dataclass(frozen=True, slots=True)
class StrainerTrend:
    """Resistance now [Pa s²/m⁶] and its trend [per day]; when it meets the limit, earliest and latest (90 %).

    A date is None where there is no limit, no clear growth, or the date is years away; that of the last day
    where the limit is met already. `by_day` holds middle of the day, resistance and standard error;
    `limit` [Pa s²/m⁶] and `limit_from` what it is held against and whose that is; `own_limit`: it follows
    from the record itself. `alone`: it is the strainer's, by gauges on both sides; else strainer and supply
    line are one, and no date is named.
    """

    now: Measured
    trend: Measured
    meets: datetime | None
    earliest: datetime | None
    latest: datetime | None
    by_day: tuple[tuple[datetime, float, float], ...]
    limit: float | None = None
    limit_from: str = ""
    own_limit: bool = False
    alone: bool = True


def strainer_trend(days: Days, limit: LossLimit | float | None = None, *, own: bool = False) -> StrainerTrend:
    """Return the strainer's coefficient, its trend and the date at which it meets `limit` [Pa s²/m⁶].

    own: where no limit is given that fits what is measured, that of the record's cleanest days is doubled.

    Method (design handbook 6.4): loss over flow squared by day, at flows above 40 % of the highest; without a
    gauge before the strainer the resistance of strainer and supply line together, from changes of inlet and
    flow. Trend by Theil-Sen over the days with Sen's interval (P. K. Sen 1968); the forecast prolongs the
    line of the last third of the days, which an ever faster blinding outruns: it is a latest guess. It is
    named only where the whole of the days and their last third both grow, and never without the gauge before
    the strainer: what others draw from the line grows alike.
    """
    sound = _sound(days)
    by_day = tuple((middle_of(d), k, e) for d, k, e in sound)
    alone = all(d.alone for d, _, _ in sound)
    held = LossLimit(limit, "as given", alone=False) if isinstance(limit, float | int) else limit
    if held is not None and held.alone and not alone:
        held = None
    is_own = held is None and own
    if is_own:
        held = of_record(by_day)
    more = (*((held.value, held.source, is_own) if held is not None else (None, "", False)), alone)
    if words := _untold(sound, alone=alone):
        now = measured(days, Measure.STRAINER, UNIT, words)
        trend = measured(days, Measure.STRAINER_TREND, f"{UNIT} per day", words)
        return StrainerTrend(now, trend, None, None, None, by_day, *more)
    t = np.array([0.5 * (d.start + d.end) for d, _, _ in sound]) / DAY
    doubt = None if alone else line.doubt(t, [d.resistance or () for d, _, _ in sound])
    if doubt is not None:
        return StrainerTrend(*_doubted(days, sound, doubt), None, None, None, by_day, *more)
    k = np.array([row[1] for row in sound])
    last = max(int(LEAST_DAYS.si), len(sound) // 3)
    slope, _, _ = sen(t[-last:], k[-last:])
    level = float(np.median(k[-last:] - slope * (t[-last:] - t[-1])))
    if alone and (words := _too_little(days, level)):
        now = measured(days, Measure.STRAINER, UNIT, words)
        trend = measured(days, Measure.STRAINER_TREND, f"{UNIT} per day", words)
        return StrainerTrend(now, trend, None, None, None, by_day, *more)
    now = _now(days, sound, level)
    whole = sen(t, k)
    dates = _dates(t[-last:], k[-last:], held) if whole[1] > 0.0 and alone else (None, None, None)
    if held is not None and level >= held.value and alone:
        dates = (by_day[-1][0],) * 3
    lately = (slope, last) if last < len(sound) else None
    when = forecast(dates, held, clear=whole[1] > 0.0)
    if not alone and when:
        when = (
            "When that meets a limit is not told: which of them grows, or what others draw from the line, "
            f"{line.WITH_GAUGE}."
        )
    trend = _trend(days, sound, (whole, lately), when, held)
    return StrainerTrend(now, trend, *dates, by_day, *more)


def _untold(sound: list[tuple[Day, float, float]], *, alone: bool) -> str:
    """Return why nothing is measured, a sentence; empty where it is."""
    if len(sound) < LEAST_DAYS.si:
        return f"The {_name(sound)} has no trend yet: {len(sound)} days."
    return "" if alone else line.untold([d.resistance or () for d, _, _ in sound])


def _too_little(days: Days, level: float) -> str:
    """Return that the loss is less than two gauges tell apart, a sentence; empty where it is more."""
    rows, _ = cells(days.days)
    most = level * flow_at(int(rows[:, 2].max())) ** 2 if rows.size else math.inf
    if most >= LOSS_SEEN.si:
        return ""
    return (
        f"The strainer coefficient is not told: at the highest flow the loss is {bar(max(most, 0.0))}, "
        f"less than two gauges tell apart ({LOSS_SEEN.text})."
    )


def _doubted(
    days: Days, sound: list[tuple[Day, float, float]], doubt: line.Doubt
) -> tuple[Measured, Measured]:
    """Return the resistance as it stands, held against nothing, and a trend that is not told."""
    part = sound[doubt.since :] if doubt.since else sound[-max(int(LEAST_DAYS.si), len(sound) // 3) :]
    now = _now(days, part, float(np.median([k for _, k, _ in part])))
    trend = measured(days, Measure.STRAINER_TREND, f"{UNIT} per day", doubt.words, None, _assumed(sound))
    return replace(now, trust="poor"), trend


def _name(sound: list[tuple[Day, float, float]]) -> str:
    return (
        "strainer coefficient"
        if all(d.alone for d, _, _ in sound)
        else "coefficient of strainer or supply line"
    )


def _sound(days: Days) -> list[tuple[Day, float, float]]:
    """Return the days whose coefficient is as sure as that of others, with it and its standard error.

    Days of the strainer alone and of strainer and line together are not mixed: the former, where they are
    enough.
    """
    known = [d for d in days.days if d.resistance is not None]
    alone = [d for d in known if d.alone]
    if len(alone) < len(known):
        known = alone if len(alone) >= LEAST_DAYS.si else [d for d in known if not d.alone]
    rows = [(d, d.resistance[0], d.resistance[1]) for d in known if d.resistance is not None]
    usual = float(np.median([e for _, _, e in rows])) if rows else 0.0
    return [row for row in rows if row[2] <= max(SOUND * usual, CLEAR * row[1] * row[0].alone)]


def clean_of(by_day: Sequence[Sequence[Any]]) -> float | None:
    """Return the coefficient when clean: the least middle of some days in a row; None: it does not show.

    by_day: middle of the day, coefficient, standard error.
    """
    k = np.array([float(row[1]) for row in by_day])
    some = int(CLEAN_DAYS.si)
    if k.size < some:
        return None
    least = min(float(np.median(k[at : at + some])) for at in range(k.size - some + 1))
    reach = float(np.median([float(row[2]) for row in by_day]))
    return least if least > 2.0 * reach else None


def of_record(by_day: Sequence[Sequence[Any]]) -> LossLimit | None:
    """Return the limit that follows from the record itself; None: what is clean does not show."""
    clean = clean_of(by_day)
    if clean is None:
        return None
    reach = float(np.median([float(row[2]) for row in by_day])) / float(np.sqrt(CLEAN_DAYS.si))
    source = f"{OPENED_AT.text} × that of its cleanest {CLEAN_DAYS.text} days in a row (own estimate)"
    return LossLimit(OPENED_AT.si * clean, source, OPENED_AT.si * reach, alone=False)


def _dates(
    t: Floats, k: Floats, held: LossLimit | None
) -> tuple[datetime | None, datetime | None, datetime | None]:
    """Return when the line of these days meets the limit, earliest and latest (90 %); None: not to be told.

    The line turns about the middle of the days, where its height is known best.
    """
    slope, low, high = sen(t, k)
    if held is None or low <= 0.0:
        return None, None, None
    centre = float(np.median(t))
    height = float(np.median(k - slope * (t - centre)))
    scatter = 1.4826 * float(np.median(np.abs(k - height - slope * (t - centre))))
    error = float(np.hypot(MEDIAN * scatter / np.sqrt(t.size), held.error))
    last = float(t[-1])
    lines = ((0.0, slope), (-SPREAD * error, high), (SPREAD * error, low))
    meets, earliest, latest = (max(centre + (held.value + off - height) / rise, last) for off, rise in lines)
    if (meets - last) * DAY > FAR:
        return None, None, None
    far = (latest - last) * DAY > FAR
    return _day(meets), _day(earliest), None if far else _day(latest)


def _day(number: float) -> datetime:
    return datetime.fromtimestamp(number * DAY, tz=UTC)


def forecast(
    dates: tuple[datetime | None, datetime | None, datetime | None], held: LossLimit | None, *, clear: bool
) -> str:
    """Return when it meets its limit, a sentence; empty where no limit is known."""
    meets, earliest, latest = dates
    if held is None or not clear:
        return ""
    if meets is None or earliest is None:
        return "When it meets its limit is not to be told."
    if meets == earliest == latest:
        return "It stands at its limit or over it."
    span = f"not before {earliest:%Y-%m-%d}"
    if latest is not None:
        span = f"between {earliest:%Y-%m-%d} and {latest:%Y-%m-%d}"
    return f"It meets its limit about {meets:%Y-%m-%d}, {span} (90 %), if it goes on like this."


def middle_of(day: Day) -> datetime:
    """Return the middle of a day, UTC."""
    return datetime.fromtimestamp(0.5 * (day.start + day.end), tz=UTC)


def _assumed(sound: list[tuple[Day, float, float]]) -> tuple[str, ...]:
    if all(d.alone for d, _, _ in sound):
        return ("gauges on both sides of the strainer", "flow above 40 % of the highest")
    return (
        "strainer and supply line together",
        "steps of the supply are left out, its other changes not known",
    )


def _now(days: Days, sound: list[tuple[Day, float, float]], level: float) -> Measured:
    reach = SPREAD * float(np.median([e for _, _, e in sound[-5:]]))
    words = f"The {_name(sound)} stands at {two_figures(level * 1e-11)} bar/(L/s)².{_stood(sound, level)}"
    trust: Trust = "good" if all(d.alone for d, _, _ in sound) else "fair"
    value = (level, level - reach, level + reach)
    return measured(days, Measure.STRAINER, UNIT, words, value, _assumed(sound), trust)


def _stood(sound: list[tuple[Day, float, float]], level: float) -> str:
    """Return how high it stood between, where it passed the record's own limit and fell again; or nothing."""
    by_day = [(middle_of(d), k, e) for d, k, e in sound]
    clean, k = clean_of(by_day), np.array([row[1] for row in by_day])
    if clean is None or not all(d.alone for d, _, _ in sound):
        return ""
    middles = np.array(
        [np.median(k[at - 1 : at + 2]) for at in range(1, k.size - 1)]
    )  # a day alone is chance
    top = 1 + int(np.argmax(middles))
    most = float(middles[top - 1])
    if most < OPENED_AT.si * clean or level > 0.6 * most:
        return ""
    high = f"{two_figures(most * 1e-11)}, {most / clean:.1f} times that of its cleanest days"
    return f" About {by_day[top][0]:%Y-%m-%d} it stood at {high}, and fell again."


def _trend(
    days: Days,
    sound: list[tuple[Day, float, float]],
    slopes: tuple[tuple[float, float, float], tuple[float, int] | None],
    when: str,
    held: LossLimit | None,
) -> Measured:
    """slopes: of all days with its interval; of the last days, and how many they are."""
    slope, lately = slopes
    middle, low, high = slope
    clear = low > 0.0 or high < 0.0
    first = float(np.median([k for _, k, _ in sound[: max(2, len(sound) // 5)]]))
    part = (
        f"{signed(f'{100.0 * middle * 30.0 / first:+.0f}')} % in 30 days"
        if first > 0.0
        else "from a start near zero"
    )
    if lately is not None and when and first > 0.0:
        late = signed(f"{100.0 * lately[0] * 30.0 / first:+.0f}")
        part += f" over all, {late} % over the last {lately[1]} days"
    steepest = max(abs(middle), abs(lately[0]) if lately is not None else 0.0)
    words = f"The {_name(sound)} moves {part}." if clear else f"The {_name(sound)} shows no trend."
    if clear and 100.0 * steepest * 30.0 < LEAST_TOLD * first:
        words, when = f"The {_name(sound)} moves by less than 1 % in 30 days.", ""
    trust: Trust = "poor" if not clear else "good" if all(d.alone for d, _, _ in sound) else "fair"
    assumed = _assumed(sound)
    if held is not None:
        assumed += (f"limit: {held.source}",)
    if when and all(d.alone for d, _, _ in sound):
        assumed += ("a straight line from the last third of the days; faster blinding comes before it",)
    words = f"{words} {when}".rstrip()
    return measured(days, Measure.STRAINER_TREND, f"{UNIT} per day", words, slope, assumed, trust)


def date_of(level: float, slope: float, limit: float | None, last: float) -> datetime | None:
    """Return the date at which the line meets the limit; that of the last day where it is met already."""
    if limit is None:
        return None
    if level >= limit:
        return datetime.fromtimestamp(last * DAY, tz=UTC)
    if slope <= 0.0 or (limit - level) / slope * DAY > FAR:
        return None
    return datetime.fromtimestamp((last + (limit - level) / slope) * DAY, tz=UTC)
