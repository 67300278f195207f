"""An outlet that stands over the trip while the shut-off is not seen to close: protection did not act."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from steadyhead.records.logger import Context
from steadyhead.watch.defects.episode import moment
from steadyhead.watch.defects.saying import bar, lasting
from steadyhead.watch.defects.series import Floats, Series, at_times, stretches
from steadyhead.watch.gauge_height import at_gauge
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import OVER_GAUGE, OVER_LONG, OVER_TIME, OVER_TRIP
from steadyhead.watch.happening.event import Event, Happening

APART = 1800.0
"""Time below the trip after which it is another event. [s] Own estimate."""
BACK, RISING = 6.0 * 3600.0, 0.2
"""How far before it the rise is looked for [s]; share of the way to the trip from which it is one. Own
estimates."""
BESIDE = 600.0
"""What lies this near to a closing of the shut-off belongs to it. [s] Own estimate."""
OFTEN = 0.2
"""Share of the record over the trip from which trip or gauge may be another. Own estimate."""
MOSTLY = "a fifth of the record and more"
"""Evidence of one that may be another trip or gauge: nothing is held against it."""
STILL = 0.05
"""Flow over its median below which none passes."""


def found(scene: Scene, context: Context, tripped: Sequence[Happening]) -> list[Happening]:
    """Return the times in which the outlet stands over the trip and the shut-off does not close.

    Method (own): over the trip's upper edge for two samples in a row and `OVER_TIME` at least, so that
    neither a surge nor the time the shut-off takes to close is one; or within its tolerance for `OVER_LONG`
    at least. Times about a closing that is told (`tripped`), and those in
    which its switch says closed, are none. Where the upper edge is not known it is `OVER_TRIP` of the trip
    above it.
    """
    outlet, trip = scene.level(scene.outlet), context.known.trip
    if outlet is None or trip is None or outlet.t.size < 3:
        return []
    edge = context.known.trip_upper
    if edge is None:
        edge = trip + OVER_TRIP.si * trip
    over = outlet.v > trip + OVER_GAUGE.si
    over &= ~_closed(scene, outlet.t)
    for one in tripped:
        reach = (one.start.timestamp() - BESIDE, one.end.timestamp() + BESIDE)
        over &= (outlet.t < reach[0]) | (outlet.t > reach[1])
    spans = [(first, after) for first, after in stretches(over) if after - first > 1]
    often = float(np.mean(over)) > OFTEN
    out: list[Happening] = []
    for first, after in _joined(outlet.t, spans):
        kept = over[first:after]
        t, v = outlet.t[first:after][kept], outlet.v[first:after][kept]
        span, high = (float(t[0]), float(t[-1])), t[v > edge]
        beyond = high.size > 1 and float(high[-1] - high[0]) + outlet.step >= OVER_TIME.si
        if beyond or span[1] - span[0] + outlet.step >= OVER_LONG.si:
            top = float(np.max(v))
            out.append(_told(scene, context, span, (top, edge), often=often))
    return out


def _joined(t: Floats, spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    out: list[tuple[int, int]] = []
    for first, after in spans:
        if out and float(t[first] - t[out[-1][1] - 1]) < APART:
            out[-1] = (out[-1][0], after)
        else:
            out.append((first, after))
    return out


def _closed(scene: Scene, t: Floats) -> np.ndarray:
    """Return where the switch of the shut-off says closed, and what follows within ten minutes."""
    if scene.closed is None:
        return np.zeros(t.shape, dtype=bool)
    said = np.nan_to_num(at_times(scene.closed, t, np.inf)) > 0.5
    times = t[said]
    if not times.size:
        return said
    at = np.searchsorted(times, t)
    behind = t - times[np.maximum(at - 1, 0)]
    ahead = times[np.minimum(at, times.size - 1)] - t
    near: np.ndarray = said | ((behind >= 0.0) & (behind < BESIDE)) | ((ahead >= 0.0) & (ahead < BESIDE))
    return near


def _told(
    scene: Scene, context: Context, span: tuple[float, float], of: tuple[float, float], *, often: bool
) -> Happening:
    outlet, trip = scene.outlet, context.known.trip
    assert outlet is not None
    assert trip is not None
    (start, end), (top, edge) = span, of
    flows = _flows(scene.flow, start, end)
    acts = "and the shut-off is not seen to close"
    if flows is False:
        acts = "and no flow passes, so that it is not told whether the shut-off closed"
    words = (
        f"For {lasting(end - start + outlet.step)} the outlet stands over the trip of "
        f"{bar(trip)}{at_gauge(context.known.height)}, at up to {bar(top)}, {acts}. "
        "Protection may have failed: look at the gauge, prove the trip, and find what raised the outlet."
    )
    if top <= edge:
        words += f" It stays within the trip's tolerance, below {bar(edge)}."
    if often:
        words += (
            " A fifth of the record and more stands there: the trip on file, or the gauge, may be another."
        )
    why = [f"over the trip, {bar(trip)}, upper edge {bar(edge)}", "two samples in a row and more"]
    if scene.closed is not None:
        why.append("the switch of the shut-off stays at open")
    if flows:
        why.append("water flows meanwhile")
    ids = tuple(s.id for s in (outlet, scene.flow, scene.closed) if s is not None)
    if often:
        why.append(MOSTLY)
    times = (moment(start), moment(end))
    began = moment(_began(outlet, start, trip))
    return Happening(Event.OVER_TRIP, began, times[1], ids, top, "Pa", words, tuple(why), "likely", times)


def _began(outlet: Series, start: float, trip: float) -> float:
    """Return the first sample of the rise that led over the trip, `BACK` before it at most. [s]"""
    t, v = outlet.t, outlet.v
    before = (t >= start - BACK) & (t < start)
    if np.count_nonzero(before) < 2:
        return start
    base = float(np.median(v[before]))
    calm = t[before][v[before] <= base + RISING * max(trip - base, 0.0)]
    if not calm.size:
        return start
    return float(t[int(np.searchsorted(t, calm[-1], side="right"))])


def _flows(flow: Series | None, start: float, end: float) -> bool | None:
    """Return whether water flows in a span; None: no flow is recorded there."""
    if flow is None:
        return None
    inside = flow.v[(flow.t >= start - flow.step) & (flow.t <= end + flow.step)]
    if not inside.size:
        return None
    return bool(float(np.median(inside)) > STILL * float(np.median(flow.v)))
