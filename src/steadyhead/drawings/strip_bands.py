"""Streams side by side, lying: a band for each branch below the main axis, between the joints of its group.

Bands and words are put one below the other wherever their ground is taken, so nothing lies on anything else
and the page grows downwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import ASCENT, Canvas, Lettering
from steadyhead.drawings.hardware import (
    Placing,
    draw_branch_parts,
    draw_comb,
    root_places,
    sensing_lines,
    shared_roots,
    states_at,
)
from steadyhead.drawings.labels import pack_rows
from steadyhead.drawings.strip_facts import StripFacts
from steadyhead.drawings.strip_lettering import Rows, block_width, part_rows, rows_box, rows_height, wrap_runs
from steadyhead.drawings.strip_tree import Axis, Laid, axis_of, lay_axis
from steadyhead.drawings.strip_words import UnderStrip, WordBlock, fitted_rows
from steadyhead.drawings.symbols import PIPE_HALF
from steadyhead.drawings.tokens import Role
from steadyhead.records.pictures import PipeState, StripBranch, StripPart, StripPicture

MARGIN = 6.0
CLEAR = 4.0
"""Least distance of lettering from a pipe beside it. [px]"""
HEAD_GAP, WORD_GAP, BAND_GAP, ROW_GAP = 10.0, 14.0, 12.0, 12.0
TAG_AT = 34.0
"""Baseline of a tap's tag above its axis. [px]"""
TITLE = Lettering("normal", "ink", halo="paper")
HEIGHTS = {
    "tap": 28.0, "isolating": 32.0, "strainer": 12.0, "flow_meter": 14.0, "reducer": 46.0, "shut_off": 73.0,
    "check_valve": 25.0, "drain": 7.0, "vent": 40.0, "relief": 53.0, "expansion_vessel": 46.0,
}  # fmt: skip
DEPTHS = {
    "tap": 7.0, "isolating": 14.0, "strainer": 36.0, "flow_meter": 15.0, "reducer": 46.0, "shut_off": 46.0,
    "check_valve": 13.0, "drain": 54.0, "vent": 7.0, "relief": 9.0, "expansion_vessel": 7.0,
}  # fmt: skip
"""How far a symbol of size 1 reaches above and below the axis. [px]"""
SIDES = {
    "tap": 6.0, "isolating": 17.0, "strainer": 21.0, "flow_meter": 14.0, "reducer": 21.0, "shut_off": 21.0,
    "check_valve": 14.0, "drain": 7.0, "vent": 8.0, "relief": 10.0, "expansion_vessel": 14.0,
}  # fmt: skip
SPRING_DEPTH = 18.0
"""The same below the axis for a direct-acting reducer, which has no pilot."""
SMALL_BRANCH = 0.8
Title = tuple[str, str]
"""Name of a stream, and how it stands."""


@dataclass(frozen=True, slots=True)
class Band:
    """One branch on the page: its places, and the picture that holds nothing but its parts."""

    picture: StripPicture
    placing: Placing
    tags: tuple[WordBlock, ...]
    leaders: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Comb:
    """The pipes of one group: its joints, the edge of the axis it leaves, the axes of its branches. [px]

    states: of the pipe where it leaves, and where it comes back.
    """

    joints: tuple[float, float]
    near: float
    axes: tuple[float, ...]
    states: tuple[PipeState, PipeState] = ("full", "full")


@dataclass(slots=True)
class Bands:
    """Everything below the main axis, in the making."""

    canvas: Canvas
    facts: StripFacts
    pitches: dict[str, float]
    size: float
    room: float
    taken: list[Box] = field(default_factory=list)
    blocks: list[WordBlock] = field(default_factory=list)
    bands: list[Band] = field(default_factory=list)
    combs: list[Comb] = field(default_factory=list)
    titles: list[Box] = field(default_factory=list)
    waiting: list[tuple[float, float, Rows]] = field(default_factory=list)

    def foot(self, left: float, right: float) -> float:
        """Return how far down the ground between two uprights is taken. [px]"""
        return max((box.bottom for box in self.taken if box.left < right and left < box.right), default=0.0)


def plan_bands(
    canvas: Canvas, facts: StripFacts, laid: Laid, placing: Placing, pitches: dict[str, float], *,
    room: float, high: float,
) -> Bands:  # fmt: skip
    """Decide where words and branches stand below the main axis.

    Parameters
    ----------
    canvas, facts
        What is drawn, and on what.
    laid, placing
        The main axis.
    pitches
        Half of the natural length of a part, by kind. [px]
    room
        Widest block of words. [px]
    high
        Right end of the words of the main axis. [px]
    """
    found = Bands(canvas, facts, pitches, placing.size, room)
    axis_words(found, laid, facts.picture, placing, (MARGIN, high))
    groups_below(found, laid, placing.axis, facts.picture.inlet_pipe)
    write_waiting(found)
    return found


def under_strip(found: Bands) -> UnderStrip:
    """Return the words of all bands, and the foot of everything. [px]"""
    foot = max((box.bottom for box in found.taken), default=0.0)
    return UnderStrip(tuple(found.blocks), (), foot)


def draw_bands(canvas: Canvas, found: Bands) -> None:
    """Draw pipes, parts and taps of every branch."""
    for comb in reversed(found.combs):
        draw_comb(canvas["hardware"], comb.joints, comb.near, comb.axes, states=comb.states)
    for band in found.bands:
        draw_branch_parts(canvas["hardware"], canvas["lines"], band.picture, band.placing)
        for x, top, foot in band.leaders:
            canvas["grid"].line(x, top, x, foot, "hair")


def axis_words(
    found: Bands,
    laid: Laid,
    picture: StripPicture,
    placing: Placing,
    ends: tuple[float, float],
    own: Title | None = None,
) -> None:
    """Write the words of one axis below it, between the legs of its groups; what finds no room waits.

    `own` is the name of the axis itself, where it is a branch.
    """
    sensed = sensing_lines(picture, placing.along)
    levels = [placing.sensing_at + placing.sensing_step * line.level for line in sensed]
    depth = max([_depth(part) * placing.size for part in picture.parts] + levels + [PIPE_HALF])
    top = placing.axis + depth + WORD_GAP
    top = _shared_roots(found, picture, placing, top)
    found.taken.append(Box(laid.start, placing.axis - PIPE_HALF, laid.end, placing.axis + depth))
    legs = sorted(x for joints in laid.joints.values() for x in joints)
    edges = [ends[0] - CLEAR - PIPE_HALF, *legs, ends[1] + CLEAR + PIPE_HALF]
    titles = _titles(found, laid, edges, own)
    for index, (left, right) in enumerate(pairwise(edges)):
        zone = (left + PIPE_HALF + CLEAR, right - PIPE_HALF - CLEAR)
        start = _write_titles(found, titles.get(index, []), zone, top)
        named = [
            (x, part.name, part.words)
            for part, x in zip(picture.parts, placing.along, strict=True)
            if left <= x < right and (part.name or part.words)
        ]
        _write_zone(found, named, zone, start, placing.axis + depth)


def _depth(part: StripPart) -> float:
    return SPRING_DEPTH if part.direct_acting else DEPTHS[part.kind]


def _shared_roots(found: Bands, picture: StripPicture, placing: Placing, top: float) -> float:
    """Say at its foot that a root is shared; return the top of what stands below. [px]"""
    sensed = sensing_lines(picture, placing.along)
    roots, style = root_places(sensed, placing), Lettering("small", "ink-2", anchor="end", halo="paper")
    rows: Rows = ((found.facts.words["shared root"], style),)
    least = block_width(found.canvas.palette, rows) + MARGIN
    shared = shared_roots(sensed)
    for root in shared:
        x = max(roots[root] + 4, least)
        found.blocks.append(WordBlock(x, top + 10, rows))
        found.taken.append(rows_box(found.canvas.palette, x, top + 10, rows))
    return top + (22 if shared else 0)


def _titles(found: Bands, laid: Laid, edges: Sequence[float], own: Title | None) -> dict[int, list[Title]]:
    """Return the names of the lengths between joints, each by the widest ground it may stand on."""
    titles: dict[int, list[Title]] = {}
    if own is not None:
        titles[max(range(len(edges) - 1), key=lambda i: edges[i + 1] - edges[i])] = [own]
    spans = {span.group: span for span in found.facts.picture.spans}
    for group in laid.axis.groups:
        if group.id not in spans:
            continue
        left, right = laid.joints[group.id]
        inside = [i for i in range(len(edges) - 1) if left <= edges[i] and edges[i + 1] <= right]
        widest = max(inside, key=lambda i: edges[i + 1] - edges[i])
        titles.setdefault(widest, []).append((spans[group.id].name, ", ".join(spans[group.id].words)))
    return titles


def _write_titles(found: Bands, titles: Sequence[Title], zone: tuple[float, float], top: float) -> float:
    """Write names of streams at the left of a zone; return where the words below them begin. [px]"""
    palette, room = found.canvas.palette, zone[1] - zone[0]
    for name, words in titles:
        said = ((name, True), (f", {words}", False)) if words else ((name, True),)
        rows: Rows = tuple((row, TITLE) for row in wrap_runs(palette, said, TITLE, room))
        if block_width(palette, rows) > room:
            centred = replace(TITLE, anchor="middle")
            wide = tuple((row, centred) for row in wrap_runs(palette, said, centred, found.room))
            found.waiting.append(((zone[0] + zone[1]) / 2, top, wide))
            continue
        first = top + TITLE.px * ASCENT
        found.blocks.append(WordBlock(zone[0], first, rows))
        box = rows_box(palette, zone[0], first, rows)
        found.taken.append(box)
        found.titles.append(box)
        top = box.bottom + 8
    return top


def _write_zone(
    found: Bands, named: list[tuple[float, str, tuple[str, ...]]], zone: tuple[float, float], top: float,
    plumb_from: float,
) -> None:  # fmt: skip
    """Pack the words of some parts into rows between two uprights."""
    texts = fitted_rows(found.canvas, named, max(min(found.room, zone[1] - zone[0]), 40.0))
    widths = [block_width(found.canvas.palette, rows) for rows in texts]
    fitting = [index for index, width in enumerate(widths) if width <= zone[1] - zone[0]]
    for index in range(len(named)):
        if index not in fitting:
            wide = part_rows(found.canvas, named[index][1], named[index][2], found.room)
            found.waiting.append((named[index][0], plumb_from, wide))
    _pack(found, [(named[i][0], texts[i]) for i in fitting], zone, top, plumb_from)


def _pack(
    found: Bands, blocks: Sequence[tuple[float, Rows]], zone: tuple[float, float], top: float,
    plumb_from: float | Sequence[float],
) -> None:  # fmt: skip
    palette = found.canvas.palette
    widths = [block_width(palette, rows) for _, rows in blocks]
    places = pack_rows([x for x, _ in blocks], widths, low=zone[0], high=zone[1])
    tops: dict[int, float] = {}
    for row in sorted({place.row for place in places}):
        tops[row] = top
        heights = [rows_height(rows) for (_, rows), p in zip(blocks, places, strict=True) if p.row == row]
        top += max(heights) + ROW_GAP
    for index, ((x, rows), place) in enumerate(zip(blocks, places, strict=True)):
        head = tops[place.row]
        baseline = head + rows[0][1].px * ASCENT
        start = plumb_from if isinstance(plumb_from, int | float) else plumb_from[index]
        needs_plumb = place.row > 0 or not isinstance(plumb_from, int | float)
        start = max(
            [start] + [box.bottom for box in found.titles if start < box.bottom <= head and _over(box, x)]
        )
        plumb = (x, start + 4, head - 3) if needs_plumb else None
        found.blocks.append(WordBlock(place.centre, baseline, rows, plumb))
        found.taken.append(rows_box(palette, place.centre, baseline, rows))


def _over(box: Box, x: float) -> bool:
    return box.left - 2 < x < box.right + 2


def write_waiting(found: Bands) -> None:
    """Write below everything what found no room under its part, each hung from it by a plumb line."""
    if not found.waiting:
        return
    waiting = sorted(found.waiting, key=lambda item: item[0])
    top = max(box.bottom for box in found.taken) + ROW_GAP
    blocks = [(x, rows) for x, _, rows in waiting]
    _pack(found, blocks, (MARGIN, found.canvas.width - MARGIN), top, [start for _, start, _ in waiting])


def groups_below(found: Bands, laid: Laid, axis: float, inlet: PipeState = "full") -> None:
    """Place the branches of every group of an axis, inner groups first; inlet: state of its first pipe."""
    for group in reversed(laid.axis.groups):
        left, right = laid.joints[group.id]
        slot = len(found.combs)
        axes = tuple(_place_branch(found, branch, left, right) for branch in group.branches)
        states = states_at(laid.axis.parts, laid.along, (left, right), inlet)
        found.combs.insert(slot, Comb((left, right), axis + PIPE_HALF, axes, states))


def _place_branch(found: Bands, branch: StripBranch, left: float, right: float) -> float:
    """Place one branch between two legs; return its axis. [px]"""
    inner = axis_of(branch.parts, branch.branches)
    laid = lay_axis(inner, found.pitches, left + PIPE_HALF, right - PIPE_HALF)
    size = found.size * (1.0 if _acts(branch.parts) else SMALL_BRANCH)
    picture = replace(
        found.facts.picture, parts=branch.parts, branches=(), inlet_pipe=branch.inlet_pipe, limits=()
    )
    top = found.foot(left - PIPE_HALF - 2, right + PIPE_HALF + 2) + BAND_GAP
    tags, leaders, tag_height = _tags(found, inner, laid, size)
    head = max([HEIGHTS[part.kind] * size for part in branch.parts] + [tag_height, PIPE_HALF])
    axis = top + head
    placing = Placing(laid.along, laid.start, laid.end, axis, size)
    tags = tuple(replace(tag, baseline=tag.baseline + axis) for tag in tags)
    leaders = tuple((x, axis + high, axis + low) for x, high, low in leaders)
    found.bands.append(Band(picture, placing, tags, leaders))
    found.blocks += tags
    found.taken.append(Box(left - PIPE_HALF, top, right + PIPE_HALF, axis + PIPE_HALF))
    ends = (laid.start + CLEAR, laid.end - CLEAR)
    axis_words(found, laid, picture, placing, ends, (branch.name, ", ".join(branch.words)))
    groups_below(found, laid, axis, branch.inlet_pipe)
    foot = found.foot(left, right)
    found.taken.append(Box(left - PIPE_HALF, axis, right + PIPE_HALF, foot))
    return axis


def _acts(parts: Sequence[StripPart]) -> bool:
    return any(part.kind in ("reducer", "shut_off") for part in parts)


def _tags(
    found: Bands, axis: Axis, laid: Laid, size: float
) -> tuple[tuple[WordBlock, ...], tuple[tuple[float, float, float], ...], float]:
    """Return tag and figure of each tap above its cock, its leader, and the height of all; axis at zero."""
    palette, facts = found.canvas.palette, found.facts
    readings = {tap.tap: tap for tap in facts.picture.pressures}
    boxes = [
        Box(x - SIDES[part.kind] * size, -HEIGHTS[part.kind] * size, x + SIDES[part.kind] * size, 0.0)
        for part, x in zip(axis.parts, laid.along, strict=True)
        if part.kind != "tap"
    ]
    blocks, leaders = [], []
    for part, x in zip(axis.parts, laid.along, strict=True):
        if part.kind != "tap":
            continue
        tap = readings.get(part.id)
        style = Lettering("small", "ink-3", anchor="middle", halo="paper")
        rows: Rows = ((part.id, style),)
        if tap is not None and tap.now is not None:
            tone: Role = "grade" if tap.source == "read" else "twin"
            rows = ((facts.figures.pressure(tap.now), replace(style, size="normal", tone=tone)), *rows)
            second = facts.figures.beside(tap.now)
            rows = (*rows, (second, style)) if second else rows
        drop = sum(row_style.line for _, row_style in rows[1:])
        level = 0
        while True:
            baseline = -TAG_AT - 10.0 * level - drop
            box = rows_box(palette, x, baseline, rows)
            if not any(box.meets(other, 2.0) for other in boxes):
                break
            level += 1
        boxes.append(box)
        blocks.append(WordBlock(x, baseline, rows))
        if level:
            leaders.append((x, box.bottom, -29.0))
    return tuple(blocks), tuple(leaders), max((HEAD_GAP - b.top for b in boxes), default=0.0)
