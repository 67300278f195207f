"""Supply loss: the inlet falls away."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from steadyhead.watch.defects.episode import moment
from steadyhead.watch.defects.saying import bar, lasting
from steadyhead.watch.defects.series import Floats, Series, stretches, within
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import SUPPLY_FALL, SUPPLY_FALL_SPREAD, SUPPLY_HELD, SUPPLY_TIME
from steadyhead.watch.happening.event import Event, Happening
from steadyhead.watch.happening.straining import Resistance, drawn
from steadyhead.watch.happening.usual import DAY, Spans, touches

HOUR = 3600.0


def found(scene: Scene, line: Resistance | None, aside: Spans) -> list[Happening]:
    """Return the times at which the inlet falls away with no draw to explain it.

    Method (design handbook 6.5): the inlet with what the flow costs before it given back (`line`: resistance
    by day), so that a burst, a peak or a blinding strainer is none; usual low = median over days of each
    day's second percentile; the fall is taken against it and against the usual daily fall. The ends are moved
    outwards to where the inlet leaves the usual.
    """
    inlet = scene.inlet
    if inlet is None or inlet.t.size < 50:
        return []
    free = inlet.v + drawn(inlet.t, scene.flow, line)
    low, level = _usual_low(inlet.t, free)
    if low <= 0.0:
        return []
    limit = low - max(SUPPLY_FALL.si * low, SUPPLY_FALL_SPREAD.si * (level - low))
    edge = low - 0.25 * (low - limit)
    least = SUPPLY_HELD.si if inlet.channel.hold == "step" else SUPPLY_TIME.si
    out = []
    taken = -np.inf
    for first, last in _bridged(inlet.t, stretches((free < limit) & (inlet.v < limit))):
        a, b = first, last - 1
        while a > 0 and free[a - 1] < edge and inlet.t[a] - inlet.t[a - 1] < HOUR:
            a -= 1
        while b < inlet.t.size - 1 and free[b + 1] < edge and inlet.t[b + 1] - inlet.t[b] < HOUR:
            b += 1
        start, end = float(inlet.t[a]), float(inlet.t[min(b + 1, inlet.t.size - 1)])
        if b - a < 1 or inlet.t[b] - start < least:
            continue
        end = end if end - inlet.t[b] < 1.5 * inlet.step else float(inlet.t[b])
        if start <= taken or touches(start, end, aside):
            continue
        taken = end
        out.append(
            _told(scene, inlet, start, end, float(np.min(inlet.v[a : b + 1])), float(np.median(inlet.v)))
        )
    return out


def _usual_low(t: Floats, v: Floats) -> tuple[float, float]:
    edges = np.searchsorted(t, np.arange(t[0], t[-1] + DAY, DAY)).tolist()
    lows = [float(np.quantile(v[a:b], 0.02)) for a, b in pairwise(edges) if b - a > 20]
    level = float(np.median(v))
    if len(lows) < 3:
        return float(np.quantile(v, 0.2)), level
    return float(np.median(lows)), level


def _bridged(t: Floats, spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    out: list[tuple[int, int]] = []
    for first, last in spans:
        if out and t[first] - t[out[-1][1] - 1] < 1800.0:
            out[-1] = (out[-1][0], last)
        else:
            out.append((first, last))
    return out


def _told(scene: Scene, inlet: Series, start: float, end: float, lowest: float, level: float) -> Happening:
    ids, why = [inlet.id], [f"inlet usually about {bar(level)}"]
    outlet = scene.outlet
    if outlet is not None:
        here = within(outlet, start, end)
        if here.size and float(np.min(here)) < 0.9 * float(np.median(outlet.v)):
            ids.append(outlet.id)
            why.append(f"outlet followed down to {bar(float(np.min(here)))}")
    if scene.flow is not None:
        ids.append(scene.flow.id)
        why.append("no extra flow")
    words = f"The inlet falls to {bar(lowest)} for {lasting(end - start)}: the supply is lost or nearly so."
    return Happening(
        Event.SUPPLY_LOSS, moment(start), moment(end), tuple(ids), lowest, "Pa", words, tuple(why)
    )
