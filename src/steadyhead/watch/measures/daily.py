"""Days worked out one by one: each from its own window of samples and no others, so that it can be kept.

What decides a day is its window of samples and its `basis`: the same two always give the same day, whatever
else the record holds. A day that is added costs that day and the one before, whose evening it borders.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from steadyhead.records.logger import Channel, Context
from steadyhead.watch.defects import long
from steadyhead.watch.defects.defaults import REGULAR_SHARE
from steadyhead.watch.defects.episode import Episode
from steadyhead.watch.defects.judging import Judged
from steadyhead.watch.defects.series import Floats, Series, arrays_of, portion, told_apart
from steadyhead.watch.happening.believing import CLOCKS, TOUCHING, cut, effect, moved, scene
from steadyhead.watch.happening.usual import Spans
from steadyhead.watch.measures.day import Day, Days, of_day
from steadyhead.watch.measures.grid import Midnights, midnights
from steadyhead.watch.measures.keeping import one_from_text, one_to_text
from steadyhead.watch.pieces import NONE, Pieces, Window, told
from steadyhead.work import Progress, no_progress

BACK, AHEAD = 86_400.0, 3.0 * 3600.0
"""What a day sees before and behind it: a value that is held may be a day old. [s]"""
NEAR = 3600.0
"""The same to both sides for a channel sampled faster than `FAST`. [s]"""
FAST = 30.0
Arrays = tuple[Floats, Floats, Floats]


@dataclass(frozen=True, slots=True)
class Wanted:
    """A day to be worked out, and all that decides it besides the samples of its window.

    Parameters
    ----------
    when
        The day in its zone.
    start, end
        Its window. [s since 1970]
    episodes
        Defects of the data that are mended or left out in it, cut to the window.
    doubtful
        Channels whose level a defect moves.
    aside
        Spans that are not counted, cut to the window.
    """

    when: Midnights
    start: float
    end: float
    episodes: tuple[Episode, ...]
    doubtful: frozenset[str]
    aside: tuple[tuple[float, float], ...]

    def basis(self, channels: Sequence[Channel]) -> str:
        """Return all that decides it besides its samples, as text that is equal only for equal things."""
        plain = {
            "day": [self.when.number, self.when.start, self.when.end, self.when.hours.tolist()],
            "window": [self.start, self.end],
            "channels": told(channels),
            "episodes": [effect(e) for e in self.episodes],
            "doubtful": sorted(self.doubtful),
            "aside": [list(span) for span in self.aside],
        }
        return json.dumps(plain, separators=(",", ":"))


def days_of(
    channels: long.Frames,
    context: Context,
    judged: Judged,
    aside: Spans = (),
    since: float | None = None,
    pieces: Pieces = NONE,
    progress: Progress = no_progress,
) -> Days:
    """Return the days of a record, from its believed samples.

    `aside`: spans [s since 1970] that are not counted, as `happening.set_aside` gives them: a zone without
    flow behind a closed shut-off is no quiet night. `since` [s since 1970]: only the days that end after it.
    `pieces`: where days lie that were worked out before; the others are read and put there.
    """
    every = [channel for channel, _ in channels]
    found: list[Day | None] = []
    lacking: list[Wanted] = []
    for one in wanted(channels, context, judged, aside):
        if since is not None and one.when.end <= since:
            continue
        kept = pieces.find("days", (one.start, one.end), one.basis(every))
        if kept is None:
            lacking.append(one)
        else:
            found.append(one_from_text(kept.decode()))
    total = len(found) + len(lacking)
    for block in _blocks(channels, lacking):
        progress(len(found), total, "measures, day by day")
        for one, day in _work_out(channels, block):
            found.append(day)
            pieces.put(*as_piece(channels, one, day))
        pieces.settle()
    return Days(tuple(sorted((d for d in found if d is not None), key=lambda d: d.number)))


def renewed(
    days: Days, channels: long.Frames, context: Context, judged: Judged, aside: Spans, since: float
) -> Days:
    """Return days with those from `since` [s since 1970] on worked out anew, the others as they were.

    `since` is the first time at which rows came, went or are judged otherwise. The day before it is worked
    out again too: its last samples had no neighbour yet.
    """
    fresh = days_of(channels, context, judged, aside, since - 86_400.0)
    kept = tuple(d for d in days.days if d.end <= since - 86_400.0)
    return Days((*kept, *(d for d in fresh.days if not kept or d.number > kept[-1].number)))


def as_piece(channels: long.Frames, one: Wanted, day: Day | None) -> tuple[str, Window, str, bytes]:
    """Return a day as it is kept."""
    basis = one.basis([channel for channel, _ in channels])
    return "days", (one.start, one.end), basis, one_to_text(day).encode()


def wanted(
    channels: long.Frames,
    context: Context,
    judged: Judged,
    aside: Spans,
    within: tuple[float, float] = (-np.inf, np.inf),
) -> Iterator[Wanted]:
    """Yield the days that meet the record and begin `within` a span, each with what decides it."""
    found = long.extents(channels)
    if not found:
        return
    first, last = min(one.first for one in found), max(one.last for one in found)
    names = {channel.id for channel, _ in channels}
    doubtful = moved(judged.episodes, first, last) & names
    clocks = [abs(e.magnitude) for e in judged.episodes if e.code in CLOCKS and e.magnitude is not None]
    more = max(clocks, default=0.0)  # a clock put right brings samples from as far away
    mended = [e for e in judged.episodes if e.code in TOUCHING or (e.code in CLOCKS and e.channels)]
    for when in midnights(context.zone, max(first, within[0]), min(last + 1.0, within[1])):
        if when.start < within[0] and first < within[0]:
            continue
        start, end = when.start - BACK - more, when.end + AHEAD + more
        near = tuple(
            cut(e, start, end)
            for e in mended
            if e.start.timestamp() <= end and e.end.timestamp() >= start and names.intersection(e.channels)
        )
        spans = tuple((max(a, start), min(b, end)) for a, b in aside if a <= end and b >= start)
        yield Wanted(when, start, end, near, doubtful, spans)


def _blocks(channels: long.Frames, lacking: Sequence[Wanted]) -> Iterator[list[Wanted]]:
    """Yield days in a row that are read together, about `long.ROWS` rows of the longest channel at most."""
    if not lacking:
        return
    most = max(1, int(long.ROWS / max(long.rows_a_day(channels), 1.0)))
    block: list[Wanted] = []
    for one in lacking:
        if block and (len(block) >= most or one.when.number != block[-1].when.number + 1):
            yield block
            block = []
        block.append(one)
    yield block


def _work_out(channels: long.Frames, block: Sequence[Wanted]) -> Iterator[tuple[Wanted, Day | None]]:
    start, end = block[0].start, block[-1].end
    read = [(channel, arrays_of(long.between(frame, start, end))) for channel, frame in channels]
    yield from from_arrays(read, block)


def from_arrays(
    read: Sequence[tuple[Channel, Arrays]], some: Sequence[Wanted]
) -> Iterator[tuple[Wanted, Day | None]]:
    """Yield days from times, values and stamps that hold their windows."""
    for one in some:
        every = [_window(channel, arrays, one) for channel, arrays in read]
        fast = scene(told_apart(every), one.episodes)
        fast = replace(fast, unsure=one.doubtful)
        yield one, of_day(fast, fast.slow(), one.when, one.doubtful, one.aside)


def _window(channel: Channel, arrays: Arrays, one: Wanted) -> Series:
    """Return a channel's samples that a day sees."""
    t, v, stamps = arrays
    first, after = np.searchsorted(t, (one.start, one.end)).tolist()
    if after > first and (one.end - one.start) / (after - first) < FAST:
        near = NEAR + (one.when.start - one.start) - BACK
        edges = (one.when.start - near, one.when.end + near)
    else:
        edges = (one.start, one.end)
    a, b = np.searchsorted(t, edges).tolist()
    c, d = np.searchsorted(stamps, edges).tolist()
    return _light(channel, t[a:b], v[a:b], stamps[c:d])


def _light(channel: Channel, t: Floats, v: Floats, stamps: Floats) -> Series:
    """Return a series without scatter and resolution, which no day asks for."""
    between = np.diff(portion(t))
    step = float(np.median(between)) if between.size else 0.0
    near = float(np.mean(np.abs(between - step) <= 0.2 * step)) if between.size else 1.0
    return Series(channel, t, v, stamps, step, near >= REGULAR_SHARE.si, 0.0, 0.0)
