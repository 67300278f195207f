"""A drawing in the making: layers of SVG text, and the boxes its lettering takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape

from steadyhead.drawings.boxes import Box, Point
from steadyhead.drawings.palette import Anchor, Palette
from steadyhead.drawings.tokens import SIZES, Role, TextSize

ASCENT, DESCENT = 0.76, 0.22
HATCH_PITCH = 7.0
UNIT_GAP = 6.0
LAYERS = ("ground", "grid", "lines", "hardware", "rings", "lettering")
Run = tuple[str, bool]
Content = str | Sequence[Run]


def number(value: float) -> str:
    """Return a coordinate with at most two decimals and no minus zero.

    Examples
    --------
    >>> number(12.0), number(-0.001), number(3.14159)
    ('12', '0', '3.14')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


@dataclass(frozen=True, slots=True)
class Lettering:
    """Size, tone, weight and halo of a text.

    Parameters
    ----------
    size, tone
        Names of the look.
    strong
        Semibold.
    anchor
        Which end of the text stands at the point given.
    halo
        Ground that is drawn around the letters; None for none.
    """

    size: TextSize = "normal"
    tone: Role = "ink"
    strong: bool = False
    anchor: Anchor = "start"
    halo: Role | None = None

    @property
    def px(self) -> float:
        """Size of the letters. [px]"""
        return SIZES[self.size]

    @property
    def line(self) -> float:
        """Distance from one line of such text to the next. [px]"""
        return round(self.px * 1.3)


def as_runs(content: Content, strong: bool) -> tuple[Run, ...]:
    """Return a text as runs of equal weight; no halo of a comma cuts the letter before.

    Examples
    --------
    >>> as_runs((("old main", True), (", 121.0 m", False)), False)
    (('old main,', True), (' 121.0 m', False))
    """
    if isinstance(content, str):
        return ((content, strong),)
    runs: list[Run] = []
    for text, weight in content:
        rest = text.lstrip(",.:;") if runs else text
        if rest != text:
            before, its = runs[-1]
            runs[-1] = (before + text[: len(text) - len(rest)], its)
        if rest:
            runs.append((rest, weight))
    return tuple(runs)


@dataclass(slots=True)
class Layer:
    """Draws into one layer of a canvas; every method takes the name of a pen."""

    palette: Palette
    marks: list[str] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)

    def path(self, data: str, pen: str) -> None:
        """Draw an SVG path."""
        if self.palette.shows(pen):
            self.marks.append(f'<path {self.palette.pen(pen)} d="{data}"/>')

    def line(self, x1: float, y1: float, x2: float, y2: float, pen: str) -> None:
        """Draw a straight line."""
        self.path(f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}", pen)

    def chain(self, points: Sequence[Point], pen: str, *, closed: bool = False) -> None:
        """Draw straight lines from point to point."""
        steps = "L".join(f"{number(x)} {number(y)}" for x, y in points)
        self.path(f"M{steps}{'Z' if closed else ''}", pen)

    def rect(self, left: float, top: float, width: float, height: float, pen: str) -> None:
        """Draw a rectangle."""
        self.marks.append(
            f'<rect {self.palette.pen(pen)} x="{number(left)}" y="{number(top)}" '
            f'width="{number(width)}" height="{number(height)}"/>'
        )

    def circle(self, x: float, y: float, radius: float, pen: str) -> None:
        """Draw a circle."""
        self.marks.append(
            f'<circle {self.palette.pen(pen)} cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"/>'
        )

    def arrow(self, x1: float, y1: float, x2: float, y2: float, pen: str, *, barb: float = 7.0) -> None:
        """Draw a line with an open head at its end."""
        turn = math.atan2(y2 - y1, x2 - x1)
        wings = [(x2 - barb * math.cos(turn + a), y2 - barb * math.sin(turn + a)) for a in (0.4, -0.4)]
        self.line(x1, y1, x2, y2, pen)
        self.chain((wings[0], (x2, y2), wings[1]), pen)

    def hatch(self, box: Box, pen: str, *, rising: bool = True, pitch: float = HATCH_PITCH) -> None:
        """Fill a box with lines at 45°, rising to the right or falling.

        The lines are drawn one by one, cut at the box: no pattern, hence no id that could clash where
        several drawings stand on one page.
        """
        step = pitch * math.sqrt(2.0)
        middle = box.left + box.right
        first = math.ceil((box.left + box.top) / step)
        last = math.floor((box.right + box.bottom) / step)
        strokes = []
        for index in range(first, last + 1):
            total = index * step
            left = max(box.left, total - box.bottom)
            right = min(box.right, total - box.top)
            if right - left < 0.5:
                continue
            x1, x2 = (left, right) if rising else (middle - left, middle - right)
            strokes.append(f"M{number(x1)} {number(total - left)}L{number(x2)} {number(total - right)}")
        if strokes:
            self.path("".join(strokes), pen)

    def text(self, x: float, y: float, content: Content, style: Lettering) -> Box:
        """Write one line with its baseline at `y`; return the box it takes."""
        runs = as_runs(content, style.strong)
        attributes = self.palette.lettering(
            style.size, style.tone, strong=style.strong, anchor=style.anchor, halo=style.halo
        )
        spans = [
            f"<tspan {self.palette.strong()}>{escape(text)}</tspan>"
            if strong and not style.strong
            else escape(text)
            for text, strong in runs
        ]
        box = text_box(self.palette, x, y, content, style)
        mask = self.palette.mask(style.halo)
        if mask:
            self.marks.append(
                f'<rect {mask} x="{number(box.left - 1)}" y="{number(box.top)}" '
                f'width="{number(box.right - box.left + 2)}" height="{number(box.bottom - box.top)}"/>'
            )
        self.marks.append(f'<text {attributes} x="{number(x)}" y="{number(y)}">{"".join(spans)}</text>')
        self.boxes.append(box)
        return box

    def figure(self, x: float, y: float, text: str, style: Lettering, unit: str) -> Box:
        """Write a figure and, close behind it and small, its unit; return the box of both."""
        attributes = self.palette.lettering(
            style.size, style.tone, strong=style.strong, anchor="start", halo=None
        )
        small = self.palette.lettering("small", "ink-3", strong=False, anchor="start", halo=None)
        tail = f'<tspan {small} dx="{UNIT_GAP:g}">{escape(unit)}</tspan>'
        self.marks.append(f'<text {attributes} x="{number(x)}" y="{number(y)}">{escape(text)}{tail}</text>')
        figure = text_box(self.palette, x, y, text, style)
        behind = text_width(self.palette, unit, Lettering("small"))
        box = Box(x, figure.top, figure.right + UNIT_GAP + behind, figure.bottom, f"{text} {unit}")
        self.boxes.append(box)
        return box

    def lines(self, x: float, y: float, rows: Sequence[tuple[Content, Lettering]]) -> float:
        """Write rows below each other, the first with its baseline at `y`; return the last baseline."""
        for index, (content, style) in enumerate(rows):
            if index:
                y += style.line
            self.text(x, y, content, style)
        return y

    def group(self, transform: str) -> Layer:
        """Return a layer that draws into this one under a transform; close it with `end_group`."""
        self.marks.append(f'<g transform="{transform}">')
        return self

    def end_group(self) -> None:
        """End the innermost group."""
        self.marks.append("</g>")


def text_width(palette: Palette, content: Content, style: Lettering) -> float:
    """Return the estimated width of a line of text. [px]"""
    runs = as_runs(content, style.strong)
    return sum(palette.face.width(text, style.px, strong=strong) for text, strong in runs)


def text_box(palette: Palette, x: float, y: float, content: Content, style: Lettering) -> Box:
    """Return the box a line of text would take, baseline at `y`."""
    width = text_width(palette, content, style)
    left = x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[style.anchor]
    plain = "".join(text for text, _ in as_runs(content, style.strong))
    return Box(left, y - ASCENT * style.px, left + width, y + DESCENT * style.px, plain)


class Canvas:
    """A drawing of `width` × `height` px: named layers, drawn from the ground up.

    Parameters
    ----------
    palette
        Colours, pens and letters.
    width, height
        Size; the height may be set until the drawing is finished. [px]
    """

    def __init__(self, palette: Palette, width: float, height: float = 0.0) -> None:
        self.palette = palette
        self.width = width
        self.height = height
        self.layers = {name: Layer(palette) for name in LAYERS}

    def __getitem__(self, layer: str) -> Layer:
        return self.layers[layer]

    @property
    def boxes(self) -> tuple[Box, ...]:
        """The boxes of all lettering."""
        return tuple(box for layer in self.layers.values() for box in layer.boxes)

    def svg(self, title: str, description: str) -> str:
        """Return the finished drawing as SVG text."""
        size = f"{number(self.width)} {number(self.height)}"
        ground = ""
        if self.palette.embed:
            full = f'width="{number(self.width)}" height="{number(self.height)}"'
            ground = f"<rect {self.palette.pen('ground')} {full}/>"
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" {self.palette.root()} viewBox="0 0 {size}" '
            f'width="{number(self.width)}" height="{number(self.height)}" role="img" '
            f'aria-label="{escape(description)}">'
            f"<title>{escape(title)}</title><desc>{escape(description)}</desc>"
            f"{self.palette.style()}{ground}"
            f"{''.join(''.join(layer.marks) for layer in self.layers.values())}</svg>\n"
        )
