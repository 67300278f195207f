"""A long record read once: defects, short events and days of each portion, as they are by itself.

Defects, events and days follow from each other over the whole record, so in order they are three readings.
Most portions hold nothing that changes what follows: what is worked out here for each by itself is then
found again by what decided it. Where more is wrong, that piece is worked out anew; the outcome is the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor

from steadyhead.records.logger import Channel, Context
from steadyhead.watch.defects import judging, long
from steadyhead.watch.defects.judging import Judged
from steadyhead.watch.defects.series import Series, arrays_of, of_arrays, told_apart
from steadyhead.watch.happening import long as short
from steadyhead.watch.measures import daily
from steadyhead.watch.pieces import Pieces, Window
from steadyhead.work import Progress, no_progress

AT_ONCE = 2
"""Portions at work at a time."""
ROWS = 9_000_000
"""Rows, all channels together, that are held at a time: files of samples are longer than a portion, so a
stretch of portions is read together."""
Found = list[tuple[str, Window, str, bytes]]
Read = list[tuple[Channel, daily.Arrays]]


def look_ahead(
    channels: long.Frames, context: Context, pieces: Pieces, progress: Progress = no_progress
) -> None:
    """Work out the portions of a long record that are not kept, and keep them; a short record is left."""
    if not long.is_long(channels):
        return
    spans = list(long.spans(channels))
    lacking = [(start, end) for start, end in spans if not judging.is_kept(channels, start, end, pieces)]
    done = len(spans) - len(lacking)
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for stretch in _stretches(channels, lacking):
            progress(done, len(spans), "samples read")
            low, high = stretch[0][0] - daily.BACK, stretch[-1][1] + daily.BACK + daily.AHEAD
            read = [(channel, arrays_of(long.between(frame, low, high))) for channel, frame in channels]
            for first in range(0, len(stretch), AT_ONCE):
                progress(done, len(spans), "samples read")
                some = [(channels, context, read, *span) for span in stretch[first : first + AT_ONCE]]
                for found in pool.map(lambda given: _of(*given), some):
                    for kind, window, basis, content in found:
                        pieces.put(kind, window, basis, content)
                pieces.settle()
                done += len(some)


def _stretches(channels: long.Frames, lacking: Sequence[Window]) -> Iterator[list[Window]]:
    """Yield portions in a row that are read together."""
    rows = sum(one.rows / max(one.last - one.first, 1.0) for one in long.extents(channels))
    out: list[Window] = []
    for start, end in lacking:
        if out and (start != out[-1][1] or rows * (end - out[0][0]) > ROWS):
            yield out
            out = []
        out.append((start, end))
    if out:
        yield out


def _of(channels: long.Frames, context: Context, read: Read, start: float, end: float) -> Found:
    """Return what a portion gives by itself."""
    every: list[Series] = []
    for channel, (t, v, stamps) in read:
        a, b = t.searchsorted((start - long.MARGIN, end + long.MARGIN)).tolist()
        if v.size == stamps.size:
            every.append(of_arrays(channel, t[a:b], v[a:b]))
            continue
        c, d = stamps.searchsorted((start - long.MARGIN, end + long.MARGIN)).tolist()
        every.append(of_arrays(channel, t[a:b], v[a:b], stamps[c:d]))
    every = told_apart(every)
    portion = long.portion_of(every, start, end)
    events, aside = short.of_portion(every, portion.episodes, start, end)
    out: Found = [judging.as_piece(channels, portion), events]
    wanted = daily.wanted(channels, context, Judged(portion.episodes, ()), aside, (start, end))
    for one, day in daily.from_arrays(read, list(wanted)):
        out.append(daily.as_piece(channels, one, day))
    return out
