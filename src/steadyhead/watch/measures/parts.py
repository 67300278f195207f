"""What a day gives to the measures of swings, cycles, peaks, cavitation and demand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from steadyhead.watch.defects.series import Floats, Marks, Series, at_times
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.defaults import SWING_SAMPLES, SWING_SHORTEST
from steadyhead.watch.happening.swings import FAST, SWING_LONGEST, deviations
from steadyhead.watch.happening.usual import Spans, outside
from steadyhead.watch.measures.defaults import AIR, LEAP, LEAP_APART, LEAP_TIME, VAPOUR
from steadyhead.watch.measures.grid import GRAIN, Midnights, flow_bins
from steadyhead.watch.measures.rainflow import Counted, counted

WINDOW = 256.0
"""Length of the windows in which swings are looked for. [s]"""
PERIODS = np.geomspace(3.0, 64.0, 25)
"""Borders of the bins of period. [s]"""
EIGHTH = 3
"""Bins of flow taken together for swings: eight in a decade."""
FINE = 0.02
"""Width of the bins of the cavitation index."""
MOST_SIGMA = 6.0
COVERED = 0.8
"""Share of the day's flow that must be there for its mean."""


@dataclass(frozen=True, slots=True)
class Swing:
    """Windows at one flow (bin; -1: none or not known): number, mean power by bin of period, two channels.

    Powers are whole Pa². An inlet that is not recorded as fast has none.
    """

    flow: int
    windows: int
    outlet: tuple[int, ...]
    inlet: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Top:
    """Highest outlet of a day: value [Pa], time [s since 1970], whether it is the logger's own maximum."""

    value: float
    at: float
    own: bool


@dataclass(frozen=True, slots=True)
class More:
    """Partials of one day.

    Parameters
    ----------
    steps
        Intervals of inlet and outlet. [s]
    by_exception
        Whether the outlet is reported by exception.
    swings
        By flow, where the sampling shows a part of the periods.
    scatter
        By flow: bin, samples, scatter of single samples about their neighbours [whole Pa], where it does not.
    cycles
        Of inlet and outlet in grains of 0.01 bar; None: not recorded.
    leaps
        Of inlet and outlet: hour of the day, rises, falls, largest [grains].
    top
        Highest outlet.
    sigma
        Bin of the cavitation index, counts of the day's step, volume [whole litres]; None: cannot be had.
    flow
        Mean flow. [m³/s]
    """

    steps: tuple[float, float]
    by_exception: bool
    swings: tuple[Swing, ...]
    scatter: tuple[tuple[int, int, int], ...]
    cycles: tuple[Counted | None, Counted | None]
    leaps: tuple[tuple[tuple[int, int, int, int], ...], tuple[tuple[int, int, int, int], ...]]
    top: Top | None
    sigma: tuple[tuple[int, int, int], ...] | None
    flow: float | None


def of_day(
    fast: Scene, slow: Scene, when: Midnights, doubtful: frozenset[str], aside: Spans
) -> tuple[More, tuple[Series | None, ...]]:
    """Return the partials of a day and the further channels they come from."""
    outlet = fast.outlet if fast.outlet is not None and fast.outlet.id not in doubtful else None
    inlet = fast.inlet if fast.inlet is not None and fast.inlet.id not in doubtful else None
    whole = [_cut(one, when) for one in (inlet, outlet)]
    cycles = tuple(counted(_grains(one)) if one is not None and one.t.size > 1 else None for one in whole)
    leaps = tuple(_leaps(one, when) if one is not None else () for one in whole)
    maximum = _maximum(fast, doubtful)
    more = More(
        (inlet.step if inlet is not None else 0.0, outlet.step if outlet is not None else 0.0),
        outlet is not None and not outlet.regular,
        _swings(whole[1], whole[0], fast.flow, aside),
        _scatter(whole[1], fast.flow, aside),
        (cycles[0], cycles[1]),
        (leaps[0], leaps[1]),
        _top(_cut(maximum, when) or whole[1], aside, own=maximum is not None),
        _sigma(slow, when, doubtful, aside),
        _mean_flow(slow.flow, when),
    )
    return more, (maximum,)


def _cut(one: Series | None, when: Midnights) -> Series | None:
    """Return a channel's samples of the day."""
    if one is None:
        return None
    a, b = np.searchsorted(one.t, (when.start, when.end)).tolist()
    return Series(one.channel, one.t[a:b], one.v[a:b], one.t[a:b], one.step, one.regular, 0.0, one.grain)


def _grains(one: Series) -> np.ndarray:
    return np.round(one.v / GRAIN).astype(np.int64)


def _maximum(fast: Scene, doubtful: frozenset[str]) -> Series | None:
    found = [s for s in fast.every if s.quantity == "outlet pressure" and s.channel.statistic == "maximum"]
    return next((s for s in found if s.id not in doubtful and s.t.size > 10), None)


def _top(one: Series | None, aside: Spans, *, own: bool) -> Top | None:
    if one is None:
        return None
    keep = outside(one.t, aside)
    if not keep.any():
        return None
    v = np.where(keep, one.v, -np.inf)
    k = int(np.argmax(v))
    return Top(float(v[k]), float(one.t[k]), own)


def _leaps(one: Series, when: Midnights) -> tuple[tuple[int, int, int, int], ...]:
    """Return by hour of the day how often the pressure leaps up and down, and the largest leap."""
    if one.t.size < 3 or one.step <= 0.0:
        return ()
    lag = max(1, int(LEAP_TIME.si / one.step))
    if one.t.size <= lag:
        return ()
    change = one.v[lag:] - one.v[:-lag]
    near = one.t[lag:] - one.t[:-lag] <= 1.5 * lag * one.step
    hot = np.flatnonzero(near & (np.abs(change) >= LEAP.si))
    if not hot.size:
        return ()
    apart = max(LEAP_APART.si, 2.0 * one.step)
    first = np.append(True, np.diff(one.t[lag:][hot]) > apart)
    group = np.cumsum(first) - 1
    largest = np.zeros(int(group[-1]) + 1)
    np.maximum.at(largest, group, np.abs(change[hot]))
    start = hot[first]
    hour = when.hours[np.floor((one.t[lag:][start] - when.start) / 3600.0).astype(np.intp)]
    up = change[start] > 0.0
    return tuple(
        (
            int(h),
            int(np.count_nonzero(up & (hour == h))),
            int(np.count_nonzero(~up & (hour == h))),
            round(float(np.max(largest[hour == h])) / GRAIN),
        )
        for h in np.unique(hour).tolist()
    )


def _bins(flow: Series | None, t: Floats) -> np.ndarray:
    """Return coarse bins of flow at times; -1 where none passes or it is not known."""
    if flow is None:
        return np.full(t.shape, -1)
    place = flow_bins(at_times(flow, t))
    return np.where(place >= 0, place // EIGHTH, -1)


def _spot(one: Series | None) -> Series | None:
    if one is None or not one.regular or one.step <= 0.0 or one.channel.statistic != "spot":
        return None
    return one


def _swings(
    outlet: Series | None, inlet: Series | None, flow: Series | None, aside: Spans
) -> tuple[Swing, ...]:
    outlet, inlet = _spot(outlet), _spot(inlet)
    if outlet is None or outlet.step * SWING_SAMPLES.si > SWING_LONGEST:
        return ()
    n = 1 << int(np.ceil(np.log2(max(WINDOW / outlet.step, 32.0))))
    t, power = _power(outlet, n, outside(outlet.t, aside))
    if not t.size:
        return ()
    with_inlet = inlet is not None and inlet.step == outlet.step and np.array_equal(inlet.t, outlet.t)
    supply = _power(inlet, n, outside(inlet.t, aside))[1] if with_inlet and inlet is not None else None
    place = _bins(flow, t)
    out = []
    for k in np.unique(place).tolist():
        at = place == k
        there = _whole(np.mean(supply[at], axis=0)) if supply is not None else ()
        out.append(Swing(int(k), int(np.count_nonzero(at)), _whole(np.mean(power[at], axis=0)), there))
    return tuple(out)


def _whole(power: Floats) -> tuple[int, ...]:
    return tuple(int(x) for x in np.round(power).tolist())


def _power(one: Series, n: int, keep: Marks) -> tuple[Floats, Floats]:
    """Return middle times of windows of `n` samples without a gap, and the variance by bin of period. [Pa²]

    Method: straight line taken out, Hann window, periodogram normed to the variance.
    """
    rows = one.t.size // n
    none: Floats = np.empty((0, PERIODS.size - 1))
    if not rows:
        return none[:, 0], none
    t, v = one.t[: rows * n].reshape(rows, n), one.v[: rows * n].reshape(rows, n)
    sound = (t[:, -1] - t[:, 0] < (n + 0.5) * one.step) & keep[: rows * n].reshape(rows, n).all(axis=1)
    t, v = t[sound], v[sound]
    x = np.arange(n) - 0.5 * (n - 1)
    v = v - v.mean(axis=1, keepdims=True)
    v = v - (v @ x / float(x @ x))[:, None] * x
    window = np.hanning(n)
    spectrum = 2.0 * np.abs(np.fft.rfft(v * window, axis=1)) ** 2 / (n * float(np.sum(window**2)))
    period = n * one.step / np.maximum(np.arange(spectrum.shape[1]), 1e-9)
    seen = (period >= max(SWING_SHORTEST.si, SWING_SAMPLES.si * one.step) * 0.999) & (period < PERIODS[-1])
    place = np.searchsorted(PERIODS, period[seen], side="right") - 1
    out = np.zeros((t.shape[0], PERIODS.size - 1))
    for k in np.unique(place[place >= 0]).tolist():
        out[:, k] = spectrum[:, np.flatnonzero(seen)[place == k]].sum(axis=1)
    return t.mean(axis=1), out


def _scatter(outlet: Series | None, flow: Series | None, aside: Spans) -> tuple[tuple[int, int, int], ...]:
    """Return the scatter of single samples by flow, where samples lie too far apart to show a swing."""
    outlet = _spot(outlet)
    if outlet is None or outlet.step < FAST or outlet.t.size < 8:
        return ()
    t, y = deviations(outlet)
    keep = outside(t, aside)
    t, y = t[keep], y[keep]
    place = _bins(flow, t)
    out = []
    for k in np.unique(place).tolist():
        part = np.sort(np.abs(y[place == k]))
        part = part[: part.size - max(1, part.size // 50)]
        if part.size:
            out.append((int(k), int(part.size), round(float(np.sqrt(np.mean(part**2))))))
    return tuple(out)


def _sigma(
    slow: Scene, when: Midnights, doubtful: frozenset[str], aside: Spans
) -> tuple[tuple[int, int, int], ...] | None:
    """Return counts and volume by bin of σ₁ = (p₁ − p_v)/(p₁ − p₂) while water flows."""
    inlet, outlet, flow = slow.inlet, slow.outlet, slow.flow
    if inlet is None or outlet is None or flow is None or {inlet.id, outlet.id} & doubtful:
        return None
    one = _cut(outlet, when)
    if one is None or not one.t.size:
        return None
    keep = outside(one.t, aside)
    t, p2 = one.t[keep], one.v[keep]
    p1, q = at_times(inlet, t), at_times(flow, t)
    with np.errstate(divide="ignore", invalid="ignore"):
        sigma = (p1 + AIR.si - VAPOUR.si) / (p1 - p2)
    ok = np.isfinite(sigma) & (sigma > 0.0) & (q > 1e-6)
    place = np.minimum(np.floor(sigma[ok] / FINE), round(MOST_SIGMA / FINE)).astype(np.int64)
    volume = np.bincount(place, weights=q[ok] * outlet.step * 1000.0)
    counts = np.bincount(place)
    return tuple((int(k), int(counts[k]), round(float(volume[k]))) for k in np.flatnonzero(counts).tolist())


def _mean_flow(flow: Series | None, when: Midnights) -> float | None:
    one = _cut(flow, when)
    if one is None or one.step <= 0.0 or one.t.size < COVERED * (when.end - when.start) / one.step:
        return None
    return float(np.mean(one.v))
