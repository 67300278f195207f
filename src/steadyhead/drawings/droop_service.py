"""Outlet by flow in service, both ways, beside the twin and the fall as left."""

from __future__ import annotations

from itertools import pairwise

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering
from steadyhead.drawings.frames import AXIS_ROOM, MARGIN, below, foot_lines, head, levels, named, padded
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.scale import Scale, ticks
from steadyhead.records.logger_pictures import DroopPicture
from steadyhead.units import METRIC, UnitSet, say

HEIGHT, SIDE_ROOM = 240.0, 92.0
PIECE = 8.0
"""Length of a line's pieces that names keep clear of. [px]"""
STYLE = Lettering("small", "ink", halo="paper")
WAYS = (
    ("rising", "rising", "grade"), ("falling", "falling", "hair dashed"), ("twin", "twin", "quiet"),
    ("as_left", "as left", "object dashed"),
)  # fmt: skip
"""Field of the picture, its name beside the line, its pen."""


def draw_droop(picture: DroopPicture, palette: Palette, width: float, units: UnitSet = METRIC) -> str:
    """Return outlet by flow as SVG text.

    Upright strokes reach from the tenth to the ninetieth percentile of the outlet at a flow; the middle with
    rising flow is a full line, with falling flow a dashed one; the twin is dotted. Names stand at the
    ends of the lines.

    Parameters
    ----------
    picture
        What is shown.
    palette, width
        Colours and pens; width of the drawing. [px]
    units
        Display units.
    """
    return compose_droop(picture, palette, width, units).svg(
        f"Outlet by flow, {picture.name}", droop_text(picture, units)
    )


def compose_droop(picture: DroopPicture, palette: Palette, width: float, units: UnitSet = METRIC) -> Canvas:
    """Return the drawing as a canvas, with the boxes of its lettering."""
    canvas = Canvas(palette, width)
    left, right = MARGIN + AXIS_ROOM, width - MARGIN - SIDE_ROOM
    top = head(canvas, "Outlet by flow", units.heading("pressure"), right) + 14.0
    lines = [(words, pen, getattr(picture, name)) for name, words, pen in WAYS]
    heights = [y for _, _, points in lines for _, y in points]
    heights += [y for _, *both in picture.spread for y in both]
    scale = Scale(*padded(heights or [0.0, 1e5]), top + HEIGHT, top)
    flow = Scale(0.0, max([x for x, *_ in picture.spread] + [1e-4]), left, right - 12.0)
    levels(canvas, scale, (left, right), units)
    for x, low, high in picture.spread:
        canvas["lines"].line(flow.at(x), scale.at(low), flow.at(x), scale.at(high), "hair")
    taken: list[Box] = []
    if not picture.rising and not picture.falling:
        lines.insert(0, ("all samples", "grade", picture.every))
    ends: list[tuple[str, float, float]] = []
    for words, pen, points in lines:
        places = [(flow.at(x), scale.at(y)) for x, y in points]
        if len(places) > 1:
            canvas["lines"].chain(places, pen)
            taken += _along(places)
            ends.append((words, places[-1][0] + 6.0, places[-1][1] + 4.5))
    for words, x, y in ends:
        named(canvas, x, y, words, taken, STYLE)
    unit = units.first.unit("flow")
    below(canvas, flow, scale.low_at, ticks(0.0, flow.high, units.first, (right - left) / 90.0, "flow"), unit)
    canvas.height = round(foot_lines(canvas, scale.low_at + 62.0, picture.caption) + 4.0)
    return canvas


def _along(places: list[tuple[float, float]]) -> list[Box]:
    """Return boxes along a line, so that no name is written over it."""
    out = []
    for (x1, y1), (x2, y2) in pairwise(places):
        parts = max(1, int((abs(x2 - x1) + abs(y2 - y1)) / PIECE))
        dx, dy = (x2 - x1) / parts, (y2 - y1) / parts
        for k in range(parts):
            x, y = x1 + k * dx, y1 + k * dy
            out.append(Box(min(x, x + dx), min(y, y + dy), max(x, x + dx), max(y, y + dy)))
    return out


def droop_text(picture: DroopPicture, units: UnitSet = METRIC) -> str:
    """Return the picture as a few sentences: each line by its ends."""
    said = [
        f"{words[0].upper()}{words[1:]}: {_end(points[0], units)} to {_end(points[-1], units)}."
        for name, words, _ in (("every", "all samples", ""), *WAYS)
        if len(points := getattr(picture, name)) > 1
    ]
    return " ".join((*said, *picture.caption)) or "No flows met."


def _end(point: tuple[float, float], units: UnitSet) -> str:
    return f"{say(point[1], 'pressure', units)} at {say(point[0], 'flow', units)}"
