"""Measure fairly on a machine that is never quiet.

The things to compare take turns within one run (a, b, c, then a, b, c again, in changing order), so that
a slow minute hits all of them alike. Told are the median, the spread (half the distance between the
quartiles, as a share of the median), and the ratio to the first one, taken round by round.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from steadyhead.work import Cancel, never_cancel


@dataclass(frozen=True, slots=True)
class Figure:
    """What was measured of one candidate: seconds, spread, and ratio to the first."""

    median_s: float
    least_s: float
    spread: float
    ratio: float
    ratio_spread: float


def interleaved(
    candidates: Mapping[str, Callable[[], object]],
    rounds: int,
    clock: Callable[[], float] = time.perf_counter,
    cancel: Cancel = never_cancel,
) -> dict[str, Figure]:
    """Return one figure for each candidate; each is run once unmeasured before. Empty where cancelled.

    Parameters
    ----------
    candidates
        What to run; the first is what the others are held against.
    rounds
        How often each is measured.
    clock
        Seconds from anywhere.
    cancel
        See `steadyhead.work`; asked between two runs.
    """
    names = list(candidates)
    times: dict[str, list[float]] = {name: [] for name in names}
    for name in names:
        candidates[name]()
    for number in range(rounds):
        turn = number % len(names)
        for name in [*names[turn:], *names[:turn]]:
            if cancel():
                return {}
            started = clock()
            candidates[name]()
            times[name].append(clock() - started)
    return {name: _figure(times[name], times[names[0]]) for name in names}


def _figure(own: list[float], first: list[float]) -> Figure:
    ratios = [mine / theirs for mine, theirs in zip(own, first, strict=True)]
    return Figure(
        median_s=statistics.median(own),
        least_s=min(own),
        spread=spread_of(own),
        ratio=statistics.median(ratios),
        ratio_spread=spread_of(ratios),
    )


def spread_of(values: list[float]) -> float:
    """Return half the distance between the quartiles as a share of the median; 0 of one value."""
    if len(values) < 2:
        return 0.0
    low, middle, high = statistics.quantiles(values, n=4, method="inclusive")
    return (high - low) / 2.0 / middle
