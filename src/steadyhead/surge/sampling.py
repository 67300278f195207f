"""Even samples of several uncertain things at once, and what a share found in them is worth."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from steadyhead.errors import InputError

Z_95 = 1.959963984540054
"""Quantile of the normal distribution that leaves 2.5 % on either side. [1]"""
LEAST_PER_BIN = 8


def latin_hypercube(count: int, things: int, seed: int) -> NDArray[np.float64]:
    """Return `count` points in the unit cube, each axis cut into `count` slices with one point in each.

    Parameters
    ----------
    count, things
        How many points, and axes.
    seed
        The same seed gives the same points on every machine.

    Returns
    -------
    Table of `count` lines and `things` columns, inside 0 and 1.

    Notes
    -----
    McKay, Beckman and Conover 1979 (from memory): u = (π(i) + r)/n with a permutation π of each axis.
    """
    if count < 1 or things < 1:
        raise InputError("sample", f"got {count} points of {things} things.", "Give at least one of each.")
    draw = np.random.Generator(np.random.PCG64(seed))
    within = draw.random((count, things))
    slices = np.stack([draw.permutation(count) for _ in range(things)], axis=1)
    return (slices + within) / count


def wilson(found: int, count: int, z: float = Z_95) -> tuple[float, float]:
    """Return the interval a share lies in of which `found` of `count` were seen.

    Independent draws; a Latin hypercube is mostly narrower.

    Parameters
    ----------
    z
        Quantile; 1.96: 95 %.

    Notes
    -----
    Wilson 1927 (from memory): centre (p + z²/2n)/(1 + z²/n), half-width z √(p(1−p)/n + z²/4n²)/(1 + z²/n).

    Examples
    --------
    >>> tuple(round(edge, 3) for edge in wilson(0, 100))
    (0.0, 0.037)
    """
    share = found / count
    whole = 1.0 + z * z / count
    centre = (share + z * z / (2.0 * count)) / whole
    half = z * sqrt(share * (1.0 - share) / count + z * z / (4.0 * count * count)) / whole
    low = 0.0 if found == 0 else max(centre - half, 0.0)
    return low, 1.0 if found == count else min(centre + half, 1.0)


def first_order(samples: NDArray[np.float64], values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the share of the variance of `values` that each column of `samples` explains alone.

    Parameters
    ----------
    samples
        In the unit cube, one line for each value; even along each axis, as `latin_hypercube` makes them.
    values
        What came of them.

    Notes
    -----
    S_i = Var(E(y | x_i))/Var(y), from means over slices of equal count, less what slices of noise would show:
    (between − (b − 1)/(n − b) within)/total. About √n slices. Variance 0: all 0.
    """
    count = len(values)
    bins = _bins(count)
    total = float(np.var(values))
    if count < 2 * LEAST_PER_BIN or total <= 1e-24 * float(np.mean(values)) ** 2:
        return np.zeros(samples.shape[1])
    found = []
    for column in samples.T:
        parts = np.array_split(values[np.argsort(column, kind="stable")], bins)
        sizes = np.array([len(part) for part in parts]) / count
        means = np.array([np.mean(part) for part in parts])
        between = float(np.sum(sizes * (means - np.mean(values)) ** 2))
        within = total - between
        found.append(max(between - (bins - 1) / (count - bins) * within, 0.0) / total)
    return np.array(found)


def _bins(count: int) -> int:
    return max(min(int(sqrt(count)), count // LEAST_PER_BIN), 2)


def noise_of(count: int) -> float:
    """Return the share `first_order` shows of what moves nothing, in one of fifty of so many values. [1]

    Notes
    -----
    Two standard deviations of the ratio of an analysis of variance: 2 √(2 (b − 1))/(n − b), b slices.

    Examples
    --------
    >>> round(noise_of(64), 2), round(noise_of(1000), 3)
    (0.13, 0.016)
    """
    bins = _bins(count)
    return 2.0 * sqrt(2.0 * (bins - 1)) / (count - bins) if count > bins else 1.0


def tenths(values: NDArray[np.float64]) -> tuple[float, float, float]:
    """Return the values below which 10, 50 and 90 of a hundred lie; infinite ones stay infinite."""
    order = np.sort(values)
    last = len(order) - 1
    low, middle, high = (float(order[round(share * last)]) for share in (0.1, 0.5, 0.9))
    return low, middle, high
