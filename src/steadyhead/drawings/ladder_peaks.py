"""The peak in each failure as a pillar, ringed where the shut-off is credited, solid where it is not."""

from __future__ import annotations

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import ASCENT, Canvas, Content, Lettering, text_width
from steadyhead.drawings.labels import dodge
from steadyhead.drawings.ladder_facts import RUNG_PENS, RUNG_TONES, LadderFacts, Rung
from steadyhead.drawings.ladder_rungs import FIRST_LINE_MIDDLE, WALL
from steadyhead.drawings.scale import Scale
from steadyhead.drawings.strip_lettering import Rows, rows_height, wrap_runs, write_rows
from steadyhead.drawings.tokens import Role
from steadyhead.records.pictures import FailurePeak

PILLAR_PITCH, LEAST_PITCH = 26.0, 9.0
LEAST_NAMES = 158.0
"""Room that the names keep; the pillars close up for it. [px]"""
OWN_NAMES = 104.0
"""Room for the names of limit and trip where the panel has a scale of its own. [px]"""
HEADING = 56.0
"""Height of the panel's heading. [px]"""


def pillar_pitch(facts: LadderFacts, left: float, right: float) -> float:
    """Return the distance from one pillar to the next; many pillars close up. [px]"""
    gaps = max(1, len(facts.picture.peaks) - 1)
    return max(LEAST_PITCH, min(PILLAR_PITCH, (right - left - LEAST_NAMES - 42) / gaps))


def pillars_end(facts: LadderFacts, left: float, right: float) -> float:
    """Return how far right the pillars reach; the names stand behind. [px]"""
    return left + 16 + pillar_pitch(facts, left, right) * (len(facts.picture.peaks) - 1) + 12


def draw_peaks(canvas: Canvas, facts: LadderFacts, scale: Scale, left: float, right: float) -> float:
    """Draw the pillars between two uprights of the page on a given scale; return the foot. [px]"""
    peaks = sorted(facts.picture.peaks, key=lambda peak: -peak.pressure)
    first = left + 16
    names, pitch = pillars_end(facts, left, right) + 14, pillar_pitch(facts, left, right)
    start = facts.first("trip_upper", "trip")
    base = scale.at(start.pressure) if start else scale.low_at
    blocks = [_peak_rows(canvas, facts, peak, right - names) for peak in peaks]
    heights = [rows_height(rows) for rows in blocks]
    tops = [max(scale.at(peak.pressure), scale.high_at - 4) for peak in peaks]
    centres = dodge(
        [top + height / 2 - 10 for top, height in zip(tops, heights, strict=True)], heights, gap=8.0,
        low=scale.high_at - 14,
    )  # fmt: skip
    foot = base
    for rank, (peak, rows) in enumerate(zip(peaks, blocks, strict=True)):
        x, y = first + pitch * rank, tops[rank]
        canvas["lines"].line(x, base, x, y, "grade")
        if peak.pressure > scale.high:
            _draw_break(canvas, x, y + 24)
        canvas["rings"].circle(x, y, min(6.0, pitch / 2), "ring" if peak.credited else "dot")
        top = centres[rank] - heights[rank] / 2
        middle = top + 8
        canvas["grid"].chain(((x + 8, y), (names - 10, y), (names - 6, middle), (names - 3, middle)), "hair")
        write_rows(canvas["lettering"], names, top + rows[0][1].px * ASCENT, rows)
        foot = max(foot, top + heights[rank])
    return foot


def _draw_break(canvas: Canvas, x: float, y: float) -> None:
    """Break a pillar that runs off the scale."""
    canvas["rings"].rect(x - 6, y - 4, 12, 8, "ground")
    for shift in (-4.0, 4.0):
        canvas["rings"].line(x - 8, y + shift + 3, x + 8, y + shift - 3, "hair")


def _peak_rows(canvas: Canvas, facts: LadderFacts, peak: FailurePeak, room: float) -> Rows:
    limit = facts.first("fault_limit", "fault and normal")
    over = limit is not None and peak.pressure > limit.pressure
    verdict = "not covered" if not peak.credited else ("credited, over" if over else "credited")
    style = Lettering("small", "ink-2", halo="paper")
    stand: Role = "ink-2" if peak.credited and not over else "halt"
    figure = facts.figures.key(peak.pressure)
    head = Lettering("normal", stand, halo="paper")
    said: Content = ((figure, True), (f" {facts.words[verdict]}", stand == "halt"))
    rows: list[tuple[Content, Lettering]] = [
        (line, head) for line in wrap_runs(canvas.palette, said, head, room)
    ]
    rows += [(line, style) for line in wrap_runs(canvas.palette, peak.label, style, room)]
    return tuple(rows)


def draw_peaks_heading(canvas: Canvas, facts: LadderFacts, left: float, right: float, top: float) -> float:
    """Write the panel's heading; return the foot of the lettering. [px]"""
    canvas["lettering"].text(left, top, facts.words["peaks"], Lettering("part", "ink", strong=True))
    style = Lettering("small", "ink-3")
    y = top
    for line in canvas.palette.face.wrap(facts.picture.peaks_note, style.px, right - left):
        y += style.line
        canvas["lettering"].text(left, y, line, style)
    return y


def peak_range(facts: LadderFacts) -> tuple[float, float]:
    """Return the range a panel of its own needs: from the trip to the highest peak on the scale. [Pa]"""
    start = facts.first("trip") or facts.first("trip_upper")
    low = start.pressure if start else facts.low
    limit = facts.first("fault_limit", "fault and normal")
    tops = [peak.pressure for peak in facts.picture.peaks if peak.pressure <= facts.high]
    high = max([*tops, limit.pressure if limit else low, low + 0.1 * (facts.high - facts.low)])
    pad = 0.06 * (high - low)
    return low - pad, high + pad


def draw_own_lines(
    canvas: Canvas, facts: LadderFacts, scale: Scale, left: float, right: float
) -> tuple[float, float]:
    """Draw limit and trip for a panel with a scale of its own, named at the left.

    Returns where the lines start, and the foot of the names. [px]
    """
    kinds = ("fault_limit", "fault and normal", "trip_upper", "trip")
    rungs = [rung for rung in facts.on_scale if rung.kind in kinds and scale.covers(rung.pressure)]
    blocks: list[Rows] = []
    for rung in rungs:
        style = Lettering("small", RUNG_TONES[rung.kind], halo="paper")
        figure, kind = facts.figures.pressure(rung.pressure), facts.words[rung.kind]
        content: Content = ((figure, True), (f" {kind}", False))
        blocks.append(tuple((line, style) for line in wrap_runs(canvas.palette, content, style, OWN_NAMES)))
    start = left + OWN_NAMES + 22
    heights = [rows_height(rows) for rows in blocks]
    wanted = [
        scale.at(rung.pressure) + height / 2 - FIRST_LINE_MIDDLE * rows[0][1].px
        for rung, rows, height in zip(rungs, blocks, heights, strict=True)
    ]
    places = [scale.at(rung.pressure) for rung in rungs]
    centres = dodge(wanted, heights, gap=5.0, low=scale.high_at - 8, by=places)
    foot = scale.low_at
    for rung, rows, height, centre in zip(rungs, blocks, heights, centres, strict=True):
        y, top = scale.at(rung.pressure), centre - height / 2
        _draw_own_line(canvas, rung, y, start, pillars_end(facts, start, right))
        write_rows(canvas["lettering"], left, top + rows[0][1].px * ASCENT, rows)
        width = text_width(canvas.palette, *rows[0]) / canvas.palette.face.spare
        middle = top + FIRST_LINE_MIDDLE * rows[0][1].px
        bend = max(left + width + 5, start - 10)
        canvas["grid"].chain(((left + width + 5, middle), (bend, middle), (start, y)), "hair")
        foot = max(foot, centre + height / 2)
    return start, foot


def _draw_own_line(canvas: Canvas, rung: Rung, y: float, left: float, right: float) -> None:
    if rung.is_wall:
        canvas["grid"].hatch(Box(left, y - WALL, right, y), "hatch forbidden")
    canvas["lines"].line(left, y, right, y, RUNG_PENS[rung.kind])
