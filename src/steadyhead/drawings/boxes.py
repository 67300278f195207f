"""Boxes on the page and whether things lie on each other."""

from __future__ import annotations

from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle, in px; y runs down."""

    left: float
    top: float
    right: float
    bottom: float
    text: str = ""

    def meets(self, other: Box, spare: float = 0.0) -> bool:
        """Say whether the two boxes share ground, or come nearer than `spare` px.

        Examples
        --------
        >>> Box(0, 0, 10, 10).meets(Box(9, 9, 20, 20))
        True
        >>> Box(0, 0, 10, 10).meets(Box(10, 0, 20, 10))
        False
        """
        return (
            self.left < other.right + spare
            and other.left < self.right + spare
            and self.top < other.bottom + spare
            and other.top < self.bottom + spare
        )

    def is_crossed_by(self, start: Point, end: Point, spare: float = 0.0) -> bool:
        """Say whether the straight line from `start` to `end` passes through the box grown by `spare` px.

        Examples
        --------
        >>> Box(0, 0, 10, 10).is_crossed_by((-5, 5), (15, 5))
        True
        >>> Box(0, 0, 10, 10).is_crossed_by((-5, 15), (15, 15))
        False
        """
        low, high = 0.0, 1.0
        delta = (end[0] - start[0], end[1] - start[1])
        edges = (
            (start[0], delta[0], self.left - spare, self.right + spare),
            (start[1], delta[1], self.top - spare, self.bottom + spare),
        )
        for origin, step, least, most in edges:
            if step == 0.0:
                if not least < origin < most:
                    return False
                continue
            enter, leave = sorted(((least - origin) / step, (most - origin) / step))
            low, high = max(low, enter), min(high, leave)
        return low < high

    def lies_within(self, other: Box) -> bool:
        """Say whether the box lies wholly inside `other`."""
        return (
            self.left >= other.left
            and self.right <= other.right
            and self.top >= other.top
            and self.bottom <= other.bottom
        )
