"""Strainer blinding: the resistance before the first valve grows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from steadyhead.watch.defects.episode import Confidence, moment
from steadyhead.watch.defects.series import Floats, Series
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import (
    BLINDING_LOSS,
    BLINDING_RATIO,
    BLINDING_SIGMAS,
    LINE_GROWTH,
    LINE_LEAST,
    LINE_QUICK,
    LINE_STEP,
    SHUT_OFF_SHARP,
)
from steadyhead.watch.happening.event import Event, Happening
from steadyhead.watch.happening.usual import DAY, Spans, blocks, deviation, grown, rank_with_time

BLOCK = 900.0
LAGS = (1, 4)
"""Blocks over which changes of inlet and of flow squared are compared: a quarter of an hour and an hour."""
QUICK = (1,)
"""Blocks of the quick changes alone, in which the courses of the day have the least part."""
BITES = 4.685
"""Scatters beyond which a residual takes no part (A. E. Beaton, J. W. Tukey, 1974)."""
LEAST_DAYS = 5
LEAST_GROWING = 3
KNOWN = 2.5
"""Resistance at first over its standard error from which the growth has a ratio."""
LEAST_ROWS = 30
SHARP = 0.1
"""Standard error over the resistance of a day up to which it takes part whatever others have: a strainer
that blinds within the day scatters."""
LATELY = 30.0 * DAY
"""Days before a cleaning that are looked at by themselves. [s]"""
HIGH_FLOW = 0.4
"""Share of the highest flow above which the loss over a strainer is taken. Design handbook 6.4."""


@dataclass(frozen=True, slots=True)
class Resistance:
    """Resistance by day: middle of the day [s], loss over flow squared [Pa s²/m⁶], its standard error."""

    t: Floats
    k: Floats
    error: Floats

    def part(self, first: int, last: int) -> Resistance:
        """Return the days from one place on up to another."""
        return Resistance(self.t[first:last], self.k[first:last], self.error[first:last])

    def lately(self) -> Resistance:
        """Return its last days: a quick growth is lost in the middle of long ones."""
        return self.part(int(np.searchsorted(self.t, self.t[-1] - LATELY)), self.t.size)


def found(scene: Scene, aside: Spans) -> list[Happening]:
    """Return the growth of the resistance before the first valve.

    Method (design handbook 6.4): with a gauge before the strainer, loss over flow squared above 40 % of the
    highest flow. Without one, how the inlet falls with the square of the flow, by its changes over a quarter
    of an hour and an hour, day by day, steps of the supply left out; strainer and supply main are then one.
    A growth that stands far beyond the scatter of days and goes one way is called; without the gauge only
    where the quick changes grow as much, and not where it comes from one day to the next. With it, a fall at
    once ends a growth: a strainer that was cleaned.
    """
    inlet, flow = scene.inlet, scene.flow
    if inlet is None or flow is None:
        return []
    alone = scene.upstream is not None
    days = of_strainer(scene, aside) if alone else of_line(inlet, flow, aside)
    if days is None or days.t.size < LEAST_DAYS:
        return []
    square = float(np.quantile(flow.v, 0.95)) ** 2
    if alone:
        parts = between_cleanings(days, square)
        return [one for k, part in enumerate(parts) for one in _of_part(scene, parts, k, part, square)]
    got = growth(days, square)
    if got is None or not _of_flow(inlet, flow, aside, days):
        return []
    return [_told(scene, days, got, float(inlet.t[-1]), cleaned=False)]


def _of_part(
    scene: Scene, parts: list[Resistance], k: int, part: Resistance, square: float
) -> list[Happening]:
    """Return the growth in one part of the days between cleanings, if there is one."""
    if scene.inlet is None or part.t.size < LEAST_DAYS:
        return []
    last = k == len(parts) - 1
    got = growth(part, square) or (None if last else growth(part.lately(), square))
    if got is None:
        return []
    end = float(scene.inlet.t[-1]) if last else float(np.floor(part.t[-1] / DAY) + 1.0) * DAY
    return [_told(scene, part, got, end, cleaned=not last)]


def _told(
    scene: Scene, days: Resistance, got: tuple[float | None, float], end: float, *, cleaned: bool
) -> Happening:
    (ratio, start), alone = got, scene.upstream is not None
    what = "strainer" if alone else "strainer or supply line"
    size = f"to {ratio:.1f} times what it was" if ratio is not None else "from a start too small to tell"
    size += ", then falls back at once, as by a cleaning" if cleaned else ""
    words = f"The resistance of the {what} grows {size}: the inlet sags at peaks only."
    words += "" if alone else " Which of them, or others that draw from the line: a gauge at T0 would tell."
    why = (
        f"{days.t.size} days",
        "loss over flow squared" if alone else "inlet against flow squared, by its changes",
    )
    sure: Confidence = "certain" if alone else "likely"
    ids = tuple(s.id for s in (scene.inlet, scene.upstream, scene.flow) if s is not None)
    unit = "" if ratio is None else "ratio"
    return Happening(Event.STRAINER, moment(start), moment(end), ids, ratio, unit, words, why, sure)


def between_cleanings(days: Resistance, square: float) -> list[Resistance]:
    """Return the days in parts, cut where the resistance falls at once and stays: what blinds only grows.

    `square`: of a high flow, at which the loss that goes must matter. [m⁶/s²]
    """
    k, cuts = days.k, [0]
    for i in range(2, k.size - 1):
        before, after = float(np.median(k[i - 2 : i])), float(np.median(k[i : i + 3]))
        falls = before > BLINDING_RATIO.si * after and (before - after) * square > BLINDING_LOSS.si
        if falls and i - cuts[-1] > 2:
            cuts.append(i + int(np.argmin(np.diff(k[i - 1 : i + 3]))))
    return [days.part(a, b) for a, b in pairwise([*cuts, k.size])]


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


def of_line(inlet: Series, flow: Series, aside: Spans, lags: tuple[int, ...] = LAGS) -> Resistance | None:
    """Return the resistance of all that lies before the inlet's gauge by day, from changes over `lags`."""
    return _by_day(*changes(together(inlet, flow, aside), lags), stepped_slope)


def changes(
    shared: tuple[Floats, Floats, Floats], lags: tuple[int, ...] = LAGS
) -> tuple[Floats, Floats, Floats]:
    """Return times, falls of the inlet and changes of flow squared over some quarters of an hour.

    shared: what `together` gives of both.
    """
    t, p, q = shared
    times, falls, draws = [], [], []
    block = float(np.median(np.diff(t))) if t.size > 1 else BLOCK
    for lag in lags:
        near = np.abs(t[lag:] - t[:-lag] - lag * block) < 0.1 * block
        times.append(t[lag:][near])
        falls.append(-(p[lag:] - p[:-lag])[near])
        draws.append((q[lag:] ** 2 - q[:-lag] ** 2)[near])
    return np.concatenate(times), np.concatenate(falls), np.concatenate(draws)


def _by_day(
    t: Floats, y: Floats, x: Floats, slope: Callable[[Floats, Floats], tuple[float, float]] | None = None
) -> Resistance | None:
    day = np.floor(t / DAY)
    rows = []
    for d in np.unique(day).tolist():
        at = day == d
        if np.count_nonzero(at) >= LEAST_ROWS:
            rows.append((float(np.mean(t[at])), *(slope or slope_of)(x[at], y[at])))
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


def stepped_slope(x: Floats, y: Floats) -> tuple[float, float]:
    """Return the slope through the origin where a part of the changes are steps of the supply, and its error.

    Method: from the slope of least absolute error on, residuals beyond `BITES` scatters left out (A. E.
    Beaton, J. W. Tukey, 1974). Pumps that switch at the peaks would pull a slope that only limits them.
    """
    some = np.abs(x) > 1e-9 * float(np.max(np.abs(x), initial=0.0))
    if not some.any():
        return slope_of(x, y)
    ratio, share = y[some] / x[some], np.abs(x[some])
    order = np.argsort(ratio)
    total = np.cumsum(share[order])
    k = float(ratio[order][np.searchsorted(total, 0.5 * total[-1])])
    scale, weight = 1.0, np.ones(x.size)
    for _ in range(10):
        off = np.abs(y - k * x)
        scale = max(1.4826 * float(np.median(off)), 1.0)
        weight = np.maximum(1.0 - (off / (BITES * scale)) ** 2, 0.0) ** 2
        before, k = k, float(np.sum(weight * x * y) / max(float(np.sum(weight * x * x)), 1e-300))
        if abs(k - before) <= 1e-4 * abs(k):
            break
    return k, scale / float(np.sqrt(max(float(np.sum(weight * x * x)), 1e-300)))


def _of_flow(inlet: Series, flow: Series, aside: Spans, days: Resistance) -> bool:
    """Return whether the growth goes with the flow and comes slowly: then it is of strainer or line."""
    quick = of_line(inlet, flow, aside, QUICK)
    if quick is None:
        return False
    _, a, b = np.intersect1d(np.floor(days.t / DAY), np.floor(quick.t / DAY), return_indices=True)
    if a.size < LEAST_DAYS or not (goes_with(days.k[a], quick.k[b]) and grows_with(days.k[a], quick.k[b])):
        return False
    return at_once(days.t, days.k) is None


def goes_with(k: Floats, quick: Floats) -> bool:
    """Return whether quick changes show the resistance that all changes show.

    What others draw from the line, and a supply that follows the hours, go with the flow over an hour and
    less so over a quarter of one: then the inlet alone does not tell what the flow costs.
    """
    some = k > 0.0
    if 2 * np.count_nonzero(some) < k.size:
        return False
    part = quick[some] / k[some]
    error = deviation(part) / float(np.sqrt(max(part.size, 1)))
    return float(np.median(part)) > LINE_QUICK.si - 2.0 * min(error, 0.05)


def grows_with(k: Floats, quick: Floats) -> bool:
    """Return whether the quick changes show most of the growth of the resistance, if it grows at all."""
    n = max(2, k.size // 5)
    rise, own = (float(np.median(v[-n:]) - np.median(v[:n])) for v in (k, quick))
    if rise < LINE_LEAST.si * float(np.median(k)):
        return True
    error = float(np.hypot(deviation(quick[:n]), deviation(quick[-n:]))) / float(np.sqrt(n))
    return own >= LINE_GROWTH.si * rise - min(2.0 * error, 0.5 * abs(rise))


def at_once(t: Floats, k: Floats) -> float | None:
    """Return when the resistance steps to another level [s]; None: it moves by and by, or not at all.

    A main that is opened or shut and a valve that is moved do so; what blinds takes days.
    """
    n = k.size
    if n < LEAST_DAYS:
        return None
    splits = range(2, n - 1)
    errors = [float(np.sum(np.abs(k[:i] - np.median(k[:i]))) + np.sum(np.abs(k[i:] - np.median(k[i:]))))
              for i in splits]  # fmt: skip
    i = splits[int(np.argmin(errors))]
    jump = float(np.median(k[i : i + 3]) - np.median(k[max(0, i - 3) : i]))
    whole = float(np.median(k[i:]) - np.median(k[:i]))
    spread = deviation(np.concatenate([k[:i] - np.median(k[:i]), k[i:] - np.median(k[i:])]))
    fit = grown(t, k)
    slower = float(np.sum(np.abs(k - fit.at(t))))
    large = abs(whole) > max(4.0 * spread, LINE_STEP.si * abs(float(np.median(k[:i]))))
    sharp = jump * np.sign(whole) > SHUT_OFF_SHARP.si * abs(whole)
    return float(0.5 * (t[i - 1] + t[i])) if large and sharp and min(errors) < slower else None


def untold(inlet: Series, flow: Series, aside: Spans, days: Resistance | None) -> bool:
    """Return whether the inlet alone does not show what the flow costs before it."""
    if days is None or days.t.size < LEAST_DAYS or float(np.median(days.k)) < KNOWN * deviation(days.k):
        return False
    quick = of_line(inlet, flow, aside, QUICK)
    if quick is None:
        return False
    _, a, b = np.intersect1d(np.floor(days.t / DAY), np.floor(quick.t / DAY), return_indices=True)
    return a.size >= LEAST_DAYS and not goes_with(days.k[a], quick.k[b])


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
    sound = days.error <= np.maximum(3.0 * float(np.median(days.error)), SHARP * days.k)
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
