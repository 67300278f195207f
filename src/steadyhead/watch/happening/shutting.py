"""The shut-off's resistance: stepped, for it is not fully open; or grown over weeks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from steadyhead.watch.defects.episode import moment
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats, Series
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import (
    SHUT_OFF_LOSS,
    SHUT_OFF_RATIO,
    SHUT_OFF_SHARP,
    SHUT_OFF_SIGMAS,
)
from steadyhead.watch.happening.event import Event, Happening
from steadyhead.watch.happening.straining import together
from steadyhead.watch.happening.usual import DAY, Spans, deviation, grown, rank_with_time

LEAST_DAYS = 6
LEAST_BLOCKS = 40
QUIET = 0.1
"""Most scatter about the growth, as a share of it."""


@dataclass(frozen=True, slots=True)
class _Days:
    """Resistance by day, zero point and scatter taken out: middle [s], k [Pa s²/m⁶], standard error."""

    t: Floats
    k: Floats
    error: Floats


def found(scene: Scene, aside: Spans) -> list[Happening]:
    """Return the growth of the shut-off's resistance: at once (not fully open), or over the days.

    Method (design handbook 6.4, 6.5): loss from the inlet to between the valves against flow squared, day by
    day, with the zero point of the two gauges free: a gauge that walks moves no slope. For a shut-off before
    the reducer.
    """
    inlet, middle, flow = scene.inlet, scene.middle, scene.flow
    if inlet is None or middle is None or flow is None or {inlet.id, middle.id} & scene.unsure:
        return []
    t, loss, square = _losses(inlet, middle, flow, aside)
    days = _by_day(t, loss, square)
    if days is None:
        return []
    high = float(np.quantile(square, 0.95))
    got = _stepped(days, high) or _growing(days, high)
    if got is None:
        return []
    event, start, end, ratio, added = got
    ids = (middle.id, inlet.id, flow.id)
    if event is Event.PARTLY_SHUT:
        start = _sharpened(t, loss - _zero(days, t, loss, square), square, start)
        words = (
            f"The resistance of the shut-off steps to {ratio:.1f} times what it was, {bar(added)} more at "
            "high flow: it is not fully open (likely)."
        )
    else:
        words = (
            f"The resistance of the shut-off grows to {ratio:.1f} times what it was, {bar(added)} more at "
            "high flow: something gathers in it, or it sinks (likely)."
        )
    why = (
        f"{days.t.size} days",
        "loss from inlet to between the valves over flow squared",
        "zero points free",
    )
    return [Happening(event, moment(start), moment(end), ids, ratio, "ratio", words, why, "likely")]


def _losses(inlet: Series, middle: Series, flow: Series, aside: Spans) -> tuple[Floats, Floats, Floats]:
    t, before, q = together(inlet, flow, aside)
    there, after, _ = together(middle, flow, aside)
    common, a, b = np.intersect1d(t, there, return_indices=True)
    return common, before[a] - after[b], q[a] ** 2


def _by_day(t: Floats, loss: Floats, square: Floats) -> _Days | None:
    day = np.floor(t / DAY)
    rows = []
    for d in np.unique(day).tolist():
        at = day == d
        if np.count_nonzero(at) >= LEAST_BLOCKS:
            rows.append((float(np.mean(t[at])), *_slope(square[at], loss[at])))
    return _Days(*np.array(rows).T) if len(rows) >= LEAST_DAYS else None


def _slope(x: Floats, y: Floats) -> tuple[float, float]:
    """Return slope with free zero point, large residuals limited, and its standard error."""
    about = x - float(np.mean(x))
    weight = np.ones(x.size)
    k = scale = 0.0
    for _ in range(6):
        middle_x = float(np.sum(weight * x) / np.sum(weight))
        middle_y = float(np.sum(weight * y) / np.sum(weight))
        about = x - middle_x
        k = float(np.sum(weight * about * (y - middle_y)) / max(float(np.sum(weight * about**2)), 1e-300))
        off = np.abs(y - middle_y - k * about)
        scale = max(1.4826 * float(np.median(off)), 1.0)
        weight = np.minimum(1.0, 1.345 * scale / np.maximum(off, 1e-9))
    return k, scale / float(np.sqrt(max(float(np.sum(weight * about**2)), 1e-300)))


Got = tuple[Event, float, float, float, float]


def _stepped(days: _Days, high: float) -> Got | None:
    """Return a step of the resistance that stays; None: there is none."""
    best: tuple[float, int] | None = None
    for cut in range(2, days.t.size - 1):
        a, b = days.k[:cut], days.k[cut:]
        error = float(np.sum(np.abs(a - np.median(a))) + np.sum(np.abs(b - np.median(b))))
        if best is None or error < best[0]:
            best = (error, cut)
    if best is None:
        return None
    cut = best[1]
    before, after = days.k[:cut], days.k[cut:]
    low, top = float(np.median(before)), float(np.median(after))
    if not _clear(days, low, top, high, (before, after)):
        return None
    around = float(np.median(days.k[cut + 1 : cut + 4]) - np.median(days.k[max(0, cut - 3) : cut]))
    if around < SHUT_OFF_SHARP.si * (top - low):
        return None
    inner = days.k[cut] - low  # the day of the step holds some of both
    if days.k[max(0, cut - 1)] - low > 0.5 * (top - low) and inner < 0.25 * (top - low):
        return None
    if after.size > 3 and rank_with_time(after) > 0.8 and float(np.ptp(after)) > 0.5 * (top - low):
        return None
    return Event.PARTLY_SHUT, float(days.t[cut]), float(days.t[-1]), top / low, (top - low) * high


def _clear(days: _Days, low: float, top: float, high: float, parts: tuple[Floats, Floats]) -> bool:
    spread = max(*(1.3 * deviation(p) for p in parts), float(np.median(days.error)))
    sure = spread * float(np.sqrt(1.0 / parts[0].size + 1.0 / parts[1].size))
    return (
        low > 2.0 * spread / np.sqrt(parts[0].size)
        and top >= SHUT_OFF_RATIO.si * low
        and (top - low) * high >= SHUT_OFF_LOSS.si
        and top - low >= SHUT_OFF_SIGMAS.si * sure
    )


def _growing(days: _Days, high: float) -> Got | None:
    """Return a growth over the days to the end of the record; None: there is none."""
    fit = grown(days.t, days.k)
    n = days.k.size
    early, late = days.k[: max(2, n // 4)], days.k[-max(2, n // 5) :]
    low, top = float(np.median(early)), float(np.median(late))
    rest = days.k - fit.at(days.t)
    about = (rest[: early.size], rest[-late.size :])
    if (
        1.3 * deviation(rest) > QUIET * (top - low)
        or not _clear(days, low, top, high, about)
        or rank_with_time(days.k) < 0.7
    ):
        return None
    if float(np.min(late)) <= float(np.max(early)):
        return None
    end, base = max(fit.base + fit.rise, top), fit.base if fit.base > 0.3 * low else low
    return Event.SHUT_OFF, fit.start, float(days.t[-1]), end / base, (end - base) * high


def _zero(days: _Days, t: Floats, loss: Floats, square: Floats) -> float:
    """Return what the two gauges differ by without flow. [Pa]"""
    k = np.interp(t, days.t, days.k)
    return float(np.median(loss - k * square))


def _sharpened(t: Floats, loss: Floats, square: Floats, about: float) -> float:
    """Return the block from which on the resistance is the later one. [s]"""
    near = np.flatnonzero(np.abs(t - about) <= 1.5 * DAY)
    high = near[square[near] > 0.25 * float(np.quantile(square, 0.9))]
    if high.size < 8:
        return about
    k = loss[high] / square[high]
    cuts = range(3, k.size - 3)
    errors = [
        float(np.sum(np.abs(k[:c] - np.median(k[:c]))) + np.sum(np.abs(k[c:] - np.median(k[c:]))))
        for c in cuts
    ]
    return float(t[high[cuts[int(np.argmin(errors))]]])
