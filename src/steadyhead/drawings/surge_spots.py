"""Where words of a surge trace lie on the fewest lines: on no other words, and off limits, events, curves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from steadyhead.drawings.boxes import Box, Point
from steadyhead.drawings.canvas import Canvas, Lettering, text_box

PLACES = 16
"""Places along a line that are tried."""
ON_WORDS, ON_LEVEL, ON_EVENT, ON_CURVE = 1000, 40, 6, 2
"""What it costs to lie on words or a ring, on a limit, on the line of an event, on a curve. Own choice."""


@dataclass(slots=True)
class Spots:
    """The ground of a trace: its edges, and what lies on it. [px]"""

    canvas: Canvas
    frame: Box
    taken: list[Box]
    lines: list[tuple[Point, Point, int]] = field(default_factory=list)

    def add_line(self, points: Sequence[Point], cost: int) -> None:
        """Tell of a line with words to be kept off it."""
        self.lines += [(start, end, cost) for start, end in pairwise(points)]

    def put(self, words: str, style: Lettering, baselines: Iterable[float]) -> Box:
        """Write words on the baseline, and at the place along it, that cost least; return their box."""
        width = self.canvas.palette.face.width(words, style.px, strong=style.strong)
        first, room = self.frame.left + 4.0, max(self.frame.right - self.frame.left - width - 8.0, 0.0)
        spots = [(first + room * part / (PLACES - 1), y) for y in baselines for part in range(PLACES)]
        x, y = min(
            spots, key=lambda spot: self._cost(text_box(self.canvas.palette, spot[0], spot[1], words, style))
        )
        box = self.canvas["lettering"].text(x, y, words, style)
        self.taken.append(box)
        return box

    def _cost(self, box: Box) -> int:
        outside = box.top < self.frame.top or box.bottom > self.frame.bottom
        cost = ON_WORDS * sum(box.meets(other, 1.0) for other in self.taken) + ON_WORDS * outside
        return cost + sum(
            cost
            for start, end, cost in self.lines
            if max(start[0], end[0]) > box.left
            and min(start[0], end[0]) < box.right
            and box.is_crossed_by(start, end)
        )
