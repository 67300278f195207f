"""A long record by portions of days: what is fast is told in each, what is slow on minutes of the whole."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from steadyhead.records.logger import Channel, Context
from steadyhead.watch.defects import long
from steadyhead.watch.defects.episode import Episode
from steadyhead.watch.defects.judging import Judged
from steadyhead.watch.defects.series import Floats, Series, of_arrays, series, thinned, told_apart
from steadyhead.watch.happening import blind, surges, swings, trips
from steadyhead.watch.happening.believing import DECIDING, Scene, cut, effect, scene, scene_of, unsure
from steadyhead.watch.happening.event import Happening, NotSeen
from steadyhead.watch.happening.keeping import Short, from_bytes, to_bytes
from steadyhead.watch.happening.straining import Resistance
from steadyhead.watch.happening.usual import Spans, about
from steadyhead.watch.pieces import NONE, Pieces, Window, told
from steadyhead.work import Progress, no_progress

HOUR = 3600.0
AROUND = 36.0 * HOUR
"""What is read again about a short event. [s]"""
BREAK = 3
"""Portions without hunting that end it."""


class Record:
    """A long record: its minutes, and its short events by portions.

    Parameters
    ----------
    channels
        Channels with their frames.
    judged
        What is known of their defects.
    pieces, progress
        Where portions lie that were looked at before; told how far it is.
    """

    def __init__(
        self,
        channels: long.Frames,
        judged: Judged,
        pieces: Pieces = NONE,
        progress: Progress = no_progress,
    ) -> None:
        self._channels = channels
        self._episodes = judged.episodes
        self._pieces = pieces
        self._hunting: list[tuple[int, Happening]] = []
        self._surges: list[Happening] = []
        self.not_seen: list[NotSeen] = []
        minutes: dict[str, list[Series]] = {}
        spans = list(long.spans(channels))
        for number, (start, end) in enumerate(spans):
            progress(number, len(spans), "events of the station")
            now = self._short(start, end)
            self.not_seen = self.not_seen or list(now.not_seen)
            self._surges += now.surges
            self._hunting += [(number, h) for h in now.hunting]
            for one in now.minutes:
                minutes.setdefault(one.id, []).append(one)
        every = [_joined(parts) for parts in minutes.values()]
        self.slow: Scene = scene_of(every, unsure(every, self._episodes))

    def _scene(self, start: float, end: float) -> Scene:
        every = [series(channel, long.between(frame, start, end)) for channel, frame in self._channels]
        return scene(told_apart(every), _meeting(self._episodes, start, end))

    def _short(self, start: float, end: float) -> Short:
        """Return the short events of a portion, as they were kept or worked out now."""
        every = [channel for channel, _ in self._channels]
        near = _near(self._episodes, start, end)
        decided = _decided(every, near, start, end)
        found = self._pieces.find(*decided)
        if found is not None:
            return from_bytes(found, every)
        raw = [series(channel, long.between(frame, *decided[1])) for channel, frame in self._channels]
        made, _ = _found(scene(told_apart(raw), near), start, end)
        self._pieces.put(*decided, to_bytes(made))
        self._pieces.settle()
        return made

    def trips(self, context: Context) -> list[Happening]:
        """Return the trips, read again as sampled about each that the minutes show."""
        out: list[Happening] = []
        for one in trips.found(self.slow, context):
            start, end = one.start.timestamp(), one.end.timestamp()
            if out and start <= out[-1].end.timestamp():
                continue
            near = self._scene(start - AROUND, end + 2.0 * HOUR)
            got = trips.found(near, context)
            out += [h for h in got if h.start.timestamp() <= end and h.end.timestamp() >= start] or [one]
        return out

    def surges(self, line: Resistance | None, aside: Spans) -> list[Happening]:
        """Return the surges, looked at again with what the flow costs."""
        out: list[Happening] = []
        for one in self._surges:
            start, end = one.start.timestamp(), one.end.timestamp()
            near = self._scene(start - HOUR, end + HOUR)
            got = [h for h in surges.found(near, line, aside) if h.start <= one.end and h.end >= one.start]
            out += [_as_before(h, one) for h in got]
        return list({h.start: h for h in out}.values())

    def hunting(self, aside: Spans) -> list[Happening]:
        """Return the hunting outside the spans, that of neighbouring portions as one."""
        out: list[tuple[int, Happening]] = []
        for number, one in self._hunting:
            if any(a <= one.start.timestamp() and one.end.timestamp() <= b for a, b in aside):
                continue
            if out and number - out[-1][0] <= BREAK:
                before = out[-1][1]
                larger = max(before, one, key=lambda h: h.magnitude or 0.0)
                out[-1] = (number, replace(larger, start=before.start, end=max(before.end, one.end)))
            else:
                out.append((number, one))
        return [h for _, h in out]


def of_portion(
    every: Sequence[Series], episodes: Sequence[Episode], start: float, end: float
) -> tuple[tuple[str, Window, str, bytes], Spans]:
    """Return the short events of a portion by itself as they are kept, and the spans no measure counts."""
    near = _near(episodes, start, end)
    made, aside = _found(scene(every, near), start, end)
    return (*_decided([s.channel for s in every], near, start, end), to_bytes(made)), aside


def _near(episodes: Sequence[Episode], start: float, end: float) -> list[Episode]:
    """Return the defects that decide what a portion tells, cut to what it sees."""
    window = (start - HOUR, end + HOUR)
    return [cut(e, *window) for e in _meeting(episodes, *window) if e.code in DECIDING]


def _decided(
    channels: Sequence[Channel], near: Sequence[Episode], start: float, end: float
) -> tuple[str, Window, str]:
    """Return what a portion is found by: kind, window, basis."""
    basis = json.dumps([start, end, told(channels), [effect(e) for e in near]])
    return "events", (start - HOUR, end + HOUR), basis


def _found(now: Scene, start: float, end: float) -> tuple[Short, Spans]:
    aside = about(trips.found(now, Context()), 0.5 * HOUR, 3.0 * HOUR)
    sharp = surges.found(now, None, aside)
    made = Short(
        tuple(h for h in sharp if start <= h.start.timestamp() < end),
        tuple(swings.found(now, aside)),
        tuple(blind.of(now)),
        tuple(_own(_minutes(one), start, end) for one in now.every),
    )
    return made, aside


def _meeting(episodes: Sequence[Episode], start: float, end: float) -> list[Episode]:
    return [e for e in episodes if e.start.timestamp() <= end and e.end.timestamp() >= start]


def _as_before(one: Happening, before: Happening) -> Happening:
    """Return a surge with what its whole portion told of it, where it is the same (hours show less)."""
    same = (one.start, one.end, one.magnitude) == (before.start, before.end, before.magnitude)
    return before if same else one


def _minutes(one: Series) -> Series:
    """Return medians of a minute; of a switch the samples at which it changes, and one a minute."""
    if one.quantity != "shut-off closed":
        return thinned(one)
    moved = np.append(True, np.diff(one.v) != 0.0)
    keep = moved | np.append(moved[1:], True) | np.append(True, np.diff(np.floor(one.t / 60.0)) != 0.0)
    return replace(one, t=one.t[keep], v=one.v[keep])


def _own(one: Series, start: float, end: float) -> Series:
    keep = (one.t >= start) & (one.t < end)
    return replace(one, t=one.t[keep], v=one.v[keep], stamps=one.t[keep])


def _joined(parts: Sequence[Series]) -> Series:
    t: Floats = np.concatenate([p.t for p in parts])
    v: Floats = np.concatenate([p.v for p in parts])
    return replace(of_arrays(parts[0].channel, t, v), regular=all(p.regular for p in parts if p.t.size))
