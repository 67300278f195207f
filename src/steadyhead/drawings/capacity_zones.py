"""Zones, borders and nails of the capacity map."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from steadyhead.drawings.boxes import Box, Point
from steadyhead.drawings.canvas import Canvas
from steadyhead.drawings.capacity_areas import Frame, hatch_area, inside
from steadyhead.records.capacity import BorderKind, CapacityMap
from steadyhead.records.cavitation import Degree

BORDER_PENS: dict[BorderKind, str] = {
    "wide open": "object",
    "incipient": "alarm",
    "constant": "slipped",
    "damage": "limit heavy",
    "choked": "trip",
    "low flow, good valve": "edge",
    "low flow, plain valve": "hair dashed",
    "quiet at best": "quiet",
    "quiet at worst": "quiet",
    "too fast": "edge",
    "too fast in a fire": "edge",
}
"""Pen of each border that is drawn; the one at the least lift lies inside the band and is left out."""
HATCHES: dict[Degree, tuple[str, float]] = {
    "incipient": ("hatch heed", 28.0),
    "constant": ("hatch heed", 14.0),
    "damage": ("hatch forbidden", 7.0),
    "choked": ("hatch forbidden", 4.0),
}
"""Pen and pitch of each degree: the worse, the closer. [px]"""
BAND_PITCH, BELOW_PITCH = 14.0, 7.0
WALL = 9.0
NAIL = 5.0
"""Half of the side of a nail. [px]"""


def draw_zones(canvas: Canvas, frame: Frame, shown: CapacityMap) -> None:
    """Draw every zone by its hatching and every border by its line."""
    _draw_wide_open(canvas, frame, shown)
    _draw_cavitation(canvas, frame, shown)
    _draw_low_flow(canvas, frame, shown)
    for border in shown.borders:
        if border.kind not in BORDER_PENS:
            continue
        if border.kind.startswith("too fast"):
            x, box = frame.flow.at(border.points[0][0]), frame.box
            wall = Box(x, box.top, min(x + WALL, box.right), box.bottom)
            canvas["grid"].hatch(wall, "hatch cannot")
        for stretch in inside(frame, border.points):
            canvas["lines"].chain(stretch, BORDER_PENS[border.kind])


def _draw_wide_open(canvas: Canvas, frame: Frame, shown: CapacityMap) -> None:
    border = shown.border("wide open")
    if border is None or not border.points:
        area = [
            frame.at(q, p)
            for q, p in (
                (0.0, shown.lowest_inlet),
                (0.0, shown.highest_inlet),
                (shown.highest_flow, shown.highest_inlet),
                (shown.highest_flow, shown.lowest_inlet),
            )
        ]
    else:
        edge = [frame.at(q, p) for q, p in border.points]
        edge = _carried_right(edge, frame)
        area = [*edge, (frame.box.right, frame.box.bottom), (frame.box.left, frame.box.bottom)]
        area.insert(0, (frame.box.left, edge[0][1]))
    hatch_area(canvas["grid"], area, "hatch cannot", pitch=BELOW_PITCH)


def _carried_right(edge: list[Point], frame: Frame) -> list[Point]:
    """Where the border leaves the frame, all flows beyond it are wide open up to the top."""
    if edge[-1][0] >= frame.box.right - 0.5:
        return edge
    return [*edge, (edge[-1][0], frame.box.top), (frame.box.right, frame.box.top)]


def _draw_cavitation(canvas: Canvas, frame: Frame, shown: CapacityMap) -> None:
    found = [(degree, border) for degree in shown.degrees if (border := shown.border(degree)) is not None]
    for place, (degree, border) in enumerate(found):
        above = dict(found[place + 1][1].points) if place + 1 < len(found) else {}
        pen, pitch = HATCHES[degree]
        for stretch in _runs(shown, border.points):
            roof = [frame.at(q, above.get(q, shown.highest_inlet)) for q, _ in reversed(stretch)]
            floor = [frame.at(q, p) for q, p in stretch]
            if len(stretch) > 1 and max(y for _, y in floor) - min(y for _, y in roof) > 1.0:
                hatch_area(canvas["grid"], [*floor, *roof], pen, pitch=pitch)


def _runs(shown: CapacityMap, points: Sequence[Point]) -> list[list[Point]]:
    """Return stretches of a border without a gap in flow."""
    base = shown.border("wide open")
    steps = [b[0] - a[0] for a, b in pairwise(base.points)] if base else []
    usual = 1.5 * max(steps, default=shown.highest_flow)
    runs: list[list[Point]] = []
    for point in points:
        if runs and point[0] - runs[-1][-1][0] <= usual:
            runs[-1].append(point)
        else:
            runs.append([point])
    return runs


def _draw_low_flow(canvas: Canvas, frame: Frame, shown: CapacityMap) -> None:
    good, plain = shown.border("low flow, good valve"), shown.border("low flow, plain valve")
    if plain is not None and len(plain.points) > 1:
        left = (
            good.points
            if good is not None and len(good.points) > 1
            else tuple((0.0, p) for _, p in plain.points)
        )
        area = [frame.at(q, p) for q, p in plain.points] + [frame.at(q, p) for q, p in reversed(left)]
        hatch_area(canvas["grid"], area, "hatch cannot", pitch=BAND_PITCH, rising=False)
    if good is not None and len(good.points) > 1:
        edge = [frame.at(q, p) for q, p in good.points]
        area = [*edge, (frame.box.left, edge[-1][1]), (frame.box.left, edge[0][1])]
        hatch_area(canvas["grid"], area, "hatch cannot", pitch=BELOW_PITCH, rising=False)


def draw_nails(canvas: Canvas, frame: Frame, shown: CapacityMap) -> None:
    """Draw each design point as a square nail."""
    for point in shown.points:
        x, y = frame.at(point.flow, point.inlet)
        canvas["rings"].rect(x - NAIL, y - NAIL, 2 * NAIL, 2 * NAIL, "nail")
