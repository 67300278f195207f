"""Strainer blinding: the resistance before the first valve grows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from steadyhead.watch.defects.episode import Confidence, moment
from steadyhead.watch.defects.series import Floats, Series
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import (
    BLINDING_LEVELS,
    BLINDING_LOSS,
    BLINDING_RATIO,
    BLINDING_SIGMAS,
)
from steadyhead.watch.happening.event import Event, Happening
from steadyhead.watch.happening.usual import DAY, Spans, blocks, deviation, grown, rank_with_time

BLOCK = 900.0
LAGS = (1, 4)
"""Blocks over which changes of inlet and of flow squared are compared: a quarter of an hour and an hour."""
LEAST_DAYS = 5
LEAST_GROWING = 3
KNOWN = 2.5
"""Resistance at first over its standard error from which the growth has a ratio."""
LEAST_ROWS = 30
HIGH_FLOW = 0.4
"""Share of the highest flow above which the loss over a strainer is taken. Design handbook 6.4."""


@dataclass(frozen=True, slots=True)
class Resistance:
    """Resistance by day: middle of the day [s], loss over flow squared [Pa s²/m⁶], its standard error."""

    t: Floats
    k: Floats
    error: Floats


def found(scene: Scene, aside: Spans) -> list[Happening]:
    """Return the growth of the resistance before the first valve.

    Method (design handbook 6.4): with a gauge before the strainer, loss over flow squared above 40 % of the
    highest flow. Without one, how the inlet falls with the square of the flow, by its changes over a quarter
    of an hour and an hour, day by day, changes of the supply limited; strainer and supply main are then one.
    A growth that stands far beyond the scatter of days and goes one way is called.
    """
    inlet, flow = scene.inlet, scene.flow
    if inlet is None or flow is None:
        return []
    days = of_strainer(scene, aside) if scene.upstream is not None else of_line(inlet, flow, aside)
    if days is None or days.t.size < LEAST_DAYS:
        return []
    got = growth(days, float(np.quantile(flow.v, 0.95)) ** 2)
    if got is None:
        return []
    ratio, start = got
    if scene.upstream is None and not _levels_agree(inlet, flow, aside, days):
        return []
    alone = scene.upstream is not None
    what = "strainer" if alone else "strainer or supply line"
    size = f"to {ratio:.1f} times what it was" if ratio is not None else "from a start too small to tell"
    words = f"The resistance of the {what} grows {size}: the inlet sags at peaks only."
    why = (
        f"{days.t.size} days",
        "loss over flow squared" if alone else "inlet against flow squared, by its changes",
    )
    sure: Confidence = "certain" if alone else "likely"
    ids = tuple(s.id for s in (inlet, scene.upstream, flow) if s is not None)
    end, unit = float(inlet.t[-1]), "" if ratio is None else "ratio"
    return [Happening(Event.STRAINER, moment(start), moment(end), ids, ratio, unit, words, why, sure)]


def together(one: Series, flow: Series, aside: Spans) -> tuple[Floats, Floats, Floats]:
    """Return times of quarters of an hour that a channel and the flow share, and both in them."""
    t, p = blocks(one, BLOCK, aside)
    tq, q = blocks(flow, max(BLOCK, one.step), aside)
    common, a, b = np.intersect1d(t, tq, return_indices=True)
    return common, p[a], q[b]


def of_strainer(scene: Scene, aside: Spans) -> Resistance | None:
    """Return the strainer's resistance by day from the gauges on its sides."""
    return _by_day(*losses(scene, aside))


def losses(scene: Scene, aside: Spans) -> tuple[Floats, Floats, Floats]:
    """Return times, losses over the strainer and flows squared, at high flow."""
    none: Floats = np.empty(0)
    if scene.upstream is None or scene.inlet is None or scene.flow is None:
        return none, none, none
    return through(scene.upstream, scene.inlet, scene.flow, aside)


def through(before: Series, after: Series, flow: Series, aside: Spans) -> tuple[Floats, Floats, Floats]:
    """Return times, falls from one gauge to the next and flows squared, at high flow."""
    t, high_side, q = together(before, flow, aside)
    there, low_side = blocks(after, BLOCK, aside)
    common, a, b = np.intersect1d(t, there, return_indices=True)
    loss, q = high_side[a] - low_side[b], q[a]
    high = q > HIGH_FLOW * float(np.quantile(q, 0.995)) if q.size else np.zeros(0, dtype=bool)
    return common[high], loss[high], q[high] ** 2


def of_line(inlet: Series, flow: Series, aside: Spans) -> Resistance | None:
    """Return the resistance of all that lies before the inlet's gauge by day, from changes."""
    return _by_day(*changes(inlet, flow, aside))


def changes(inlet: Series, flow: Series, aside: Spans) -> tuple[Floats, Floats, Floats]:
    """Return times, falls of the inlet and changes of flow squared over a quarter of an hour and an hour."""
    t, p, q = together(inlet, flow, aside)
    times, falls, draws = [], [], []
    block = float(np.median(np.diff(t))) if t.size > 1 else BLOCK
    for lag in LAGS:
        near = np.abs(t[lag:] - t[:-lag] - lag * block) < 0.1 * block
        times.append(t[lag:][near])
        falls.append(-(p[lag:] - p[:-lag])[near])
        draws.append((q[lag:] ** 2 - q[:-lag] ** 2)[near])
    return np.concatenate(times), np.concatenate(falls), np.concatenate(draws)


def _by_day(t: Floats, y: Floats, x: Floats) -> Resistance | None:
    day = np.floor(t / DAY)
    rows = []
    for d in np.unique(day).tolist():
        at = day == d
        if np.count_nonzero(at) >= LEAST_ROWS:
            rows.append((float(np.mean(t[at])), *slope_of(x[at], y[at])))
    return Resistance(*np.array(rows).T) if rows else None


def slope_of(x: Floats, y: Floats) -> tuple[float, float]:
    """Return the slope through the origin, large residuals limited (P. J. Huber, 1964), and its error."""
    weight = np.ones(x.size)
    k = 0.0
    scale = 1.0
    for _ in range(8):
        k = float(np.sum(weight * x * y) / max(float(np.sum(weight * x * x)), 1e-300))
        off = np.abs(y - k * x)
        scale = max(1.4826 * float(np.median(off)), 1.0)
        weight = np.minimum(1.0, 1.345 * scale / np.maximum(off, 1e-9))
    return k, scale / float(np.sqrt(max(float(np.sum(weight * x * x)), 1e-300)))


def _levels_agree(inlet: Series, flow: Series, aside: Spans, days: Resistance) -> bool:
    """Return whether the inlet at each day's highest and lowest flows shows the growth too."""
    t, p, q = together(inlet, flow, aside)
    day = np.floor(t / DAY)
    rows = []
    for d in np.unique(day).tolist():
        at = day == d
        low, high = q[at] <= np.quantile(q[at], 0.25), q[at] >= np.quantile(q[at], 0.75)
        apart = float(np.mean(q[at][high] ** 2) - np.mean(q[at][low] ** 2))
        rows.append((d, float(np.mean(p[at][low]) - np.mean(p[at][high])), apart, np.count_nonzero(at)))
    table = np.array(rows)
    whole = (table[:, 3] > 0.7 * np.max(table[:, 3])) & (table[:, 2] > 0.0)
    if np.count_nonzero(whole) < 4:
        return True
    at_days, k = table[whole, 0], table[whole, 1] / table[whole, 2]
    wished = np.interp((at_days + 0.5) * DAY, days.t, days.k)
    about = wished - np.mean(wished)
    square = max(float(np.sum(about**2)), 1e-300)
    slope = float(np.sum(about * k) / square)
    error = deviation(k - slope * about) / float(np.sqrt(square))
    return slope > BLINDING_LEVELS.si - min(error, BLINDING_LEVELS.si)


def drawn(t: Floats, flow: Series | None, line: Resistance | None) -> Floats:
    """Return what the flow costs before the inlet at each time, by the resistance of its day. [Pa]"""
    if flow is None or line is None or not line.t.size or flow.t.size < 2:
        return np.zeros(t.shape)
    q = np.interp(t, flow.t, flow.v)
    k = np.interp(t, line.t, np.maximum(line.k, 0.0))
    return np.asarray(k * q**2)


def growth(days: Resistance, square: float) -> tuple[float | None, float] | None:
    """Return end over start of the resistance and the time from which it grows [s]; None: no clear growth.

    The ratio is None where the resistance at first is too small to tell.

    `square`: of a high flow, at which the added loss must matter. [m⁶/s²]
    """
    sound = days.error <= 3.0 * float(np.median(days.error))
    t, k = days.t[sound], days.k[sound]
    n = t.size
    if n < LEAST_DAYS:
        return None
    early, late = max(2, int(0.3 * n)), max(2, int(0.2 * n))
    before, after = float(np.median(k[:early])), float(np.median(k[-late:]))
    fit = grown(t, k)
    if before <= 0.0 or fit.rise <= 0.0 or fit.base <= 0.0:
        return None
    spread = max(1.5 * deviation(k - fit.at(t)), float(np.median(days.error[sound])))
    sure = spread * np.sqrt(1.0 / early + 1.0 / late)
    ratio = max(fit.base + fit.rise, after) / before
    if (
        ratio < BLINDING_RATIO.si
        or after < 0.9 * BLINDING_RATIO.si * before
        or after - before < BLINDING_SIGMAS.si * sure
    ):
        return None
    if (after - before) * square < BLINDING_LOSS.si:
        return None
    growing = np.count_nonzero(t > fit.start)
    if growing < LEAST_GROWING and (growing < 2 or after - before < 3.0 * BLINDING_SIGMAS.si * sure):
        return None
    if rank_with_time(k) < 0.6 or float(np.min(k[-late:])) < float(np.max(k[:early])):
        return None
    known = before > KNOWN * spread / np.sqrt(early)
    return ratio if known else None, fit.start
