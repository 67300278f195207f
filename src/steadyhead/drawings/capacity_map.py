"""The capacity map: flow across, inlet pressure up, and what the reducer does at each place between."""

from __future__ import annotations

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import ASCENT, Canvas, Lettering
from steadyhead.drawings.capacity_areas import Frame
from steadyhead.drawings.capacity_facts import CapacityFacts, capacity_text, resolve_capacity
from steadyhead.drawings.capacity_labels import name_all
from steadyhead.drawings.capacity_zones import draw_nails, draw_zones
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.scale import Scale, ticks
from steadyhead.drawings.strip_lettering import SMALL
from steadyhead.drawings.words import words_of
from steadyhead.records.pictures import CapacityPicture

BESIDE_FROM = 1000.0
"""From this width on the margins stand beside the map. [px]"""
NARROW_BELOW = 600.0
MARGIN = 10.0
AXIS_ROOM, HEADER, FOOTER = 44.0, 14.0, 44.0
WIDE_HEIGHT, MIDDLE_HEIGHT, NARROW_HEIGHT = 480.0, 400.0, 330.0
SIDE_WIDTH = 320.0
BLOCK_GAP = 14.0


def draw_capacity(picture: CapacityPicture, palette: Palette, width: float, lang: str = "en") -> str:
    """Return the capacity map as SVG text: zones, borders, design points, and their margins in words.

    Wide open is hatched rising; cavitation is hatched the closer the worse its degree; low flow falls the
    other way, so that both show where both hold. Design points are square nails. A name that finds no free
    place on the map stands below the margins.
    """
    canvas = compose_capacity(picture, palette, width, lang)
    words = words_of(lang)
    return canvas.svg(f"{words['capacity']}, {picture.name}", capacity_text(picture, lang))


def compose_capacity(picture: CapacityPicture, palette: Palette, width: float, lang: str = "en") -> Canvas:
    """Return the map as a canvas, with the boxes of its lettering; `draw_capacity` is what rooms call."""
    facts = resolve_capacity(picture, lang)
    canvas = Canvas(palette, width)
    beside = width >= BESIDE_FROM
    right = width - MARGIN - (SIDE_WIDTH + 34.0 if beside else 0.0)
    height = WIDE_HEIGHT if beside else MIDDLE_HEIGHT if width >= NARROW_BELOW else NARROW_HEIGHT
    shown = picture.shown
    top = _write_head(canvas, facts, right) + HEADER
    frame = Frame(
        Scale(0.0, shown.highest_flow, MARGIN + AXIS_ROOM, right),
        Scale(shown.lowest_inlet, shown.highest_inlet, top + height, top),
    )
    _draw_scales(canvas, facts, frame)
    draw_zones(canvas, frame, shown)
    draw_nails(canvas, frame, shown)
    unnamed = name_all(canvas, facts, frame)
    foot = top + height + FOOTER
    if beside:
        left = width - MARGIN - SIDE_WIDTH
        foot = max(foot, _write_margins(canvas, facts, unnamed, (left, width - MARGIN), 18.0, 1))
    else:
        columns = 2 if width >= NARROW_BELOW else 1
        foot = _write_margins(canvas, facts, unnamed, (MARGIN, width - MARGIN), foot + 24.0, columns)
    canvas.height = round(foot + 14)
    return canvas


def _write_head(canvas: Canvas, facts: CapacityFacts, right: float) -> float:
    """Write whose map it is and what its scale is; return the foot. [px]"""
    words, shown = facts.words, facts.picture.shown
    who = words["capacity of"].format(reducer=shown.reducer, place=shown.place)
    head = Lettering("part", "ink", strong=True)
    y = 18.0 - head.line
    for line in canvas.palette.face.wrap(who, head.px, right - MARGIN, strong=True):
        y += head.line
        canvas["lettering"].text(MARGIN, y, line, head)
    canvas["lettering"].text(MARGIN, y + 20.0, facts.axis_words(), SMALL)
    return y + 20.0


def _draw_scales(canvas: Canvas, facts: CapacityFacts, frame: Frame) -> None:
    box, units, words = frame.box, facts.picture.units, facts.words
    for tick in ticks(frame.inlet.low, frame.inlet.high, units, (box.bottom - box.top) / 60.0):
        y = frame.inlet.at(tick.pressure)
        canvas["grid"].line(box.left, y, box.right, y, "grid")
        canvas["lettering"].text(
            box.left - 8, y + 4.5, tick.figure, Lettering("small", "ink-3", anchor="end")
        )
    canvas["lines"].line(box.left, box.bottom, box.right, box.bottom, "object")
    for tick in ticks(frame.flow.low, frame.flow.high, units, (box.right - box.left) / 90.0, "flow"):
        x = frame.flow.at(tick.pressure)
        canvas["lines"].line(x, box.bottom, x, box.bottom + 5, "object")
        canvas["lettering"].text(
            x, box.bottom + 20, tick.figure, Lettering("small", "ink-3", anchor="middle")
        )
    unit = words["flow axis"].format(unit=facts.figures.flow_unit)
    canvas["lettering"].text(box.right, box.bottom + 38, unit, Lettering("small", "ink-3", anchor="end"))


def _write_margins(
    canvas: Canvas,
    facts: CapacityFacts,
    unnamed: tuple[tuple[str, ...], tuple[str, ...]],
    ends: tuple[float, float],
    top: float,
    columns: int,
) -> float:
    """Write heading and margins in columns, then what found no place on the map; return the foot. [px]"""
    left, right = ends
    layer = canvas["lettering"]
    layer.text(left, top, facts.words["margins"], Lettering("part", "ink", strong=True))
    width = (right - left - 24.0 * (columns - 1)) / columns
    foot, row_top = top, top + 20.0
    for rank, point in enumerate(facts.picture.shown.points):
        column = rank % columns
        if column == 0 and rank:
            row_top = foot + BLOCK_GAP
        x = left + column * (width + 24.0)
        canvas["grid"].line(x, row_top - 8, x + width, row_top - 8, "grid")
        rows = [
            (
                f"{facts.case(point)}: {facts.place(point, both=True)}",
                Lettering("normal", "ink", strong=True),
            ),
            *((line, Lettering("small", "ink-2")) for line in facts.margins(point)),
        ]
        foot = max(foot, _write_block(canvas, rows, (x, row_top + 8.0), width))
    for words, names in zip(("elsewhere", "figures elsewhere"), unnamed, strict=True):
        if not names:
            continue
        style = Lettering("small", "ink-2")
        said = f"{facts.words[words]}: {'; '.join(names)}"
        foot = _write_block(canvas, [(said, style)], (left, foot + BLOCK_GAP + 8.0), right - left)
    return foot


def _write_block(
    canvas: Canvas, rows: list[tuple[str, Lettering]], place: tuple[float, float], width: float
) -> float:
    """Write rows, each wrapped to `width`; return the foot. [px]"""
    x, y = place
    first = True
    for text, style in rows:
        for line in canvas.palette.face.wrap(text, style.px, width, strong=style.strong):
            y += style.px * ASCENT - 8.0 if first else style.line
            first = False
            box: Box = canvas["lettering"].text(x, y, line, style)
    return box.bottom
