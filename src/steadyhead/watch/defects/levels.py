"""Levels of a channel in time: hourly, its daily shape, and where the level steps and stays."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from steadyhead.watch.defects.defaults import MAD_TO_DEVIATION
from steadyhead.watch.defects.series import Floats, Places, Series, medians

HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class Level:
    """A stretch of constant level: places in the hourly record, times [s], level, and deviation about it."""

    first: int
    last: int
    start: float
    end: float
    level: float
    scatter: float


def hourly(t: Floats, v: Floats, block: float = HOUR) -> tuple[Floats, Floats]:
    """Return the middle times and the medians of the hours that hold samples."""
    if not t.size:
        return t, v
    hour = np.floor(t / block)
    edges = np.flatnonzero(np.append(True, np.diff(hour) != 0.0))
    counts = np.diff(np.append(edges, t.size))
    out = np.empty(edges.size)
    for size in np.unique(counts).tolist():
        rows = np.flatnonzero(counts == size)
        out[rows] = medians(v, edges[rows], size)
    return (hour[edges] + 0.5) * block, out


def without_shape(t: Floats, v: Floats) -> Floats:
    """Return hourly values less their usual course of the day, taken about each day's median."""
    day = np.floor(t / 86_400.0)
    hour = np.floor((t % 86_400.0) / HOUR).astype(np.intp)
    _, of_day = np.unique(day, return_inverse=True)
    middle = np.array([np.median(v[of_day == d]) for d in range(int(of_day.max()) + 1)])
    about = v - middle[of_day]
    shape = np.array([np.median(about[hour == h]) if np.any(hour == h) else 0.0 for h in range(24)])
    return np.asarray(v - shape[hour])


def steps(t: Floats, v: Floats, least_step: float, least: int) -> list[Level]:
    """Return the stretches of constant level: binary segmentation by the largest step, limited values.

    Method: binary segmentation (A. J. Scott, M. Knott, A cluster analysis method for grouping means, 1974,
    DOI 10.2307/2529204), each cut kept where the medians on its sides lie `least_step` apart.
    """
    middle = float(np.median(v)) if v.size else 0.0
    limited = np.clip(v, middle - 4.0, middle + 4.0)
    cuts = [0, *sorted(_cuts(limited, 0, v.size, least_step, least, 0)), v.size]
    cuts = _merged(limited, cuts, least_step)
    return [
        Level(a, b, float(t[a]), float(t[b - 1]), float(np.median(v[a:b])), _deviation(v[a:b]))
        for a, b in pairwise(cuts)
    ]


def _deviation(v: Floats) -> float:
    return float(MAD_TO_DEVIATION * np.median(np.abs(v - np.median(v))))


def _cuts(v: Floats, first: int, last: int, step: float, least: int, depth: int) -> list[int]:
    n = last - first
    if n < 2 * least or depth > 12:
        return []
    part = v[first:last]
    total = np.cumsum(part)
    left = np.arange(1, n)
    gain = np.abs(total[:-1] / left - (total[-1] - total[:-1]) / (n - left)) * np.sqrt(left * (n - left) / n)
    gain[: least - 1] = gain[n - least :] = 0.0
    cut = int(np.argmax(gain)) + 1
    apart = abs(float(np.median(part[:cut]) - np.median(part[cut:])))
    inner = abs(
        float(np.median(part[max(0, cut - 4 * least) : cut]) - np.median(part[cut : cut + 4 * least]))
    )
    if max(apart, inner) < step:
        return []
    at = first + cut
    return [
        *_cuts(v, first, at, step, least, depth + 1),
        at,
        *_cuts(v, at, last, step, least, depth + 1),
    ]


def _merged(v: Floats, cuts: list[int], step: float) -> list[int]:
    while len(cuts) > 2:
        level = [float(np.median(v[a:b])) for a, b in pairwise(cuts)]
        apart = np.abs(np.diff(level))
        k = int(np.argmin(apart))
        if apart[k] >= step:
            break
        del cuts[k + 1]
    return cuts


def edge(one: Series, about: float, factor: float, reach: float = 2.5 * HOUR) -> float:
    """Return the time of the first sample after a step by `factor` near `about`. [s]"""
    places: Places = np.flatnonzero((np.abs(one.t - about) <= reach) & (one.v > 0.0))
    if places.size < 6:
        return about
    log = np.log(one.v[places])
    ends = np.arange(3, log.size - 2)
    before = np.median(np.stack([log[ends - 3], log[ends - 2], log[ends - 1]]), axis=0)
    after = np.median(np.stack([log[ends], log[ends + 1], log[ends + 2]]), axis=0)
    miss = np.abs(after - before - np.log(factor)) + np.abs(log[ends] - log[ends - 1] - np.log(factor))
    return float(one.t[places[int(ends[int(np.argmin(miss))])]])
