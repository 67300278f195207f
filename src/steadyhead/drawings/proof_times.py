"""The time scale of a visit: hours in proportion, long pauses cut out and drawn as cut."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise

PAUSE = 2.5 * 3600.0
"""A pause longer than this is cut out of the scale. Own choice. [s]"""
EDGE = 600.0
"""Time shown before the first and after the last moment of a stretch. Own choice. [s]"""
GAP = 26.0
"""Width of a cut. [px]"""
PITCHES = (900.0, 1800.0, 3600.0, 7200.0, 10800.0, 21600.0, 43200.0)
"""Distances of hour lines that are tried. [s]"""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A time without a long pause, and where it lies. [s], [px]"""

    begin: float
    end: float
    left: float
    right: float


@dataclass(frozen=True, slots=True)
class TimeScale:
    """Stretches from left to right; between two of them the scale is cut."""

    stretches: tuple[Stretch, ...]
    zone: int

    def at(self, moment: float) -> float:
        """Return where a moment lies; one inside a cut at the nearer end. [px]"""
        for one in self.stretches:
            if moment <= one.end:
                share = max(0.0, moment - one.begin) / (one.end - one.begin)
                return one.left + share * (one.right - one.left)
        return self.stretches[-1].right

    def cuts(self) -> Iterator[tuple[float, float]]:
        """Yield both ends of each cut. [px]"""
        for before, after in pairwise(self.stretches):
            yield before.right, after.left

    def hours(self, least: float) -> Iterator[tuple[float, str]]:
        """Yield place and clock of each hour line, at least so far apart. [px]"""
        for one in self.stretches:
            per_second = (one.right - one.left) / (one.end - one.begin)
            pitch = next((step for step in PITCHES if step * per_second >= least), PITCHES[-1])
            moment = (int((one.begin + self.zone * 60) // pitch) + 1) * pitch - self.zone * 60
            while moment <= one.end:
                yield self.at(moment), f"{self.clock(moment):%H:%M}"
                moment += pitch

    def days(self) -> Iterator[tuple[float, str]]:
        """Yield where each stretch begins, with its day; one day is named once."""
        last = ""
        for one in self.stretches:
            words = f"{self.clock(one.begin + EDGE):%-d %b %Y}"
            if words != last:
                yield one.left, words
            last = words

    def clock(self, moment: float) -> datetime:
        """Return a moment as clocks on site showed it."""
        return datetime.fromtimestamp(moment, UTC) + timedelta(minutes=self.zone)


def time_scale(moments: Iterable[float], zone: int, left: float, right: float) -> TimeScale:
    """Return the scale that shows all moments between two places.

    zone: offset of clocks on site from UTC. [min]
    """
    listed = sorted(moments) or [0.0]
    spans = [[listed[0] - EDGE, listed[0] + EDGE]]
    for moment in listed[1:]:
        if moment - EDGE - spans[-1][1] > PAUSE:
            spans.append([moment - EDGE, moment + EDGE])
        else:
            spans[-1][1] = max(spans[-1][1], moment + EDGE)
    spans = _few(spans, int((right - left) // (4 * GAP)) or 1)
    room = right - left - GAP * (len(spans) - 1)
    whole = sum(end - begin for begin, end in spans)
    found, x = [], left
    for begin, end in spans:
        width = room * (end - begin) / whole
        found.append(Stretch(begin, end, x, x + width))
        x += width + GAP
    return TimeScale(tuple(found), zone)


def _few(spans: list[list[float]], most: int) -> list[list[float]]:
    """Return the stretches, those with the shortest pauses between them joined until there are few."""
    while len(spans) > most:
        pauses = [after[0] - before[1] for before, after in pairwise(spans)]
        at = pauses.index(min(pauses))
        spans = [*spans[:at], [spans[at][0], spans[at + 1][1]], *spans[at + 2 :]]
    return spans
