"""A clock that is off for a part of a record: changed by an hour for a season, or set wrong for days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from steadyhead.watch.defects.defaults import LAG_REACH
from steadyhead.watch.defects.episode import Code, Episode, moment
from steadyhead.watch.defects.lags import peak, swings
from steadyhead.watch.defects.saying import lasting
from steadyhead.watch.defects.series import Floats, Series, at_times

DAY = 86_400.0
WINDOW, HOP = 3, 1
"""How long a stretch is in which a lag is looked for, and how far apart they begin. [d] Own estimates."""
LEAST = 4
"""Fewest such stretches after one another with the same lag, and fewest without one: two each that share no
sample. Own estimate."""
NEAR = 120.0
"""Lags this near to each other, and half an interval more, are the same. [s] Own estimate."""
COARSEST = 900.0
"""Longest interval at which days show a lag. [s] Own estimate."""

Pairs = Sequence[tuple[str, float, Series]]


@dataclass(frozen=True, slots=True)
class _Pair:
    """Short swings of flow and of what moves with it, at even times."""

    t: Floats
    flow: Floats
    other: Floats
    step: float

    def lag(self, start: float, end: float) -> float | None:
        """Return how far the flow's stamps stand after the other's in a stretch; None: not clear. [s]"""
        i, j = np.searchsorted(self.t, (start, end))
        if (j - i) * self.step < 0.8 * (end - start):
            return None
        found = peak(self.flow[i:j], self.other[i:j], int(LAG_REACH.si / self.step))
        return None if found is None else found * self.step

    def edge(self, size: float, start: float, end: float, *, begins: bool) -> float:
        """Return when between two times a lag of this size begins or ends. [s since 1970]

        Before it the swings fit as they are stamped, behind it moved by the lag; where it begins the sum of
        what moved fits better is least.
        """
        i, j = (int(x) for x in np.searchsorted(self.t, (start, end)))
        k = round(size / self.step)
        at = np.arange(max(i, -k, 0), min(j, self.t.size - max(k, 0)))
        if at.size < 2:
            return start if begins else end
        gain = np.cumsum((self.flow[at + k] - self.flow[at]) * self.other[at])
        where = int(np.argmin(gain) if begins else np.argmax(gain))
        return float(self.t[at[where]] + size)


def found(flow: Series, pairs: Pairs, least: float) -> list[Episode]:
    """Return the parts of a record in which the flow's stamps stand apart from all that moves with it.

    Method (own): the lag of stretches of three days, a day apart. Four and more after one another with the
    same lag, amid others that have none, are a part; its ends are where the swings fit better moved.

    Parameters
    ----------
    pairs
        What moves with the flow: quantity, sense, channel.
    least
        Lag from which on it is one. [s]
    """
    both = [one for _, sign, other in pairs if (one := _pair(flow, other, sign)) is not None]
    if not both:
        return []
    first, last = min(one.t[0] for one in both), max(one.t[-1] for one in both)
    starts = np.arange(first, last - WINDOW * DAY + 1.0, HOP * DAY)
    near = 0.5 * max(one.step for one in both) + NEAR
    lags = [_agreed([one.lag(at, at + WINDOW * DAY) for one in both], near) for at in starts.tolist()]
    if sum(one is not None and abs(one) <= least for one in lags) < LEAST:
        return []
    why = tuple(f"short swings of flow and {quantity}, by days" for quantity, _, _ in pairs)
    out = []
    for i, j in _runs(lags, least, near):
        size = float(np.median([one for one in lags[i : j + 1] if one is not None]))
        start, end = _ends(both[0], size, starts, (i, j), flow)
        words = (
            f"For a part of the record the flow's stamps stand {lasting(size)} "
            f"{'after' if size > 0.0 else 'before'} the pressures'."
        )
        out.append(
            Episode(Code.CLOCK_WHILE, moment(start), moment(end), (flow.id,), size, "s", words, why, "likely")
        )
    return out


def _pair(flow: Series, other: Series, sign: float) -> _Pair | None:
    step = max(flow.step, other.step, 60.0)
    t = np.arange(max(flow.t[0], other.t[0]), min(flow.t[-1], other.t[-1]), step)
    if t.size * step < (LEAST + WINDOW) * DAY or step > COARSEST:
        return None
    return _Pair(t, swings(at_times(flow, t), step), sign * swings(at_times(other, t), step), step)


def _agreed(lags: Sequence[float | None], near: float) -> float | None:
    """Return the lag that all channels show which show one; None: they do not agree. [s]"""
    clear = [one for one in lags if one is not None]
    return float(np.median(clear)) if clear and max(clear) - min(clear) <= near else None


def _runs(lags: Sequence[float | None], least: float, near: float) -> list[tuple[int, int]]:
    """Return first and last place of stretches with one lag amid others without; one may be unclear."""
    out: list[tuple[int, int]] = []
    at = 0
    while at < len(lags):
        first = lags[at]
        end = at
        if first is not None and abs(first) > least:
            for place in range(at + 1, len(lags)):
                one = lags[place]
                if one is not None and abs(one - first) <= near and abs(one) > least:
                    end = place
                elif one is not None or place - end > 1:
                    break
            clear = sum(one is not None for one in lags[at : end + 1])
            if clear >= LEAST and _is_amid(lags, at, end, least):
                out.append((at, end))
        at = end + 1
    return out


def _is_amid(lags: Sequence[float | None], first: int, last: int, least: float) -> bool:
    """Return whether on both sides, beyond what belongs to both, there is no lag, or the record ends."""
    before = [one for one in lags[: max(first - WINDOW + 1, 0)] if one is not None]
    after = [one for one in lags[last + WINDOW :] if one is not None]
    beyond = (*before[-1:], *after[:1])
    size = float(np.median([one for one in lags[first : last + 1] if one is not None]))
    return bool(beyond) and all(abs(one) <= least < abs(size - one) for one in beyond)


def _ends(one: _Pair, size: float, starts: Floats, run: tuple[int, int], flow: Series) -> tuple[float, float]:
    """Return when a part begins and ends; with the record where nothing lies beyond. [s since 1970]"""
    i, j = run
    low, high = float(starts[i]), float(starts[j]) + WINDOW * DAY
    margin = WINDOW * DAY
    begins, ends = float(flow.t[0]), float(flow.t[-1])
    if i > 0:
        begins = one.edge(size, low - margin, low + margin, begins=True)
    if j < len(starts) - 1:
        ends = one.edge(size, high - margin, high + margin, begins=False)
    return max(begins, float(flow.t[0])), min(ends, float(flow.t[-1]))
