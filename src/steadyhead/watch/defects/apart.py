"""How far the clocks of two loggers stand apart, by the short excursions of pressure that both recorded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from steadyhead.records.logger import Channel
from steadyhead.watch.defects.defaults import LAG_LEAST
from steadyhead.watch.defects.levels import hourly
from steadyhead.watch.defects.series import PRESSURES, Floats, Series

REACH = LAG_LEAST.si
"""Clocks further apart than this are found by the swings of the flow. [s]"""
HIGH, HIGH_OUTLET, SIGMAS = 0.3e5, 0.05e5, 8.0
"""Least height of an excursion, that of the outlet [Pa], and over the scatter. As of a surge."""
LONGEST, ONE = 180.0, 60.0
"""Longest excursion; excursions closer than this are one. [s]"""
SLOW = 50.0
"""From this interval on an excursion is one sample. [s]"""
MOST = 200
"""Excursions of a channel that are looked at, the highest."""
ALONE = 2.0 * 3600.0
"""Time before and after a single excursion without another one that large. [s]"""
MUCH = 0.5
"""Height over that of the single one from which another one is as large."""
SURE = 3.0
"""Excursions at one lag over those that chance would put there."""


@dataclass(frozen=True, slots=True)
class Apart:
    """Stamps of the other logger less those of the one, for the same moment [s]; excursions that show it.

    `spread` is how far these disagree [s]; a single one makes it likely, no more.
    """

    lag: float
    number: int
    spread: float

    @property
    def words(self) -> str:
        """How far they stand apart, a phrase."""
        return f"clocks of the loggers stand {abs(self.lag):.0f} s apart"


@dataclass(frozen=True, slots=True)
class _Peaks:
    """Excursions of a channel: times of their tops [s], heights [Pa]."""

    t: Floats
    high: Floats


def of_two_loggers(one: Channel, other: Channel) -> bool:
    """Return whether two channels come from files of which none holds both: each may have its own clock."""
    mine, theirs = set(one.source_sha256), set(other.source_sha256)
    return bool(mine and theirs) and not mine & theirs


def loggers(channels: Sequence[Channel]) -> list[int]:
    """Return for each channel the place of the first one that is not of another logger."""
    return [
        next(k for k, before in enumerate(channels) if before is one or not of_two_loggers(one, before))
        for one in channels
    ]


def between(one: Series, other: Series) -> Apart | None:
    """Return how far the clocks of two loggers stand apart; None: of one logger, not apart, or not clear.

    Method (own): short excursions of both pressures to the same side; several at one lag, more than chance
    would put there, or a single one that in both channels is the only one that large for hours.
    """
    if not (one.quantity in PRESSURES and other.quantity in PRESSURES and one.regular and other.regular):
        return None
    if not of_two_loggers(one.channel, other.channel):
        return None
    mine = _peaks(one)
    theirs = _peaks(other) if mine.t.size else mine
    if not theirs.t.size:
        return None
    near = 1.05 * max(one.step, other.step) + (2.0 if max(one.step, other.step) < SLOW else 0.0)
    found = _several(mine, theirs, near) or _single(mine, theirs)
    return found if found is not None and abs(found.lag) > near else None


def _several(mine: _Peaks, theirs: _Peaks, near: float) -> Apart | None:
    i, j = np.nonzero(
        (np.abs(theirs.t[None, :] - mine.t[:, None]) <= REACH)
        & (np.sign(theirs.high)[None, :] == np.sign(mine.high)[:, None])
    )
    lags = theirs.t[j] - mine.t[i]
    if lags.size < 2:
        return None
    at = np.abs(lags[None, :] - lags[:, None]) <= near
    number = np.array([min(np.unique(i[row]).size, np.unique(j[row]).size) for row in at])
    best = int(np.argmax(number))
    lag = float(np.median(lags[at[best]]))
    same = np.abs(lags - lag) <= near
    count = min(np.unique(i[same]).size, np.unique(j[same]).size)
    far = np.abs(lags - lag) > 2.0 * near
    rival = int(np.max(number[far], initial=0))
    span = max(float(np.ptp(np.concatenate([mine.t, theirs.t]))), 4.0 * REACH)
    chance = 2.0 * near * mine.t.size * theirs.t.size / span
    fewer = min(mine.t.size, theirs.t.size)
    if count < 2 or 2 * rival > count or count < SURE * chance or 2 * count < min(fewer, MOST // 4):
        return None
    return Apart(lag, count, float(np.ptp(lags[same])))


def _single(mine: _Peaks, theirs: _Peaks) -> Apart | None:
    """Return the lag of the highest excursions of both where each stands alone for hours."""
    a, b = int(np.argmax(np.abs(mine.high))), int(np.argmax(np.abs(theirs.high)))
    lag = float(theirs.t[b] - mine.t[a])
    if abs(lag) > REACH or mine.high[a] * theirs.high[b] <= 0.0:
        return None
    return Apart(lag, 1, 0.0) if _stands_alone(mine, a) and _stands_alone(theirs, b) else None


def _stands_alone(peaks: _Peaks, at: int) -> bool:
    near = np.abs(peaks.t - peaks.t[at]) < ALONE
    large = np.abs(peaks.high) > MUCH * abs(float(peaks.high[at]))
    return int(np.count_nonzero(near & large)) == 1


def _peaks(one: Series) -> _Peaks:
    """Return the short excursions of a channel that come back, the highest of them, in order of time."""
    none: Floats = np.empty(0)
    if one.t.size < 50:
        return _Peaks(none, none)
    off = _off(one)
    least = max(
        HIGH_OUTLET if one.quantity == "outlet pressure" else HIGH, SIGMAS * one.scatter, 4.0 * one.grain
    )
    hot = np.flatnonzero(np.abs(off) > least)
    if not hot.size:
        return _Peaks(none, none)
    apart = max(ONE, 1.01 * one.step) if one.step < SLOW else 0.0
    first = np.flatnonzero(np.append(True, np.diff(one.t[hot]) > apart))
    rows = [part for part in np.split(hot, first[1:]) if one.t[part[-1]] - one.t[part[0]] <= LONGEST]
    tops = [int(part[int(np.argmax(np.abs(off[part])))]) for part in rows]
    tops = sorted(sorted((k for k in tops if _comes_back(one, k, off)), key=lambda k: -abs(off[k]))[:MOST])
    return _Peaks(one.t[tops], off[tops])


def _comes_back(one: Series, top: int, off: Floats) -> bool:
    """Return whether the level a while before and after the top is the same within half its height."""
    n, gone = max(3, int(120.0 / one.step)), max(1, int(LONGEST / one.step) if one.step < SLOW else 1)
    before = one.v[max(0, top - gone - n) : max(0, top - gone + 1)]
    after = one.v[top + gone : top + gone + n]
    if before.size < 2 or after.size < 2:
        return False
    return abs(float(np.median(after) - np.median(before))) < 0.5 * abs(float(off[top]))


def _off(one: Series) -> Floats:
    if one.step < SLOW:
        t, v = hourly(one.t, one.v, max(LONGEST, 7.0 * one.step))
        return np.asarray(one.v - np.interp(one.t, t, v))
    rows = np.sort(np.stack([one.v[:-4], one.v[1:-3], one.v[3:-1], one.v[4:]]), axis=0)
    out: Floats = np.zeros(one.v.shape)
    out[2:-2] = one.v[2:-2] - 0.5 * (rows[1] + rows[2])
    return out
