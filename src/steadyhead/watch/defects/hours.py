"""An hour without rows: rows that were lost, or a clock that was set ahead? By the days on either side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from steadyhead.watch.defects.episode import Code, Episode
from steadyhead.watch.defects.gaps import is_hour
from steadyhead.watch.defects.series import Floats, Series, one_of

DAY, BIN = 86_400.0, 600.0
"""A day, and the width of its parts that are compared. [s]"""
BINS = int(DAY / BIN)
HOUR = round(3600.0 / BIN)
LEAST, MOST = 5, 14
"""Fewest and most days on each side. [d] Own estimates."""
REACH = 12
"""How far the days are moved against each other, in parts either way. Own estimate."""
ALIKE = 0.8
"""Correlation of the mean days from which on they tell something. Own estimate."""
CLEARLY = 0.02
"""By how much one of the two explains the days better. Own estimate."""
SET = "An hour without rows, and from then on the days run an hour later: the clock was set ahead."
OPEN = " Exactly an hour: rows were lost, or the clock was set ahead; the days about it do not tell."


@dataclass(frozen=True, slots=True)
class _Days:
    """Mean course of the days on a side, its mean taken out."""

    course: Floats
    count: int


def named(episodes: Sequence[Episode], slow: Sequence[Series]) -> list[Episode]:
    """Return the episodes with hours that a clock skipped named so.

    Method (own): where all channels lack exactly an hour, the median day of up to fourteen days before is
    compared with that after it, by flow, inlet and outlet. If it fits better an hour later, the clock was
    set ahead; if it fits as it stands, rows were lost; otherwise both are told. Which stamps are right, those
    before or those after, a visit must tell.
    """
    step = max((one.step for one in slow), default=0.0)
    return [
        _named(e, slow) if e.code is Code.GAP and not e.channels and is_hour(e.magnitude, step) else e
        for e in episodes
    ]


def _named(gap: Episode, slow: Sequence[Series]) -> Episode:
    told = [
        (quantity, later)
        for quantity in ("flow", "inlet pressure", "outlet pressure")
        if (one := one_of(slow, quantity)) is not None
        and (later := _is_later(one, gap.start.timestamp(), gap.end.timestamp())) is not None
    ]
    votes = {later for _, later in told}
    if votes == {True}:
        why = tuple(f"days of the {quantity} before and after" for quantity, _ in told)
        return replace(
            gap, code=Code.CLOCK_CHANGE, magnitude=3600.0, words=SET, evidence=why, confidence="likely"
        )
    return gap if votes == {False} else replace(gap, words=gap.words + OPEN)


def _is_later(one: Series, before: float, after: float) -> bool | None:
    """Return whether a channel's days after an hour run an hour later than those before; None: not clear."""
    a, b = _days(one, before - MOST * DAY, before), _days(one, after, after + MOST * DAY)
    if a is None or b is None:
        return None
    fit = {k: float(np.corrcoef(a.course, np.roll(b.course, -k))[0, 1]) for k in range(-REACH, REACH + 1)}
    best = max(fit, key=lambda k: fit[k])
    if fit[best] < ALIKE or abs(fit[HOUR] - fit[0]) < CLEARLY:
        return None
    if abs(best - HOUR) <= 2 and fit[HOUR] > fit[0]:
        return True
    return False if abs(best) <= 2 and fit[0] > fit[HOUR] else None


def _days(one: Series, start: float, end: float) -> _Days | None:
    i, j = np.searchsorted(one.t, (start, end))
    t, v = one.t[i:j], one.v[i:j]
    if t.size < LEAST * 24:
        return None
    day = np.floor(t / DAY).astype(np.intp)
    place = np.floor((t % DAY) / BIN).astype(np.intp)
    first = int(day[0])
    table = np.full((int(day[-1]) - first + 1, BINS), np.nan)
    key = (day - first) * BINS + place
    count = np.bincount(key, minlength=table.size)
    total = np.bincount(key, weights=v, minlength=table.size)
    filled = count > 0
    table.ravel()[filled] = total[filled] / count[filled]
    whole = np.mean(np.isfinite(table), axis=1) > 0.9 * min(1.0, BIN / max(one.step, 1.0))
    if np.count_nonzero(whole) < LEAST:
        return None
    sound = np.isfinite(table[whole]).any(axis=0)
    if np.mean(sound) < 0.1:
        return None
    at = np.arange(BINS)
    course = np.interp(at, at[sound], np.nanmedian(table[whole][:, sound], axis=0), period=BINS)
    return _Days(course - float(np.mean(course)), int(np.count_nonzero(whole)))
