"""Lift characteristic of a valve: share of the full flow coefficient against share of the full lift."""

from __future__ import annotations

from math import sqrt

from steadyhead.laws.compiling import Floats, kernel


@kernel
def interpolate(x: float, xs: Floats, ys: Floats, start: int, count: int) -> float:
    """Return y at `x` from one table of many laid end to end.

    Piecewise linear; constant outside the table. The x of the table must rise strictly.

    Parameters
    ----------
    x
        Where to read.
    xs, ys
        All tables, laid end to end.
    start, count
        First index and number of points of the table to read.
    """
    last = start + count - 1
    if x <= xs[start]:
        return ys[start]
    if x >= xs[last]:
        return ys[last]
    low = start
    high = last
    while high - low > 1:
        middle = (low + high) // 2
        if xs[middle] <= x:
            low = middle
        else:
            high = middle
    return ys[low] + (ys[high] - ys[low]) * (x - xs[low]) / (xs[high] - xs[low])


@kernel
def opening_of_lift(lift: float, shape: float) -> float:
    """Return the share of full flow coefficient at a share of full lift.

    A flat disc in series with the loss of its body; a form of our own, not a standard's. Between 0 and 1.

    Parameters
    ----------
    lift
        Share of full lift ξ, clipped to 0 … 1. [1]
    shape
        b: 0 linear, 1 flat disc, above 1 quick opening. [1]

    Notes
    -----
    φ = ξ √((1 + b²)/(1 + b² ξ²)) (own estimate; calibrated on no valve).

    Examples
    --------
    >>> round(opening_of_lift(0.5, 1.0), 6)
    0.632456
    """
    if lift <= 0.0:
        return 0.0
    if lift >= 1.0:
        return 1.0
    square = shape * shape
    return lift * sqrt((1.0 + square) / (1.0 + square * lift * lift))


@kernel
def lift_of_opening(opening: float, shape: float) -> float:
    """Return the share of full lift at a share of full flow coefficient; the inverse of `opening_of_lift`.

    Parameters
    ----------
    opening
        Share of full flow coefficient, clipped to 0 … 1. [1]
    shape
        b, as in `opening_of_lift`. [1]

    Notes
    -----
    ξ = φ/√(1 + b² − b² φ²).

    Examples
    --------
    >>> round(lift_of_opening(0.632456, 1.0), 5)
    0.5
    """
    if opening <= 0.0:
        return 0.0
    if opening >= 1.0:
        return 1.0
    square = shape * shape
    return opening / sqrt(1.0 + square - square * opening * opening)


@kernel
def characteristic(lift: float, shape: float, xs: Floats, ys: Floats, start: int, count: int) -> float:
    """Return the share of full flow coefficient at a share of lift, from a table if there is one.

    Parameters
    ----------
    lift
        Share of full lift. [1]
    shape
        b of `opening_of_lift`, used where `count` is 0. [1]
    xs, ys, start, count
        Table of lift against flow share, monotone from (0, 0) to (1, 1); see `interpolate`. [1]
    """
    if count > 0:
        return interpolate(lift, xs, ys, start, count)
    return opening_of_lift(lift, shape)
