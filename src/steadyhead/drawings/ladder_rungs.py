"""The pole of the ladder, its rungs, and their names in a column beside it."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import ASCENT, Canvas, Content, Lettering, text_width
from steadyhead.drawings.labels import dodge
from steadyhead.drawings.ladder_facts import RUNG_PENS, RUNG_TONES, LadderFacts, Rung
from steadyhead.drawings.scale import Scale, ticks
from steadyhead.drawings.strip_lettering import SMALL, Rows, rows_height, wrap_runs, write_rows

WALL = 16.0
FLOOR = 12.0
ELBOW = 22.0
FIRST_LINE_MIDDLE = 0.42
"""Middle of the first line below the top of a block, as a share of the letters' size."""
LEAST_PER_TICK = 52.0
"""Distance between two figures on the pole. [px]"""


@dataclass(frozen=True, slots=True)
class RungPanel:
    """Where pole, names and rungs stand. [px]

    Parameters
    ----------
    pole
        The upright.
    names, room
        Left end of the names, and their room.
    lines
        Where the rungs start, right of the names.
    right
        Where they end.
    wall_right, wall_foot
        Where the fault limit and the grid end: further right, down to a foot, where a panel beside shares
        the scale.
    """

    pole: float
    names: float
    room: float
    lines: float
    right: float
    wall_right: float
    wall_foot: float = 0.0

    def end(self, y: float) -> float:
        """Return where a line at height `y` ends that may run on into the panel beside. [px]"""
        return self.wall_right if y <= self.wall_foot else self.right


def plan_rungs(
    canvas: Canvas,
    facts: LadderFacts,
    room: float,
    right: float,
    wall_right: float | None = None,
    wall_foot: float = 0.0,
) -> RungPanel:
    """Return the places of pole, names and rungs for names of `room` px."""
    figures = [facts.figures.pressure(pressure) for pressure in (facts.low, facts.high)]
    widest = max(text_width(canvas.palette, figure, SMALL) for figure in figures)
    pole = widest + 26
    return RungPanel(pole, pole + 16, room, pole + 16 + room + ELBOW, right, wall_right or right, wall_foot)


def draw_rungs(
    canvas: Canvas, facts: LadderFacts, scale: Scale, panel: RungPanel, *, with_build_up: bool
) -> float:
    """Draw pole, rungs and names; return the foot of everything, off-scale lines included. [px]"""
    _draw_pole(canvas, facts, scale, panel)
    blocks = [_rung_rows(canvas, facts, rung, panel.room, with_build_up) for rung in facts.on_scale]
    heights = [rows_height(rows) for rows in blocks]
    wanted = [
        scale.at(rung.pressure) + height / 2 - FIRST_LINE_MIDDLE * rows[0][1].px
        for rung, rows, height in zip(facts.on_scale, blocks, heights, strict=True)
    ]
    places = [scale.at(rung.pressure) for rung in facts.on_scale]
    centres = dodge(wanted, heights, gap=8.0, low=scale.high_at - 26, by=places)
    foot = scale.low_at
    for rung, rows, height, centre in zip(facts.on_scale, blocks, heights, centres, strict=True):
        _draw_rung(canvas, rung, scale.at(rung.pressure), panel)
        first = centre - height / 2 + rows[0][1].px * ASCENT
        write_rows(canvas["lettering"], panel.names, first, rows)
        _lead(canvas, panel, rows, first, scale.at(rung.pressure))
        foot = max(foot, centre + height / 2)
    return _draw_off_scale(canvas, facts, panel, scale.low_at, foot)


def _rung_rows(canvas: Canvas, facts: LadderFacts, rung: Rung, room: float, with_build_up: bool) -> Rows:
    style = Lettering("normal", RUNG_TONES[rung.kind], halo="paper")
    rows: list[tuple[Content, Lettering]] = [
        (line, style) for line in wrap_runs(canvas.palette, facts.rung_words(rung), style, room)
    ]
    small = Lettering("small", "ink-3", halo="paper")
    note = facts.rung_note(rung, with_build_up=with_build_up)
    rows += [(line, small) for line in canvas.palette.face.wrap(note, small.px, room)]
    return tuple(rows)


def _lead(canvas: Canvas, panel: RungPanel, rows: Rows, first: float, y: float) -> None:
    """Lead from the end of a name's first line to its rung, with an elbow where the name was moved."""
    content, style = rows[0]
    end = panel.names + text_width(canvas.palette, content, style) / canvas.palette.face.spare + 7
    middle = first - (ASCENT - FIRST_LINE_MIDDLE) * style.px
    start = panel.lines - ELBOW + 6
    if end < start:
        canvas["grid"].line(end, middle, start, middle, "hair")
    canvas["grid"].chain(((max(end, start), middle), (panel.lines - 4, y), (panel.lines, y)), "hair")


def _draw_rung(canvas: Canvas, rung: Rung, y: float, panel: RungPanel) -> None:
    right = panel.end(y) if rung.is_wall else panel.right
    if rung.is_wall:
        canvas["grid"].hatch(Box(panel.lines, y - WALL, right, y), "hatch forbidden")
    elif rung.kind == "normal_limit":
        canvas["grid"].hatch(Box(panel.lines, y - WALL / 2, right, y), "hatch forbidden", pitch=14.0)
    elif rung.kind == "needed":
        canvas["grid"].hatch(Box(panel.lines, y, right, y + FLOOR), "hatch cannot")
    canvas["lines"].line(panel.lines, y, right, y, RUNG_PENS[rung.kind])


def _draw_pole(canvas: Canvas, facts: LadderFacts, scale: Scale, panel: RungPanel) -> None:
    layer, x = canvas["lines"], panel.pole
    layer.line(x, scale.high_at - 6, x, scale.low_at + 8, "object")
    count = max(3.0, abs(scale.low_at - scale.high_at) / LEAST_PER_TICK)
    for tick in ticks(scale.low, scale.high, facts.picture.units, count):
        y = scale.at(tick.pressure)
        layer.line(x - 8, y, x, y, "hair")
        canvas["grid"].line(panel.lines, y, panel.end(y), y, "grid")
        canvas["lettering"].text(x - 13, y + 4.5, tick.figure, Lettering("small", "ink-3", anchor="end"))
    for tick in ticks(scale.low, scale.high, facts.picture.units, 5 * count):
        layer.line(x - 4, scale.at(tick.pressure), x, scale.at(tick.pressure), "hair")


def _draw_off_scale(canvas: Canvas, facts: LadderFacts, panel: RungPanel, end: float, foot: float) -> float:
    """Draw the broken end of the pole, and name what lies off the scale."""
    said: list[Content] = []
    for rung in facts.off_scale:
        content = facts.rung_words(rung)
        runs = ((content, False),) if isinstance(content, str) else tuple(content)
        said.append((*runs, (f", {facts.words['off scale']}", False)))
    if facts.inlet_words():
        said.append(facts.inlet_words())
    if not said:
        return foot
    zigzag = [(panel.pole, end + 8), (panel.pole - 8, end + 12), (panel.pole + 8, end + 18)]
    zigzag += [(panel.pole - 8, end + 24), (panel.pole, end + 28)]
    canvas["lines"].chain(zigzag, "hair")
    y = max(foot, end) + 20
    room = panel.right - panel.names
    style = Lettering("small", "ink-2", halo="paper")
    for content in said:
        for line in wrap_runs(canvas.palette, content, style, room):
            canvas["lettering"].text(panel.names, y, line, style)
            y += style.line
    return y - style.line + 6
