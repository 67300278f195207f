"""The pressure along the station, from what is known at its taps.

The line is level in a pipe and falls across a part's own width. It is never drawn where nothing is known:
not past a tap that was not read, not through a part that no water passes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from steadyhead.records.pictures import StripPart, StripPicture

LOSING = ("reducer", "shut_off", "strainer", "check_valve", "flow_meter", "isolating")
"""Parts across which pressure falls; where no loss is worked out, the first in this order takes all of it."""

Side = Literal[-1, 0, 1]


@dataclass(frozen=True, slots=True)
class LinePoint:
    """A point of the line: at the inlet side (-1), centre (0) or outlet side (1) of a part.

    `part` -1 is the start of the strip, and the number of parts its end; `pressure` is at datum [Pa].
    """

    part: int
    side: Side
    pressure: float


Stretch = tuple[LinePoint, ...]


@dataclass(slots=True)
class _Length:
    """A length of pipe between two losing parts: its taps, and the level at its two ends."""

    taps: list[tuple[int, float]]
    has_unread_tap: bool = False
    inlet: float | None = None
    outlet: float | None = None


def stops_water(part: StripPart, flow: float | None) -> bool:
    """Say whether no water can pass `part` in its present state."""
    if part.kind == "shut_off":
        return part.tripped is True
    if part.kind == "isolating":
        return part.open_share is not None and part.open_share <= 0.0
    return part.kind == "reducer" and part.travel is not None and part.travel <= 0.0 and flow == 0.0


def line_now(picture: StripPicture) -> tuple[Stretch, ...]:
    """Return the line of the pressures now, cut where water cannot pass or nothing is known."""
    taps = {pressure.tap: pressure.now for pressure in picture.pressures}
    stopped = [stops_water(part, picture.flow) for part in picture.parts]
    return _line(picture.parts, taps, stopped)


def line_at_no_flow(picture: StripPicture) -> tuple[Stretch, ...]:
    """Return the line of the pressures at zero flow; empty where the station stands at zero flow already."""
    if picture.flow == 0.0:
        return ()
    taps = {pressure.tap: pressure.at_no_flow for pressure in picture.pressures}
    parts = [replace(part, loss=None) for part in picture.parts]
    return _line(parts, taps, [False] * len(parts))


def _line(
    parts: Sequence[StripPart], taps: dict[str, float | None], stopped: Sequence[bool]
) -> tuple[Stretch, ...]:
    losing = [index for index, part in enumerate(parts) if part.kind in LOSING]
    lengths = _lengths(parts, taps)
    _carry_outwards(lengths, [parts[index].loss for index in losing], [stopped[i] for i in losing])
    _fill_between(lengths, [parts[index] for index in losing], [stopped[i] for i in losing])
    return _stretches(lengths, losing, stopped, len(parts))


def _lengths(parts: Sequence[StripPart], taps: dict[str, float | None]) -> list[_Length]:
    lengths = [_Length([])]
    for index, part in enumerate(parts):
        if part.kind in LOSING:
            lengths.append(_Length([]))
        elif part.kind == "tap":
            value = taps.get(part.id)
            if value is None:
                lengths[-1].has_unread_tap = True
            else:
                lengths[-1].taps.append((index, value))
    for length in lengths:
        if length.taps:
            length.inlet, length.outlet = length.taps[0][1], length.taps[-1][1]
    return lengths


def _carry_outwards(lengths: list[_Length], losses: list[float | None], stopped: list[bool]) -> None:
    """Extend beyond the outermost known levels by the losses that are worked out."""
    known = [index for index, length in enumerate(lengths) if length.inlet is not None]
    if not known:
        return
    for index in range(known[0] - 1, -1, -1):
        loss, level = losses[index], lengths[index + 1].inlet
        if loss is None or level is None or stopped[index] or lengths[index].has_unread_tap:
            break
        lengths[index].inlet = lengths[index].outlet = level + loss
    for index in range(known[-1] + 1, len(lengths)):
        loss, level = losses[index - 1], lengths[index - 1].outlet
        if loss is None or level is None or stopped[index - 1] or lengths[index].has_unread_tap:
            break
        lengths[index].inlet = lengths[index].outlet = level - loss


def _fill_between(lengths: list[_Length], parts: list[StripPart], stopped: list[bool]) -> None:
    """Give every length between two known ones its level, where one drop can be shared out honestly."""
    known = [index for index, length in enumerate(lengths) if length.inlet is not None]
    for first, last in pairwise(known):
        between = lengths[first + 1 : last]
        if not between or any(stopped[first:last]) or any(length.has_unread_tap for length in between):
            continue
        start, end = lengths[first].outlet, lengths[last].inlet
        assert start is not None
        assert end is not None
        level = start
        for length, drop in zip(between, _shared_out(start - end, parts[first:last]), strict=False):
            level -= drop
            length.inlet = length.outlet = level


def _shared_out(total: float, parts: Sequence[StripPart]) -> list[float]:
    """Share a drop among the parts between two taps: worked-out losses first, the rest on one part."""
    losses = [part.loss or 0.0 for part in parts]
    given = sum(losses)
    open_ended = [index for index, part in enumerate(parts) if part.loss is None]
    rest = total - given
    if given and (not open_ended or rest * total < 0.0):
        return [loss * total / given for loss in losses]
    candidates = open_ended or list(range(len(parts)))
    taker = min(candidates, key=lambda index: LOSING.index(parts[index].kind))
    losses[taker] += rest
    return losses


def _stretches(
    lengths: Sequence[_Length], losing: Sequence[int], stopped: Sequence[bool], end: int
) -> tuple[Stretch, ...]:
    stretches: list[list[LinePoint]] = [[]]
    for number, length in enumerate(lengths):
        starts_at = losing[number - 1] if number else -1
        ends_at = losing[number] if number < len(losing) else end
        if length.inlet is None or length.outlet is None:
            stretches.append([])
            continue
        if number and stopped[starts_at]:
            stretches.append([])
        stretches[-1].append(LinePoint(starts_at, 1, length.inlet))
        stretches[-1] += [LinePoint(index, 0, value) for index, value in length.taps]
        stretches[-1].append(LinePoint(ends_at, -1, length.outlet))
    return tuple(tuple(stretch) for stretch in stretches if stretch)
