"""The channels of a station as events are told from them: what is refused left out, what is mended mended."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from steadyhead.records.logger import Channel, Quantity
from steadyhead.watch.defects import swaps
from steadyhead.watch.defects.episode import Code, Episode, moment
from steadyhead.watch.defects.series import Floats, Marks, Series, at_times, of_arrays, one_of, thinned

REFUSED = (Code.STUCK, Code.SPIKE, Code.COCK_SHUT, Code.CLOCK_WHILE)
"""What is left out: values that cannot be true, and true ones at a time that is none of theirs."""
OF_LEVEL = (Code.DRIFT, Code.ABSOLUTE, Code.DATUM)
"""Defects that move a level: harmless to what is short, not to what is slow."""
TOUCHING = (*REFUSED, Code.UNIT, Code.PULSES, Code.SWAP)
"""Defects that touch the samples in their span alone."""
CLOCKS = (Code.CLOCK_OFFSET, Code.CLOCK_DRIFT)
DECIDING = (*TOUCHING, *CLOCKS, *OF_LEVEL)
"""Defects by which a scene is another one."""
FEW = 10
"""Samples up to which a channel is no part of a scene, as in `series.one_of`."""
GRID, SILENCE = 300.0, 4.0
"""Times at which a report by exception is looked at [s]; silence over the usual long ones that is a gap."""
WHOLE = 0.98
"""Share of a record from which on a defect is one of the whole record: then no level moves by it."""


@dataclass(frozen=True, slots=True)
class Scene:
    """The channels of one station by what they measure; None: not recorded.

    `slow` is the same in medians of a minute where the record is faster. `unsure` names the channels whose
    level moves by a defect of the data.
    """

    inlet: Series | None
    outlet: Series | None
    flow: Series | None
    travel: Series | None
    closed: Series | None
    upstream: Series | None
    middle: Series | None
    every: tuple[Series, ...]
    unsure: frozenset[str]

    def level(self, one: Series | None) -> Series | None:
        """Return the channel where its level can be trusted, else None."""
        return None if one is None or one.id in self.unsure else one

    def slow(self) -> Scene:
        """Return the scene in medians of a minute; what reports by exception, as held, every five minutes."""
        every = [s if s.quantity == "shut-off closed" else thinned(held(s)) for s in self.every]
        return scene_of(every, self.unsure)


def held(one: Series) -> Series:
    """Return a channel that reports by exception at even times: the value holds until the next report.

    A silence of many times the usual ones says nothing; a regular channel is returned as it is.
    """
    if one.regular or one.t.size < 10:
        return one
    t: Floats = np.arange(np.ceil(one.t[0] / GRID) * GRID, one.t[-1], GRID)
    usual = float(np.quantile(np.diff(one.t), 0.99))
    v = at_times(one, t, max(SILENCE * usual, 2.0 * SILENCE * GRID))
    ok = np.isfinite(v)
    return replace(of_arrays(one.channel, t[ok], v[ok]), regular=True) if np.count_nonzero(ok) > 10 else one


def scene(every: Sequence[Series], episodes: Iterable[Episode]) -> Scene:
    """Return the station's channels without refused samples, working copies mended as judged."""
    episodes = tuple(episodes)
    swapped = swaps.undone(every, episodes)
    return scene_of([_believed(s, episodes) for s in swapped if s.t.size > 1], unsure(every, episodes))


def chosen(channels: Iterable[Channel], quantity: Quantity) -> Channel | None:
    """Return the channel from which events and measures are told, of those of a quantity; None: no such.

    The first that is no minimum and no maximum of an interval; of inlets that closest to the first valve. A
    scene passes over channels with too few samples.
    """
    found = [c for c in channels if c.quantity == quantity and c.statistic in ("spot", "mean")]
    if quantity == "inlet pressure":
        found.sort(key=lambda c: c.place or "T1", reverse=True)
    return found[0] if found else None


def _leading(every: Sequence[Series], quantity: Quantity) -> Series | None:
    long = [s for s in every if s.t.size > FEW]
    channel = chosen([s.channel for s in long], quantity)
    return next((s for s in long if s.channel is channel), None)


def scene_of(every: Sequence[Series], doubtful: frozenset[str]) -> Scene:
    """Return channels that are already believed, by what they measure."""
    inlets = [s for s in every if s.quantity == "inlet pressure" and s.channel.statistic in ("spot", "mean")]
    both = len(inlets) > 1 and {s.channel.place for s in inlets} >= {"T0", "T1"}
    return Scene(
        inlet=_leading(every, "inlet pressure"),
        outlet=_leading(every, "outlet pressure"),
        flow=one_of(every, "flow"),
        travel=one_of(every, "travel"),
        closed=next((s for s in every if s.quantity == "shut-off closed" and s.t.size > 1), None),
        upstream=next((s for s in inlets if both and s.channel.place == "T0"), None),
        middle=one_of(every, "pressure between the valves"),
        every=tuple(every),
        unsure=doubtful,
    )


def unsure(every: Sequence[Series], episodes: Sequence[Episode]) -> frozenset[str]:
    """Return the channels whose level moves within the record by a defect of the data."""
    times = [float(x) for s in every if s.t.size > 1 for x in (s.t[0], s.t[-1])]
    return moved(episodes, min(times), max(times)) if times else frozenset()


def moved(episodes: Sequence[Episode], start: float, end: float) -> frozenset[str]:
    """Return the channels whose level a defect moves within a record from `start` to `end`. [s since 1970]"""
    out: set[str] = set()
    for e in episodes:
        whole = (e.end - e.start).total_seconds() > WHOLE * (end - start)
        if e.code is Code.DRIFT or (e.code in OF_LEVEL and not whole):
            out.update(e.channels)
    return frozenset(out)


def cut(one: Episode, start: float, end: float) -> Episode:
    """Return an episode within a window [s since 1970]; that of a clock whole: it counts from its start."""
    if one.code in CLOCKS:
        return one
    a, b = max(one.start.timestamp(), start), min(one.end.timestamp(), end)
    return replace(one, start=moment(a), end=moment(b))


def effect(one: Episode) -> list[object]:
    """Return what of an episode decides a scene, as plain values."""
    return [one.code, one.start.timestamp(), one.end.timestamp(), list(one.channels), one.magnitude]


def _believed(one: Series, episodes: Sequence[Episode]) -> Series:
    keep = np.ones(one.t.size, dtype=bool)
    t, v = one.t, one.v
    for e in episodes:
        if one.id not in e.channels and not (e.code is Code.CLOCK_OFFSET and not e.channels):
            continue
        if e.code in REFUSED:
            keep &= ~_within(one.t, e)
        elif e.code in (Code.UNIT, Code.PULSES) and e.magnitude:
            v = np.where(_within(one.t, e), v / e.magnitude, v)
        elif e.code is Code.CLOCK_OFFSET and e.magnitude is not None and e.channels:
            t = t - e.magnitude
        elif e.code is Code.CLOCK_DRIFT and e.magnitude is not None and e.channels:
            first, last = e.start.timestamp(), e.end.timestamp()
            t = t - e.magnitude * np.clip((t - first) / max(last - first, 1.0), 0.0, 1.0)
    if keep.all() and t is one.t and v is one.v:
        return one
    new = of_arrays(one.channel, t[keep], v[keep], t)
    return replace(new, regular=one.regular)


def _within(t: Floats, e: Episode) -> Marks:
    return np.asarray((t >= e.start.timestamp() - 1e-3) & (t <= e.end.timestamp() + 1e-3))
