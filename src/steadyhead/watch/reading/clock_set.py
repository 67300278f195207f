"""Stamps that step back amid a file and run on with other values: a clock was set. Which stamps are right?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from steadyhead.records.logger import Choice, Context, Doubt, Fact
from steadyhead.watch.reading.stamps import US

ANSWERS = ("after", "before", "all")
"""Which stamps are right: those after the step, those before it, or all as they stand."""
MOST = 4
"""Steps back up to which a clock was set; more of them are rows out of order. Own estimate."""
LONGEST = 7 * 86_400 * US
"""Longest step back that is looked at. Own estimate. [µs]"""
ABOUT, IN_BEAT = 10, 8
"""Intervals on each side of a step, and how many of them must be the usual one. Own estimates."""
NEXT = 3
"""Intervals next to a step on each side that are all the usual one: no row came late. Own estimate."""
LEAST = 2
"""Fewest rows that have the time of another; one that falls between others is enough. Own estimate."""
OTHER = 0.5
"""Share of these rows from which on their values are others. Own estimate."""
DIFFERS = 0.001
"""Part of a channel's usual span that two values of one time must differ by. Own estimate."""

BESIDE = 200
"""Rows about a border that may have its stamp. Own estimate."""

Longs = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Sample = tuple[Longs, Longs, Floats]
"""Times in UTC [µs], rows and values in the order in which they were logged."""
Jump = tuple[int, int, int]
"""Two rows after one another, and the time between them. [µs]"""


@dataclass(frozen=True, slots=True)
class Part:
    """Rows from `first` to `last`, and what their stamps are off by. [µs]"""

    first: int
    last: int
    off: int


@dataclass(frozen=True, slots=True)
class Back:
    """One step back.

    Parameters
    ----------
    row
        First row after it.
    size
        How far the clock went back. [µs]
    again
        Rows whose time another row has.
    earlier, later
        The rows that are wrong where the stamps after it are right, and where those before it are.
    """

    row: int
    size: int
    again: int
    earlier: Part
    later: Part


def logged(utc: Longs, row: Longs, v: Floats) -> Sample:
    """Return samples in the order in which they were logged: a file may have the newest first."""
    down = len(utc) > 2 and float(np.mean(np.diff(utc) < 0)) > 0.5
    return (utc[::-1], row[::-1], v[::-1]) if down else (utc, row, v)


def found(sample: Sample) -> list[Back]:
    """Return the steps of a clock that was set back, in a channel held in memory.

    Method (own): about the step the rows keep their interval; rows behind it have times that others have,
    with other values, or fall between those. A stretch given twice has the same values and is none. Where the
    clock jumps ahead by as much elsewhere, the wrong stamps lie between.
    """
    utc, row, _ = sample
    at = np.flatnonzero(np.diff(utc) < 0) + 1
    if not 0 < len(at) <= MOST:
        return []
    beat = _beat(utc)
    steps = np.diff(utc)
    ahead = np.flatnonzero(steps > 1.5 * beat)
    jumps = [(int(row[i]), int(row[i + 1]), int(steps[i])) for i in ahead.tolist()]
    ends = (int(row[0]), int(row[-1]))
    return together([one for k in at.tolist() if (one := step_at(sample, k, beat))], jumps, ends, beat)


def _beat(utc: Longs) -> int:
    steps = np.diff(utc)
    steps = steps[steps > 0]
    return int(np.median(steps)) if len(steps) else 0


def step_at(sample: Sample, k: int, beat: int) -> tuple[int, int, int, int] | None:
    """Return rows before and after a step at place `k`, its size [µs], and how many rows have times again."""
    utc, row, v = sample
    size = int(utc[k - 1] - utc[k]) + beat
    about = np.concatenate([np.diff(utc[max(0, k - ABOUT - 1) : k]), np.diff(utc[k : k + ABOUT + 1])])
    near = np.abs(about - beat) <= 0.1 * beat
    if beat <= 0 or size > LONGEST or not NEXT < k <= len(utc) - NEXT - 1:
        return None
    close = np.concatenate([np.diff(utc[k - NEXT - 1 : k]), np.diff(utc[k : k + NEXT + 1])])
    if not np.all(np.abs(close - beat) <= 0.1 * beat) or np.mean(near) < IN_BEAT / ABOUT:
        return None
    before = slice(int(np.searchsorted(utc[:k], utc[k])), k)  # times rise up to the step
    first = int(utc[before.start]) - (beat - 1 if before.start else 0)
    low, high = np.searchsorted(utc[k:], (first, utc[k - 1] + 1)).tolist()
    after = slice(k + low, k + high)  # what lies between them; a block moved as a whole lies beside
    shared, i, j = np.intersect1d(utc[before], utc[after], return_indices=True)
    again = after.stop - after.start
    if len(shared):
        apart = np.abs(v[before][i] - v[after][j])
        spread = np.nanquantile(v, 0.95) - np.nanquantile(v, 0.05) if np.isfinite(v).any() else 0.0
        other = int((apart > max(DIFFERS * spread, 1e-12)).sum())
        if other < LEAST or other < OTHER * len(shared):
            return None
    elif not again or before.start == before.stop:
        return None
    return int(row[k - 1]), int(row[k]), size, again


def together(
    steps: Sequence[tuple[int, int, int, int]], jumps: Sequence[Jump], ends: tuple[int, int], beat: int
) -> list[Back]:
    """Return the steps with the rows that are wrong either way. Rows fall where the newest stand first."""
    sign = 1 if ends[0] <= ends[1] else -1
    out = []
    for number, (left, right, size, again) in enumerate(steps):
        low = steps[number - 1][1] if number else ends[0]
        high = steps[number + 1][0] if number + 1 < len(steps) else ends[1]
        like = [one for one in jumps if abs(one[2] - beat - size) <= 0.5 * beat]
        ahead = [b for _, b, _ in like if sign * low < sign * b <= sign * left]
        behind = [a for a, _, _ in like if sign * right <= sign * a < sign * high]
        start = max(ahead, key=lambda one: sign * one) if ahead else low
        end = min(behind, key=lambda one: sign * one) if behind else high
        earlier = Part(min(start, left), max(start, left), size)
        later = Part(min(right, end), max(right, end), -size)
        out.append(Back(right, size, again, earlier, later))
    return out


def whole(backs: Sequence[Back], row: Longs, utc: Longs) -> list[Back]:
    """Return steps with all rows of a stamp on one side, where a row is one channel of a stamp.

    row, utc: rows of all channels of the table, those about the borders at least.
    """
    return [
        replace(one, earlier=_whole(one.earlier, row, utc), later=_whole(one.later, row, utc))
        for one in backs
    ]


def _whole(part: Part, row: Longs, utc: Longs) -> Part:
    first, last = _run(part.first, row, utc), _run(part.last, row, utc)
    return replace(part, first=first[0], last=last[1])


def _run(border: int, row: Longs, utc: Longs) -> tuple[int, int]:
    """Return the first and last of the rows next to each other that have the stamp of a row."""
    near = np.abs(row - border) <= BESIDE
    rows, places = np.unique(row[near], return_index=True)
    times = utc[near][places]
    low = high = int(np.searchsorted(rows, border))
    if low == len(rows) or rows[low] != border:
        return border, border
    while low > 0 and times[low - 1] == times[low]:
        low -= 1
    while high + 1 < len(rows) and times[high + 1] == times[high]:
        high += 1
    return int(rows[low]), int(rows[high])


def borders(backs: Iterable[Back]) -> list[int]:
    """Return the rows at which the parts of these steps begin and end."""
    return sorted(
        {row for one in backs for part in (one.earlier, one.later) for row in (part.first, part.last)}
    )


def wrong(backs: Iterable[Back], answer: str | None) -> list[Part]:
    """Return the rows whose stamps are off, by the answer: `after`, `before`, `all` or None."""
    if answer == "after":
        return [one.earlier for one in backs]
    return [one.later for one in backs] if answer == "before" else []


def facts(backs: Sequence[Back], parts: Sequence[Part]) -> list[Fact]:
    """Return what was done about a clock that was set, for the report."""
    return [
        Fact(
            "clock set",
            f"The clock goes back by {_lasting(back.size)} at row {back.row}; rows {one.first} to {one.last} "
            f"are read {_lasting(abs(one.off))} {'earlier' if one.off > 0 else 'later'}, as answered.",
            (back.row,),
        )
        for back, one in zip(backs, parts, strict=False)
    ]


def righted(utc: Longs, row: Longs, parts: Iterable[Part]) -> Longs:
    """Return times with what the clock was off by taken out."""
    out = utc.copy()
    for one in parts:
        out[(row >= one.first) & (row <= one.last)] -= one.off
    return out


def doubts(backs: Sequence[Back], context: Context, fixed: str) -> list[Doubt]:
    """Return the question which stamps are right; none where it is answered. Nothing can be assumed.

    fixed: zone the stamps are read in; "" where its clock changes by itself.
    """
    if not backs or context.clock_set is not None:
        return []
    first = backs[0]
    rows = " and ".join(str(one.row) for one in backs)
    again = sum(one.again for one in backs)
    question = (
        f"At row{'s' if len(backs) > 1 else ''} {rows} the clock goes back by {_lasting(first.size)} and "
        f"runs on: {again} rows with other values come at or between times that are there already. "
        "Which stamps are right?"
    )
    if fixed and abs(first.size - 3600 * US) <= 60 * US:
        question += (
            f" If they follow a clock that changes with the season, they are not in {fixed}: hand the file "
            "over again with its zone."
        )
    earlier, later = first.earlier, first.later
    choices = (
        Choice(
            "after", f"those after it: rows {earlier.first} to {earlier.last} are read earlier by as much"
        ),
        Choice("before", f"those before it: rows {later.first} to {later.last} are read later by as much"),
        Choice("all", "all as they stand: of two rows of one time the first is kept"),
    )
    return [Doubt("clock set", question, choices, None)]


def _lasting(micros: int) -> str:
    seconds = micros / US
    if seconds < 120.0:
        return f"{seconds:.0f} s"
    return f"{seconds / 60.0:.0f} min" if seconds < 3.0 * 3600.0 else f"{seconds / 3600.0:.1f} h"
