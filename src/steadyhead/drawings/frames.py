"""A plain frame for a chart: horizontal grid, one baseline, figures beside and below, a head and a foot."""

from __future__ import annotations

from collections.abc import Sequence

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering, text_box
from steadyhead.drawings.scale import Scale, Tick, ticks
from steadyhead.units import UnitSet

MARGIN, AXIS_ROOM = 10.0, 48.0
GRID_PITCH = 50.0
"""About this far apart are the lines of a scale. [px]"""
HEAD = Lettering("part", "ink", strong=True)
AXIS = Lettering("small", "ink-3")
NAME = Lettering("small", "ink", halo="paper")
QUIET = Lettering("small", "ink-2")


def head(canvas: Canvas, title: str, axis: str, right: float) -> float:
    """Write title and unit of the upright scale; return the last baseline. [px]"""
    y = 18.0 - HEAD.line
    for line in canvas.palette.face.wrap(title, HEAD.px, right - MARGIN, strong=True):
        y += HEAD.line
        canvas["lettering"].text(MARGIN, y, line, HEAD)
    canvas["lettering"].text(MARGIN, y + 20.0, axis, AXIS)
    return y + 20.0


def levels(
    canvas: Canvas, scale: Scale, ends: tuple[float, float], units: UnitSet, kind: str = "pressure"
) -> None:
    """Draw the horizontal lines of a scale with their figures, and its baseline."""
    count = max((scale.low_at - scale.high_at) / GRID_PITCH, 1.0)
    for tick in ticks(scale.low, scale.high, units.first, count, kind):
        y = scale.at(tick.pressure)
        canvas["grid"].line(ends[0], y, ends[1], y, "grid")
        canvas["lettering"].text(ends[0] - 8, y + 4.5, tick.figure, Lettering("small", "ink-3", anchor="end"))
    canvas["lines"].line(ends[0], scale.low_at, ends[1], scale.low_at, "object")


def below(canvas: Canvas, scale: Scale, foot: float, marks: Sequence[Tick], words: str) -> None:
    """Draw the marks of a level scale below its baseline, and its unit under the right end."""
    for tick in marks:
        x = scale.at(tick.pressure)
        canvas["lines"].line(x, foot, x, foot + 5, "object")
        canvas["lettering"].text(x, foot + 20, tick.figure, Lettering("small", "ink-3", anchor="middle"))
    canvas["lettering"].text(scale.high_at, foot + 38, words, Lettering("small", "ink-3", anchor="end"))


def foot_lines(canvas: Canvas, y: float, sentences: Sequence[str]) -> float:
    """Write sentences below each other over the whole width; return the next baseline. [px]"""
    for words in sentences:
        for line in canvas.palette.face.wrap(words, QUIET.px, canvas.width - 2 * MARGIN, strong=False):
            canvas["lettering"].text(MARGIN, y, line, QUIET)
            y += QUIET.line
    return y


def padded(values: Sequence[float], share: float = 0.12, least: float = 1e4) -> tuple[float, float]:
    """Return the ends of a scale that shows all values with some room.

    Examples
    --------
    >>> padded([4.0e5, 5.0e5], 0.1)
    (390000.0, 510000.0)
    """
    low, high = min(values), max(values)
    room = max((high - low) * share, least)
    return low - room, high + room


def named(canvas: Canvas, x: float, y: float, words: str, taken: list[Box], style: Lettering = NAME) -> None:
    """Write a name where no other of `taken` stands: at its place, else the nearest free one."""
    tries = [0.0, *(sign * step * 8.0 for step in range(1, 14) for sign in (-1.0, 1.0))]
    for move in tries:
        box = text_box(canvas.palette, x, y + move, words, style)
        if not any(box.meets(other, 1.0) for other in taken):
            taken.append(canvas["lettering"].text(x, y + move, words, style))
            return
    taken.append(canvas["lettering"].text(x, y, words, style))
