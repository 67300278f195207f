"""A long record by portions of days: each is judged by itself for what is fast and thinned for what is slow.

A portion is a pure function of its days, so a day that is added costs a portion; joining costs little.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from weakref import ref

import numpy as np
import polars as pl

from steadyhead.records.logger import Channel
from steadyhead.watch.defects import gaps, single
from steadyhead.watch.defects.episode import Code, Episode, moment
from steadyhead.watch.defects.saying import lasting, value
from steadyhead.watch.defects.series import Floats, Series, of_arrays, series, thinned, told_apart
from steadyhead.watch.stored import Stored

Frame = pl.LazyFrame | pl.DataFrame | Stored
Frames = Sequence[tuple[Channel, Frame]]
DAY = 86_400.0
ROWS = 700_000
"""Rows of the longest channel in one portion; a record of up to three times as many is judged in one."""
MARGIN = 3600.0
"""What a portion sees of its neighbours. [s]"""
MOST_PORTIONS = 0.5
"""Share of the portions that must show stairs where they are to be a matter of the whole record."""


@dataclass(frozen=True, slots=True)
class Portion:
    """What some days give: fast defects, minutes of the rest, long intervals, first and last stamps [s].

    Parameters
    ----------
    start, end
        The days. [s since 1970]
    episodes
        Fast defects that begin in them.
    slow
        Channels thinned, without what stood still.
    intervals
        Long intervals by channel.
    stamps
        First and last stamp by channel.
    tops
        Highest value by channel.
    """

    start: float
    end: float
    episodes: tuple[Episode, ...]
    slow: tuple[Series, ...]
    intervals: dict[str, list[tuple[float, float]]]
    stamps: dict[str, tuple[float, float]]
    tops: dict[str, float]


@dataclass(frozen=True, slots=True)
class Whole:
    """Portions joined: fast defects in order, and the thinned channels of the whole record."""

    episodes: list[Episode]
    slow: list[Series]


@dataclass(frozen=True, slots=True)
class Extent:
    """How much a channel holds: rows, first and last stamp [s since 1970]."""

    rows: int
    first: float
    last: float


_extents: dict[int, tuple[ref[Frame], Extent | None]] = {}
"""Extents of frames that are still at hand: each is read through for it once."""


def extent(frame: Frame) -> Extent | None:
    """Return how much a frame holds; None: nothing."""
    known = _extents.get(id(frame))
    if known is not None and known[0]() is frame:
        return known[1]
    t = pl.col("t")
    found = frame.lazy().select(n=pl.len(), a=t.min().dt.epoch("us"), b=t.max().dt.epoch("us")).collect()
    rows, first, last = found.row(0)
    got = None if first is None or last is None else Extent(int(rows), first / 1e6, last / 1e6)
    for gone in [key for key, (there, _) in list(_extents.items()) if there() is None]:
        _extents.pop(gone, None)
    _extents[id(frame)] = (ref(frame), got)
    return got


def extents(channels: Frames) -> list[Extent]:
    """Return the extents of the channels that hold something."""
    return [one for _, frame in channels if (one := extent(frame)) is not None]


def is_long(channels: Frames) -> bool:
    """Return whether a record is better judged in portions."""
    return any(one.rows > 3 * ROWS for one in extents(channels))


def rows_a_day(channels: Frames) -> float:
    """Return the rows of the channel with the most, a day."""
    found = extents(channels)
    return max((one.rows / max((one.last - one.first) / DAY, 1.0) for one in found), default=0.0)


def portions(channels: Frames) -> Iterator[Portion]:
    """Yield the portions of a record, whole days each, one after the other."""
    for start, end in spans(channels):
        yield portion(channels, start, end)


def spans(channels: Frames) -> Iterator[tuple[float, float]]:
    """Yield first day and end of each portion of a record. [s since 1970]

    Portions are a power of two of days and stand on a grid of their own, wherever the record begins: what
    is added to a record moves no border. A first or last one that is half empty goes with its neighbour.
    """
    found = extents(channels)
    if not found:
        return
    first, last = min(one.first for one in found), max(one.last for one in found)
    days = 1
    while 2 * days * rows_a_day(channels) <= ROWS:
        days *= 2
    length = days * DAY
    borders = [float(x) for x in np.arange(first // length, last // length + 2.0) * length]
    if len(borders) > 2 and borders[1] - first <= 0.5 * length:
        del borders[1]
    if len(borders) > 2 and last - borders[-2] <= 0.5 * length:
        del borders[-2]
    yield from pairwise(borders)


def portion(channels: Frames, start: float, end: float) -> Portion:
    """Return what the days from `start` to before `end` [s since 1970] give."""
    wide = [series(channel, between(frame, start - MARGIN, end + MARGIN)) for channel, frame in channels]
    return portion_of(told_apart(wide), start, end)


def portion_of(every: Sequence[Series], start: float, end: float) -> Portion:
    """Return what the days from `start` to before `end` give, from channels with a margin about them."""
    full = [s for s in every if s.t.size > 1]
    episodes: list[Episode] = []
    slow = []
    for one in full:
        standing = single.stuck(one, full)
        clipped = single.clipping(one)
        episodes += clipped or standing
        episodes += [] if clipped else single.spikes(one, full)
        episodes += single.quantisation(one)
        slow.append(_own(thinned(single.without(one, standing)), start, end))
    stamps = {s.id: s.stamps[slice(*np.searchsorted(s.stamps, (start, end)))] for s in every}
    return Portion(
        start,
        end,
        tuple(e for e in episodes if e.end.timestamp() >= start and e.start.timestamp() < end),
        tuple(slow),
        {s.id: gaps.long_intervals(replace(s, stamps=stamps[s.id])) for s in every if s.regular},
        {name: (float(t[0]), float(t[-1])) for name, t in stamps.items() if t.size},
        {s.id: float(np.max(s.v)) for s in full},
    )


def between(frame: Frame, start: float, end: float) -> pl.LazyFrame:
    """Return the rows from `start` to before `end`. [s since 1970]"""
    near = frame.near(moment(start), moment(end)) if isinstance(frame, Stored) else frame.lazy()
    return near.filter(
        pl.col("t") >= pl.lit(moment(start)).cast(pl.Datetime("us", "UTC")),
        pl.col("t") < pl.lit(moment(end)).cast(pl.Datetime("us", "UTC")),
    )


def _own(one: Series, start: float, end: float) -> Series:
    keep = (one.t >= start) & (one.t < end)
    return replace(one, t=one.t[keep], v=one.v[keep], stamps=one.t[keep])


def joined(parts: Sequence[Portion], zone: str) -> Whole:
    """Return portions in order of time as one record."""
    slow = _slow(parts)
    steps = {s.id: s.step for part in parts for s in part.slow}
    intervals: dict[str, list[tuple[float, float]]] = {name: [] for name in steps}
    last: dict[str, float] = {}
    for part in parts:
        for name, (first, end) in part.stamps.items():
            if name not in intervals:
                continue
            if name in part.intervals and first - last.get(name, first) >= max(3.0 * steps[name], 120.0):
                intervals[name].append((last[name], first))
            intervals[name] += part.intervals.get(name, [])
            last[name] = end
    spans = [span for part in parts for span in part.stamps.values()]
    whole = [(min(a for a, _ in spans), max(b for _, b in spans))] if spans else []
    out = gaps.told(intervals, steps, gaps.clock_changes(whole, zone))
    out += _stuck(parts, {s.id: s for s in slow}) + _spikes(parts) + _clipped(parts) + _stairs(parts)
    return Whole(sorted(out, key=lambda e: (e.start, e.code)), slow)


def twice(channels: Frames, zone: str) -> list[Episode]:
    """Return the hours that stand twice at a change of the clocks; reads only the rows about them."""
    out: list[Episode] = []
    for at in gaps.clock_changes([(one.first, one.last) for one in extents(channels)], zone):
        near = [
            series(channel, between(frame, at - 0.5 * DAY, at + 0.5 * DAY)) for channel, frame in channels
        ]
        out += gaps.twice(told_apart(near), [at])
    return out


def _slow(parts: Sequence[Portion]) -> list[Series]:
    found: dict[str, list[Series]] = {}
    for part in parts:
        for one in part.slow:
            found.setdefault(one.id, []).append(one)
    out = []
    for pieces in found.values():
        t: Floats = np.concatenate([p.t for p in pieces])
        v: Floats = np.concatenate([p.v for p in pieces])
        out.append(replace(of_arrays(pieces[0].channel, t, v), regular=all(p.regular for p in pieces)))
    return out


def _of(parts: Sequence[Portion], code: Code) -> list[Episode]:
    return sorted(
        (e for part in parts for e in part.episodes if e.code is code), key=lambda e: (e.channels, e.start)
    )


def _spikes(parts: Sequence[Portion]) -> list[Episode]:
    return list({(e.channels, e.start): e for e in _of(parts, Code.SPIKE)}.values())


def _stuck(parts: Sequence[Portion], slow: dict[str, Series]) -> list[Episode]:
    """Return standing values, those that reach over a border as one."""
    out: list[Episode] = []
    for one in _of(parts, Code.STUCK):
        last = out[-1] if out else None
        if last is None or last.channels != one.channels or one.start > last.end:
            out.append(one)
            continue
        end = max(last.end, one.end)
        words = f"The value stands for {lasting((end - last.start).total_seconds())} while others move."
        out[-1] = replace(last, end=end, words=words)
    return out


def _clipped(parts: Sequence[Portion]) -> list[Episode]:
    """Return the ceilings that are the highest value of the whole record."""
    out: dict[str, Episode] = {}
    for one in _of(parts, Code.CLIPPING):
        name = one.channels[0]
        top = max(part.tops.get(name, 0.0) for part in parts)
        if one.magnitude is None or one.magnitude < top * (1.0 - 1e-9):
            continue
        before = out.get(name)
        out[name] = one if before is None else replace(before, end=max(before.end, one.end))
    return list(out.values())


def _stairs(parts: Sequence[Portion]) -> list[Episode]:
    """Return the stairs that most portions show, as one."""
    found: dict[str, list[Episode]] = {}
    for one in _of(parts, Code.QUANTISATION):
        found.setdefault(one.channels[0], []).append(one)
    channels = {s.id: s for part in parts for s in part.slow}
    out = []
    for name, steps in found.items():
        if len(steps) < MOST_PORTIONS * len(parts):
            continue
        step = float(np.median([e.magnitude or 0.0 for e in steps]))
        words = f"The record goes in steps of {value(channels[name], step)}."
        out.append(replace(steps[0], end=max(e.end for e in steps), magnitude=step, words=words))
    return out
