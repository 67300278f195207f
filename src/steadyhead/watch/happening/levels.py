"""Levels that step and stay: the setting of the reducer, the demand of the zone."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from steadyhead.watch.defects.defaults import MAD_TO_DEVIATION
from steadyhead.watch.defects.episode import moment
from steadyhead.watch.defects.levels import HOUR, Level, edge, hourly, steps, without_shape
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats, Series
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import (
    DEMAND_AT_ONCE,
    DEMAND_LEAST,
    DEMAND_SHARP,
    DEMAND_STAYS,
    SETTING_BEFORE,
    SETTING_LEAST,
    SETTING_SHARP,
    SETTING_SIGMAS,
    SETTING_STAYS,
)
from steadyhead.watch.happening.event import Event, Happening
from steadyhead.watch.happening.usual import DAY, Spans, blocks, droop, is_weekend, outside

BLOCK = 900.0
TWO_DAYS = 2.0 * DAY
SHORTLY = 28_800.0
"""Time on either side in which a good part of a step of demand must show. [s]"""


def settings(scene: Scene, aside: Spans) -> list[Happening]:
    """Return the steps of the outlet that stay.

    Method (own): outlet by quarters of an hour, droop taken out by the days' own differences; binary
    segmentation into levels (Scott and Knott 1974); a step is called where most of it happens from one
    sample to the next but one, it is far beyond the scatter, and the level stays for half a day.
    """
    outlet = scene.level(scene.outlet)
    if outlet is None or outlet.t.size < 100:
        return []
    t, x = without_droop(outlet, scene.flow, aside)
    if t.size < 48:
        return []
    apart = np.diff(x)
    spread = float(MAD_TO_DEVIATION * np.median(np.abs(apart - np.median(apart)))) / np.sqrt(2.0)
    least = max(SETTING_LEAST.si, SETTING_SIGMAS.si * spread, 1.5 * outlet.grain)
    block = float(np.median(np.diff(t)))
    levels = steps(t, x / least, 1.0, max(4, int(2.0 * HOUR / block)))
    out = []
    for k in range(1, len(levels)):
        a, b = levels[k - 1], levels[k]
        if not _stay(a, b, first=k == 1):
            continue
        size = float(np.median(x[b.first : b.last]) - np.median(x[a.first : a.last]))
        if abs(size) < least or _walks(t, x, a, b, size):
            continue
        at = _sharp(outlet, float(t[b.first]), size, aside, block)
        if at is not None:
            out.append(_moved(outlet, at, levels[-1].end if k == len(levels) - 1 else b.end, size))
    return out


def without_droop(outlet: Series, flow: Series | None, aside: Spans) -> tuple[Floats, Floats]:
    """Return the outlet by quarters of an hour, the droop taken out where flow is recorded. [s], [Pa]"""
    t, p = blocks(outlet, BLOCK, aside)
    if flow is None or t.size < 96:
        return t, p
    tq, q = blocks(flow, max(BLOCK, outlet.step), aside)
    common, a, b = np.intersect1d(t, tq, return_indices=True)
    if common.size < 0.7 * t.size:
        return t, p
    p, q = p[a], q[b]
    slope, _ = droop(q, p, np.floor(common / DAY).astype(np.intp))
    return common, p - slope * np.sqrt(np.maximum(q, 0.0))


def _stay(a: Level, b: Level, *, first: bool) -> bool:
    before = SETTING_BEFORE.si if first else SETTING_STAYS.si
    return a.end - a.start >= before and b.end - b.start >= SETTING_STAYS.si


def _walks(t: Floats, x: Floats, a: Level, b: Level, size: float) -> bool:
    """Return whether the days beside a cut show little of the step: a level that drifts, cut in parts."""
    before = x[a.first : a.last][t[a.first : a.last] >= b.start - DAY]
    after = x[b.first : b.last][t[b.first : b.last] <= b.start + DAY]
    near = float(np.median(after) - np.median(before)) if before.size and after.size else size
    return bool(near * np.sign(size) < SETTING_SHARP.si * abs(size))


def _sharp(outlet: Series, about: float, size: float, aside: Spans, block: float) -> float | None:
    """Return the time of the sample at which most of the step happens; None where it walks."""
    keep = outside(outlet.t, aside)
    t, v = outlet.t[keep], outlet.v[keep]
    places = np.flatnonzero(np.abs(t - about) <= 2.0 * HOUR + 2.0 * block)
    places = places[(places >= 4) & (places < t.size - 4)]
    if not places.size:
        return None
    n = 3
    before = np.median(np.stack([v[places - k] for k in range(2, n + 2)]), axis=0)
    after = np.median(np.stack([v[places + k] for k in range(n)]), axis=0)
    best = int(np.argmax((after - before) * np.sign(size)))
    if (after[best] - before[best]) * np.sign(size) < SETTING_SHARP.si * abs(size):
        return None
    i = int(places[best])
    single = np.diff(v[i - 2 : i + 2]) * np.sign(size)
    return float(t[i - 1 + int(np.argmax(single))])


def _moved(outlet: Series, at: float, end: float, size: float) -> Happening:
    side = "up" if size > 0.0 else "down"
    words = f"The outlet steps {side} by {bar(abs(size))} and stays: the setting was moved, or its gauge was."
    why = ("step from one sample to the next", "level before and after, droop taken out")
    return Happening(
        Event.SETTING, moment(at), moment(max(end, at)), (outlet.id,), size, "Pa", words, why, "likely"
    )


BETTER = 0.75
"""Change at the cut itself over the best near it from which the cut stands."""


def demands(scene: Scene, aside: Spans) -> list[Happening]:
    """Return the steps of the flow that stay.

    Method (own): logarithm of the hourly flow less its usual day; binary segmentation into levels; a step is
    called where most of it shows within two days on either side and the new level stays for 36 hours and
    does not consist of days off only.
    """
    flow = scene.flow
    if flow is None or flow.id in scene.unsure or flow.t.size < 100:
        return []
    usual = float(np.median(flow.v))
    use = outside(flow.t, aside) & (flow.v > 0.005 * usual)
    t, v = hourly(flow.t[use], flow.v[use])
    if t.size < 96 or usual <= 0.0:
        return []
    rest = without_shape(t, np.log(v))
    every = steps(t, rest, DEMAND_LEAST.si, int(DEMAND_STAYS.si / HOUR / 3))
    levels = [
        level for k, level in enumerate(every) if not _passing(every, k, rest) and not _days_off(t, level)
    ]
    out = []
    for a, b in pairwise(levels):
        size = _size(t, rest, a, b)
        if not _lives_on(a, b, last=b is levels[-1]) or abs(size) < DEMAND_LEAST.si:
            continue
        about = _best(t, rest, b.start, size)[1]
        at = edge(flow, about, float(np.exp(size)), 1.5 * HOUR)
        out.append(_changed(flow, at, b.end, float(np.exp(size))))
    return out


def _passing(every: list[Level], k: int, rest: Floats) -> bool:
    """Return whether a level of a day or two lies between two that are alike: a holiday, a hot day."""
    if not 0 < k < len(every) - 1 or every[k].end - every[k].start > 2.7 * DAY:
        return False
    before, after = (float(np.median(rest[x.first : x.last])) for x in (every[k - 1], every[k + 1]))
    return abs(after - before) < DEMAND_LEAST.si


def _days_off(t: Floats, level: Level) -> bool:
    """Return whether a level is a weekend: no more than two days, its inner ends near their midnights."""
    days = np.floor(t[(t >= level.start) & (t <= level.end)] / DAY)
    if level.end - level.start > 2.7 * DAY or float(np.mean(is_weekend(days))) < 0.6:
        return False
    begins, ends = level.start - t[0] < HOUR, t[-1] - level.end < HOUR
    return (begins or _turns(level.start)) and (ends or _turns(level.end))


def _turns(at: float) -> bool:
    """Return whether workdays and days off meet within a quarter of a day of a time."""
    near = np.floor(np.array([at - 0.25 * DAY, at + 0.25 * DAY]) / DAY)
    return bool(np.ptp(is_weekend(near).astype(np.int8)) > 0)


def _size(t: Floats, rest: Floats, a: Level, b: Level) -> float:
    """Return the step of the logarithm; 0 where little of it shows at once, or where days off lie between."""
    size = float(np.median(rest[b.first : b.last]) - np.median(rest[a.first : a.last]))
    if b.start - a.end > 3.0 * HOUR + DAY:
        return size if abs(size) > 2.0 * DEMAND_LEAST.si else 0.0
    for reach, share in ((TWO_DAYS, DEMAND_SHARP.si), (SHORTLY, DEMAND_AT_ONCE.si)):
        if _best(t, rest, b.start, size, reach)[0] < share * abs(size):
            return 0.0
    return size


def _best(t: Floats, rest: Floats, start: float, size: float, reach: float = SHORTLY) -> tuple[float, float]:
    """Return the largest change to the side of the step within half a day of a cut, and its time. [s]"""
    times = start + np.arange(-12, 13) * HOUR
    near = np.array([_change(t, rest, float(at), reach) for at in times]) * np.sign(size)
    best, middle = int(np.argmax(near)), times.size // 2
    if near[middle] > BETTER * near[best]:
        best = middle
    return float(near[best]), float(times[best])


def _change(t: Floats, rest: Floats, at: float, reach: float) -> float:
    before = rest[(t >= at - reach) & (t < at)]
    after = rest[(t >= at) & (t < at + reach)]
    return float(np.median(after) - np.median(before)) if min(before.size, after.size) >= 5 else 0.0


def _lives_on(a: Level, b: Level, *, last: bool) -> bool:
    long = DEMAND_STAYS.si if last else 1.2 * TWO_DAYS
    return b.end - b.start >= long and a.end - a.start >= DEMAND_STAYS.si / 3.0


def _changed(flow: Series, at: float, end: float, factor: float) -> Happening:
    words = f"The flow steps to {factor:.2f} times what it was and stays: users changed, or a burst runs on."
    why = ("level of the hours before and after, the day's course taken out",)
    return Happening(
        Event.DEMAND, moment(at), moment(max(end, at)), (flow.id,), factor, "ratio", words, why, "likely"
    )
