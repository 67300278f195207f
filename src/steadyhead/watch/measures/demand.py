"""Demand: when the mean flow of the day and the flow of the night step and stay."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np

from steadyhead.watch.counting import counted, often, signed
from steadyhead.watch.defects.levels import Level, steps
from steadyhead.watch.defects.series import Floats, Places
from steadyhead.watch.happening.usual import deviation
from steadyhead.watch.measures.day import FAIR, GOOD, Day, Days, measured
from steadyhead.watch.measures.defaults import DEMAND_DAYS, DEMAND_NIGHT, DEMAND_SIGMAS, DEMAND_STEP
from steadyhead.watch.measures.measure import Measure, Measured, Trust

SAME = 0.35
"""How far night and day may differ in what they gain for one steady added flow, as a share."""
HOURS_ONLY = 0.45
"""Gain of the daily mean over that of the night below which it is no leak: a half day's at most."""
SHOWN = 3
"""Steps that the sentence tells; all of them stand in the details."""
ASSUMED = (
    "samples counted in days, covered by four fifths",
    "the week's course taken out",
    "steps of a fifth or more, of the night's flow of three tenths",
)
SHARP = 0.6
"""Share of a step that must show between the weeks on its sides: a season walks."""


@dataclass(frozen=True, slots=True)
class Change:
    """A step: first day at the new level; mean flow before and after, night flow before and after. [m³/s]

    `words` says what it looks like: all hours by one amount (a leak, a steady user), or by one factor;
    `by_night`: the flow of the night alone tells it, the daily mean is not sure of it.
    """

    day: datetime
    before: float
    after: float
    night_before: float | None
    night_after: float | None
    words: str
    by_night: bool = False


@dataclass(frozen=True, slots=True)
class Demand:
    """Mean flow of the period, its steps, and that by day of the week (from Monday; None: none). [m³/s]"""

    measured: Measured
    changes: tuple[Change, ...]
    by_weekday: tuple[float | None, ...]


def demand(days: Days) -> Demand:
    """Return the mean flow and its change points.

    Method (own; design handbook 6.4): logarithm of the daily mean less what its day of the week usually is
    over it; binary segmentation (Scott and Knott 1974); a step is told where both sides last a week, most of
    it shows between the weeks on its sides, and it stands four deviations out. The same with the flow at the
    lowest hours of each day, where a leak shows first.
    """
    known = [d for d in days.days if d.more.flow is not None and d.more.flow > 0.0]
    flows = np.array([d.more.flow for d in known], dtype=float)
    if len(known) < 2 * DEMAND_DAYS.si:
        words = f"Demand has no change points yet: {len(known)} whole days of flow."
        mean = (float(np.mean(flows)), None, None) if flows.size else None
        return Demand(_in_days(days, words, mean, len(known)), (), _by_weekday(known))
    t = np.array([0.5 * (d.start + d.end) for d in known])
    weekday = np.array([(d.number + 3) % 7 for d in known])
    log = np.log(flows)
    rest = log - _week(log, weekday)
    changes = tuple(_change(known, a, b) for a, b in _levels(t, rest))
    changes = tuple(sorted((*changes, *_by_night(known, changes)), key=lambda one: one.day))
    low, high = (float(x) for x in np.quantile(flows, (0.05, 0.95)))
    about = signed(f"{1e3 * float(np.mean(flows)):.2f}")
    words = f"The mean flow is {about} L/s over {counted(len(known), 'day')}."
    stepped = sum(not one.by_night for one in changes)
    words += f" It steps {often(stepped)}." if stepped else " No step of it that stays is seen."
    if by_night := len(changes) - stepped:
        words += f" The flow of the night steps {often(by_night)}."
    words += "".join(f" {_day_of(one)}: {one.words}" for one in changes[:SHOWN])
    found = _in_days(days, words, (float(np.mean(flows)), low, high), len(known))
    return Demand(found, changes, _by_weekday(known))


def _day_of(one: Change) -> str:
    return f"{one.day + timedelta(hours=12):%Y-%m-%d}"  # a midnight of the place lies near that of UTC


def _in_days(
    days: Days, words: str, value: tuple[float, float | None, float | None] | None, n: int
) -> Measured:
    """Return the measure with its samples counted in days."""
    whole = round((days.days[-1].end - days.days[0].start) / 86_400.0) if days.days else 0
    share = n / max(whole, 1)
    trust: Trust = "good" if share >= GOOD else "fair" if share >= FAIR else "poor"
    found = measured(days, Measure.DEMAND, "m3/s", words, value, ASSUMED, trust)
    return replace(found, n_valid=n, n_total=whole)


def _by_weekday(days: list[Day]) -> tuple[float | None, ...]:
    out: list[float | None] = []
    for k in range(7):
        part = [d.more.flow for d in days if (d.number + 3) % 7 == k and d.more.flow is not None]
        out.append(float(np.median(part)) if part else None)
    return tuple(out)


def _week(log: Floats, weekday: Places) -> Floats:
    """Return what each day of the week has over the days about it: a step moves little of it."""
    about = np.array([log[k] - float(np.median(log[max(0, k - 3) : k + 4])) for k in range(log.size)])
    shape = np.array([np.median(about[weekday == k]) if np.any(weekday == k) else 0.0 for k in range(7)])
    return np.asarray(shape[weekday])


def _levels(t: Floats, rest: Floats, step: float = DEMAND_STEP.si) -> list[tuple[Level, Level]]:
    spread = max(deviation(np.diff(rest)) / np.sqrt(2.0), 1e-6)
    least = max(step, DEMAND_SIGMAS.si * spread)
    week = int(DEMAND_DAYS.si)
    levels = steps(t, rest / least, 1.0, week)
    out = []
    for a, b in pairwise(levels):
        size = float(np.median(rest[b.first : b.last]) - np.median(rest[a.first : a.last]))
        near = float(
            np.median(rest[b.first : b.first + week]) - np.median(rest[max(a.first, a.last - week) : a.last])
        )
        if abs(size) >= least and near * np.sign(size) >= SHARP * abs(size):
            out.append((a, b))
    return out


def _by_night(days: list[Day], told: tuple[Change, ...]) -> list[Change]:
    """Return the steps of the night's flow that no step of the daily mean stands beside."""
    quiet = [d for d in days if d.night is not None and d.night.flow > 0.0]
    if len(quiet) < 2 * DEMAND_DAYS.si:
        return []
    t = np.array([0.5 * (d.start + d.end) for d in quiet])
    log = np.log([d.night.flow for d in quiet if d.night is not None])
    weekday = np.array([(d.number + 3) % 7 for d in quiet])
    out = []
    for a, b in _levels(t, log - _week(log, weekday), DEMAND_NIGHT.si):
        one = _change(quiet, a, b)
        beside = [c for c in told if abs((c.day - one.day).total_seconds()) < DEMAND_DAYS.si * 86_400.0]
        if not beside and one.night_before is not None and one.night_after is not None:
            words = _of_night(one.night_before, one.night_after, one.after - one.before)
            out.append(replace(one, words=words, by_night=True))
    return out


def _of_night(before: float, after: float, gained: float) -> str:
    """Return what a step of the night's flow looks like; `gained`: what the daily mean has moved by. [m³/s]

    A leak flows by day, too: where the mean gains far less than the night, it is drawn at night only.
    """
    side, what = ("rises", "a leak, or a steady user") if after > before else ("falls", "a leak mended")
    how = "the daily mean does not show it"
    if gained < HOURS_ONLY * (after - before) if after > before else gained > HOURS_ONLY * (after - before):
        how = "the daily mean moves by far less"
        what = "drawn at night only, as by watering or tanks" if after > before else "no more drawn at night"
    return (
        f"The flow at the lowest hours {side} from {1e3 * before:.2f} to {1e3 * after:.2f} L/s and stays; "
        f"{how}: {what} (likely)."
    )


def _change(days: list[Day], a: Level, b: Level) -> Change:
    before, after = days[a.first : a.last], days[b.first : b.last]
    mean = [float(np.median([d.more.flow or 0.0 for d in part])) for part in (before, after)]
    quiet = [[d.night.flow for d in part if d.night is not None] for part in (before, after)]
    night = [float(np.median(part)) if part else None for part in quiet]
    when = datetime.fromtimestamp(days[b.first].start, tz=UTC)
    return Change(when, mean[0], mean[1], night[0], night[1], _looks(mean, night))


def _looks(mean: list[float], night: list[float | None]) -> str:
    side = "rises" if mean[1] > mean[0] else "falls"
    words = f"The daily mean {side} from {1e3 * mean[0]:.2f} to {1e3 * mean[1]:.2f} L/s and stays."
    if night[0] is None or night[1] is None:
        return words
    gained, by_night = mean[1] - mean[0], night[1] - night[0]
    factor = mean[1] / mean[0]
    steady = abs(by_night - gained) < SAME * abs(gained)
    scaled = abs(by_night - (factor - 1.0) * night[0]) < SAME * abs((factor - 1.0) * night[0])
    if steady and not scaled:
        return words + " The night has moved by as much: a leak, or a steady user (likely)."
    if scaled and not steady:
        return words + " The night has moved in proportion: users, or the meter's factor (likely)."
    return words
