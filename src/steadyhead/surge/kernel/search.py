"""Where a falling function of the head above vapour is zero: one step of a guarded Newton search."""

from __future__ import annotations

from math import inf, sqrt

from steadyhead.laws.compiling import inner_kernel

ROUNDS = 120
CLOSE = 1e-15
"""Relative step at which a search ends."""
NOISE = 1e-11
"""Relative step below which a search ends that comes no closer: the rest is rounding."""
PATIENCE = 12
"""Steps before the search halves the bracket every other time."""


@inner_kernel
def next_head(head: float, low: float, high: float, value: float, slope: float, number: int) -> float:
    """Return where to look next for the root of a falling function on (0, ∞).

    Newton where it stays inside the bracket or hardly moves, else a step towards the open side or the
    geometric mean; after `PATIENCE` steps the middle every other time.

    Parameters
    ----------
    head
        Last place looked at; already one end of the bracket. [Pa above vapour]
    low, high
        Bracket; 0 and ∞ at the start. [Pa]
    value, slope
        Function there, and its slope below 0.
    number
        Count of steps so far.
    """
    if (number < PATIENCE or number % 2 == 0) and slope < 0.0 and value < inf:
        stride = value / slope
        if low < head - stride < high or abs(stride) <= NOISE * head:
            return head - stride
    if high == inf:
        return 4.0 * head
    if low <= 0.0:
        return 0.1 * head
    if high > 4.0 * low:
        return sqrt(low * high)
    return 0.5 * (low + high)
