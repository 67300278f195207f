"""Whether a pressure that hardly moves still meets the water: behind a stiff reducer it does."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from steadyhead.watch.defects.defaults import DAMPED_SLOPE
from steadyhead.watch.defects.series import Floats, Marks, Series, at_times, one_of, scatter_of

DAY = 86_400.0
SIDE, LEAST = 4.0 * DAY, 0.5 * DAY
"""How far before and after a spell its record is looked at, and least of it. [s] Own estimates."""
QUIET = 0.7
"""Scatter of single samples in a spell over that beside it: the water's own restlessness is gone."""
SURE = 5.0
"""Fall with the flow over its standard error from which on a pressure answers. Own estimate."""
FEWEST = 16
"""Fewest samples that show a slope. Own estimate."""
INNER = 0.1
"""Share of a spell at either end that is left out: its ends may hold samples before and after it."""

Spans = Sequence[tuple[float, float]]


def dead_of(one: Series, every: Sequence[Series], spells: Spans) -> list[tuple[float, float]]:
    """Return the calm spells [s since 1970] in which a pressure does not meet the water.

    Method (own): a trapped pressure knows neither the flow nor the water's restlessness. One that falls with
    flow or travel, be it ever so little, does; so does one that is as restless as the record beside it, on
    the calmer side, which is what a reducer mended or set anew shows; unless it falls with like flows on
    either side and does not meanwhile. Spells not yet found alive are no measure of others.
    """
    others = [other for name in ("flow", "travel") if (other := one_of(every, name)) is not None]
    left = [span for span in spells if not any(_falls(_inner(one, other, span)) for other in others)]
    while left:
        apart = _outside(one, left)
        still = [
            span
            for span in left
            if _is_quieter(one, span, apart) or any(_stopped(one, other, span, apart) for other in others)
        ]
        if len(still) == len(left):
            break
        left = still
    return left


def _outside(one: Series, spells: Spans) -> Marks:
    out = np.ones(one.t.size, dtype=bool)
    for first, last in _places(one, spells):
        out[first:last] = False
    return out


def _places(one: Series, spans: Spans) -> list[tuple[int, int]]:
    """Return first place and one past the last of spans."""
    first = np.searchsorted(one.t, [a for a, _ in spans])
    last = np.searchsorted(one.t, [b for _, b in spans], side="right")
    return list(zip(first.tolist(), last.tolist(), strict=True))


def _is_quieter(one: Series, span: tuple[float, float], apart: Marks) -> bool:
    """Return whether a spell is far less restless than what is `apart` from spells, on its calmer side."""
    start, end = span
    inside, *sides = _places(one, [span, (start - SIDE, start), (end, end + SIDE)])
    beside = [one.v[a:b][apart[a:b]] for a, b in sides]
    usual = min((scatter_of(v) for v in beside if v.size * one.step >= LEAST), default=one.scatter)
    return scatter_of(one.v[inside[0] : inside[1]]) < QUIET * max(usual, 1e-12)


def _stopped(one: Series, other: Series, span: tuple[float, float], apart: Marks) -> bool:
    """Return whether a pressure falls with like flows on the sides of a spell, and far less in it."""
    start, end = span
    x = at_times(other, one.t)
    (first, last), *sides = _places(one, [span, (start - SIDE, start), (end, end + SIDE)])
    here = _inner(one, other, span)
    if here is None or not np.isfinite(x[first:last]).any():
        return False
    low, high = np.nanmin(x[first:last]), np.nanmax(x[first:last])
    like = apart & (x >= low) & (x <= high)
    beside = [
        _fall(one.t[a:b][like[a:b]], one.v[a:b][like[a:b]], x[a:b][like[a:b]])
        for a, b in sides
        if np.count_nonzero(like[a:b]) * one.step >= LEAST
    ]
    return bool(beside) and all(
        there is not None
        and _falls(there)
        and here[0] > DAMPED_SLOPE.si * there[0]
        and here[0] - there[0] > SURE * np.hypot(here[1], there[1])
        for there in beside
    )


def _inner(one: Series, other: Series, span: tuple[float, float]) -> tuple[float, float] | None:
    """Return the slope of a pressure over another channel within a spell and its error. [SI]"""
    trim = INNER * (span[1] - span[0])
    ((first, last),) = _places(one, [(span[0] + trim, span[1] - trim)])
    t, v = one.t[first:last], one.v[first:last]
    return _fall(t, v, at_times(other, t))


def _falls(slope: tuple[float, float] | None) -> bool:
    return slope is not None and slope[0] < -SURE * slope[1]


def _fall(t: Floats, v: Floats, x: Floats) -> tuple[float, float] | None:
    """Return the slope of values over `x`, their slow course taken out, and its error; None: too few. [SI]

    The error counts samples like their neighbours as fewer.
    """
    known = np.isfinite(x)
    t, v, x = t[known], v[known], x[known]
    if t.size < FEWEST:
        return None
    v, x = _without_course(t, v), _without_course(t, x)
    moved = float(x @ x)
    if moved <= 0.0:
        return None
    slope = float(x @ v) / moved
    error = v - slope * x
    rest = float(error @ error)
    alike = float(np.clip(error[1:] @ error[:-1] / max(rest, 1e-30), 0.0, 0.99))
    free = max(t.size * (1.0 - alike) / (1.0 + alike) - 4.0, 1.0)
    return slope, float(np.sqrt(rest / free / moved))


def _without_course(t: Floats, v: Floats) -> Floats:
    """Return values less their parabola in time."""
    at = (t - t[0]) / max(float(t[-1] - t[0]), 1.0) - 0.5
    return np.asarray(v - np.polyval(np.polyfit(at, v, 2), at))
