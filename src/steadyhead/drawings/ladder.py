"""The pressure ladder: between what duty needs and what the pipes bear there must be room for the trip."""

from __future__ import annotations

from steadyhead.drawings.alt import ladder_text
from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering
from steadyhead.drawings.figures import Figures
from steadyhead.drawings.ladder_facts import LadderFacts, Rung, resolve_ladder
from steadyhead.drawings.ladder_levels import draw_levels
from steadyhead.drawings.ladder_peaks import (
    draw_own_lines,
    draw_peaks,
    draw_peaks_heading,
    peak_range,
    pillars_end,
)
from steadyhead.drawings.ladder_rungs import WALL, draw_rungs, plan_rungs
from steadyhead.drawings.ladder_stackings import HEADER, columns_that_fit, draw_stacking, labels_fit
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.scale import Scale
from steadyhead.drawings.strip_lettering import SMALL
from steadyhead.drawings.tokens import Role
from steadyhead.drawings.words import words_of
from steadyhead.records.pictures import LadderPicture, Stacking

STANDING_BELOW = 700.0
BESIDE_FROM = 1100.0
"""From this width on peaks and levels stand beside the rungs and share their scale. [px]"""
MARGIN = 10.0
WIDE_HEIGHT, MIDDLE_HEIGHT, NARROW_HEIGHT = 600.0, 470.0, 480.0
SIDE_WIDTH = 292.0
NAMES_WIDE, NAMES_MIDDLE = 256.0, 0.2
"""Room for the rungs' names: in px where it is wide, as a share of the width in the middle form."""
ALONE_TOP, ALONE_HEIGHT = 46.0, 310.0
COLUMN_GAP, PANEL_GAP = 30.0, 44.0
NAMES_ALONE, LEVELS_FROM = 0.36, 0.61
"""Room of the names, and left end of the levels, as shares of the width."""
FEW_STACKINGS = 2
"""More stackings than these stand in panels of their own."""
FEW_PEAKS = 4
"""More peaks than these take more than half of the width in the middle form."""
STACKING_HEIGHT, PEAKS_HEIGHT = 220.0, 200.0


def draw_ladder(picture: LadderPicture, palette: Palette, width: float, lang: str = "en") -> str:
    """Return the pressure ladder as SVG text: rungs to scale, two stackings, peaks, and the limits' levels.

    All pressures stand at datum on one scale. What lies far off the core between duty and limit is named
    off the scale, never squeezed in. Below 700 px the panels stand below each other.

    Raises
    ------
    InputError
        For a picture without rungs, or an unknown language.
    """
    canvas = compose_ladder(picture, palette, width, lang)
    title = f"{words_of(lang)['ladder']}, {picture.name}"
    return canvas.svg(title, ladder_text(picture, lang))


def compose_ladder(picture: LadderPicture, palette: Palette, width: float, lang: str = "en") -> Canvas:
    """Return the ladder as a canvas, with the boxes of its lettering; `draw_ladder` is what rooms call."""
    facts = resolve_ladder(picture, Figures(picture.units), words_of(lang))
    canvas = Canvas(palette, width)
    if width >= BESIDE_FROM:
        foot = _draw_wide(canvas, facts)
    elif width >= STANDING_BELOW:
        foot = _draw_middle(canvas, facts)
    else:
        foot = _draw_narrow(canvas, facts)
    canvas.height = round(foot + 14)
    return canvas


def _draw_wide(canvas: Canvas, facts: LadderFacts) -> float:
    if len(facts.picture.stackings) > FEW_STACKINGS:
        return _draw_middle_apart(canvas, facts, columns_that_fit(canvas, facts, *_whole(canvas)))
    side = canvas.width - SIDE_WIDTH - MARGIN
    has_side = bool(facts.picture.peaks or facts.picture.components)
    right = side - 26 if has_side else canvas.width - MARGIN
    scale = Scale(facts.low, facts.high, HEADER + WIDE_HEIGHT, HEADER)
    wall_right = pillars_end(facts, side, canvas.width - MARGIN) if facts.picture.peaks else right
    start = facts.first("trip_upper", "trip")
    wall_foot = scale.at(start.pressure) if start else scale.low_at
    panel = plan_rungs(canvas, facts, NAMES_WIDE, right, wall_right, wall_foot)
    _write_axis(canvas, facts)
    foot = draw_rungs(canvas, facts, scale, panel, with_build_up=True)
    _draw_stackings(canvas, facts, scale, panel.lines, right)
    levels_top = HEADER + 12.0
    if facts.picture.peaks:
        draw_peaks_heading(canvas, facts, side, canvas.width - MARGIN, 18.0)
        levels_top = draw_peaks(canvas, facts, scale, side, canvas.width - MARGIN) + 54
    return max(foot, draw_levels(canvas, facts, side, canvas.width - MARGIN, levels_top))


def _draw_middle(canvas: Canvas, facts: LadderFacts) -> float:
    right = canvas.width - MARGIN
    panel = plan_rungs(canvas, facts, NAMES_MIDDLE * canvas.width, right)
    count = max(1, len(facts.picture.stackings))
    if count > FEW_STACKINGS:
        return _draw_middle_apart(canvas, facts, columns_that_fit(canvas, facts, *_whole(canvas)))
    if not labels_fit(canvas, facts, (right - panel.lines) / count):
        return _draw_middle_apart(canvas, facts, count)
    scale = Scale(facts.low, facts.high, HEADER + MIDDLE_HEIGHT, HEADER)
    _write_axis(canvas, facts)
    top = draw_rungs(canvas, facts, scale, panel, with_build_up=True) + PANEL_GAP
    _draw_stackings(canvas, facts, scale, panel.lines, right)
    many = len(facts.picture.peaks) > FEW_PEAKS
    split = MARGIN + (0.62 if many else 0.56) * (right - MARGIN)
    foot = _draw_own_peaks(canvas, facts, split - 24 if facts.picture.components else right, top)
    left = split if facts.picture.peaks else MARGIN
    return max(foot, draw_levels(canvas, facts, left, right, top))


def _whole(canvas: Canvas) -> tuple[float, float]:
    """Return the room for panels beside each other, and the gap between two. [px]"""
    return canvas.width - 2 * MARGIN, COLUMN_GAP


def _draw_middle_apart(canvas: Canvas, facts: LadderFacts, columns: int) -> float:
    """Draw the middle form with rungs and levels above, stackings and peaks in panels below."""
    right = canvas.width - MARGIN
    split = LEVELS_FROM * canvas.width if facts.picture.components else right
    names = NAMES_ALONE * canvas.width
    foot = _draw_rungs_alone(canvas, facts, ALONE_HEIGHT, names, split)
    foot = max(foot, draw_levels(canvas, facts, split + 26, right, ALONE_TOP))
    foot = _draw_own_stackings(canvas, facts, foot + 30, columns)
    return _draw_own_peaks(canvas, facts, right, foot + PANEL_GAP) if facts.picture.peaks else foot


def _draw_narrow(canvas: Canvas, facts: LadderFacts) -> float:
    right = canvas.width - MARGIN
    foot = _draw_rungs_alone(canvas, facts, NARROW_HEIGHT, 0.5 * canvas.width, right)
    foot = _draw_own_stackings(canvas, facts, foot + 40, 1)
    if facts.picture.peaks:
        foot = _draw_own_peaks(canvas, facts, right, foot + PANEL_GAP)
    if facts.picture.components:
        foot = draw_levels(canvas, facts, MARGIN, right, foot + PANEL_GAP)
    return foot


def _draw_stackings(canvas: Canvas, facts: LadderFacts, scale: Scale, left: float, right: float) -> None:
    count = len(facts.picture.stackings)
    for rank, stacking in enumerate(facts.picture.stackings):
        width = (right - left) / count
        draw_stacking(canvas, facts, scale, stacking, left + rank * width, left + (rank + 1) * width)


def _draw_rungs_alone(canvas: Canvas, facts: LadderFacts, height: float, room: float, right: float) -> float:
    """Draw the rungs in a panel that holds nothing else; return the foot. [px]"""
    scale = Scale(facts.low, facts.high, ALONE_TOP + height, ALONE_TOP)
    _write_axis(canvas, facts)
    panel = plan_rungs(canvas, facts, room, right)
    return draw_rungs(canvas, facts, scale, panel, with_build_up=True)


def _draw_own_stackings(canvas: Canvas, facts: LadderFacts, top: float, columns: int) -> float:
    """Draw the stackings in panels of their own, in columns; return the foot. [px]"""
    width = (canvas.width - 2 * MARGIN - (columns - 1) * COLUMN_GAP) / columns
    foot = top
    for rank, stacking in enumerate(facts.picture.stackings):
        column = rank % columns
        if column == 0 and rank:
            top = foot + 40
        left = MARGIN + column * (width + COLUMN_GAP)
        foot = max(foot, _draw_own_stacking(canvas, facts, stacking, top, (left, left + width)))
    return foot


def _draw_own_stacking(
    canvas: Canvas, facts: LadderFacts, stacking: Stacking, top: float, ends: tuple[float, float]
) -> float:
    """Draw one stacking on a scale of its own, between its base and its roof; return the foot. [px]"""
    low, high = min(stacking.base, stacking.lowest), max(stacking.roof, stacking.highest)
    pad = 0.08 * (high - low)
    head = top + HEADER
    scale = Scale(low - pad, high + pad, head + STACKING_HEIGHT, head)
    left, right = ends
    roof, base = scale.at(stacking.roof), scale.at(stacking.base)
    canvas["grid"].hatch(Box(left, roof - WALL, right, roof), "hatch forbidden")
    canvas["lines"].line(left, roof, right, roof, "limit heavy")
    canvas["lines"].line(left, base, right, base, "twin")
    named: tuple[tuple[float, str, Role, float], ...] = (
        (stacking.roof, "fault_limit", "halt", roof - WALL - 5),
        (stacking.base, "highest_normal", "twin", base + 16),
    )
    for pressure, word, tone, y in named:
        text = ((facts.figures.pressure(pressure), True), (f" {facts.words[word]}", False))
        canvas["lettering"].text(left, y, text, Lettering("small", tone, halo="paper"))
    chosen = facts.first("trip")
    if stacking.chosen is not None:
        chosen = Rung("relief" if stacking.of == "crack" else "trip", stacking.chosen, "", "")
    return max(scale.low_at, draw_stacking(canvas, facts, scale, stacking, left, right, trip=chosen))


def _draw_own_peaks(canvas: Canvas, facts: LadderFacts, right: float, top: float) -> float:
    """Draw the peaks on a scale of their own; return the foot. [px]"""
    if not facts.picture.peaks:
        return top
    foot = draw_peaks_heading(canvas, facts, MARGIN, right, top)
    low, high = peak_range(facts)
    scale = Scale(low, high, foot + 22 + PEAKS_HEIGHT, foot + 22)
    start, names_foot = draw_own_lines(canvas, facts, scale, MARGIN, right)
    return max(draw_peaks(canvas, facts, scale, start, right), names_foot)


def _write_axis(canvas: Canvas, facts: LadderFacts) -> None:
    canvas["lettering"].text(MARGIN, 18.0, facts.axis_words(), SMALL)
