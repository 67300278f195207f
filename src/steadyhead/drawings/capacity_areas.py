"""Areas of a map between straight chains: cut at the frame, hatched whatever their shape."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from steadyhead.drawings.boxes import Box, Point
from steadyhead.drawings.canvas import Layer, number
from steadyhead.drawings.scale import Scale

LEAST_STROKE = 0.5


@dataclass(frozen=True, slots=True)
class Frame:
    """Flow to the right [m³/s] and inlet pressure upwards [Pa], on the page."""

    flow: Scale
    inlet: Scale

    @property
    def box(self) -> Box:
        """The frame on the page. [px]"""
        return Box(self.flow.low_at, self.inlet.high_at, self.flow.high_at, self.inlet.low_at)

    def at(self, flow: float, inlet: float) -> Point:
        """Return the place of a point; beyond the frame it is put on its edge. [px]"""
        q = min(max(flow, self.flow.low), self.flow.high)
        p = min(max(inlet, self.inlet.low), self.inlet.high)
        return self.flow.at(q), self.inlet.at(p)


def inside(frame: Frame, points: Sequence[Point]) -> list[list[Point]]:
    """Return the stretches of a chain of (flow, inlet) that lie in the frame, on the page.

    Examples
    --------
    >>> unit = Frame(Scale(0, 1, 0, 100), Scale(0, 1, 100, 0))
    >>> inside(unit, [(0, 0.5), (1, 1.5)])
    [[(0.0, 50.0), (50.0, 0.0)]]
    """
    box = frame.box
    stretches: list[list[Point]] = []
    for start, end in pairwise((frame.flow.at(q), frame.inlet.at(p)) for q, p in points):
        cut = _cut(start, end, box)
        if cut is None:
            continue
        if stretches and stretches[-1][-1] == cut[0]:
            stretches[-1].append(cut[1])
        else:
            stretches.append(list(cut))
    return stretches


def _cut(start: Point, end: Point, box: Box) -> tuple[Point, Point] | None:
    """Return the part of a straight line that lies in a box, or None."""
    low, high = 0.0, 1.0
    for origin, delta, least, most in (
        (start[0], end[0] - start[0], box.left, box.right),
        (start[1], end[1] - start[1], box.top, box.bottom),
    ):
        if delta == 0.0:
            if not least <= origin <= most:
                return None
            continue
        enter, leave = sorted(((least - origin) / delta, (most - origin) / delta))
        low, high = max(low, enter), min(high, leave)
    if low >= high:
        return None
    return _along(start, end, low), _along(start, end, high)


def _along(start: Point, end: Point, share: float) -> Point:
    if share <= 0.0:
        return start
    if share >= 1.0:
        return end
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def hatch_area(
    layer: Layer, outline: Sequence[Point], pen: str, *, pitch: float, rising: bool = True
) -> None:
    """Fill an area with lines at 45°, rising to the right or falling; every line is cut at the outline.

    Parameters
    ----------
    outline
        Corners, on the page. [px]
    pitch
        Distance between lines. [px]
    """
    turned = [(x + y, x) if rising else (y - x, x) for x, y in outline]
    sums = [total for total, _ in turned]
    step = pitch * math.sqrt(2.0)
    strokes = []
    for index in range(math.ceil(min(sums) / step), math.floor(max(sums) / step) + 1):
        total = index * step + 1e-6
        crossings = sorted(_crossings(turned, total))
        for left, right in zip(crossings[::2], crossings[1::2], strict=False):
            if right - left < LEAST_STROKE:
                continue
            y1, y2 = (total - left, total - right) if rising else (total + left, total + right)
            strokes.append(f"M{number(left)} {number(y1)}L{number(right)} {number(y2)}")
    if strokes:
        layer.path("".join(strokes), pen)


def _crossings(corners: Sequence[Point], total: float) -> list[float]:
    """Return where the outline crosses one line of the hatching."""
    found = []
    for (s0, x0), (s1, x1) in pairwise([*corners, corners[0]]):
        if (s0 < total) != (s1 < total):
            found.append(x0 + (x1 - x0) * (total - s0) / (s1 - s0))
    return found
