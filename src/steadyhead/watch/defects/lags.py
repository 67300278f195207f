"""How far the stamps of one channel stand after those of another that must move with it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from steadyhead.watch.defects.defaults import LAG_CLEAR, LAG_PEAK, LAG_REACH
from steadyhead.watch.defects.series import Floats, Series, at_times

SLOW = 7200.0
"""What lasts longer than this is the course of the day and is taken out before lags are looked for. [s]"""


def course(one: Series, other: Series, sign: float) -> tuple[float, float] | None:
    """Return the lag at the start and at the end of the record where its quarters lie on a line. [s]"""
    step = max(one.step, other.step)
    t = np.arange(max(one.t[0], other.t[0]), min(one.t[-1], other.t[-1]), step)
    if t.size * step < 4.0 * 86_400.0 or step > 900.0:
        return None
    reach = int(LAG_REACH.si / step)
    a, b = swings(at_times(one, t), step), sign * swings(at_times(other, t), step)
    edges = np.linspace(0, t.size, 5).astype(np.intp)
    parts = [
        (float(i + j) / (2.0 * t.size), peak(a[i:j], b[i:j], reach)) for i, j in pairwise(edges.tolist())
    ]
    clear = np.array([(where, p) for where, p in parts if p is not None])
    if clear.shape[0] < 3:
        return None
    slope, level = np.polyfit(clear[:, 0], clear[:, 1], 1)
    if float(np.max(np.abs(level + slope * clear[:, 0] - clear[:, 1]))) > max(1.5, 180.0 / step):
        return None
    return float(level * step), float((level + slope) * step)


def lag(one: Series, other: Series, sign: float) -> float | None:
    """Return how far the stamps of `one` stand after those of `other`; None: not clear. [s]"""
    step = max(one.step, other.step)
    t = np.arange(max(one.t[0], other.t[0]), min(one.t[-1], other.t[-1]), step)
    if t.size * step < 2.0 * 86_400.0 or step > 1800.0:
        return None
    reach = int(LAG_REACH.si / step)
    a, b = swings(at_times(one, t), step), sign * swings(at_times(other, t), step)
    half = t.size // 2
    parts = [peak(a[s], b[s], reach) for s in (slice(None), slice(0, half), slice(half, None))]
    if any(p is None for p in parts):
        return None
    places = [p for p in parts if p is not None]
    if max(places) - min(places) > 1.5:
        return None
    return places[0] * step


def swings(v: Floats, step: float) -> Floats:
    """Return what is faster than `SLOW`, limited to four deviations; missing samples as zero."""
    ok = np.isfinite(v)
    filled = np.where(ok, v, np.nanmedian(v))
    n = max(3, int(SLOW / step) | 1)
    total = np.cumsum(np.concatenate([np.full(n // 2 + 1, filled[0]), filled, np.full(n // 2, filled[-1])]))
    fast = np.where(ok, filled - (total[n:] - total[:-n]) / n, 0.0)
    wide = 4.0 * float(np.median(np.abs(fast))) + 1e-30
    return np.asarray(np.clip(fast, -wide, wide))


def peak(a: Floats, b: Floats, reach: int) -> float | None:
    """Return the place of a clear peak of the correlation, in steps; positive: `a` comes later."""
    size = 1 << int(np.ceil(np.log2(a.size + reach + 1)))
    both = np.fft.irfft(np.fft.rfft(a, size) * np.conj(np.fft.rfft(b, size)), size)
    row = np.concatenate([both[-reach:], both[: reach + 1]])
    row = row / max(float(np.sqrt(np.sum(a**2) * np.sum(b**2))), 1e-30)
    k = int(np.argmax(row))
    far = np.abs(np.arange(row.size) - k) > max(3, reach // 6)
    if not 0 < k < row.size - 1 or row[k] < LAG_PEAK.si:
        return None
    if row[k] < LAG_CLEAR.si * float(np.median(np.abs(row[far]))) or row[k] < 1.6 * float(np.max(row[far])):
        return None
    bend = row[k - 1] - 2.0 * row[k] + row[k + 1]
    return float(k - reach + (0.5 * (row[k - 1] - row[k + 1]) / bend if bend < 0.0 else 0.0))
