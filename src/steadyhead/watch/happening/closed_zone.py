"""A zone that draws nothing: warmed water raises its pressure, or another source feeds it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from steadyhead.watch.defects.episode import moment
from steadyhead.watch.defects.saying import bar, lasting
from steadyhead.watch.defects.series import Floats, Series, at_times, stretches, within
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import (
    BACKFEED_RISE,
    BACKFEED_STEADY,
    BACKFEED_TIME,
    BACKFEED_USUAL,
    STILL,
    STILL_LEAST,
    THERMAL_FALL,
    THERMAL_INLET,
    THERMAL_OVER,
    THERMAL_RISE,
    THERMAL_SLOW,
)
from steadyhead.watch.happening.event import Event, Happening
from steadyhead.watch.happening.trips import SWITCH
from steadyhead.watch.happening.usual import DAY, Spans, deviation, touches, usual_day

BLOCK = 3600.0
SETTLED = 2
"""Samples after the stop of the flow that are still of the stop."""
STEP = 0.5
"""Share of the rise from one sample to the next beyond which it is no warming."""
SINKS = 0.25
"""Share of the rise lost from the first to the last quarter from which the zone drains."""
BEFORE = 3600.0
"""An outlet that rose within this time before the flow stopped is a trip's. [s]"""
TOGETHER = 2.5 * DAY
"""Rises nearer than this are told as one."""


@dataclass(frozen=True, slots=True)
class _Still:
    """A stretch without flow: first and last sample without [s]."""

    start: float
    end: float


def thermal(scene: Scene, aside: Spans) -> list[Happening]:
    """Return the rises of the outlet by warmed water in a closed zone.

    Method (design handbook 6.5): while no water flows the outlet climbs slowly, the inlet does not, and it
    either falls again before water flows or stands above the inlet: a leaking seat does neither. Rises on
    neighbouring days are told as one.
    """
    outlet, flow = scene.level(scene.outlet), scene.flow
    if outlet is None or flow is None or scene.inlet is None or outlet.t.size < 50:
        return []
    found = [
        got
        for one in _still(flow, STILL_LEAST.si)
        if not touches(one.start, one.end, aside)
        for got in [_hump(outlet, scene.inlet, one)]
        if got is not None
    ]
    out: list[Happening] = []
    for start, end, rise, over in found:
        if out and start - out[-1].end.timestamp() < TOGETHER:
            before = out[-1]
            larger = max(before.magnitude or 0.0, rise)
            out[-1] = replace(before, end=moment(end), magnitude=larger, times=(*before.times, moment(start)))
            continue
        out.append(_warmed(scene, outlet, (start, end), rise, over=over))
    return [_counted(one) for one in out]


def _still(flow: Series, least: float) -> list[_Still]:
    usual = float(np.mean(flow.v))
    if usual <= 0.0:
        return []
    found = [_Still(float(flow.t[a]), float(flow.t[b - 1])) for a, b in stretches(flow.v < STILL.si * usual)]
    return [one for one in found if one.end - one.start >= least]


def _hump(outlet: Series, inlet: Series, one: _Still) -> tuple[float, float, float, bool] | None:
    """Return start, end, rise [Pa] and whether it passes the inlet; None: no warming."""
    a = int(np.searchsorted(outlet.t, one.start)) + SETTLED
    b = int(np.searchsorted(outlet.t, one.end, side="right"))
    if b - a < 8:
        return None
    t, v = outlet.t[a:b], _smooth(outlet.v[a:b])
    k = int(np.argmax(v))
    j = int(np.argmin(v[: k + 1])) if k else 0
    rise = float(v[k] - v[j])
    if rise < max(THERMAL_RISE.si, 8.0 * outlet.scatter) or t[k] - t[j] < THERMAL_SLOW.si:
        return None
    if float(np.max(np.diff(v[j : k + 1]), initial=0.0)) > STEP * rise:
        return None
    supply = at_times(inlet, t)
    if not np.isfinite(supply[[j, k]]).all():
        return None
    if _alike(v, supply) > THERMAL_INLET.si:
        return None
    over = float(v[k] - supply[k]) > THERMAL_OVER.si
    falls = float(v[k] - np.min(v[k:])) >= THERMAL_FALL.si * rise
    return (float(t[j]), float(t[-1]), rise, over) if over or falls else None


def _alike(v: Floats, supply: Floats) -> float:
    """Return the correlation of outlet and inlet."""
    ok = np.isfinite(supply)
    a, b = v[ok], supply[ok]
    if a.size < 5 or not float(np.std(a)) or not float(np.std(b)):
        return 0.0
    return float(np.corrcoef(a, b)[0, 1])


def _smooth(v: Floats) -> Floats:
    """Return running medians of three samples."""
    out = v.copy()
    if v.size > 2:
        out[1:-1] = np.median(np.stack([v[:-2], v[1:-1], v[2:]]), axis=0)
    return out


def _warmed(scene: Scene, outlet: Series, span: tuple[float, float], rise: float, *, over: bool) -> Happening:
    why = ["no flow", "the inlet does not move with it"]
    why.append("stands above the inlet" if over else "falls again before water flows")
    ids = tuple(s.id for s in (outlet, scene.inlet, scene.flow) if s is not None)
    start, end = (moment(x) for x in span)
    return Happening(Event.THERMAL, start, end, ids, rise, "Pa", "", tuple(why), "likely", (start,))


def _counted(one: Happening) -> Happening:
    n = len(one.times)
    how = f"{n} times" if n > 1 else "once"
    words = (
        f"In the closed zone the outlet climbs by up to {bar(one.magnitude or 0.0)} while no water flows, "
        f"{how}: warmed water (likely). What relieves it is worth a look."
    )
    return replace(one, words=words)


def backfeed(scene: Scene, aside: Spans) -> list[Happening]:
    """Return the times in which another source feeds the zone.

    Method (design handbook 6.5): no flow through the station, or backwards, at an hour at which it usually
    flows, while the outlet stands steadily above what it is at the lowest flows and the inlet does not fall.
    Behind a closed shut-off it would sink, and it would have risen before the flow stopped.
    """
    outlet, flow, inlet = scene.level(scene.outlet), scene.flow, scene.inlet
    if outlet is None or flow is None or inlet is None or outlet.t.size < 100 or flow.t.size < 100:
        return []
    expected = _expected(flow)
    level = _at_no_flow(outlet, flow)
    out = []
    for one in _still(flow, BACKFEED_TIME.si):
        if touches(one.start, one.end, aside):
            continue
        wished = expected(np.array([0.5 * (one.start + one.end)]))[0]
        if wished < BACKFEED_USUAL.si * float(np.mean(flow.v)):
            continue
        got = _fed(outlet, inlet, one, level)
        if got is not None:
            out.append(_told(scene, outlet, one, got))
    return out


def _expected(flow: Series) -> Callable[[Floats], Floats]:
    """Return what usually flows at a time, by the other days."""
    hour = np.floor(flow.t / BLOCK)
    edges = np.flatnonzero(np.append(True, np.diff(hour) != 0.0))
    t = (hour[edges] + 0.5) * BLOCK
    v = np.add.reduceat(flow.v, edges) / np.diff(np.append(edges, flow.v.size))
    usual = usual_day(t, v, BLOCK)
    return lambda at: np.asarray(np.interp(at, t, usual))


def _at_no_flow(outlet: Series, flow: Series) -> float:
    """Return the outlet's usual level at the lowest tenth of the flows that pass."""
    q = at_times(flow, outlet.t)
    passing = np.isfinite(q) & (q > STILL.si * float(np.mean(flow.v)))
    low = passing & (q <= np.quantile(q[passing], 0.1)) if passing.any() else passing
    return float(np.quantile(outlet.v[low], 0.75)) if low.any() else float(np.max(outlet.v))


def _fed(outlet: Series, inlet: Series, one: _Still, level: float) -> float | None:
    part = within(outlet, one.start + 2.0 * outlet.step, one.end)
    if part.size < 4:
        return None
    rise = float(np.median(part)) - level
    least = max(BACKFEED_RISE.si, 6.0 * outlet.scatter)
    if rise < least or deviation(part) > BACKFEED_STEADY.si * rise:
        return None
    quarter = max(part.size // 4, 1)
    sinks = float(np.median(part[:quarter]) - np.median(part[-quarter:])) > SINKS * rise
    before_stop = within(outlet, one.start - BEFORE, one.start - 0.5 * outlet.step)
    rose_first = before_stop.size > 0 and float(np.max(before_stop)) > level + 0.5 * rise
    if sinks or rose_first or float(np.quantile(part, 0.05)) < level + 0.5 * rise:
        return None
    supply = within(inlet, one.start, one.end)
    before = within(inlet, one.start - DAY, one.start)
    if supply.size < 2 or before.size < 8:
        return None
    return rise if float(np.median(supply)) > float(np.quantile(before, 0.05)) - BACKFEED_RISE.si else None


def _told(scene: Scene, outlet: Series, one: _Still, rise: float) -> Happening:
    flow = scene.flow
    back = flow is not None and float(np.median(within(flow, one.start, one.end))) < 0.0
    flows = "water flows backwards" if back else "no water flows"
    words = (
        f"For {lasting(one.end - one.start)} the outlet stands {bar(rise)} above its level at low flow and "
        f"{flows} through the station: another source feeds the zone (likely)."
    )
    why = ("no flow at an hour that has some", "outlet steady above", "inlet as usual")
    ids = tuple(s.id for s in (outlet, flow, scene.inlet) if s is not None)
    times = (moment(one.start), moment(one.end))
    return Happening(Event.BACKFEED, times[0], times[1], ids, rise, "Pa", words, why, "likely")


def without_fed(tripped: Sequence[Happening], fed: Sequence[Happening]) -> list[Happening]:
    """Return trips less those told from a stop of the flow that another source explains."""
    spans = [(h.start.timestamp(), h.end.timestamp()) for h in fed]
    return [
        h
        for h in tripped
        if SWITCH in h.evidence or not touches(h.start.timestamp(), h.end.timestamp(), spans)
    ]
