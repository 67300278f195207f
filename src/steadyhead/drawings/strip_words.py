"""The words under the parts of a lying strip: what each part is, and how it stands."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import ASCENT, Canvas, Lettering, text_box, text_width
from steadyhead.drawings.hardware import (
    Placing,
    branch_ends,
    branch_places,
    deepest,
    named_along,
    root_places,
    sensing_lines,
    shared_roots,
)
from steadyhead.drawings.labels import PLUMB, pack_rows
from steadyhead.drawings.strip_facts import StripFacts
from steadyhead.drawings.strip_lettering import Rows, block_width, part_rows, rows_height, write_rows
from steadyhead.records.pictures import StripBranch

MARGIN = 6.0
DEEPEST_SYMBOL = 52.0
ROW_GAP = 12.0
BRANCH_HEAD = 34.0
BRANCH_FOOT = 26.0
PILOT_FOOT = 52.0
CLEAR, LEAST_LENGTH = 3.0, 5.0
"""Least distance of a plumb line from lettering that is not its own, and its shortest piece. [px]"""
Named = tuple[float, str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class WordBlock:
    """A block of words, where it stands, and the plumb line up to its part where it needs one."""

    x: float
    baseline: float
    rows: Rows
    plumb: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class UnderStrip:
    """Everything below the pipe: words, axis of each branch below the main axis, and the foot. [px]"""

    blocks: tuple[WordBlock, ...]
    branch_at: tuple[float, ...]
    foot: float


def plan_words(canvas: Canvas, facts: StripFacts, placing: Placing, *, room: float) -> UnderStrip:
    """Decide where the words stand: in rows below sensing lines and branches, each under its part."""
    picture = facts.picture
    sensed = sensing_lines(picture, placing.along)
    top = placing.axis + max(deepest(sensed, placing), DEEPEST_SYMBOL * placing.size) + 16
    blocks = _shared_root_words(canvas, facts, placing, top)
    top += 18 if blocks else 0
    branch_at, named, starts = [], _named_parts(facts, placing), top - 6
    for branch in picture.branches:
        axis = top + BRANCH_HEAD * placing.size
        branch_at.append(axis - placing.axis)
        named.append(_named_branch(facts, placing, branch))
        top = axis + (PILOT_FOOT if _has_pilot(branch) else BRANCH_FOOT)
    named.sort(key=lambda item: item[0])
    texts = fitted_rows(canvas, named, room)
    places = pack_rows(
        [x for x, _, _ in named],
        [block_width(canvas.palette, rows) for rows in texts],
        low=MARGIN,
        high=canvas.width - MARGIN,
    )
    heights = [(place.row, rows_height(rows)) for place, rows in zip(places, texts, strict=True)]
    tops, foot = _row_tops(heights, top)
    for (x, _, _), place, rows in zip(named, places, texts, strict=True):
        head = tops[place.row]
        plumb = (x, starts, head - 3) if place.row or picture.branches else None
        blocks.append(WordBlock(place.centre, head + rows[0][1].px * ASCENT, rows, plumb))
    return UnderStrip(tuple(blocks), tuple(branch_at), foot)


def fitted_rows(canvas: Canvas, named: list[Named], room: float) -> list[Rows]:
    """Return each part's block, where possible narrow enough to leave its neighbours' plumb lines free."""
    edges = [-1e4, *(x for x, _, _ in named), 1e4]
    texts = []
    for (_, name, words), before, after in zip(named, edges, edges[2:], strict=False):
        own = min(room, after - before - 2 * PLUMB - 2)
        rows = part_rows(canvas, name, words, own)
        fits = block_width(canvas.palette, rows) <= own
        texts.append(rows if fits else part_rows(canvas, name, words, room))
    return texts


def _named_parts(facts: StripFacts, placing: Placing) -> list[Named]:
    return [
        (placing.along[index], part.name, part.words)
        for index, part in enumerate(facts.picture.parts)
        if part.name or part.words
    ]


def _named_branch(facts: StripFacts, placing: Placing, branch: StripBranch) -> Named:
    first, last = branch_ends(facts.picture, placing, branch)
    places = branch_places(branch, first, last, named_along(facts.picture, placing))
    return (places[len(places) // 2] if places else (first + last) / 2, branch.name, branch.words)


def _has_pilot(branch: StripBranch) -> bool:
    return any(part.kind in ("reducer", "shut_off") for part in branch.parts)


def write_words(canvas: Canvas, under: UnderStrip) -> None:
    """Write the words as planned; a plumb line stops where words stand in its way and goes on below them."""
    written = [box for block in under.blocks for box in _row_boxes(canvas, block)]
    for block in under.blocks:
        if block.plumb:
            x, top, foot = block.plumb
            for high, low in free_lengths(x, top, foot, written):
                canvas["grid"].line(x, high, x, low, "hair dashed")
        write_rows(canvas["lettering"], block.x, block.baseline, block.rows)


def _row_boxes(canvas: Canvas, block: WordBlock) -> Iterator[Box]:
    """Yield the box of each row of a block."""
    y = block.baseline
    for index, (content, style) in enumerate(block.rows):
        y += style.line if index else 0.0
        yield text_box(canvas.palette, block.x, y, content, style)


def free_lengths(x: float, top: float, foot: float, boxes: Iterable[Box]) -> Iterator[tuple[float, float]]:
    """Yield the pieces of an upright line that lie on no box.

    Parameters
    ----------
    x, top, foot
        Where the line stands, its upper and its lower end. [px]
    boxes
        Ground that is taken, in any order. [px]

    Examples
    --------
    >>> list(free_lengths(5.0, 0.0, 60.0, [Box(0, 20, 10, 30), Box(40, 0, 50, 60)]))
    [(0.0, 17.0), (33.0, 60.0)]
    """
    in_way = [box for box in boxes if box.left - CLEAR < x < box.right + CLEAR]
    for box in sorted(in_way, key=lambda one: one.top):
        if box.bottom + CLEAR <= top or box.top - CLEAR >= foot:
            continue
        if box.top - CLEAR - top >= LEAST_LENGTH:
            yield top, box.top - CLEAR
        top = max(top, box.bottom + CLEAR)
    if foot - top >= LEAST_LENGTH:
        yield top, foot


def _row_tops(heights: list[tuple[int, float]], top: float) -> tuple[dict[int, float], float]:
    depths: dict[int, float] = {}
    for row, height in heights:
        depths[row] = max(depths.get(row, 0.0), height)
    tops: dict[int, float] = {}
    for row in sorted(depths):
        tops[row] = top
        top += depths[row] + ROW_GAP
    return tops, top


def _shared_root_words(canvas: Canvas, facts: StripFacts, placing: Placing, top: float) -> list[WordBlock]:
    """Say at its foot that a root is shared: one shut cock blinds both pilots."""
    sensed = sensing_lines(facts.picture, placing.along)
    roots = root_places(sensed, placing)
    style = Lettering("small", "ink-2", anchor="end", halo="paper")
    text = facts.words["shared root"]
    least = text_width(canvas.palette, text, style) + MARGIN
    return [
        WordBlock(max(roots[root] + 4, least), top + 15, ((text, style),)) for root in shared_roots(sensed)
    ]
