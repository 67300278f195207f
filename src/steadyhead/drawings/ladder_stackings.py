"""The two ways of adding tolerances, each as blocks that meet, or cross, in the trip window."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import ASCENT, Canvas, Content, Lettering, text_width
from steadyhead.drawings.labels import dodge
from steadyhead.drawings.ladder_facts import LadderFacts, Rung
from steadyhead.drawings.marks import MARK_WIDTH, put_mark
from steadyhead.drawings.palette import Anchor
from steadyhead.drawings.scale import Scale
from steadyhead.drawings.strip_lettering import Rows, rows_height, wrap_runs, write_rows
from steadyhead.drawings.text_width import pieces
from steadyhead.drawings.tokens import Role
from steadyhead.records.pictures import LadderBlock, Stacking

BLOCK_WIDTH, NARROWEST_BLOCK = 64.0, 32.0
BLOCK_SHARE = 0.15
"""Width of one pile as a share of the panel's. [-]"""
EDGE_CLEAR = 11.0
"""Lettering inside a block keeps this far from the ends of the window. [px]"""
INSIDE_FROM = 14.5
"""A block lower than this has its label beside it. [px]"""
EDGE_REACH = 13.0
BESIDE_GAP = 12.0
"""From the end of an edge to the far end of its label's room, less the room. [px]"""
HEADER = 88.0
"""Height of a panel's heading: name, note, verdict. [px]"""


@dataclass(frozen=True, slots=True)
class Placed:
    """A block on the page: its label, and its box from top to foot."""

    block: LadderBlock
    box: Box


@dataclass(frozen=True, slots=True)
class Beside:
    """A label to be written beside a pile: where it points, what it says."""

    y: float
    edge: float
    content: Content
    tone: Role


def is_open(stacking: Stacking) -> bool:
    """Say whether the window holds any pressure at all."""
    return stacking.lowest <= stacking.highest


def draw_stacking(
    canvas: Canvas,
    facts: LadderFacts,
    scale: Scale,
    stacking: Stacking,
    left: float,
    right: float,
    trip: Rung | None = None,
) -> float:
    """Draw one way of stacking between two uprights of the page, its heading above the scale's top.

    `trip` is drawn across it where the rungs themselves are not. Returns the foot of the lettering. [px]
    """
    middle = (left + right) / 2
    block = pile_width(right - left)
    lower_left, upper_left = middle - block - 2, middle + 2
    edges = (scale.at(stacking.lowest), scale.at(stacking.highest))
    lower = _pile(scale, stacking.base, stacking.below, lower_left, block, upwards=True)
    upper = _pile(scale, stacking.roof, stacking.above, upper_left, block, upwards=False)
    ends = (lower_left - EDGE_REACH, upper_left + block + EDGE_REACH)
    _draw_window(canvas, scale, stacking, (lower_left, upper_left + block), ends)
    beside_left = _draw_blocks(canvas, facts, lower, lower_left, edges)
    beside_right = _draw_blocks(canvas, facts, upper, upper_left + block, edges)
    tone: Role = "twin" if is_open(stacking) else "halt"
    lowest, highest = facts.figures.window(stacking.lowest, stacking.highest)
    for edge, figure, word in ((stacking.highest, highest, "highest"), (stacking.lowest, lowest, "lowest")):
        content: Content = ((figure, True), (f" {facts.words[word]}", False))
        beside_right.append(Beside(scale.at(edge), ends[1], content, tone))
    if trip is not None and scale.covers(trip.pressure):
        y = scale.at(trip.pressure)
        canvas["lines"].line(ends[0], y, ends[1], y, "trip")
        word = facts.words[stacking.of]
        named: Content = ((facts.figures.pressure(trip.pressure), True), (f" {word}", False))
        beside_right.append(Beside(y, ends[1], named, "halt"))
    top, floor = scale.at(stacking.roof) + 6, scale.at(stacking.base) - 1
    feet = (
        _write_beside(canvas, beside_left, ends[0] - 4, ends[0] - left - BESIDE_GAP, "end", top, floor),
        _write_beside(canvas, beside_right, ends[1] + 4, right - ends[1] - BESIDE_GAP, "start", top),
    )
    _draw_heading(canvas, facts, stacking, middle, scale.high_at)
    return max(feet)


def pile_width(width: float) -> float:
    """Return the width of one pile in a panel of `width` px. [px]"""
    return min(BLOCK_WIDTH, max(NARROWEST_BLOCK, BLOCK_SHARE * width))


def columns_that_fit(canvas: Canvas, facts: LadderFacts, width: float, gap: float) -> int:
    """Return how many stackings find room beside each other in `width` px; one at least."""
    most = len(facts.picture.stackings)
    fitting = (n for n in range(most, 1, -1) if labels_fit(canvas, facts, (width - (n - 1) * gap) / n))
    return next(fitting, 1)


def labels_fit(canvas: Canvas, facts: LadderFacts, width: float) -> bool:
    """Say whether every word beside the piles finds room in panels of `width` px."""
    room = width / 2 - pile_width(width) - 2 - EDGE_REACH - BESIDE_GAP
    style = Lettering("small", "ink-2")
    words = [facts.words["lowest"], facts.words["highest"]]
    heads = [stacking.label for stacking in facts.picture.stackings if stacking.label]
    part = Lettering("part", "ink", strong=True)
    if any(text_width(canvas.palette, head, part) > width - 8 for head in heads):
        return False
    for stacking in facts.picture.stackings:
        for block in (*stacking.below, *stacking.above):
            words += [piece for part in block_words(facts, block) for piece in pieces(part)]
    return all(text_width(canvas.palette, word, style) <= room for word in words)


def _pile(
    scale: Scale, start: float, blocks: Sequence[LadderBlock], left: float, width: float, *, upwards: bool
) -> list[Placed]:
    placed, level = [], start
    for block in blocks:
        end = level + block.size if upwards else level - block.size
        top, foot = sorted((scale.at(level), scale.at(end)))
        placed.append(Placed(block, Box(left, top, left + width, foot)))
        level = end
    return placed


def _draw_window(
    canvas: Canvas,
    scale: Scale,
    stacking: Stacking,
    piles: tuple[float, float],
    ends: tuple[float, float],
) -> None:
    """Draw the window as a bounded band, or the stretch by which its edges cross as forbidden ground."""
    top, foot = sorted((scale.at(stacking.lowest), scale.at(stacking.highest)))
    box = Box(piles[0], top, piles[1], foot)
    if is_open(stacking):
        if foot - top > 0.5:
            canvas["ground"].rect(box.left, top, box.right - box.left, foot - top, "twin band")
            canvas["ground"].hatch(box, "hatch expected", rising=False)
    else:
        canvas["rings"].hatch(box, "hatch forbidden", pitch=4.5)
    pen = "twin heavy" if is_open(stacking) else "limit"
    for edge in (stacking.lowest, stacking.highest):
        canvas["rings"].line(ends[0], scale.at(edge), ends[1], scale.at(edge), pen)


def _draw_blocks(
    canvas: Canvas, facts: LadderFacts, pile: list[Placed], edge: float, window: tuple[float, float]
) -> list[Beside]:
    """Draw the blocks of a pile; return the labels that found no room inside."""
    beside: list[Beside] = []
    style = Lettering("small", "ink-2", anchor="middle")
    for placed in pile:
        box, (name, figure) = placed.box, block_words(facts, placed.block)
        canvas["hardware"].rect(box.left, box.top, box.right - box.left, box.bottom - box.top, "body")
        middle, centre = (box.left + box.right) / 2, (box.top + box.bottom) / 2
        room, height = box.right - box.left - 6, box.bottom - box.top
        one_line = f"{name} {figure}"
        free = all(abs(centre - level) > EDGE_CLEAR for level in window)
        free_twice = all(abs(centre - level) > 2 * EDGE_CLEAR for level in window)
        if free and height >= INSIDE_FROM and text_width(canvas.palette, one_line, style) <= room:
            canvas["lettering"].text(middle, centre + 4.5, one_line, style)
        elif free_twice and height >= 2 * style.line + 2 and text_width(canvas.palette, name, style) <= room:
            canvas["lettering"].text(middle, centre - 4, name, style)
            canvas["lettering"].text(middle, centre + 13, figure, style)
        else:
            beside.append(Beside(centre, edge, one_line, "ink-2"))
    return beside


def block_words(facts: LadderFacts, block: LadderBlock) -> tuple[str, str]:
    """Return name and figure of a block; a tolerance carries ±.

    The figure is that of the block itself, in the display unit.
    """
    figure = facts.figures.difference(block.size)
    return block.label, f"\u00b1\u2009{figure}" if block.both_ways else figure


def _write_beside(
    canvas: Canvas,
    labels: list[Beside],
    x: float,
    room: float,
    anchor: Anchor,
    top: float,
    floor: float | None = None,
) -> float:
    """Write labels beside a pile, pushed apart, with a hairline where they were moved or stand off.

    They stand above `floor`, the line the pile stands on, where there is room. Returns their foot. [px]
    """
    blocks: list[Rows] = []
    for label in labels:
        style = Lettering("small", label.tone, anchor=anchor, halo="paper")
        blocks.append(tuple((line, style) for line in wrap_runs(canvas.palette, label.content, style, room)))
    heights = [rows_height(rows) for rows in blocks]
    centres = dodge([label.y for label in labels], heights, gap=5.0, low=top, high=floor)
    sign = 1.0 if anchor == "start" else -1.0
    for label, rows, height, centre in zip(labels, blocks, heights, centres, strict=True):
        write_rows(canvas["lettering"], x + sign * 5, centre - height / 2 + rows[0][1].px * ASCENT, rows)
        if abs(centre - label.y) > 1.0 or abs(label.edge - x) > 12.0:
            bend = (x - sign * 2, label.y)
            canvas["grid"].chain(((label.edge, label.y), bend, (x + sign * 3, centre)), "hair")
    return max((centre + height / 2 for centre, height in zip(centres, heights, strict=True)), default=top)


def _draw_heading(canvas: Canvas, facts: LadderFacts, stacking: Stacking, x: float, top: float) -> None:
    layer, y = canvas["lettering"], top - HEADER + 18
    name, note = facts.words[stacking.kind], facts.words[f"{stacking.kind} note"]
    if stacking.label:
        name, note = stacking.label, f"{name.lower()}, {note}"
    layer.text(x, y, name, Lettering("part", "ink", strong=True, anchor="middle"))
    layer.text(x, y + 17, note, Lettering("small", "ink-3", anchor="middle"))
    width = facts.figures.difference(abs(stacking.highest - stacking.lowest))
    opened = is_open(stacking)
    verdict: Content = (
        (facts.words["open" if opened else "empty"], True),
        (" " + facts.words["open by" if opened else "empty by"].format(
            size=width, unit=facts.figures.pressure_unit), False),
    )  # fmt: skip
    style = Lettering("normal", "twin" if opened else "halt", anchor="middle")
    half = text_width(canvas.palette, verdict, style) / canvas.palette.face.spare / 2
    layer.text(x + MARK_WIDTH / 2 + 3, y + 38, verdict, style)
    mark_left = x + MARK_WIDTH / 2 + 3 - half - MARK_WIDTH - 7
    put_mark(canvas["lines"], "holds" if opened else "struck", mark_left, y + 38 - 12.5)
