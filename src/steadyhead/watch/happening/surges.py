"""Surge: a short real pressure event, seen in the inlet and in the outlet."""

from __future__ import annotations

import numpy as np

from steadyhead.watch.defects import apart
from steadyhead.watch.defects.episode import Confidence, moment
from steadyhead.watch.defects.levels import hourly
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats, Series, within
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import (
    SURGE_DRAWN,
    SURGE_LEAST,
    SURGE_OUTLET,
    SURGE_SIGMAS,
    SURGE_SIGMAS_OUTLET,
    SURGE_SIGMAS_WITNESSED,
    SURGE_TIME,
)
from steadyhead.watch.happening.event import Event, Happening
from steadyhead.watch.happening.straining import Resistance
from steadyhead.watch.happening.usual import Spans, touches

SLOW = 50.0
"""From this interval on a surge is one sample. [s]"""
BACK = 0.35
"""Share of the height that may be left after it."""
BACK_SLOW = 0.5
"""The same where samples lie minutes apart: the inlet goes its way in between."""
STANDS_OUT = 3.0
"""Height over the spread of the samples about it."""
CLEAR = 12.0
"""Answer of the outlet over its scatter from which a lower surge of a noisy inlet is believed."""
APART = 60.0
"""Excursions closer than this are one surge. [s]"""


def found(scene: Scene, line: Resistance | None, aside: Spans) -> list[Happening]:
    """Return the short excursions of the inlet that the outlet shows at the same time.

    Method (own; design handbook 6.2, 6.5): the inlet stands off the median about it for one sample, or for
    up to three minutes, and comes back; the outlet moves to the same side within one interval. What the
    inlet shows alone is a matter of its sensor; an inlet that dips while flow is drawn is no surge. Two
    loggers may each have a clock of their own: how far these stand apart is told first (`apart`).
    """
    inlet, outlet = scene.inlet, scene.outlet
    if inlet is None or outlet is None or inlet.t.size < 50 or not inlet.regular:
        return []
    off = _off(inlet)
    high = max(SURGE_LEAST.si, SURGE_SIGMAS.si * inlet.scatter, 4.0 * inlet.grain)
    some = max(SURGE_LEAST.si, SURGE_SIGMAS_WITNESSED.si * inlet.scatter, 4.0 * inlet.grain)
    clocks = apart.between(inlet, outlet)
    out = []
    for first, last in _grouped(inlet, off, some):
        start, end = float(inlet.t[first]), float(inlet.t[last])
        if touches(start, end, aside):
            continue
        height = _height(inlet, first, last)
        if height is None or abs(height) < some or _drawn(scene, line, start, end, height):
            continue
        answer = _answer(outlet, start - 0.1, end + 0.1, height)
        late = None if answer is not None or clocks is None else clocks
        if late is not None:
            reach = 0.1 + 0.5 * late.spread
            answer = _answer(outlet, start + late.lag - reach, end + late.lag + reach, height)
        if answer is None or (abs(height) < high and abs(answer) < CLEAR * outlet.scatter):
            continue
        out.append(_told(inlet, outlet, (start, end), (height, answer), late))
    return out


def _off(one: Series) -> Floats:
    if one.step >= SLOW:
        a, b, c, d = one.v[:-4], one.v[1:-3], one.v[3:-1], one.v[4:]
        low = np.minimum(np.minimum(a, b), np.minimum(c, d))
        high = np.maximum(np.maximum(a, b), np.maximum(c, d))
        out = np.zeros(one.v.shape)
        out[2:-2] = one.v[2:-2] - 0.5 * (a + b + c + d - low - high)
        return out
    t, v = hourly(one.t, one.v, max(SURGE_TIME.si, 7.0 * one.step))
    return one.v - np.interp(one.t, t, v)


def _grouped(one: Series, off: Floats, high: float) -> list[tuple[int, int]]:
    """Return first and last sample of each excursion; at slow sampling each stands alone."""
    size = np.abs(off)
    if one.step >= SLOW:
        peak = size > high
        peak[1:] &= size[1:] >= size[:-1]
        peak[:-1] &= size[:-1] >= size[1:]
        return [(i, i) for i in np.flatnonzero(peak).tolist()]
    out: list[tuple[int, int]] = []
    for i in np.flatnonzero(size > high).tolist():
        if out and one.t[i] - one.t[out[-1][1]] <= max(APART, one.step * 1.01):
            out[-1] = (out[-1][0], i)
        else:
            out.append((i, i))
    return out


def _height(one: Series, first: int, last: int) -> float | None:
    """Return the height over before, or None where the level stays or the samples about it are as wild."""
    n = max(3, int(120.0 / one.step))
    before, after = one.v[max(0, first - n) : first], one.v[last + 1 : last + 1 + n]
    if before.size < 2 or after.size < 2 or one.t[last] - one.t[first] > SURGE_TIME.si:
        return None
    base, later = float(np.median(before)), float(np.median(after))
    left = abs(later - base)
    if one.step >= SLOW:
        base = 0.5 * (base + later)
    inside = one.v[first : last + 1] - base
    height = float(inside[int(np.argmax(np.abs(inside)))])
    wild = max(_spread(before), _spread(after))
    if left > (BACK if one.step < SLOW else BACK_SLOW) * abs(height) or abs(height) < STANDS_OUT * wild:
        return None
    return height


def _spread(v: Floats) -> float:
    low, high = np.quantile(v, (0.1, 0.9))
    return float(high - low)


def _answer(outlet: Series, start: float, end: float, height: float) -> float | None:
    """Return what the outlet does to the same side at the same time, or None where it does nothing."""
    reach = 1.05 * outlet.step
    here = within(outlet, start - reach, end + reach)
    n = max(5.0 * outlet.step, 120.0)
    beside = np.concatenate(
        [within(outlet, start - reach - n, start - reach), within(outlet, end + reach, end + reach + n)]
    )
    if not here.size or beside.size < 4:
        return None
    off = (here - float(np.median(beside))) * np.sign(height)
    most = float(np.max(off))
    least = max(
        SURGE_OUTLET.si, SURGE_SIGMAS_OUTLET.si * outlet.scatter, 2.0 * outlet.grain, 1.5 * _spread(beside)
    )
    return most * float(np.sign(height)) if most > least else None


def _drawn(scene: Scene, line: Resistance | None, start: float, end: float, height: float) -> bool:
    """Return whether a change of the flow goes with it: by what the flow costs, or by a draw of its own."""
    flow = scene.flow
    if flow is None:
        return False
    here = within(flow, start - 0.1, end + 1.05 * flow.step)
    before = within(flow, start - 6.0 * flow.step, start - 0.5 * flow.step)
    if not here.size or before.size < 2:
        return False
    after = within(flow, end + 1.1 * flow.step, end + 5.0 * flow.step)
    usual = float(np.median(before))
    if height < 0.0 and after.size:
        usual = max(usual, float(np.median(after)))
    q = float(np.max(here)) if height < 0.0 else float(np.min(here))
    k = float(np.interp(start, line.t, np.maximum(line.k, 0.0))) if line is not None and line.t.size else 0.0
    if -k * (q**2 - usual**2) * np.sign(height) > SURGE_DRAWN.si * abs(height):
        return True
    return height < 0.0 and q > usual + max(0.3 * usual, 5.0 * flow.scatter)


def _told(
    inlet: Series,
    outlet: Series,
    span: tuple[float, float],
    sizes: tuple[float, float],
    late: apart.Apart | None,
) -> Happening:
    """late: how far the clocks of two loggers stand apart, where the outlet's answer is found only so."""
    (start, end), (height, answer) = span, sizes
    side = "over" if height > 0.0 else "under"
    words = (
        f"The inlet goes {bar(abs(height))} {side} before and comes back; "
        f"the outlet moves by {bar(abs(answer))} with it."
    )
    why: tuple[str, ...] = (
        "inlet and outlet to the same side at once",
        f"sampled every {inlet.step:g} s: the true peak may be higher",
    )
    sure: Confidence = "certain"
    if late is not None:
        is_single = late.number < 2
        likely = ", likely: this one alone tells it" if is_single else f", by {late.number} such excursions"
        words += f" The {late.words}{likely}."
        sure = "likely" if is_single else "certain"
        behind = "after" if late.lag > 0.0 else "before"
        why = (*why, f"{late.words}: the outlet's stamps come {behind} the inlet's")
    return Happening(
        Event.SURGE, moment(start), moment(end), (inlet.id, outlet.id), height, "Pa", words, why, sure
    )
