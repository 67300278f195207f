"""A record of a logger judged: defects found, told, marked at their samples. The values never change."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from steadyhead.records.logger import Context
from steadyhead.watch.defects import clocks, damped, factors, gaps, hours, long, offsets, single, swaps
from steadyhead.watch.defects.episode import BIT, JUDGED, Code, Episode
from steadyhead.watch.defects.keeping import from_bytes, to_bytes
from steadyhead.watch.defects.series import (
    JUDGED_QUANTITIES,
    PRESSURES,
    THIN,
    Series,
    series,
    thinned,
    told_apart,
)
from steadyhead.watch.pieces import NONE, Pieces, Window, told
from steadyhead.work import Progress, no_progress

Frames = long.Frames
Flags = npt.NDArray[np.uint32]
LONGER = 1.3
"""A shut cock's time over that of the standing value within it from which it is the better word."""


@dataclass(frozen=True, slots=True)
class Judged:
    """The defects of a record in order of time, and the channels that were looked at.

    A channel outside `judged` stays *unseen*.
    """

    episodes: tuple[Episode, ...]
    judged: tuple[str, ...]


def judge(
    channels: Frames, context: Context, pieces: Pieces = NONE, progress: Progress = no_progress
) -> Judged:
    """Judge the channels of one logger set of one station together; a long record in portions of days.

    pieces: where portions lie that were judged before; progress: told how far a long record is.
    """
    if long.is_long(channels):
        return _judge_long(channels, context, pieces, progress)
    return judge_series([series(channel, frame) for channel, frame in channels], context)


def _decided(channels: Frames, start: float, end: float) -> tuple[str, Window, str]:
    """Return what a portion is found by: kind, window, basis."""
    window = (start - long.MARGIN, end + long.MARGIN)
    return "defects", window, json.dumps([start, end, told([channel for channel, _ in channels])])


def is_kept(channels: Frames, start: float, end: float, pieces: Pieces) -> bool:
    """Return whether a portion was judged before."""
    return pieces.find(*_decided(channels, start, end)) is not None


def as_piece(channels: Frames, one: long.Portion) -> tuple[str, Window, str, bytes]:
    """Return a portion as it is kept."""
    return (*_decided(channels, one.start, one.end), to_bytes(one))


def _portions(channels: Frames, pieces: Pieces, progress: Progress) -> Iterator[long.Portion]:
    """Yield the portions of a record, as they were kept or judged now."""
    every = [channel for channel, _ in channels]
    spans = list(long.spans(channels))
    for number, (start, end) in enumerate(spans):
        progress(number, len(spans), "defects of the data")
        found = pieces.find(*_decided(channels, start, end))
        if found is not None:
            yield from_bytes(found, every)
            continue
        one = long.portion(channels, start, end)
        pieces.put(*as_piece(channels, one))
        pieces.settle()
        yield one


def _judge_long(channels: Frames, context: Context, pieces: Pieces, progress: Progress) -> Judged:
    """Judge what is fast by portions of days, and what is slow on medians of minutes of the whole record."""
    whole = long.joined(list(_portions(channels, pieces, progress)), context.zone)
    slow, out, wrong = _factors(whole.slow, context)
    exchanged = swaps.found(slow, context)
    slow = swaps.undone(slow, exchanged)
    clocked = clocks.found(slow, context)
    mixed = {w for w, found in wrong.items() if found} | {c for e in exchanged for c in e.channels}
    apart = mixed | _unwitnessed(slow, clocked)
    left_out = {Code.SPIKE: apart, Code.QUANTISATION: mixed, Code.CLIPPING: mixed}
    out += [e for e in whole.episodes if not left_out.get(e.code, set()) & set(e.channels)]
    out = hours.named(out, whole.slow) + exchanged + clocked + long.twice(channels, context.zone)
    out = _told_once(out + _slow(slow, context))
    return Judged(tuple(out), tuple(s.id for s in whole.slow if s.quantity in JUDGED_QUANTITIES))


def judge_series(every: Sequence[Series], context: Context) -> Judged:
    """Judge channels already held as arrays.

    Wrong factors and exchanged channels are found first; what follows looks at working copies in which they
    are taken out, so that one fault of the data is told once.
    """
    every = told_apart(every)
    full = [s for s in every if s.t.size > 1]
    out = gaps.found([s for s in every if s.stamps.size > 3], context.zone)
    standing = {s.id: single.stuck(s, full) for s in full}
    slow = [thinned(single.without(s, standing[s.id])) for s in full]
    out = hours.named(out, slow)
    slow, _, wrong = _factors(slow, context)
    fine = {s.id: s for s in full if s.step < 0.5 * THIN}
    wrong = {name: factors.refined(fine[name], w) if name in fine else w for name, w in wrong.items()}
    out += [w.episode for found in wrong.values() for w in found]
    exchanged = swaps.found(slow, context)
    out += exchanged
    slow = swaps.undone(slow, exchanged)
    fast = swaps.undone([factors.undone(s, wrong.get(s.id, [])) for s in full], exchanged)
    clocked = clocks.found(slow, context)
    out += clocked
    out += _single(fast, exchanged, wrong, standing)
    apart = _unwitnessed(full, clocked)
    out = [e for e in out if not (e.code is Code.SPIKE and apart & set(e.channels))]
    out = _told_once(out + _slow(slow, context))
    return Judged(tuple(out), tuple(s.id for s in full if s.quantity in JUDGED_QUANTITIES))


def _unwitnessed(every: Sequence[Series], clocked: Sequence[Episode]) -> set[str]:
    """Return the channels with no other pressure on their own clock: none bears them witness.

    Where the flow's stamps alone are apart, the flow; where those of a logger with a pressure are, what has
    no second pressure beside it on its clock.
    """
    off = [set(e.channels) for e in clocked if e.channels]
    if not off:
        return set()
    flows = {s.id for s in every if s.quantity == "flow"}
    if all(channels <= flows for channels in off):
        return flows
    clock = {s.id: tuple(s.id in channels for channels in off) for s in every}
    pressures = [s.id for s in every if s.quantity in PRESSURES]
    return {
        s.id for s in every if not any(other != s.id and clock[other] == clock[s.id] for other in pressures)
    }


def _factors(
    every: Sequence[Series], context: Context
) -> tuple[list[Series], list[Episode], dict[str, list[factors.Wrong]]]:
    wrong: dict[str, list[factors.Wrong]] = {}
    for one in every:
        if one.quantity in PRESSURES:
            wrong[one.id] = factors.of_pressure(one, every, context)
    right = [factors.undone(s, wrong.get(s.id, [])) for s in every]
    for one in right:
        if one.quantity == "flow" and one.channel.statistic in ("spot", "mean"):
            wrong[one.id] = factors.of_flow(one, right, context)
    right = [factors.undone(s, wrong.get(s.id, [])) if s.quantity == "flow" else s for s in right]
    return right, [w.episode for found in wrong.values() for w in found], wrong


def _single(
    every: Sequence[Series],
    exchanged: Sequence[Episode],
    wrong: Mapping[str, Sequence[factors.Wrong]],
    stuck: Mapping[str, list[Episode]],
) -> list[Episode]:
    out: list[Episode] = []
    for one in every:
        clipped = single.clipping(one)
        out += clipped or stuck[one.id]
        if not clipped:
            out += single.spikes(one, every)
        mixed = bool(wrong.get(one.id)) or any(one.id in e.channels for e in exchanged)
        if not mixed:
            out += single.quantisation(one)
    return out


def _slow(every: Sequence[Series], context: Context) -> list[Episode]:
    out: list[Episode] = []
    for one in every:
        if one.quantity in PRESSURES and one.channel.statistic in ("spot", "mean"):
            out += offsets.against_gauges(one, every, context) + damped.cock_shut(one, every)
    return out


def _told_once(found: Sequence[Episode]) -> list[Episode]:
    """Return the episodes in order; of a standing value and a shut cock at the same time the longer one.

    A coarse channel behind a shut cock stands still for parts of the time; a ceiling is no calm.
    """
    shut = [e for e in found if e.code is Code.COCK_SHUT]
    others = [e for e in found if e.code in (Code.STUCK, Code.CLIPPING)]
    drop = set()
    for a in shut:
        for b in others:
            if a.channels == b.channels and _meet(a, b):
                longer = b.code is Code.STUCK and a.end - a.start > LONGER * (b.end - b.start)
                drop.add(id(b) if longer else id(a))
    return sorted((e for e in found if id(e) not in drop), key=lambda e: (e.start, e.code))


def _meet(a: Episode, b: Episode) -> bool:
    return a.start <= b.end and b.start <= a.end


def flags(one: Series, judged: Judged) -> Flags:
    """Return the bits of each sample of a channel: judged, and its defects."""
    out = np.zeros(one.t.size, dtype=np.uint32)
    if one.id not in judged.judged:
        return out
    out |= np.uint32(JUDGED)
    for episode in judged.episodes:
        if episode.channels and one.id not in episode.channels:
            continue
        if episode.code in (Code.GAP, Code.CLOCK_CHANGE):
            continue
        bit = np.uint32(BIT[episode.code])
        if episode.code is Code.CLIPPING and episode.magnitude is not None:
            out[one.v >= episode.magnitude * (1.0 - 1e-9)] |= bit
            continue
        start, end = episode.start.timestamp() - 1e-3, episode.end.timestamp() + 1e-3
        out[np.searchsorted(one.t, start) : np.searchsorted(one.t, end, side="right")] |= bit
    return out
