"""The standing form of the station strip, for a hand-held screen: water runs down, pressure to the right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from steadyhead.drawings.boxes import Box, Point
from steadyhead.drawings.canvas import ASCENT, Canvas, Lettering, text_width
from steadyhead.drawings.grade_line import LinePoint
from steadyhead.drawings.hardware import Placing, draw_hardware, sensing_lines, shared_roots
from steadyhead.drawings.labels import Ground
from steadyhead.drawings.palette import Anchor
from steadyhead.drawings.scale import Scale, round_top, ticks
from steadyhead.drawings.strip_facts import LIMIT_PENS, LIMIT_TONES, LimitLine, StripFacts
from steadyhead.drawings.strip_lettering import (
    SMALL,
    Rows,
    block_width,
    limit_rows,
    part_rows,
    rows_box,
    rows_height,
    write_rows,
)
from steadyhead.drawings.strip_sections import draw_joints, draw_sections, joint_states, numbered, spread
from steadyhead.drawings.strip_tree import axis_of, has_streams
from steadyhead.drawings.symbols import HALF_WIDTHS
from steadyhead.drawings.tokens import Role, TextSize
from steadyhead.records.pictures import TapPressure

MARGIN = 10.0
AXIS_AT = 78.0
"""Axis of the pipe from the left; the ready blade reaches 72 px to its left. [px]"""
BRANCH_ROOM = 48.0
BRANCH_ACROSS = -94.0
PLOT_FROM_AXIS = 72.0
SENSING_AT, SENSING_STEP = 50.0, 9.0
START = 66.0
WALL = 14.0
NAMES_BELOW = 34.0
"""First name of a limit, below the end of the pipe. [px]"""
NAME, WORDS = Lettering("part", "ink", strong=True), Lettering("small", "ink-2")
WORD_ROOMS = (150.0, 118.0, 92.0, 70.0)
HALO_OVER = 5.0
"""How far words may stand out of the wash on its left and still have its halo. [px]"""
WORD_SHIFTS = (0.0, 8.0, -8.0, 18.0, -18.0, 28.0, -28.0, -40.0, 40.0, -52.0)
PITCHES = {
    "tap": 42.0, "isolating": 40.0, "strainer": 46.0, "flow_meter": 36.0, "reducer": 54.0, "shut_off": 52.0,
    "check_valve": 36.0, "drain": 32.0, "vent": 30.0, "relief": 42.0, "expansion_vessel": 36.0,
}  # fmt: skip
"""Half of the length of strip that a part is given. [px]"""


@dataclass(frozen=True, slots=True)
class Down:
    """The places of a standing strip on the page."""

    placing: Placing
    scale: Scale
    axis: float
    joints: Mapping[str, tuple[float, float]]

    def point(self, at: LinePoint, halves: tuple[float, ...]) -> Point:
        """Return where a point of the pressure line lies on the page."""
        along = self.placing.along
        if at.part < 0:
            y = self.placing.start
        elif at.part >= len(along):
            y = self.placing.end
        else:
            y = along[at.part] + at.side * halves[at.part]
        return self.scale.at(at.pressure), y


def draw_down(canvas: Canvas, facts: StripFacts) -> None:
    """Draw the standing form on a canvas of given width; sets the canvas height."""
    plan = lay_out(canvas, facts)
    ground = Ground(Box(plan.scale.low_at - 26, 0.0, canvas.width - 2, plan.placing.end + 4))
    _draw_axis(canvas, facts, plan, ground)
    _draw_lines(canvas, facts, plan, ground)
    transform = f"matrix(0 1 1 0 {plan.axis:g} 0)"
    hardware, lines = canvas["hardware"].group(transform), canvas["lines"].group(transform)
    picture = facts.picture
    if plan.joints:
        states = joint_states(picture.parts, plan.placing.along, plan.joints, picture.inlet_pipe)
        draw_joints(hardware, canvas, plan.joints, numbered(picture), plan.axis, states)
        picture = replace(picture, branches=())
    draw_hardware(hardware, lines, picture, plan.placing)
    hardware.arrow(plan.placing.start - 20, 0, plan.placing.start - 4, 0, "object")
    hardware.arrow(plan.placing.end + 4, 0, plan.placing.end + 20, 0, "object")
    hardware.end_group()
    lines.end_group()
    names_foot = _draw_limits(canvas, facts, plan, ground)
    _draw_readings(canvas, facts, plan, ground)
    _draw_no_flow_words(canvas, facts, plan, ground)
    _draw_words(canvas, facts, plan, ground)
    foot = _draw_foot(canvas, facts, plan, names_foot)
    if plan.joints:
        foot = draw_sections(canvas, facts, PITCHES, foot + 24, plan.axis)
    canvas.height = round(foot + 12)


def lay_out(canvas: Canvas, facts: StripFacts) -> Down:
    """Decide every place of the standing form from the width alone."""
    picture, streams = facts.picture, has_streams(facts.picture)
    axis = AXIS_AT + (BRANCH_ROOM if picture.branches and not streams else 0.0)
    row = axis_of(picture.parts, picture.branches if streams else ())
    along, joints, place = spread(row, PITCHES, START)
    top = round_top(facts.highest, picture.units, 6)
    low = min(0.0, facts.lowest)
    marks = ticks(low, top, picture.units, 6)
    widest = max(text_width(canvas.palette, mark.figure, SMALL) for mark in marks)
    scale = Scale(low, top, axis + PLOT_FROM_AXIS, canvas.width - MARGIN - max(4.0, widest / 2 - 4))
    branches = () if streams else tuple(BRANCH_ACROSS for _ in picture.branches)
    placing = Placing(
        along, START, place, 0.0, tap_side=1.0, root_offset=18.0, sensing_at=SENSING_AT,
        sensing_step=SENSING_STEP, branch_at=branches,
    )  # fmt: skip
    return Down(placing, scale, axis, joints)


def _draw_axis(canvas: Canvas, facts: StripFacts, plan: Down, ground: Ground) -> None:
    if facts.is_bare:
        return
    style, room = Lettering("small", "ink-3", anchor="middle"), plan.scale.high_at - plan.scale.low_at
    marks = ticks(plan.scale.low, plan.scale.high, facts.picture.units, 6)
    widest = max(text_width(canvas.palette, mark.figure, style) for mark in marks)
    every = max(1, -(-int(len(marks) * (widest + 6)) // int(room + widest)))
    for rank, mark in enumerate(marks):
        x = plan.scale.at(mark.pressure)
        canvas["grid"].line(x, START - 12, x, plan.placing.end, "grid")
        if rank % every == 0:
            ground.boxes.append(canvas["lettering"].text(x, START - 20, mark.figure, style))
    words = facts.axis_words()
    end = replace(SMALL, anchor="end")
    canvas["lettering"].text(canvas.width - MARGIN, START - 44, words, end)


def _halves(facts: StripFacts) -> tuple[float, ...]:
    return tuple(HALF_WIDTHS[part.kind] for part in facts.picture.parts)


def _draw_lines(canvas: Canvas, facts: StripFacts, plan: Down, ground: Ground) -> None:
    halves, foot = _halves(facts), plan.scale.at(max(0.0, plan.scale.low))
    for stretch in facts.now:
        points = [plan.point(at, halves) for at in stretch]
        canvas["ground"].chain(
            [*points, (foot, points[-1][1]), (foot, points[0][1])], "grade wash", closed=True
        )
        canvas["lines"].chain(points, "grade")
        ground.add_line(*points)
    for stretch in facts.no_flow:
        points = [plan.point(at, halves) for at in stretch]
        canvas["lines"].chain(points, "no flow")
        ground.add_line(*points)


def _draw_readings(canvas: Canvas, facts: StripFacts, plan: Down, ground: Ground) -> None:
    """Draw leader, ring and figure of every tap; the figure stands on the leader, the tag under it."""
    for index, tap in facts.taps:
        part, y = facts.picture.parts[index], plan.placing.along[index]
        if facts.is_bare:
            canvas["grid"].line(plan.axis + 28, y, plan.scale.low_at - 6, y, "hair")
            canvas["lettering"].text(plan.scale.low_at + 3, y + 4.5, part.id, Lettering("normal", "ink-2"))
            continue
        end = plan.scale.at(tap.now) if tap.now is not None else plan.scale.low_at + 14
        pen = "hair dashed" if tap.now is None or part.cock_open is False else "hair"
        canvas["grid"].line(plan.axis + 28, y, end, y, pen)
        if tap.now is not None:
            _draw_point(canvas, plan.scale, tap, y)
        sizes: tuple[TextSize, ...] = ("reading", "figure")
        spots = [(x, anchor, size) for size in sizes for x, anchor in _beside(end, tap)]
        choices = [
            _around_leader(canvas, (x, y), _anchored(_reading(facts, index, tap, size), anchor))
            for x, anchor, size in spots
        ]
        best = ground.place([box for box, _ in choices])
        for baseline, rows in choices[best][1]:
            shown = _on(facts, plan, choices[best][0], rows)
            write_rows(canvas["lettering"], spots[best][0], baseline, shown)


def _beside(end: float, tap: TapPressure) -> tuple[tuple[float, Anchor], ...]:
    if tap.now is None:
        return ((end + 6, "start"),)
    return ((end - 9, "end"), (end + 9, "start"), (end + 24, "start"), (end + 48, "start"))


def _around_leader(canvas: Canvas, at: Point, rows: Rows) -> tuple[Box, tuple[tuple[float, Rows], ...]]:
    """Return the box of a tap's lettering and its rows with their baselines: above and below the leader."""
    x, y = at
    if len(rows) == 1:
        return rows_box(canvas.palette, x, y + 4.5, rows), ((y + 4.5, rows),)
    above, under = rows_box(canvas.palette, x, y - 8, rows[:1]), rows_box(canvas.palette, x, y + 16, rows[1:])
    return _around(above, under), ((y - 8, rows[:1]), (y + 16, rows[1:]))


def _reading(facts: StripFacts, index: int, tap: TapPressure, size: TextSize) -> Rows:
    said = facts.tap_words(facts.picture.parts[index], tap)
    tag = (said, Lettering("small", "ink-3"))
    if tap.now is None:
        return (tag,)
    tone: Role = "grade" if tap.source == "read" else "twin"
    return ((facts.figures.pressure(tap.now), Lettering(size, tone)), tag)


def _draw_point(canvas: Canvas, scale: Scale, tap: TapPressure, y: float) -> None:
    pressure = tap.now or 0.0
    x = scale.at(pressure)
    if tap.source != "read":
        canvas["rings"].line(x - 5, y + 6, x + 5, y - 6, "worked out")
        return
    low, high = scale.at(pressure - (tap.tolerance or 0.0)), scale.at(pressure + (tap.tolerance or 0.0))
    if high - low > 10.5:
        canvas["lines"].line(low, y, high, y, "tolerance")
        for end in (low, high):
            canvas["lines"].line(end, y - 4, end, y + 4, "tolerance")
    canvas["rings"].circle(x, y, 5, "ring")


def _anchored(rows: Rows, anchor: Anchor) -> Rows:
    return tuple((text, replace(style, anchor=anchor, halo="paper")) for text, style in rows)


def _on(facts: StripFacts, plan: Down, box: Box, rows: Rows) -> Rows:
    """Return rows with the halo of the ground their box stands on."""
    halves, halo = _halves(facts), "paper"
    for stretch in facts.now:
        points = [plan.point(at, halves) for at in stretch]
        spans = pairwise(points)
        beside = [min(a[0], b[0]) for a, b in spans if a[1] < box.bottom and b[1] > box.top]
        whole = points[0][1] <= box.top and points[-1][1] >= box.bottom
        if whole and beside and min(beside) >= box.right and box.left >= plan.scale.low_at - HALO_OVER:
            halo = "grade-wash"
    role: Role = "grade-wash" if halo == "grade-wash" else "paper"
    return tuple((text, replace(style, halo=role)) for text, style in rows)


def _around(box: Box, other: Box) -> Box:
    return Box(
        min(box.left, other.left), min(box.top, other.top), max(box.right, other.right),
        max(box.bottom, other.bottom),
    )  # fmt: skip


def _draw_limits(canvas: Canvas, facts: StripFacts, plan: Down, ground: Ground) -> float:
    """Draw the limits as upright lines, with their names below; return the foot of the names. [px]"""
    placing, halves = plan.placing, _halves(facts)
    named: list[LimitLine] = []
    for limit in facts.limits:
        start = placing.start
        if limit.after >= 0:
            start = placing.along[limit.after] + halves[limit.after] + 9
        reaches_end = limit.before >= len(placing.along)
        end = placing.end if reaches_end else placing.along[limit.before] - halves[limit.before] - 4
        x = plan.scale.at(limit.pressure)
        if limit.kind == "at no flow":
            last = plan.point(facts.no_flow[-1][-1], halves)[1]
            canvas["grid"].line(x, last, x, end, "hair")
        else:
            if limit.is_wall:
                canvas["grid"].hatch(Box(x, start, x + WALL, end), "hatch forbidden")
            elif limit.kind == "normal":
                canvas["grid"].hatch(Box(x, start, x + WALL / 2, end), "hatch forbidden", pitch=14.0)
            canvas["lines"].line(x, start, x, end, LIMIT_PENS[limit.kind])
            for hatched in (0.0, WALL / 2, WALL) if limit.kind != "trip" else (0.0,):
                ground.add_line((x + hatched, start), (x + hatched, end))
        if reaches_end:
            named.append(limit)
        else:
            _name_part_limit(canvas, facts, limit, (x, start, end), ground)
    return _name_limits(canvas, facts, plan, named)


def _name_limits(canvas: Canvas, facts: StripFacts, plan: Down, named: list[LimitLine]) -> float:
    """Name the limits below the end of the pipe, from the lowest down, each to the left of its own line.

    Returns the foot of the names. [px]
    """
    end = plan.placing.end
    y = end + NAMES_BELOW
    for limit in sorted(named, key=lambda line: line.pressure):
        x = plan.scale.at(limit.pressure)
        style = Lettering("normal", LIMIT_TONES[limit.kind], anchor="end")
        rows = limit_rows(canvas, facts, limit, x - 6 - MARGIN, style)
        foot = y + rows_height(rows) - style.px * ASCENT
        canvas["grid"].chain(((x, end + 4), (x, y - 5), (x - 5, y - 5)), "hair")
        write_rows(canvas["lettering"], x - 9, y, rows)
        y = foot + 20
    return y - 14


def _name_part_limit(
    canvas: Canvas, facts: StripFacts, limit: LimitLine, span: tuple[float, float, float], ground: Ground
) -> None:
    x, start, end = span
    style = Lettering("small", LIMIT_TONES[limit.kind], halo="paper")
    spots: list[tuple[float, float, Anchor]] = []
    for share in (0.15, 0.5, 0.75, 0.3):
        y = start + share * (end - start)
        spots += [(x - 6, y, "end"), (x + WALL + 4, y, "start")]
    blocks = [
        limit_rows(canvas, facts, limit, 104.0, replace(style, anchor=anchor)) for _, _, anchor in spots
    ]
    boxes = [
        rows_box(canvas.palette, left, y, rows) for (left, y, _), rows in zip(spots, blocks, strict=True)
    ]
    best = ground.place(boxes)
    write_rows(canvas["lettering"], spots[best][0], spots[best][1], blocks[best])


def _draw_no_flow_words(canvas: Canvas, facts: StripFacts, plan: Down, ground: Ground) -> None:
    """Name the dotted line once, on its first length, with a hairline to it."""
    first, halves = facts.no_flow_at_inlet, _halves(facts)
    if first is None:
        return
    x = plan.scale.at(first[0].pressure)
    solid = [plan.point(at, halves)[0] for at in (facts.now[0] if facts.now else first)[:2]]
    text = f"{facts.words['at no flow']} {facts.figures.pressure(first[0].pressure)}"
    style = Lettering("small", "grade", anchor="end", halo="paper")
    rows: Rows = ((text, style),)
    left = min(x, *solid) - 9
    spots = [(left, plan.placing.start + down) for down in (72.0, 84.0, 96.0, 110.0, 14.0, 130.0, 170.0)]
    boxes = [rows_box(canvas.palette, place, y, rows) for place, y in spots]
    best = ground.place(boxes)
    write_rows(canvas["lettering"], *spots[best], _on(facts, plan, boxes[best], rows))
    canvas["grid"].line(left + 3, spots[best][1] - 4.5, x, spots[best][1] - 4.5, "hair")


def _draw_words(canvas: Canvas, facts: StripFacts, plan: Down, ground: Ground) -> None:
    """Write what each part is beside it: left of the pressure line where it fits, else right of it."""
    left, right = plan.scale.low_at + 3, canvas.width - MARGIN
    walls = [
        plan.scale.at(limit.pressure) for limit in facts.limits if limit.before >= len(plan.placing.along)
    ]
    beyond = max(walls, default=left) + WALL + 6
    for part, y in zip(facts.picture.parts, plan.placing.along, strict=True):
        if not part.name and not part.words:
            continue
        spots: list[tuple[float, float, Rows]] = []
        for room in WORD_ROOMS:
            rows = part_rows(canvas, part.name, part.words, room, NAME, WORDS)
            width, first = block_width(canvas.palette, rows), NAME.px * ASCENT - rows_height(rows) / 2
            for x in (left, min(beyond, right - width), right - width, left + 0.5 * (right - width - left)):
                spots += [(x, y + first + shift, rows) for shift in WORD_SHIFTS]
        boxes = [rows_box(canvas.palette, x, baseline, rows) for x, baseline, rows in spots]
        best = ground.place(boxes)
        x, baseline, rows = spots[best]
        write_rows(canvas["lettering"], x, baseline, _on(facts, plan, boxes[best], rows))


def _draw_foot(canvas: Canvas, facts: StripFacts, plan: Down, names_foot: float) -> float:
    """Write flow, place, branches and shared roots below the strip; return the foot. [px]"""
    picture, layer = facts.picture, canvas["lettering"]
    room = canvas.width - 2 * MARGIN
    y = max(plan.placing.end + 48, names_foot + 16)
    if picture.flow is not None:
        figure = facts.figures.flow(picture.flow)
        layer.figure(MARGIN, y, figure, Lettering("reading", "ink"), facts.figures.flow_unit)
    said: Rows = ()
    if picture.outlet_name:
        text = facts.words["to"].format(place=picture.outlet_name)
        said += tuple((row, SMALL) for row in canvas.palette.face.wrap(text, SMALL.px, room))
    if facts.is_end_unknown:
        text = facts.words["water not known"]
        said += tuple((row, SMALL) for row in canvas.palette.face.wrap(text, SMALL.px, room))
    numbers = numbered(picture) if plan.joints else {}
    for span in (each for each in picture.spans if each.group in plan.joints):
        said += part_rows(canvas, f"{numbers[span.group]}  {span.name}", span.words, room, NAME, WORDS)
    for branch in () if plan.joints else picture.branches:
        said += part_rows(canvas, branch.name, branch.words, room, NAME, WORDS)
    sensed = sensing_lines(picture, plan.placing.along)
    for root in shared_roots(sensed):
        holders = [part for part in picture.parts if part.sensing and part.sensing.root == root]
        text = f"{facts.words['shared root']}: {', '.join(part.name or part.id for part in holders)}"
        said += tuple((row, WORDS) for row in canvas.palette.face.wrap(text, WORDS.px, room))
    for content, style in said:
        y += style.line + 2
        layer.text(MARGIN, y, content, style)
    return y
