"""Trips of the shut-off: first sign, closing, reset; and the closing again after the reset."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from steadyhead.records.logger import Context
from steadyhead.watch.defects.defaults import MAD_TO_DEVIATION
from steadyhead.watch.defects.episode import Confidence, moment
from steadyhead.watch.defects.saying import bar, lasting
from steadyhead.watch.defects.series import Floats, Marks, Series, at_times, stretches, within
from steadyhead.watch.gauge_height import at_gauge
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import (
    AGAIN,
    CLOCKS_APART,
    CLOSED_LEAST,
    DRAINED,
    RISE,
    RISE_CLEAR,
    RISE_TIME,
    STILL,
)
from steadyhead.watch.happening.event import Event, Happening

HOUR = 3600.0
SWITCH = "switch of the shut-off"
"""Evidence of a trip that its switch tells."""
QUICK = 6.0
"""Time over the usual level over that of the upper half of the rise from which a level stood there before.
A straight rise has 2, one that grows tenfold as it goes about 4."""
DENIED = "the switch stayed at open: it contradicts"
DENIED_RISE = 0.5e5
"""Least rise of the outlet before a closing that its switch denies, where no trip is known. Own. [Pa]"""
SELDOM = 0.1
"""Share of the time without flow beyond which a stop of the flow says nothing."""


@dataclass(frozen=True, slots=True)
class Closing:
    """One closing: last open sample, first closed one, first open one after (None: closed to the end). [s]"""

    before: float
    start: float
    end: float | None
    last: float
    switch: bool
    denied: bool = False
    """Whether a switch stayed at open throughout."""


def found(scene: Scene, context: Context) -> list[Happening]:
    """Return the trips, from first sign to the last reset, and each closing again within an hour after one.

    Method (design handbook 6.4, 6.5): the switch of the shut-off says when; without a switch the flow stops
    while the outlet had risen before, and the outlet then decays or stands. The first sign is the first
    sample at which the outlet stands over what it was before. A switch that says closed while flow passes is
    not believed; one that stays at open is not either where the outlet rose to the trip ahead of the flow's
    end and then fell below what the reducer holds though the inlet stood: that is told less surely.
    """
    closings = _by_flow(scene)
    if scene.closed is not None:
        denied = [replace(one, denied=True) for one in closings if _denied(scene, one, context)]
        closings = sorted(_by_switch(scene) + denied, key=lambda one: one.start)
    out: list[Happening] = []
    for one in closings:
        last = out[-1].end.timestamp() if out else -np.inf
        if one.start - last > AGAIN.si:
            out.append(_told(scene, one, context, None))
            continue
        second = _told(scene, one, context, last)
        out.append(second)
        k = max(k for k, h in enumerate(out) if h.code is Event.TRIP)
        peak = max((p for p in (out[k].magnitude, second.magnitude) if p is not None), default=None)
        words = f"{out[k].words} It was reset and closed again."
        out[k] = replace(out[k], end=second.end, magnitude=peak, words=words)
    return out


def _by_switch(scene: Scene) -> list[Closing]:
    closed = scene.closed
    if closed is None:
        return []
    out = []
    shut = closed.v > 0.5
    if shut.all():
        return []
    for first, after in stretches(shut):
        if first == 0:
            continue
        end = float(closed.t[after]) if after < closed.t.size else None
        one = Closing(
            float(closed.t[first - 1]), float(closed.t[first]), end, float(closed.t[after - 1]), True
        )
        if not _flows(scene.flow, one):
            out.append(one)
    return out


def _flows(flow: Series | None, one: Closing) -> bool:
    """Return whether flow passes while the switch says closed. A mean may hold flow of before and after."""
    if flow is None:
        return False
    inner = within(flow, one.start + 1.01 * flow.step, one.last - 0.01 * flow.step)
    usual = float(np.median(flow.v))
    return inner.size >= 2 and usual > 0.0 and float(np.median(inner)) > 0.3 * usual


def _by_flow(scene: Scene) -> list[Closing]:
    flow, outlet = scene.flow, scene.outlet
    if outlet is None:
        return []
    if flow is None:
        still = outlet.v < 0.5 * float(np.median(outlet.v))
        of = outlet
    else:
        usual = float(np.median(flow.v))
        still = flow.v < STILL.si * usual
        of = flow
        if _share_of_time(flow.t, still) > SELDOM:
            return []
    out = []
    for first, after in stretches(still):
        end = float(of.t[after]) if after < of.t.size else None
        if first == 0 or float(of.t[after - 1]) - float(of.t[first]) + of.step < CLOSED_LEAST.si:
            continue
        one = Closing(float(of.t[first - 1]), float(of.t[first]), end, float(of.t[after - 1]), False)
        if (_rose(scene, one) or _drained(scene, one)) and not _no_supply(scene, one):
            out.append(one)
    return out


def _denied(scene: Scene, one: Closing, context: Context) -> bool:
    """Return whether a closing that the flow tells is one though the switch stays at open.

    A zone without demand has no flow either, but its outlet stays up: below what the reducer holds it would
    open and feed. Only an outlet that rose to the trip and then falls so without flow has a shut valve
    before it.
    """
    closed, outlet = scene.closed, scene.outlet
    if closed is None or outlet is None or scene.flow is None or scene.inlet is None:
        return False
    if not _stays_open(closed, one):
        return False
    near = within(outlet, one.start - 2.0 * HOUR, one.start + _late(scene, one, outlet))
    usual, trip = within(outlet, one.start - RISE_TIME.si, one.start - HOUR), context.known.trip
    if not near.size or usual.size <= 5:
        return False
    high = float(np.quantile(usual, 0.98)) + DENIED_RISE
    if trip is not None:
        high = trip - max(RISE_CLEAR.si, 0.05 * trip)
    part = within(outlet, one.start + _late(scene, one, outlet), one.last)
    held = float(np.quantile(outlet.v, 0.02)) - max(RISE_CLEAR.si, 8.0 * outlet.scatter)
    return _rose(scene, one) and float(np.max(near)) >= high and part.size > 2 and float(np.min(part)) < held


def _stays_open(closed: Series, one: Closing) -> bool:
    """Return whether the switch says open from before to after a closing, and has said so throughout."""
    part = within(closed, one.start - AGAIN.si, one.last + AGAIN.si)
    k = int(np.searchsorted(closed.t, one.start, side="right")) - 1
    if k < 0 or closed.v[k] > 0.5 or bool(np.any(part > 0.5)):
        return False
    return not closed.regular or within(closed, one.start, one.last).size > 0


def _share_of_time(t: Floats, marks: Marks) -> float:
    """Return the share of the time from one sample to the next in which the marks are set."""
    between = np.diff(t)
    return float(np.sum(between[marks[:-1]]) / max(float(np.sum(between)), 1.0))


def _rose(scene: Scene, one: Closing) -> bool:
    outlet = scene.outlet
    if outlet is None:
        return False
    before = within(outlet, one.start - RISE_TIME.si - 6.0 * HOUR, one.start - RISE_TIME.si)
    usual = float(np.quantile(outlet.v, 0.95))
    usual = max(usual, float(np.quantile(before, 0.98))) if before.size > 5 else usual
    near = within(outlet, one.start - 2.0 * HOUR, one.start + _late(scene, one, outlet))
    high = usual + max(RISE_CLEAR.si, 8.0 * outlet.scatter)
    return near.size > 0 and float(np.max(near)) > high


def _late(scene: Scene, one: Closing, outlet: Series) -> float:
    """Return how far behind a closing the outlet may show what led to it: two samples, or a clock. [s]"""
    teller = scene.closed if one.switch else scene.flow
    shared = teller is None or bool(set(teller.channel.source_sha256) & set(outlet.channel.source_sha256))
    return 2.0 * outlet.step if shared else max(2.0 * outlet.step, CLOCKS_APART.si)


def _drained(scene: Scene, one: Closing) -> bool:
    """Return whether the outlet falls away while the inlet stands as usual and no flow passes."""
    if scene.outlet is None or scene.inlet is None or scene.flow is None:
        return False
    part = within(scene.outlet, one.start, one.last)
    return part.size > 1 and float(np.min(part)) < DRAINED.si * float(np.median(scene.outlet.v))


def _no_supply(scene: Scene, one: Closing) -> bool:
    if scene.inlet is None:
        return False
    part = within(scene.inlet, one.start, one.last)
    return part.size > 0 and float(np.median(part)) < 0.6 * float(np.median(scene.inlet.v))


def _first_sign(
    outlet: Series, one: Closing, since: float | None, late: float
) -> tuple[float, float | None, bool]:
    """Return the first sign before a closing, the highest outlet about it, and whether it rose.

    late: how far behind the closing the outlet may show it, where another clock stamped it. [s]
    """
    c = int(np.searchsorted(outlet.t, one.start))
    if late > 2.0 * outlet.step:
        k = int(np.searchsorted(outlet.t, one.start + late))
        c = min(c + int(np.argmax(outlet.v[c:k])), outlet.v.size - 1) if k > c else c
    first = int(np.searchsorted(outlet.t, max(one.start - RISE_TIME.si, since or -np.inf)))
    calm = outlet.v[int(np.searchsorted(outlet.t, one.start - RISE_TIME.si - 6.0 * HOUR)) : max(first, 1)]
    calm = calm if calm.size > 5 and since is None else outlet.v
    usual = float(np.median(calm))
    spread = float(MAD_TO_DEVIATION * np.median(np.abs(calm - usual)))
    limit = usual + max(RISE.si, 5.0 * spread)
    near = outlet.v[first : min(c + 2, outlet.v.size)]
    if not near.size:
        return one.start, None, False
    peak = float(np.max(near[-max(3, min(near.size, 60)) :])) if since is None else float(np.max(near))
    i = min(c, outlet.v.size - 1)
    if outlet.v[i] <= limit and i > 0 and outlet.v[i - 1] > limit:
        i -= 1
    if outlet.v[i] <= limit:
        return one.start, peak, False
    i = _rise_alone(outlet, _back(outlet.v, i, first, limit), c, usual)
    peak = float(np.max(outlet.v[i : c + 2])) if since is None else peak
    return min(float(outlet.t[i]), one.start), peak, True


def _back(v: Floats, i: int, first: int, limit: float) -> int:
    """Return the first of the samples over a limit that hang together up to one of them."""
    while i > first and v[i - 1] > limit:
        i -= 1
    return i


def _rise_alone(outlet: Series, i: int, c: int, usual: float) -> int:
    """Return the sample from which the outlet rose; `i`: the first of those over the usual level up to `c`.

    A level that stood over it before, as that of a night over the evening's, is no rise: where the upper half
    of the rise took a small part of the time only, the way back ends over that level.
    """
    t, v = outlet.t, outlet.v
    top = i + int(np.argmax(v[i : c + 2]))
    half = _back(v, top, i, 0.5 * (usual + float(v[top])))
    if t[top] - t[i] <= QUICK * (t[top] - t[half] + 2.0 * outlet.step) or half - i < 4:
        return i
    level = float(np.median(v[i:half]))
    spread = float(MAD_TO_DEVIATION * np.median(np.abs(v[i:half] - level)))
    limit = level + max(RISE.si, 5.0 * spread)
    return _back(v, top, i, limit) if v[top] > limit else i


def _told(scene: Scene, one: Closing, context: Context, last: float | None) -> Happening:
    outlet = scene.outlet
    start, peak, rose = (one.start, None, False)
    if outlet is not None:
        start, peak, rose = _first_sign(outlet, one, last, _late(scene, one, outlet))
    if last is not None:
        start = last
    end = one.end if one.end is not None else one.last
    ids = tuple(
        s.id
        for s in (outlet, scene.closed if one.switch or one.denied else None, scene.flow)
        if s is not None
    )
    words, why = _words(scene, one, (start, peak, rose), context, again=last is not None)
    code = Event.TRIPPED_AGAIN if last is not None else Event.TRIP
    sure: Confidence = "certain" if one.switch or (rose and not one.denied) else "likely"
    times = tuple(moment(x) for x in (start, one.start, one.end) if x is not None)
    unit = "Pa" if peak is not None else ""
    return Happening(code, moment(start), moment(end), ids, peak, unit, words, why, sure, times)


def _words(
    scene: Scene, one: Closing, sign: tuple[float, float | None, bool], context: Context, *, again: bool
) -> tuple[str, tuple[str, ...]]:
    start, peak, rose = sign
    shut = "closed again after the reset" if again else "closed"
    high = f"; the outlet reached {bar(peak)}" if peak is not None else ""
    length = f" for {lasting(one.end - one.start)}" if one.end is not None else " and stays closed"
    doubt = f" (likely, by flow and outlet); {DENIED}" if one.denied else ""
    words = [f"The shut-off {shut}{length}{high}{doubt}."]
    words.append(_before(scene, one, start, rose=rose, again=again))
    unseen = DENIED if one.denied else "no switch is recorded"
    why = [SWITCH if one.switch else f"no flow while the inlet stands; {unseen}"]
    step = one.start - one.before
    why.append(f"closing between two samples {lasting(step)} apart")
    if rose:
        why.append("outlet above before")
    trip = context.known.trip
    if trip is not None and peak is not None and peak < trip - max(RISE_CLEAR.si, 0.05 * trip):
        why.append(
            f"highest sample below the trip of {bar(trip)}{at_gauge(context.known.height)}: "
            "the peak lies between samples, or it tripped low"
        )
    return " ".join(w for w in words if w), tuple(why)


def _before(scene: Scene, one: Closing, start: float, *, rose: bool, again: bool) -> str:
    """Return what was seen before it; what it may be the table of signatures tells (`watch.incident`)."""
    if again:
        return "The zone had been filling since the reset."
    if not rose:
        return (
            "No rise of the outlet is seen before: it lies between samples, or the trip was no overpressure."
        )
    if _inlet_leapt(scene.inlet, start):
        return "The inlet leapt at the same time."
    flow = scene.flow
    low = False
    if flow is not None:
        before = within(flow, start - HOUR, start)
        low = before.size > 0 and float(np.median(before)) <= float(np.quantile(flow.v, 0.15))
    if low and one.start - start >= 900.0:
        return "The outlet crept up at the lowest flow."
    travel = scene.travel
    if travel is not None:
        now = at_times(travel, np.array([one.before, one.start]), 2.5 * travel.step)
        usual = within(travel, start - 2.0 * HOUR, start - 0.5 * travel.step)
        if usual.size and np.nanmax(np.append(now, -1.0)) > float(np.max(usual)) + 0.05:
            return "The reducer opened while the outlet rose."
    return (
        "The outlet rose within "
        + lasting(max(one.start - start, scene.outlet.step if scene.outlet else 0.0))
        + "."
    )


def _inlet_leapt(inlet: Series | None, start: float) -> bool:
    if inlet is None:
        return False
    near = within(inlet, start - 1.5 * inlet.step, start + 0.5 * inlet.step)
    before = within(inlet, start - HOUR, start - 2.0 * inlet.step)
    if not near.size or before.size < 3:
        return False
    leap = max(0.5e5, 3.0 * float(np.ptp(before)))
    return float(np.max(near)) > float(np.max(before)) + leap
