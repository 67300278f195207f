"""Where each limit stands: a small section through the zone that shows why a rating is not the limit.

A component below the datum feels the weight of the water above it, so at datum it bears less than its
rating; one above the datum bears more.
"""

from __future__ import annotations

from steadyhead.drawings.canvas import ASCENT, Canvas, Content, Lettering
from steadyhead.drawings.labels import dodge
from steadyhead.drawings.ladder_facts import LadderFacts
from steadyhead.drawings.strip_lettering import Rows, rows_height, wrap_runs, write_rows
from steadyhead.records.pictures import ComponentLimit

LEAST_LEVEL = 0.05
"""Levels nearer to the datum than this count as at datum. [m]"""
SHOWN = 5


def draw_levels(canvas: Canvas, facts: LadderFacts, left: float, right: float, top: float) -> float:
    """Draw the section with its heading below `top`; return the foot. [px]"""
    components = weakest_first(facts)
    if not components:
        return top
    style = Lettering("small", "ink-3")
    canvas["lettering"].text(left, top, facts.words["levels"], Lettering("part", "ink", strong=True))
    names = left + 64
    room = right - names
    blocks = [_component_rows(canvas, facts, item, room, item is components[0]) for item in components]
    blocks.insert(0, _datum_rows(canvas, facts, room))
    levels = [facts.picture.datum_m, *(item.elevation for item in components)]
    heights = [rows_height(rows) for rows in blocks]
    depth = max(90.0, sum(heights) + 10.0 * len(heights))
    plot_top, span = top + 22, max(levels) - min(levels)
    wanted = [plot_top + 10 + (max(levels) - level) / (span or 1.0) * (depth - 30) for level in levels]
    centres = dodge(wanted, heights, gap=9.0, low=plot_top)
    _draw_section(canvas, wanted, left)
    foot = plot_top
    for index, (y, rows, height, centre) in enumerate(zip(wanted, blocks, heights, centres, strict=True)):
        canvas["grid"].chain(
            ((left + (40 if index == 0 else 31), y), (names - 12, y), (names - 6, centre)), "hair"
        )
        write_rows(canvas["lettering"], names, centre - height / 2 + rows[0][1].px * ASCENT, rows)
        foot = max(foot, centre + height / 2, y)
    return _write_sum(canvas, facts, components[0], left, right, foot + style.line + 8)


def weakest_first(facts: LadderFacts) -> tuple[ComponentLimit, ...]:
    """Return the components from the weakest at datum on, as many as are shown."""
    ordered = sorted(facts.picture.components, key=lambda item: (item.at_datum, item.name))
    return tuple(ordered[:SHOWN])


def _draw_section(canvas: Canvas, levels: list[float], left: float) -> None:
    """Draw datum line and riser with a knot for each component."""
    datum, x = levels[0], left + 26
    canvas["lines"].line(left, datum, left + 40, datum, "object")
    for shift in (0.0, 9.0, 18.0):
        canvas["lines"].line(left + 3 + shift, datum + 6, left + 9 + shift, datum, "hair")
    canvas["lines"].line(x, min(levels), x, max(levels), "object")
    for y in levels[1:]:
        canvas["rings"].circle(x, y, 4.5, "dots")


def _datum_rows(canvas: Canvas, facts: LadderFacts, room: float) -> Rows:
    style = Lettering("small", "ink-3", halo="paper")
    level = f"{facts.figures.length(facts.picture.datum_m)}\u00a0{facts.figures.length_unit}"
    text = f"{level} {facts.words['datum']}"
    return tuple((line, style) for line in wrap_runs(canvas.palette, text, style, room))


def _component_rows(
    canvas: Canvas, facts: LadderFacts, item: ComponentLimit, room: float, is_weakest: bool
) -> Rows:
    style = Lettering("small", "halt" if is_weakest else "ink-2", halo="paper")
    level = f"{facts.figures.length(item.elevation)}\u00a0{facts.figures.length_unit}"
    head: Content = ((item.name, True), (f", {level}", False))
    said = facts.words["there"].format(
        limit=facts.figures.pressure(item.limit), at_datum=facts.figures.pressure(item.at_datum)
    )
    kind = facts.words["fault and normal" if item.kind == "both" else item.kind]
    rows = [(line, style) for line in wrap_runs(canvas.palette, head, style, room)]
    rows += [(line, style) for line in wrap_runs(canvas.palette, f"{said}, {kind}", style, room)]
    return tuple(rows)


def _write_sum(
    canvas: Canvas, facts: LadderFacts, item: ComponentLimit, left: float, right: float, y: float
) -> float:
    """Write the sum that carries the weakest limit to datum."""
    level = facts.picture.datum_m - item.elevation
    if abs(level) < LEAST_LEVEL:
        return y - 12
    carried = item.limit - item.at_datum
    sign = "\u2212" if carried > 0 else "+"
    figures = facts.figures
    style = Lettering("normal", "ink", halo="paper")
    total = f"{figures.pressure(item.at_datum)} {figures.pressure_unit}"
    content: Content = (
        (f"{figures.pressure(item.limit)} {sign} {figures.pressure(abs(carried))} = ", False),
        (total, True),
    )
    canvas["lettering"].text(left, y, content, style)
    slope = facts.words["per length"].format(
        slope=figures.per_length(abs(carried), abs(level)),
        unit=figures.pressure_unit,
        length_unit=figures.length_unit,
    )
    small = Lettering("small", "ink-3", halo="paper")
    text = f"{figures.length(abs(level))} {figures.length_unit} × {slope}"
    for line in wrap_runs(canvas.palette, text, small, right - left):
        y += small.line
        canvas["lettering"].text(left, y, line, small)
    return y + 4
