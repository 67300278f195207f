"""The lying form of the station strip: water runs to the right, pressure rises up the page."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from steadyhead.drawings.boxes import Box, Point
from steadyhead.drawings.canvas import ASCENT, Canvas, Lettering, text_box, text_width
from steadyhead.drawings.grade_line import LinePoint
from steadyhead.drawings.hardware import Placing, draw_hardware
from steadyhead.drawings.labels import Ground, dodge
from steadyhead.drawings.palette import Anchor
from steadyhead.drawings.scale import Scale, round_top, ticks
from steadyhead.drawings.strip_bands import draw_bands, plan_bands, under_strip
from steadyhead.drawings.strip_facts import LIMIT_PENS, LIMIT_TONES, LimitLine, StripFacts
from steadyhead.drawings.strip_lettering import (
    SMALL,
    Rows,
    limit_rows,
    reading_rows,
    rows_box,
    rows_height,
    write_rows,
)
from steadyhead.drawings.strip_tree import Laid, axis_of, has_streams, lay_axis
from steadyhead.drawings.strip_words import plan_words, write_words
from steadyhead.drawings.symbols import HALF_WIDTHS
from steadyhead.drawings.tokens import Role
from steadyhead.records.pictures import StripPicture

MARGIN = 10.0
TOP = 34.0
PIPE_BELOW_PLOT = 80.0
WALL = 16.0
BARE_HEIGHT = 0.0
PITCHES = {
    "tap": 40.0, "isolating": 44.0, "strainer": 52.0, "flow_meter": 46.0, "reducer": 62.0, "shut_off": 56.0,
    "check_valve": 44.0, "drain": 34.0, "vent": 34.0, "relief": 44.0, "expansion_vessel": 40.0,
}  # fmt: skip
"""Half of the length of strip that a part is given, before it is fitted to the width. [px]"""
ROOM, TIGHT_ROOM = 156.0, 108.0
JOINT = 22.0
"""Length of pipe that a branch needs where it leaves. [px]"""
TIGHT = 0.55
"""Below this share of the natural pitch the figures and symbols are drawn smaller."""
SMALL_SIZE, SMALLEST = 0.7, 0.45
"""Least size of the symbols of one line, and of many streams."""


@dataclass(frozen=True, slots=True)
class Wash:
    """The tinted ground below the pressure line: its upper edges, and its foot. [px]"""

    edges: tuple[tuple[Point, ...], ...]
    foot: float

    def lies_under(self, box: Box) -> bool:
        """Say whether a label in `box` stands wholly on the wash."""
        return box.bottom <= self.foot and any(_roofs(edge, box) for edge in self.edges)


def _roofs(edge: tuple[Point, ...], box: Box) -> bool:
    if edge[0][0] > box.left or edge[-1][0] < box.right:
        return False
    steps = pairwise(edge)
    above = (max(a[1], b[1]) for a, b in steps if a[0] < box.right and b[0] > box.left)
    return all(level <= box.top for level in above)


@dataclass(frozen=True, slots=True)
class Across:
    """The places of a lying strip on the page."""

    placing: Placing
    scale: Scale
    plot_left: float
    plot_top: float
    plot_foot: float
    column: float
    tight: bool
    laid: Laid | None = None

    def point(self, at: LinePoint, halves: tuple[float, ...]) -> Point:
        """Return where a point of the pressure line lies on the page."""
        if at.part < 0:
            x = self.placing.start
        elif at.part >= len(self.placing.along):
            x = self.placing.end
        else:
            x = self.placing.along[at.part] + at.side * halves[at.part] * self.placing.size
        return x, self.scale.at(at.pressure)


def draw_across(canvas: Canvas, facts: StripFacts) -> None:
    """Draw the lying form on a canvas of given width; sets the canvas height."""
    plan = lay_out(canvas, facts)
    room = TIGHT_ROOM if plan.tight else ROOM
    picture, bands = facts.picture, None
    if plan.laid is None:
        under = plan_words(canvas, facts, plan.placing, room=room)
    else:
        high = plan.column - 8
        bands = plan_bands(canvas, facts, plan.laid, plan.placing, PITCHES, room=room, high=high)
        under, picture = under_strip(bands), replace(picture, branches=())
    placing = replace(plan.placing, branch_at=under.branch_at)
    ground = Ground(Box(2.0, 0.0, canvas.width - 2.0, plan.placing.axis))
    _draw_axis(canvas, facts, plan, ground)
    _draw_lines(canvas, facts, plan, ground)
    if bands is not None:
        draw_bands(canvas, bands)
    draw_hardware(canvas["hardware"], canvas["lines"], picture, placing)
    _draw_limits(canvas, facts, plan, ground)
    _draw_outlet(canvas, facts, plan, ground)
    _draw_readings(canvas, facts, plan, ground)
    _draw_no_flow_words(canvas, facts, plan, ground)
    write_words(canvas, under)
    canvas.height = round(under.foot + 10.0)


def lay_out(canvas: Canvas, facts: StripFacts) -> Across:
    """Decide every place of the lying form from the width alone."""
    width, parts = canvas.width, facts.picture.parts
    top = round_top(facts.highest, facts.picture.units, 6)
    low = facts.lowest if facts.lowest < 0 else 0.0
    marks = ticks(low, top, facts.picture.units, 6)
    widest = max(text_width(canvas.palette, tick.figure, SMALL) for tick in marks)
    plot_left = MARGIN + widest + 12.0
    start = plot_left + 6.0
    room = min(210.0, max(128.0, 0.17 * width))
    end = width - room - 34.0
    laid = None
    if has_streams(facts.picture):
        laid = lay_axis(axis_of(parts, facts.picture.branches), PITCHES, start, end)
        along, share = laid.along, laid.share
    else:
        along, share = _spread(facts.picture, start, end)
    height = BARE_HEIGHT if facts.is_bare else min(347.0, max(236.0, 0.26 * width))
    scale = Scale(low, top, TOP + height, TOP)
    least = SMALLEST if laid else SMALL_SIZE
    size = min(1.0, max(least, share / TIGHT))
    axis = TOP + height + PIPE_BELOW_PLOT
    bare = Placing(along, start, end, axis, size)
    return Across(bare, scale, plot_left, TOP, TOP + height, end + 34.0, share < 0.8, laid)


def _spread(picture: StripPicture, start: float, end: float) -> tuple[tuple[float, ...], float]:
    """Return the places of the parts of one axis, and their share of the natural length. [px]"""
    parts = picture.parts
    joints = [branch.after for branch in picture.branches]
    joints_before = [branch.before for branch in picture.branches]
    natural = sum(2 * PITCHES[part.kind] for part in parts) + JOINT * (len(joints) + len(joints_before))
    share = (end - start) / natural
    along, place = [], start
    for part in parts:
        place += JOINT * share * (part.id in joints_before)
        along.append(place + PITCHES[part.kind] * share)
        place += (2 * PITCHES[part.kind] + JOINT * (part.id in joints)) * share
    return tuple(along), share


def _draw_axis(canvas: Canvas, facts: StripFacts, plan: Across, ground: Ground) -> None:
    if facts.is_bare:
        return
    style = Lettering("small", "ink-3", anchor="end")
    for tick in ticks(plan.scale.low, plan.scale.high, facts.picture.units, 6):
        y = plan.scale.at(tick.pressure)
        canvas["grid"].line(plan.plot_left, y, plan.placing.end, y, "grid")
        ground.boxes.append(canvas["lettering"].text(plan.plot_left - 8, y + 4.5, tick.figure, style))
    ground.boxes.append(canvas["lettering"].text(MARGIN, plan.plot_top - 16, facts.axis_words(), SMALL))


def _halves(facts: StripFacts) -> tuple[float, ...]:
    return tuple(HALF_WIDTHS[part.kind] for part in facts.picture.parts)


def _draw_lines(canvas: Canvas, facts: StripFacts, plan: Across, ground: Ground) -> None:
    """Draw the pressure line with the wash below it, and the dotted line at no flow."""
    halves, foot = _halves(facts), plan.scale.at(max(0.0, plan.scale.low))
    for stretch in facts.now:
        points = [plan.point(at, halves) for at in stretch]
        under = [*points, (points[-1][0], foot), (points[0][0], foot)]
        canvas["ground"].chain(under, "grade wash", closed=True)
        canvas["lines"].chain(points, "grade")
        ground.add_line(*points)
    for stretch in facts.no_flow:
        points = [plan.point(at, halves) for at in stretch]
        canvas["lines"].chain(points, "no flow")
        ground.add_line(*points)
    ground.add_line((plan.placing.end, TOP), (plan.placing.end, plan.plot_foot))


def _draw_limits(canvas: Canvas, facts: StripFacts, plan: Across, ground: Ground) -> None:
    """Draw the limits; those that reach the end of the strip are named in the column beside it."""
    placing, halves = plan.placing, _halves(facts)
    named: list[tuple[LimitLine, float]] = []
    for limit in facts.limits:
        start = placing.start
        if limit.after >= 0:
            start = placing.along[limit.after] + (halves[limit.after] + 9) * placing.size
        reaches_end = limit.before >= len(placing.along)
        end = placing.end
        if not reaches_end:
            end = placing.along[limit.before] - (halves[limit.before] + 4) * placing.size
        y = plan.scale.at(limit.pressure)
        if limit.kind == "at no flow":
            last = plan.point(facts.no_flow[-1][-1], halves)[0]
            canvas["grid"].line(last, y, end, y, "hair")
        else:
            _draw_limit_line(canvas, limit, start, end, y)
            ground.add_line((start, y), (end, y))
        if reaches_end:
            named.append((limit, y))
        else:
            _name_on_line(canvas, facts, limit, (start, end, y), ground)
    _name_in_column(canvas, facts, plan, named, ground)


def _draw_limit_line(canvas: Canvas, limit: LimitLine, start: float, end: float, y: float) -> None:
    if limit.is_wall:
        canvas["grid"].hatch(Box(start, y - WALL, end, y), "hatch forbidden")
    elif limit.kind == "normal":
        canvas["grid"].hatch(Box(start, y - WALL / 2, end, y), "hatch forbidden", pitch=14.0)
    canvas["lines"].line(start, y, end, y, LIMIT_PENS[limit.kind])


def _name_on_line(
    canvas: Canvas, facts: StripFacts, limit: LimitLine, span: tuple[float, float, float], ground: Ground
) -> None:
    start, end, y = span
    style = Lettering("small", LIMIT_TONES[limit.kind], anchor="middle", halo="paper")
    rows = limit_rows(canvas, facts, limit, max(96.0, end - start + 40), style)
    middle, height = (start + end) / 2, rows_height(rows)
    spots = [(middle, y - WALL - 4 - height + 12), (middle, y + 16), (middle, y + 40), (middle, y - 60)]
    best = ground.place([rows_box(canvas.palette, x, top, rows) for x, top in spots])
    write_rows(canvas["lettering"], *spots[best], rows)


def _name_in_column(
    canvas: Canvas,
    facts: StripFacts,
    plan: Across,
    named: list[tuple[LimitLine, float]],
    ground: Ground,
) -> None:
    room = canvas.width - plan.column - 4
    blocks = [
        limit_rows(canvas, facts, limit, room, Lettering("normal", LIMIT_TONES[limit.kind]))
        for limit, _ in named
    ]
    heights = [rows_height(block) for block in blocks]
    low, high = 4.0, plan.placing.axis - 52
    centres = dodge([y for _, y in named], heights, gap=9.0, low=low, high=high)
    for (_, y), block, height, centre in zip(named, blocks, heights, centres, strict=True):
        first = centre - height / 2 + block[0][1].px * ASCENT
        write_rows(canvas["lettering"], plan.column, first, block)
        ground.boxes.append(rows_box(canvas.palette, plan.column, first, block))
        end = plan.placing.end
        canvas["grid"].chain(
            ((end + 4, y), (end + 10, y), (plan.column - 12, centre), (plan.column - 5, centre)), "hair"
        )


def _draw_readings(canvas: Canvas, facts: StripFacts, plan: Across, ground: Ground) -> None:
    """Draw leader, ring and tolerance of every tap, then its figure where there is room."""
    if facts.is_bare:
        _draw_tags(canvas, facts, plan)
        return
    placing = plan.placing
    top = placing.axis - 28
    for index, tap in facts.taps:
        part, x = facts.picture.parts[index], placing.along[index]
        end = plan.scale.at(tap.now) if tap.now is not None else plan.plot_foot - 46
        pen = "hair dashed" if tap.now is None or part.cock_open is False else "hair"
        canvas["grid"].line(x, top, x, end, pen)
        ground.add_line((x, top), (x, end))
        if tap.now is None:
            continue
        if tap.source == "read":
            if tap.tolerance:
                _tolerance_bar(canvas, x, plan.scale, tap.now, tap.tolerance)
            canvas["rings"].circle(x, end, 5, "ring")
        else:
            canvas["rings"].line(x - 5, end + 6, x + 5, end - 6, "worked out")
        ground.boxes.append(Box(x - 6, end - 6, x + 6, end + 6))
    for index, tap in facts.taps:
        part, x = facts.picture.parts[index], placing.along[index]
        rows = reading_rows(facts, part, tap, small=plan.tight)
        y = plan.scale.at(tap.now) if tap.now is not None else plan.plot_foot - 46
        _place_reading(canvas, (x, y), rows, ground, _wash(facts, plan))


def _draw_tags(canvas: Canvas, facts: StripFacts, plan: Across) -> None:
    """Name the taps above their cocks where there is no pressure to hang the names on."""
    style, axis = Lettering("normal", "ink-2", anchor="middle"), plan.placing.axis
    for index, _ in facts.taps:
        x = plan.placing.along[index]
        canvas["grid"].line(x, axis - 28, x, axis - 38, "hair")
        canvas["lettering"].text(x, axis - 43, facts.picture.parts[index].id, style)


def _tolerance_bar(canvas: Canvas, x: float, scale: Scale, pressure: float, tolerance: float) -> None:
    top, foot = scale.at(pressure + tolerance), scale.at(pressure - tolerance)
    if foot - top < 10.5:
        return
    canvas["lines"].line(x, top, x, foot, "tolerance")
    for y in (top, foot):
        canvas["lines"].line(x - 4, y, x + 4, y, "tolerance")


def _place_reading(canvas: Canvas, at: Point, rows: Rows, ground: Ground, wash: Wash) -> None:
    """Write a tap's figure hanging from its ring; beside, or above, where the line is in the way."""
    x, y = at
    below = 10 + rows[0][1].px * ASCENT
    above = -10 - (rows_height(rows) - rows[0][1].px)
    spots = [
        (x + side * (9 + far), y + down, side)
        for down in (below, below + 14, below + 30, above, above - 14, below + 60, above - 18, above - 34)
        for far in (0, 10)
        for side in (1, -1)
    ]
    turned = [_turned(rows, side, "paper") for _, _, side in spots]
    boxes = [
        rows_box(canvas.palette, left, top, block)
        for (left, top, _), block in zip(spots, turned, strict=True)
    ]
    best = ground.place(boxes)
    left, top, side = spots[best]
    halo: Role = "grade-wash" if wash.lies_under(boxes[best]) else "paper"
    write_rows(canvas["lettering"], left, top, _turned(rows, side, halo))


def _turned(rows: Rows, side: int, halo: Role) -> Rows:
    anchor: Anchor = "start" if side > 0 else "end"
    return tuple((text, replace(style, anchor=anchor, halo=halo)) for text, style in rows)


def _wash(facts: StripFacts, plan: Across) -> Wash:
    halves, foot = _halves(facts), plan.scale.at(max(0.0, plan.scale.low))
    return Wash(tuple(tuple(plan.point(at, halves) for at in stretch) for stretch in facts.now), foot)


def _draw_no_flow_words(canvas: Canvas, facts: StripFacts, plan: Across, ground: Ground) -> None:
    """Name the dotted line once, on its first length; the outlet's value stands in the column."""
    first = facts.no_flow_at_inlet
    if first is None:
        return
    level = plan.scale.at(first[0].pressure)
    style = Lettering("small", "grade", halo="paper")
    text = f"{facts.words['at no flow']} {facts.figures.pressure(first[0].pressure)}"
    halves = _halves(facts)
    places = [plan.point(at, halves)[0] for at in first if plan.scale.at(at.pressure) == level]
    span = (places[0], places[-1])
    width = text_width(canvas.palette, text, style)
    spots = [
        (max(span[0] + 4, min(span[0] + share * (span[1] - span[0]), span[1] - width)), level + down)
        for down in (-8.0, 17.0, -24.0, 33.0, -40.0, 50.0)
        for share in (0.45, 0.25, 0.65, 0.05, 0.85)
    ]
    spots.append((span[1] + 8, level + 4.5))
    boxes = [text_box(canvas.palette, x, y, text, style) for x, y in spots]
    best = ground.place(boxes)
    canvas["lettering"].text(*spots[best], text, style)


def _draw_outlet(canvas: Canvas, facts: StripFacts, plan: Across, ground: Ground) -> None:
    """Draw the arrows at both ends, the flow and where it goes."""
    placing, picture = plan.placing, facts.picture
    axis = placing.axis
    canvas["hardware"].arrow(max(2.0, placing.start - 26), axis, placing.start - 5, axis, "object")
    canvas["hardware"].arrow(placing.end + 4, axis, placing.end + 24, axis, "object")
    layer = canvas["lettering"]
    y = axis - 6
    if picture.flow is not None:
        style = Lettering("figure" if plan.tight else "reading", "ink")
        figure = facts.figures.flow(picture.flow)
        ground.boxes.append(layer.figure(plan.column, y, figure, style, facts.figures.flow_unit))
    if picture.outlet_name:
        room = canvas.width - plan.column - 4
        said = [facts.words["to"].format(place=picture.outlet_name)]
        said += [facts.words["water not known"]] if facts.is_end_unknown else []
        for row in (row for text in said for row in canvas.palette.face.wrap(text, SMALL.px, room)):
            y += 19
            layer.text(plan.column, y, row, SMALL)
