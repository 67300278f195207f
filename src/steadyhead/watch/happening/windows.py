"""A long record by windows: what grows for some weeks of a year is lost in the middle of the year."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from steadyhead.watch.defects.series import Series
from steadyhead.watch.happening.believing import Scene, scene_of
from steadyhead.watch.happening.event import Happening
from steadyhead.watch.happening.usual import DAY

LENGTH, SHORTER = 120.0 * DAY, 45.0 * DAY
"""Lengths of windows; they follow each other by half a length. Own estimates. [s]"""
WHOLE = 1.25
"""A record of no more than this many lengths is looked at as a whole only."""


def by_windows(scene: Scene, found: Callable[[Scene], list[Happening]], *lengths: float) -> list[Happening]:
    """Return what is found in the whole record and in windows of it, each event once."""
    out = found(scene)
    for length in lengths or (LENGTH,):
        for part in _windows(scene, length):
            for one in found(part):
                out = _added(out, one)
    return out


def _windows(scene: Scene, length: float) -> Iterator[Scene]:
    times = [float(x) for s in scene.every if s.t.size > 1 for x in (s.t[0], s.t[-1])]
    if not times or max(times) - min(times) <= WHOLE * length:
        return
    end = max(times)
    while end - length > min(times) - 0.25 * length:
        yield scene_of([_cut(s, end - length, end) for s in scene.every], scene.unsure)
        end -= 0.5 * length


def _cut(one: Series, start: float, end: float) -> Series:
    keep = (one.t >= start) & (one.t <= end)
    return replace(one, t=one.t[keep], v=one.v[keep], stamps=one.t[keep])


def _added(found: list[Happening], one: Happening) -> list[Happening]:
    """Return events with one more; one with those of its kind that it meets, as the larger."""
    same = [h for h in found if h.code is one.code and h.start <= one.end and h.end >= one.start]
    if not same:
        return [*found, one]
    every = [*same, one]
    largest = max(every, key=lambda h: abs(h.magnitude or 0.0))
    joined = replace(largest, start=min(h.start for h in every), end=max(h.end for h in every))
    return [*(h for h in found if h not in same), joined]
