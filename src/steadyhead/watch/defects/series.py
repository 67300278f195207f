"""Channels as arrays, and robust numbers of them: scatter, resolution, interval, runs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import polars as pl

from steadyhead.records.logger import Channel
from steadyhead.watch.defects.defaults import MAD_TO_DEVIATION, REGULAR_SHARE
from steadyhead.watch.stored import Stored

Floats = npt.NDArray[np.float64]
Marks = npt.NDArray[np.bool_]
Places = npt.NDArray[np.intp]

PRESSURES = ("inlet pressure", "pressure between the valves", "outlet pressure")
JUDGED_QUANTITIES = (*PRESSURES, "flow", "travel")
LONG, OFTEN = 2.5, 0.02
"""Intervals this many times the usual one, and the share beyond which silence is the logger's manner."""
MANY = 400_000
"""Samples beyond which medians are taken of evenly spread stretches."""
THIN = 60.0
"""Blocks in which a faster record is looked at for what is slow. [s]"""


@dataclass(frozen=True, slots=True)
class Series:
    """One channel: its samples without the missing ones, and its usual behaviour.

    `t` is in s since 1970, rising; `v` in SI; `stamps` also holds the rows with missing marks. `step` is the
    median interval, `regular` whether most intervals are like it, `scatter` the deviation of a single sample
    from its neighbours, `grain` the resolution (0: finer than can be told).
    """

    channel: Channel
    t: Floats
    v: Floats
    stamps: Floats
    step: float
    regular: bool
    scatter: float
    grain: float

    @property
    def id(self) -> str:
        """The channel's id."""
        return self.channel.id

    @property
    def quantity(self) -> str:
        """The channel's quantity."""
        return self.channel.quantity

    def with_values(self, v: Floats) -> Series:
        """Return a working copy with other values and what follows from them."""
        return replace(self, v=v, scatter=scatter_of(v), grain=grain_of(v))


def series(channel: Channel, frame: pl.LazyFrame | pl.DataFrame | Stored) -> Series:
    """Return the channel's samples in order of time; of equal stamps the first row stands."""
    return of_arrays(channel, *arrays_of(frame))


def arrays_of(frame: pl.LazyFrame | pl.DataFrame | Stored) -> tuple[Floats, Floats, Floats]:
    """Return times and values of the samples that have one, in order of time, and the stamps of all rows."""
    got = frame.lazy().select(pl.col("t").dt.epoch("us"), pl.col("v")).collect()
    stamps = got["t"].to_numpy().astype(np.float64)
    stamps /= 1e6
    v = got["v"].to_numpy().astype(np.float64, copy=False)
    between = np.diff(stamps)
    if np.any(between < 0.0):
        order = np.argsort(stamps, kind="stable")
        stamps, v = stamps[order], v[order]
        between = np.diff(stamps)
    keep = np.isfinite(v)
    keep[1:] &= (between > 0.0) | ~keep[:-1]
    return (stamps, v, stamps) if keep.all() else (stamps[keep], v[keep], stamps)


def of_arrays(channel: Channel, t: Floats, v: Floats, stamps: Floats | None = None) -> Series:
    """Return a series from arrays in order of time."""
    between = np.diff(portion(t))
    step = float(np.median(between)) if between.size else 0.0
    near = float(np.mean(np.abs(between - step) <= 0.2 * step)) if between.size else 1.0
    every = t if stamps is None else stamps
    return Series(channel, t, v, every, step, near >= REGULAR_SHARE.si, scatter_of(v), grain_of(v))


def told_apart(every: Sequence[Series]) -> list[Series]:
    """Return the channels with reports by exception marked as not regular.

    By exception: said so (the value holds until the next), or many long intervals while other channels of the
    set have rows of their own then. Long intervals common to all channels are gaps.
    """
    out = []
    for one in every:
        between = np.diff(one.stamps)
        often = between.size > 0 and float(np.mean(between > LONG * one.step)) > OFTEN
        alone = len(every) == 1 or any(not np.array_equal(one.stamps, s.stamps) for s in every)
        with_others = any(s is not one and np.array_equal(one.stamps, s.stamps) for s in every)
        by_exception = one.channel.hold == "step" and not (with_others and one.quantity == "shut-off closed")
        out.append(replace(one, regular=False) if by_exception or (often and alone) else one)
    return out


def portion(v: Floats) -> Floats:
    """Return a long record's forty evenly spread stretches, enough for medians; a shorter one itself."""
    if v.size <= MANY:
        return v
    length = MANY // 40
    first = np.linspace(0, v.size - length, 40).astype(np.intp)
    return np.concatenate([v[a : a + length] for a in first.tolist()])


def scatter_of(v: Floats) -> float:
    """Return the deviation of one sample from the middle of its neighbours (median absolute deviation)."""
    if v.size < 5:
        return 0.0
    v = portion(v)
    off = v[1:-1] - 0.5 * (v[:-2] + v[2:])
    return float(MAD_TO_DEVIATION * np.median(np.abs(off)) / np.sqrt(1.5))


def grain_of(v: Floats) -> float:
    """Return the step of which nearly all differences of neighbours are multiples; 0 where there is none."""
    part = v if v.size <= 60_000 else v[:60_000]
    apart = np.abs(np.diff(part))
    apart = apart[apart > 1e-6 * max(float(np.max(np.abs(part), initial=0.0)), 1e-12)]
    if apart.size < 20:
        return 0.0
    place = int(0.02 * apart.size)
    first = float(np.partition(apart, place)[place])
    near = apart[apart <= 1.2 * first]
    step = float(np.median(near[near >= 0.8 * first]))
    few = apart[apart < 20.5 * step] / step
    return step if np.mean(np.abs(few - np.round(few)) < 0.12) > 0.95 else 0.0


def thinned(one: Series) -> Series:
    """Return medians of blocks of a minute for a faster record, the record itself otherwise."""
    if one.step >= 0.5 * THIN or one.t.size < 2 or one.channel.hold == "step":
        return one
    block = np.floor(one.t / THIN)
    edges = np.flatnonzero(np.diff(block, prepend=block[0] - 1.0))
    size = int(np.median(np.diff(edges))) if edges.size > 1 else 1
    full = np.flatnonzero(np.diff(np.append(edges, one.t.size)) == size)
    times = block[edges[full]] * THIN + 0.5 * THIN
    return of_arrays(one.channel, times, medians(one.v, edges[full], size))


def medians(v: Floats, first: Places, size: int) -> Floats:
    """Return the medians of `size` values each, from these places on."""
    out: Floats = np.empty(first.size)
    borders = np.concatenate(([0], np.flatnonzero(np.diff(first) != size) + 1, [first.size]))
    for a, b in pairwise(borders.tolist()):
        if b > a:  # blocks in a row are taken as they lie
            start = int(first[a])
            out[a:b] = _middle(v[start : start + (b - a) * size].reshape(b - a, size))
    return out


def _middle(rows: Floats) -> Floats:
    """Return the medians of rows without a missing value; what `numpy.median` gives, sooner."""
    half = rows.shape[1] // 2
    if rows.shape[1] % 2:
        return np.asarray(np.partition(rows, half, axis=1)[:, half])
    low_half = np.partition(rows, half, axis=1)
    return np.asarray(0.5 * (low_half[:, :half].max(axis=1) + low_half[:, half]))


def runs(v: Floats) -> tuple[Places, Places]:
    """Return first places and lengths of the runs of equal neighbours."""
    if not v.size:
        return np.empty(0, np.intp), np.empty(0, np.intp)
    small = 1e-9 * max(float(np.max(np.abs(v))), 1e-12)
    first = np.flatnonzero(np.append(True, np.abs(np.diff(v)) > small))
    return first, np.diff(np.append(first, v.size))


def stretches(marks: Marks) -> list[tuple[int, int]]:
    """Return the spans (first, one past the last) in which the marks are set."""
    edges = np.diff(np.concatenate(([0], marks.astype(np.int8), [0])))
    return list(zip(np.flatnonzero(edges == 1).tolist(), np.flatnonzero(edges == -1).tolist(), strict=True))


def at_times(one: Series, t: Floats, reach: float | None = None) -> Floats:
    """Return the series at other times: held or linear as its channel says; NaN beyond `reach` seconds."""
    if one.t.size < 2:
        return np.full(t.shape, np.nan)
    if np.array_equal(t, one.t):
        return one.v.copy()
    after = np.clip(np.searchsorted(one.t, t, side="right"), 1, one.t.size - 1)
    before = after - 1
    apart = one.t[after] - one.t[before]
    part = np.clip((t - one.t[before]) / np.where(apart > 0.0, apart, 1.0), 0.0, 1.0)
    if one.channel.hold == "step" or not one.regular:
        part = np.where(part >= 1.0, 1.0, 0.0)
    got = one.v[before] + part * (one.v[after] - one.v[before])
    limit = reach if reach is not None else (2.5 * one.step if one.regular else np.inf)
    far = np.minimum(np.abs(t - one.t[before]), np.abs(one.t[after] - t)) > limit
    return np.asarray(np.where(far, np.nan, got))


def within(one: Series, start: float, end: float) -> Floats:
    """Return the values from `start` to `end` (both included)."""
    return one.v[np.searchsorted(one.t, start) : np.searchsorted(one.t, end, side="right")]


def spots(every: Iterable[Series], quantity: str) -> list[Series]:
    """Return the channels of a quantity that are no minimum and no maximum of an interval."""
    return [s for s in every if s.quantity == quantity and s.channel.statistic in ("spot", "mean")]


def one_of(every: Iterable[Series], quantity: str) -> Series | None:
    """Return the first such channel with samples, or None."""
    return next((s for s in spots(every, quantity) if s.t.size > 10), None)


def shut_or_still(every: Iterable[Series], t: Floats) -> Marks:
    """Return where the shut-off is closed or no flow passes: what stands still then is no defect."""
    out = np.zeros(t.shape, dtype=bool)
    for one in every:
        if one.quantity == "shut-off closed" and one.t.size > 1:
            out |= np.nan_to_num(at_times(one, t, np.inf)) > 0.5
        elif one.quantity == "flow" and one.channel.statistic in ("spot", "mean") and one.t.size > 10:
            out |= np.nan_to_num(at_times(one, t), nan=1.0) < 0.01 * float(np.median(one.v))
    return out
