"""An outlet that stands above its level for a while, at a flow as before, and comes back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from steadyhead.watch.defects.episode import moment
from steadyhead.watch.defects.saying import bar, lasting
from steadyhead.watch.defects.series import Floats, Marks, Series, stretches, within
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import (
    RAISED_FLOW,
    RAISED_LEAST,
    RAISED_LONGEST,
    RAISED_SIGMAS,
    RAISED_STEADY,
    RAISED_TIME,
)
from steadyhead.watch.happening.event import Event, Happening
from steadyhead.watch.happening.levels import BLOCK, without_droop
from steadyhead.watch.happening.usual import DAY, Spans, deviation, touches, usual_day

HOUR = 3600.0
BESIDE = 2.0 * HOUR
"""Time before and after that it is held against. [s]"""
LEAST_BESIDE = 3
SHARP = 0.5
"""Share of the rise that is gone two blocks from its ends: it comes and goes at once."""
OWN = 0.7
"""Share of the rise over the usual day that the outlet itself shows: else the other days sag at this hour."""
BACK = 0.3
"""Most difference of the levels before and after over the rise."""
NEAR, WITH_INLET = 0.5 * HOUR, 0.7
"""Time on either side of an end in which the flow must be alike [s]; most rise of the inlet there over it."""
NEAR_HOUR, REPEATS = 1.5 * HOUR, 2
"""Others at the same hour from which it is a habit: an outlet that is set by the clock."""


@dataclass(frozen=True, slots=True)
class _Raise:
    """First and last sample over the level [s], rise [Pa]."""

    start: float
    end: float
    rise: float


def found(scene: Scene, aside: Spans, swings: Spans) -> list[Happening]:
    """Return the times in which the outlet stands above its level and comes back, at a flow as before.

    Method (own): quarters of an hour, the droop and the usual day taken out; a stretch that stands out far
    beyond the scatter, comes and goes within two of them, is steady between, and comes and goes while the
    flow stays about the same; amid it the flow may change with the hour. An inlet that leaps by about as
    much, and what returns at the same hour, is none; nor is what lies in times in which the outlet swings
    (`swings`).
    """
    outlet, flow, inlet = scene.level(scene.outlet), scene.flow, scene.inlet
    if outlet is None or flow is None or inlet is None or outlet.t.size < 100:
        return []
    t, x = without_droop(outlet, flow, aside)
    if t.size < 96:
        return []
    block = float(np.median(np.diff(t)))
    if block > BLOCK:
        return []
    off = x - usual_day(t, x, block)
    limit = float(np.median(off)) + max(RAISED_LEAST.si * 0.8, RAISED_SIGMAS.si * deviation(off))
    high = [(first, after) for first, after in stretches(off > limit) if after - first > 1]
    begins = t[[first for first, _ in high]]
    got = [_raise(scene, (t, x, off), first, after) for first, after in high]
    return [
        _told(scene, outlet, one)
        for one in got
        if one is not None and not _habit(one, begins) and not touches(one.start, one.end, swings)
    ]


def _raise(scene: Scene, blocks: tuple[Floats, Floats, Floats], first: int, after: int) -> _Raise | None:
    """Return the rise of blocks that hang together; `blocks`: times, outlet, and that over its usual day."""
    t, x, off = blocks
    half = 0.5 * float(np.median(np.diff(t)))
    start, end = float(t[first]) - half, float(t[after - 1]) + half
    if not RAISED_TIME.si <= end - start <= RAISED_LONGEST.si or after - first < 2:
        return None
    before = (t < start - 2.0 * half) & (t > start - BESIDE)
    behind = (t > end + 2.0 * half) & (t < end + BESIDE)
    if min(np.count_nonzero(before), np.count_nonzero(behind)) < LEAST_BESIDE:
        return None
    part = slice(first, after)
    rise = _rise(off, part, before, behind)
    if rise < RAISED_LEAST.si or _rise(x, part, before, behind) < OWN * rise:
        return None
    base = float(np.median(off[part])) - rise
    beside = np.concatenate([off[before][-2:], off[behind][:2]])
    inner = off[first + 1 : after - 1] if after - first > 3 else off[part]
    if float(np.max(beside)) > base + SHARP * rise or float(np.ptp(inner)) > RAISED_STEADY.si * rise:
        return None
    return _Raise(start, end, rise) if _calm(scene, start, end, rise) else None


def _rise(v: Floats, part: slice, before: Marks, behind: Marks) -> float:
    """Return the level of a part over those beside it; 0 where these differ too much."""
    level, left, right = (float(np.median(v[at])) for at in (part, before, behind))
    rise = level - 0.5 * (left + right)
    return rise if abs(left - right) <= BACK * rise else 0.0


def _calm(scene: Scene, start: float, end: float, rise: float) -> bool:
    """Return whether flow and inlet stay about as they are beside it: where it comes and where it goes."""
    flow, inlet = scene.flow, scene.inlet
    if flow is None or inlet is None:
        return False
    near = min(NEAR, 0.5 * (end - start))
    for at, within_from in ((start, start), (end, end - near)):
        q, p = (_across(one, at, within_from, near) for one in (flow, inlet))
        if q is None or p is None:
            return False
        if RAISED_FLOW.si * max(q) > min(q) or p[0] - p[1] >= WITH_INLET * rise:
            return False
    return True


def _across(one: Series, at: float, inner: float, near: float) -> tuple[float, float] | None:
    """Return the level within and the level beside one end of a rise; None: too few samples."""
    inside = within(one, inner, inner + near)
    beside = within(one, at, at + NEAR) if inner < at else within(one, at - NEAR, at)
    if min(inside.size, beside.size) < 2:
        return None
    return float(np.median(inside)), float(np.median(beside))


def _habit(one: _Raise, begins: Floats) -> bool:
    """Return whether the outlet stands high at this hour of other days too, however it comes to it."""
    off = np.abs(begins - one.start)
    apart = np.minimum(off % DAY, DAY - off % DAY)
    return int(np.count_nonzero((apart <= NEAR_HOUR) & (off > 0.5 * DAY))) >= REPEATS


def _told(scene: Scene, outlet: Series, one: _Raise) -> Happening:
    start, end = _edges(outlet, one)
    words = (
        f"For {lasting(end - start)} the outlet stands {bar(one.rise)} above its level at a flow as before "
        "and comes back: the reducer opened too far, or its setting was raised and put back (likely)."
    )
    why = ("rises and falls at once, steady between", "flow as before and after", "the inlet does not leap")
    ids = tuple(s.id for s in (outlet, scene.flow, scene.inlet) if s is not None)
    times = (moment(start), moment(end))
    return Happening(Event.RAISED, times[0], times[1], ids, one.rise, "Pa", words, why, "likely")


def _edges(outlet: Series, one: _Raise) -> tuple[float, float]:
    """Return the first and the last sample over half the rise. [s]"""
    reach = 1.5 * BLOCK
    beside = np.concatenate(
        [within(outlet, one.start - HOUR, one.start - BLOCK), within(outlet, one.end + BLOCK, one.end + HOUR)]
    )
    if not beside.size:
        return one.start, one.end
    keep = (outlet.t >= one.start - reach) & (outlet.t <= one.end + reach)
    over = outlet.t[keep][outlet.v[keep] > float(np.median(beside)) + 0.5 * one.rise]
    return (float(over[0]), float(over[-1])) if over.size > 1 else (one.start, one.end)
