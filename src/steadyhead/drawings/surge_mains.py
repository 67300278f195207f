"""What the mains see in a surge run: highest and lowest along both, over the level of the pipe."""

from __future__ import annotations

from collections.abc import Sequence

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering, text_box
from steadyhead.drawings.scale import Scale, ticks
from steadyhead.drawings.surge_facts import SurgeFacts
from steadyhead.records.surge import MainProfile

HEIGHT, NARROW_HEIGHT = 240.0, 200.0
LEAST_SHARE = 0.25
"""Of the width, for the shorter side; each side has a scale of its own."""
GAP = 18.0
"""Room of the station between the two mains. [px]"""
WALL = 9.0


def draw_mains(
    canvas: Canvas, facts: SurgeFacts, ends: tuple[float, float], top: float, *, is_narrow: bool
) -> float:
    """Draw highest, lowest and the pressure before along both mains, and return where the panel ends. [px]

    The water runs from left to right through the station between the two; distances count from it, each side
    in its own scale. The level of the pipe is drawn as the pressure at datum its own weight of water makes:
    where the lowest comes down to it the pressure there is that of the air.

    Parameters
    ----------
    canvas, facts
        The drawing.
    ends
        Left and right end of the panel. [px]
    top
        Where it begins. [px]
    is_narrow
        Whether the drawing is narrow.
    """
    profiles = facts.picture.run.profiles
    if not profiles:
        return top - 30.0
    bottom = top + 22.0 + (NARROW_HEIGHT if is_narrow else HEIGHT)
    head = f"{facts.words['mains']}, {facts.figures.pressure_unit}"
    canvas["lettering"].text(ends[0], top, head, Lettering("normal", "ink", strong=True))
    pressure = Scale(*facts.along_span(), bottom, top + 22.0)
    style = Lettering("small", "ink-3", anchor="end")
    for tick in ticks(pressure.low, pressure.high, facts.picture.units, (bottom - top) / 50.0):
        y = pressure.at(tick.pressure)
        canvas["grid"].line(ends[0], y, ends[1], y, "grid")
        canvas["lettering"].text(ends[0] - 8, y + 4.5, tick.figure, style)
    left, right = _halves(profiles, ends)
    middle = 0.5 * (left[1] + right[0])
    small = Lettering("small", "ink-2", anchor="middle")
    canvas["ground"].rect(left[1], pressure.high_at, right[0] - left[1], bottom - pressure.high_at, "water")
    taken = [canvas["lettering"].text(middle, bottom + 20.0, facts.words["station"], small)]
    for side, room in (("supply", left), ("consumer", right)):
        _side(canvas, facts, side, room, pressure, taken)
    return bottom + 38.0


def _halves(
    profiles: Sequence[MainProfile], ends: tuple[float, float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the room of the supply side and of the consumer side. [px]"""
    far = {side: _far(profiles, side) for side in ("supply", "consumer")}
    share = far["supply"] / (far["supply"] + far["consumer"])
    share = min(max(share, LEAST_SHARE), 1.0 - LEAST_SHARE)
    width = ends[1] - ends[0] - GAP
    edge = ends[0] + share * width
    return (ends[0], edge), (edge + GAP, ends[1])


def _far(profiles: Sequence[MainProfile], side: str) -> float:
    return max((max(one.distance) for one in profiles if one.side == side), default=1.0)


def _side(
    canvas: Canvas,
    facts: SurgeFacts,
    side: str,
    room: tuple[float, float],
    pressure: Scale,
    taken: list[Box],
) -> None:
    profiles = [one for one in facts.picture.run.profiles if one.side == side]
    if not profiles:
        return
    far = _far(profiles, side)
    scale = Scale(far, 0.0, *room) if side == "supply" else Scale(0.0, far, *room)
    foot = pressure.low_at
    canvas["lines"].line(room[0], foot, room[1], foot, "object")
    for one in profiles:
        _pipe(canvas, one, scale, pressure)
    _wall(canvas, facts, side, room, pressure)
    units = facts.picture.units
    marks = ticks(0.0, far, units, max((room[1] - room[0]) / 110.0, 2.0), "length")
    for tick in reversed(marks[1:]):
        x = scale.at(tick.pressure)
        canvas["lines"].line(x, foot, x, foot + 5, "object")
        label = f"{tick.figure} {units.unit('length')}"
        anchor = "start" if x - room[0] < 24.0 else "end" if room[1] - x < 24.0 else "middle"
        style = Lettering("small", "ink-3", anchor=anchor)  # type: ignore[arg-type]
        box = text_box(canvas.palette, x, foot + 20, label, style)
        if not any(box.meets(other, 4.0) for other in taken):
            taken.append(canvas["lettering"].text(x, foot + 20, label, style))


def _pipe(canvas: Canvas, one: MainProfile, scale: Scale, pressure: Scale) -> None:
    levels = [one.weight * level for level in one.level]
    for values, pen in (
        (levels, "object"),
        (one.begun, "hair"),
        (one.lowest, "tolerance"),
        (one.highest, "grade"),
    ):
        points = [
            (scale.at(distance), pressure.at(min(max(value, pressure.low), pressure.high)))
            for distance, value in zip(one.distance, values, strict=True)
        ]
        canvas["lines"].chain(points, pen)


def _wall(canvas: Canvas, facts: SurgeFacts, side: str, room: tuple[float, float], pressure: Scale) -> None:
    """Draw the weakest limit of a side where it stands on the scale."""
    level = facts.weakest(("inlet",) if side == "supply" else ("consumer", "outlet"))
    if level is None or not pressure.covers(level):
        return
    y = pressure.at(level)
    canvas["lines"].line(room[0], y, room[1], y, "limit")
    canvas["grid"].hatch(Box(room[0], y - WALL, room[1], y), "hatch forbidden")
