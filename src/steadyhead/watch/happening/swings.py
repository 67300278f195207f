"""Hunting: a sustained swing of the outlet in a band of flow, or what coarse sampling leaves of it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from steadyhead.watch.defects.episode import Confidence, moment
from steadyhead.watch.defects.levels import hourly
from steadyhead.watch.defects.saying import bar, value
from steadyhead.watch.defects.series import Floats, Marks, Places, Series, at_times, stretches
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import (
    SWING,
    SWING_OVER_USUAL,
    SWING_PERIOD,
    SWING_SAMPLES,
    SWING_SHORTEST,
    SWING_TAIL,
)
from steadyhead.watch.happening.event import Event, Happening, NotSeen
from steadyhead.watch.happening.usual import DAY, Spans, outside

FAST = 30.0
"""Below this interval the swing is taken about medians of two minutes, else about the neighbours. [s]"""
SMOOTH = 120.0
LAG, LAG_SLOWEST = 5, 300.0
"""Samples to either side for a second look, and interval [s] up to which the water is steady over them: a
swing whose period nearly divides the interval moves little from one sample to the next."""
BANDS = 12
LEAST = 6
"""Samples in a cell of day and band."""
OF_SINE = float(2.0 * np.sqrt(2.0))
"""Peak to peak of a sine over its standard deviation. Analytic."""
SWING_LONGEST = SWING_PERIOD.si
"""Longest usual period. [s]"""
OFTEN, SELDOM = 0.5, 0.2
"""Share of the days in which a band swings, and most of that in bands that do not."""
SAG, SAG_LEAST, OPEN = 0.25, 0.15e5, 0.95
"""Sag of the outlet over the swing, and least sag [Pa], and travel, at which the reducer is wide open."""
WALKS = 0.5
"""Share of samples between those `LAG` before and after beyond which it walks; of swings 0.2 to 0.3."""
MOST_CELLS = 0.45
LIKE = 0.35
"""Least difference to the nearer neighbour over the scatter of a swing; one met at random has about 1."""


@dataclass(frozen=True, slots=True)
class Cells:
    """Scatter by day and band of flow; NaN where there are too few samples. [Pa]"""

    t: Floats
    y: Floats
    q: Floats
    day: Places
    band: Places
    edges: Floats
    lag: int
    scatter: Floats


def not_seen(scene: Scene) -> list[NotSeen]:
    """Return what the sampling hides: periods with fewer than four samples in them."""
    outlet = scene.outlet
    if outlet is None:
        return []
    if not outlet.regular:
        return [NotSeen(Event.HUNTING, "Cannot see hunting: the outlet is reported by exception.")]
    seen = outlet.step * SWING_SAMPLES.si
    if seen <= SWING_SHORTEST.si:
        return []
    usual = f"its period is {SWING_SHORTEST.si:.0f} to {SWING_PERIOD.si:.0f} s"
    apart = f"samples lie {outlet.step:g} s apart, {usual}"
    if seen <= SWING_PERIOD.si:
        words = (
            f"Can see hunting in part only: {apart}. Swings faster than {seen:.0f} s show as scatter only."
        )
    else:
        words = (
            f"Cannot see hunting at this sampling: {apart}. A wide scatter in a band of flow is a hint only; "
            "a record at 1 s or faster shows it."
        )
    return [NotSeen(Event.HUNTING, words)]


def found(scene: Scene, aside: Spans) -> list[Happening]:
    """Return the hunting of the outlet.

    Method (own; design handbook 6.1, 6.4): scatter of single samples about their neighbours by day and band
    of flow; a band that scatters far beyond the others on most days, not in single jumps, hunts.
    Peak to peak is that of a sine of the same scatter; at slow sampling that of the outlet about flow and
    time. The period is told where four samples lie in it; else the swing shows as scatter only, and that is
    said.
    """
    outlet = scene.outlet
    if outlet is None or outlet.t.size < 200 or not outlet.regular or outlet.channel.statistic != "spot":
        return []
    for lag in (1, LAG) if FAST <= outlet.step <= LAG_SLOWEST else (1,):
        cells = _cells(outlet, scene.flow, aside, lag)
        got = _in_cells(scene, outlet, cells) if cells is not None else []
        if got:
            return got
    return []


def _in_cells(scene: Scene, outlet: Series, cells: Cells) -> list[Happening]:
    known = cells.scatter[np.isfinite(cells.scatter)]
    if known.size < 8:
        return []
    base = float(np.quantile(known, 0.4))
    limit = max(SWING_OVER_USUAL.si * base, SWING.si / OF_SINE, 1.2 * outlet.grain)
    hot = np.nan_to_num(cells.scatter) > limit
    if not hot.any() or float(np.mean(hot[np.isfinite(cells.scatter)])) > MOST_CELLS:
        return []
    got = _band(cells, hot)
    return _told(scene, cells, got, base) if got is not None else []


def _cells(outlet: Series, flow: Series | None, aside: Spans, lag: int) -> Cells | None:
    t, y = deviations(outlet, lag)
    keep = outside(t, aside)
    t, y = t[keep], y[keep]
    if t.size < 200 or np.count_nonzero(np.abs(y) > SWING.si / OF_SINE) < 2:
        return None  # no cell scatters as much: the largest sample of each is left out
    q = np.zeros(t.shape)
    edges = np.array([0.0, np.inf])
    if flow is not None:
        q = at_times(flow, t, max(2.5 * flow.step, 2.5 * outlet.step))
        ok = np.isfinite(q)
        t, y, q = t[ok], y[ok], q[ok]
        if t.size < 200:
            return None
        edges = np.unique(np.quantile(q, np.linspace(0.0, 1.0, BANDS + 1)))
        if edges.size < 3:
            edges = np.array([0.0, np.inf])
    span = t[-1] - t[0]
    chunk = DAY if span >= 3.0 * DAY else max(span / 8.0, 600.0)
    day = np.floor((t - t[0]) / chunk).astype(np.intp)
    band = np.clip(np.searchsorted(edges, q, side="right") - 1, 0, edges.size - 2)
    return Cells(t, y, q, day, band, edges, lag, _scatter(day, band, y, edges.size - 1))


def deviations(one: Series, lag: int = 1) -> tuple[Floats, Floats]:
    """Return times and deviations from what the samples about them say, of the scatter of single samples."""
    if one.step >= FAST:
        y = (one.v[lag:-lag] - 0.5 * (one.v[: -2 * lag] + one.v[2 * lag :])) / np.sqrt(1.5)
        near = one.t[2 * lag :] - one.t[: -2 * lag] < (2 * lag + 0.5) * one.step
        return one.t[lag:-lag][near], y[near]
    t, v = hourly(one.t, one.v, SMOOTH)
    return one.t, one.v - np.interp(one.t, t, v)


def _scatter(day: Places, band: Places, y: Floats, bands: int) -> Floats:
    """Return the root mean square by cell without the largest deviation of a cell (one in fifty of many)."""
    key = day * bands + band
    n = (int(day.max()) + 1) * bands
    order = np.argsort(key.astype(np.uint16) if n < 65_536 else key, kind="stable")
    squares = y[order] ** 2
    ends = np.cumsum(np.bincount(key, minlength=n))
    out = np.full(n, np.nan)
    for cell, (first, last) in enumerate(pairwise([0, *ends.tolist()])):
        left = last - first - max(1, (last - first) // 50)
        if left >= LEAST:
            out[cell] = np.sqrt(np.sum(np.partition(squares[first:last], left)[:left]) / left)
    return out.reshape(-1, bands)


def _band(cells: Cells, hot: Marks) -> tuple[int, int, int, int] | None:
    """Return first and last band and day of the swing; None where hot cells hang together in no band."""
    there = np.isfinite(cells.scatter)
    total = hot.sum(axis=0)
    if total.max() < 2:
        return None
    top = int(np.argmax(total))
    days = np.flatnonzero(hot[:, max(0, top - 1) : top + 2].any(axis=1))
    first, last = int(days[0]), int(days[-1])
    if last - first < 1:
        return None
    part, seen = hot[first : last + 1], there[first : last + 1]
    share = part.sum(axis=0) / np.maximum(seen.sum(axis=0), 1)
    if share[top] < OFTEN:
        return None
    low = high = top
    while low > 0 and share[low - 1] >= SELDOM:
        low -= 1
    while high < share.size - 1 and share[high + 1] >= SELDOM:
        high += 1
    apart = np.delete(share, np.arange(low, high + 1))
    if share.size > 1 and (not apart.size or float(np.mean(apart)) > 0.5 * SELDOM):
        return None
    return low, high, first, last


def _middle_of_band(q: Floats, y: Floats) -> Places:
    """Return the places in the window of neighbouring flows with most scatter.

    The ends of a band swing for a part of the time only.
    """
    n = max(40, y.size // 5)
    if y.size <= n:
        return np.arange(y.size)
    order = np.argsort(q, kind="stable")
    total = np.cumsum(np.append(0.0, y[order] ** 2))
    first = int(np.argmax(total[n:] - total[:-n]))
    return np.asarray(order[first : first + n])


def _size(outlet: Series, t: Floats, q: Floats, y: Floats, base: float) -> float:
    """Return the swing, peak to peak, of samples in the middle of the band. [Pa]

    At slow sampling the swing folds to any period, also to one of hours that neighbours share: there the
    whole scatter about a plane in flow and time counts, for the outlet is steady otherwise.
    """
    if outlet.step >= FAST and t.size > 20:
        v = at_times(outlet, t)
        ok = np.isfinite(v)
        terms = np.stack([np.ones(t.size), q / max(float(np.max(q)), 1e-30), (t - t[0]) / DAY], axis=1)[ok]
        y = v[ok] - terms @ np.linalg.lstsq(terms, v[ok], rcond=None)[0]
        y = y[np.abs(y) < 4.0 * float(np.std(y))]
    return OF_SINE * float(np.sqrt(max(float(np.mean(y**2)) - base**2, 0.0)))


def _follows(scene: Scene, cells: Cells, core: Marks, size: float) -> bool:
    """Return whether the outlet only follows the inlet there: the reducer stands wide open."""
    outlet, inlet = scene.outlet, scene.inlet
    if outlet is None or inlet is None:
        return False
    t = cells.t[core]
    now = at_times(outlet, t)
    weight = np.where(np.isfinite(now), cells.y[core] ** 2, 0.0)
    centre = float(np.sum(weight * np.nan_to_num(now)) / max(float(np.sum(weight)), 1e-30))
    sag = float(np.median(outlet.v)) - centre
    if sag > max(SAG * size, SAG_LEAST):
        return True
    travel = scene.travel
    if travel is not None and float(np.nanmedian(at_times(travel, t))) > OPEN:
        return True
    y = cells.y[core]
    terms = [np.interp(t, *deviations(one, cells.lag)) for one in (inlet, scene.flow) if one is not None]
    each = [x / max(float(np.std(x)), 1e-30) for x in terms]
    line = np.linalg.lstsq(np.stack(each, axis=1), y, rcond=None)[0]
    left = y - np.stack(each, axis=1) @ line
    return float(line[0]) > 0.0 and float(np.sum(left**2)) < 0.6 * float(np.sum(y**2))


def _steps(outlet: Series, cells: Cells, middle: Places, of: float) -> bool:
    """Return whether the outlet only goes from one level to another there: by hand, by the clock, or slowly.

    Beside a step a sample is like that before it or like that after it; in a swing it is like neither. On a
    slow way most lie between the samples some before and some after.
    """
    if outlet.step < FAST:
        return False
    k = np.minimum(np.searchsorted(outlet.t, cells.t[middle] - 1e-3), outlet.t.size - 1)
    before, after = np.maximum(k - cells.lag, 0), np.minimum(k + cells.lag, outlet.t.size - 1)
    there, since = outlet.v[k] - outlet.v[before], outlet.v[after] - outlet.v[k]
    if cells.lag > 1 and float(np.mean(there * since > 0.0)) > WALKS:
        return True
    apart = np.minimum(np.abs(there), np.abs(since))
    return float(np.sqrt(np.mean(apart**2))) < LIKE * of


def _told(scene: Scene, cells: Cells, got: tuple[int, int, int, int], base: float) -> list[Happening]:
    outlet, flow = scene.outlet, scene.flow
    if outlet is None:
        return []
    low, high, first, last = got
    use = (cells.band >= low) & (cells.band <= high) & (cells.day >= first) & (cells.day <= last)
    core = use & (np.abs(cells.y) < 6.0 * np.sqrt(np.mean(cells.y[use] ** 2)))
    middle = np.flatnonzero(core)[_middle_of_band(cells.q[core], cells.y[core])]
    y = cells.y[middle]
    of = float(np.sqrt(np.mean(y**2)))
    if y.size < 20 or float(np.mean(y**4)) > SWING_TAIL.si * of**4:
        return []
    size = OF_SINE * float(np.sqrt(max(of**2 - base**2, 0.0)))
    if size < SWING.si or _follows(scene, cells, core, size) or _steps(outlet, cells, middle, of):
        return []
    wild = np.flatnonzero(use & (np.abs(cells.y) > 3.0 * base))
    spare = wild.size // 200
    start, end = float(cells.t[wild[spare]]), float(cells.t[wild[wild.size - 1 - spare]])
    inside = middle[(cells.t[middle] >= start) & (cells.t[middle] <= end)]
    size = _size(outlet, cells.t[inside], cells.q[inside], cells.y[inside], base)
    if size < SWING.si:
        return []
    period = _period(outlet, cells.t[use])
    band = (
        f" at flows of {value(flow, float(cells.edges[low]))} to {value(flow, float(cells.edges[high + 1]))}"
        if flow is not None and cells.edges.size > 2
        else ""
    )
    how = "its period cannot be seen at this sampling"
    if period is not None:
        how = f"period about {period[0]:.0f} s (± {max(period[1], 0.1):.1f} s)"
    words = f"The outlet swings by {bar(size)} peak to peak{band}; {how}."
    why = (
        f"scatter in the band {of / max(base, 1e-9):.1f} times that elsewhere",
        f"samples {outlet.step:g} s apart"
        + ("" if period is not None else ": a hint, a record at 1 s would show it"),
    )
    sure: Confidence = "certain" if period is not None else "likely"
    ids = (outlet.id, flow.id) if flow is not None else (outlet.id,)
    return [Happening(Event.HUNTING, moment(start), moment(end), ids, size, "Pa", words, why, sure)]


def _period(outlet: Series, times: Floats) -> tuple[float, float] | None:
    """Return the period with most power in the longest stretches of the band, and how far it may be off [s].

    None: it is not resolved. The top lies on the parabola through the logarithm of power at the strongest
    line of the spectrum and those beside it; half the distance of two lines is what is told.
    """
    if outlet.step * SWING_SAMPLES.si > SWING_PERIOD.si:
        return None
    at = np.zeros(outlet.t.size, dtype=bool)
    at[np.minimum(np.searchsorted(outlet.t, times), outlet.t.size - 1)] = True
    n = 1 << int(np.log2(max(256.0 / max(outlet.step, 0.25), 32.0)))
    power = np.zeros(n // 2 + 1)
    for a, b in stretches(at):
        for k in range(a, min(b - n, a + 8 * n), n):
            part = outlet.v[k : k + n]
            part = part - np.polyval(np.polyfit(np.arange(n), part, 1), np.arange(n))
            power += np.abs(np.fft.rfft(part * np.hanning(n))) ** 2
    if not power.any():
        return None
    power[:2] = 0.0
    peak = int(np.argmax(power))
    share = float(power[max(0, peak - 2) : peak + 3].sum() / power.sum())
    low, top, high = (
        np.log(np.maximum(power[peak - 1 : peak + 2], 1e-300)) if peak + 1 < power.size else (0, 0, 0)
    )
    bend = float(low - 2.0 * top + high)
    shift = 0.5 * float(low - high) / bend if bend < 0.0 and power[peak - 1] > 0.0 else 0.0
    window = n * outlet.step
    period = window / (peak + float(np.clip(shift, -0.5, 0.5)))
    if share <= 0.4 or window / peak < SWING_SAMPLES.si * outlet.step:
        return None
    return period, 0.5 * period**2 / window
