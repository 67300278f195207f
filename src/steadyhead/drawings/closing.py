"""Highest pressures over the closing time: a frame for each side on one scale of time, the window on all."""

from __future__ import annotations

from math import log2

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering
from steadyhead.drawings.closing_facts import ClosingFacts, Frame, closing_text, resolve_closing
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.scale import Scale, ticks
from steadyhead.drawings.surge import place
from steadyhead.drawings.surge_spots import ON_CURVE, ON_EVENT, Spots
from steadyhead.records.closing import ClosingPicture

MARGIN, AXIS_ROOM, SIDE_ROOM = 10.0, 48.0, 215.0
NARROW_BELOW = 700.0
HEIGHT, NARROW_HEIGHT = 190.0, 160.0
GAP, NARROW_GAP = 40.0, 62.0
WALL = 9.0
"""Height of the hatch on the forbidden side of a limit. [px]"""
RING, DOT = 4.5, 2.5
SMALL = Lettering("small", "ink-3")
HALO = Lettering("small", "ink", strong=True, halo="paper")
LIMIT = Lettering("small", "halt", halo="paper")
TWIN = Lettering("normal", "twin", strong=True, halo="paper")
CURVE = Lettering("normal", "grade", strong=True, halo="paper")
LIGHT_CURVE = Lettering("small", "grade", halo="paper")


def draw_closing(picture: ClosingPicture, palette: Palette, width: float, lang: str = "en") -> str:
    """Return the closing times as SVG text.

    Thick: highest until the shut-off stands shut; thin: with the wave the zone throws back. Limits are walls;
    the window is one band through all frames, the time as it is a plumb line.
    """
    canvas = compose_closing(picture, palette, width, lang)
    facts = resolve_closing(picture, lang)
    return canvas.svg(f"{facts.words['closing']}, {picture.name}", closing_text(picture, lang))


def compose_closing(picture: ClosingPicture, palette: Palette, width: float, lang: str = "en") -> Canvas:
    """Return the drawing as a canvas, with the boxes of its lettering."""
    facts = resolve_closing(picture, lang)
    canvas = Canvas(palette, width)
    is_narrow = width < NARROW_BELOW
    right = width - MARGIN - (0.0 if is_narrow else SIDE_ROOM)
    top = _head(canvas, facts, width)
    if not facts.frames:
        canvas.height = round(_caption(canvas, (facts.words["closing no trip"],), top + 24.0, width) + 14.0)
        return canvas
    time = Scale(log2(facts.times[0]), log2(facts.times[-1]), MARGIN + AXIS_ROOM, right)
    top += 82.0 if is_narrow else 46.0
    height, gap = (NARROW_HEIGHT, NARROW_GAP) if is_narrow else (HEIGHT, GAP)
    bottom = top + len(facts.frames) * (height + gap) - gap
    taken: list[Box] = []
    _window(canvas, facts, time, (top - 40.0 if is_narrow else top, bottom))
    _now(canvas, facts, time, (top, bottom), taken)
    for number, frame in enumerate(facts.frames):
        foot = top + number * (height + gap) + height
        _frame(canvas, facts, frame, time, (foot - height, foot), taken, is_narrow=is_narrow)
    _times(canvas, facts, time, bottom)
    canvas.height = round(_caption(canvas, facts.caption(), bottom + 66.0, width) + 14.0)
    return canvas


def _head(canvas: Canvas, facts: ClosingFacts, width: float) -> float:
    head = Lettering("part", "ink", strong=True)
    y = 18.0 - head.line
    for line in canvas.palette.face.wrap(facts.title(), head.px, width - 2.0 * MARGIN, strong=True):
        y += head.line
        canvas["lettering"].text(MARGIN, y, line, head)
    canvas["lettering"].text(MARGIN, y + 20.0, facts.axis_words(), SMALL)
    return y + 20.0


def _window(canvas: Canvas, facts: ClosingFacts, time: Scale, ends: tuple[float, float]) -> None:
    """Draw the window as one band through all frames, its edges named above."""
    top, bottom = ends
    low, high = facts.window_edges()
    if facts.is_open:
        left = time.low_at if low is None else time.at(log2(low))
        right = time.high_at if high is None else time.at(log2(high))
        canvas["ground"].rect(left, top - 12.0, max(right - left, 1.0), bottom - top + 12.0, "twin wash")
        for edge in (low, high):
            if edge is not None:
                x = time.at(log2(edge))
                canvas["lines"].line(x, top - 12.0, x, bottom, "twin")
    words = facts.window_words()
    middle = (time.low_at + time.high_at) / 2.0
    if facts.is_open:
        first = time.low_at if low is None else time.at(log2(low))
        last = time.high_at if high is None else time.at(log2(high))
        middle = (first + last) / 2.0
    style = TWIN if facts.is_open else LIMIT
    width = canvas.palette.face.width(words, style.px, strong=style.strong)
    left = min(max(middle - width / 2.0, MARGIN), canvas.width - MARGIN - width)
    canvas["lettering"].text(max(left, 0.0), top - 20.0, words, style)


def _now(
    canvas: Canvas, facts: ClosingFacts, time: Scale, ends: tuple[float, float], taken: list[Box]
) -> None:
    top, bottom = ends
    x = time.at(log2(facts.now))
    canvas["lines"].line(x, top - 6.0, x, bottom, "object")
    canvas["hardware"].chain(
        [(x - 6.0, bottom + 8.0), (x, bottom), (x + 6.0, bottom + 8.0)], "nail", closed=True
    )
    words = facts.now_words()
    width = canvas.palette.face.width(words, HALO.px, strong=True)
    left = x + 6.0 if x + 8.0 + width < time.high_at else x - 6.0 - width
    taken.append(canvas["lettering"].text(left, bottom - 6.0, words, HALO))


def _frame(
    canvas: Canvas, facts: ClosingFacts, frame: Frame, time: Scale, ends: tuple[float, float],
    taken: list[Box], *, is_narrow: bool,
) -> None:  # fmt: skip
    top, foot = ends
    pressure = Scale(*frame.span, foot, top)
    for tick in ticks(pressure.low, pressure.high, facts.picture.units, (foot - top) / 45.0):
        y = pressure.at(tick.pressure)
        canvas["grid"].line(time.low_at, y, time.high_at, y, "grid")
        canvas["lettering"].text(
            time.low_at - 8, y + 4.5, tick.figure, Lettering("small", "ink-3", anchor="end")
        )
    canvas["lines"].line(time.low_at, foot, time.high_at, foot, "object")
    if frame.limit is not None:
        y = pressure.at(frame.limit)
        canvas["lines"].line(time.low_at, y, time.high_at, y, "limit")
        canvas["grid"].hatch(Box(time.low_at, y - WALL, time.high_at, y), "hatch forbidden")
        _name_limit(canvas, facts, frame, (time, pressure), y, taken)
    names: list[tuple[float, str, Lettering]] = []
    if frame.thrown_back:
        points = [(time.at(log2(t)), pressure.at(p)) for t, p in frame.thrown_back]
        canvas["lines"].chain(points, "tolerance")
        for x, y in points:
            canvas["rings"].circle(x, y, RING - 1.5, "ring")
        names.append((points[-1][1], facts.words["thrown back once shut"], LIGHT_CURVE))
    points = [(time.at(log2(t)), pressure.at(p)) for t, p in frame.until_shut]
    canvas["lines"].chain(points, "grade")
    for x, y in points:
        canvas["rings"].circle(x, y, RING, "ring")
    names.append((points[-1][1], facts.words["until shut"], LIGHT_CURVE))
    _names(canvas, facts, frame, names, time, (top, foot), taken, is_narrow=is_narrow)


def _name_limit(
    canvas: Canvas, facts: ClosingFacts, frame: Frame, scales: tuple[Scale, Scale], y: float, taken: list[Box]
) -> None:
    """Name the limit of a frame below or above its line, where that lies on the fewest lines and rings."""
    time, pressure = scales
    spots = Spots(canvas, Box(time.low_at, pressure.high_at, time.high_at, pressure.low_at), [*taken])
    for curve in (frame.until_shut, frame.thrown_back):
        points = [(time.at(log2(t)), pressure.at(p)) for t, p in curve]
        spots.add_line(points, ON_CURVE)
        spots.taken += [Box(px - RING, py - RING, px + RING, py + RING) for px, py in points]
    x = time.at(log2(facts.now))
    spots.add_line(((x, pressure.high_at), (x, pressure.low_at)), ON_EVENT)
    taken.append(spots.put(frame.limit_words, LIMIT, (y + 16.0, y - WALL - 6.0)))


def _names(
    canvas: Canvas, facts: ClosingFacts, frame: Frame, names: list[tuple[float, str, Lettering]],
    time: Scale, ends: tuple[float, float], taken: list[Box], *, is_narrow: bool,
) -> None:  # fmt: skip
    """Name side and curves beside their ends, or in a narrow drawing above the frame."""
    top, _ = ends
    if is_narrow:
        taken.append(canvas["lettering"].text(time.low_at, top - 26.0, frame.name, CURVE))
        told = f"{facts.words['thick']}: {facts.words['until shut']}"
        if frame.thrown_back:
            told += f"; {facts.words['thin']}: {facts.words['thrown back in short']}"
        canvas["lettering"].text(MARGIN, top - 9.0, told, SMALL)
        return
    left = time.high_at + 12.0
    for rank, (y, words, style) in enumerate(sorted(names, reverse=True)):
        if rank == 0:
            place(canvas, left, min(max(y, top + 12.0), ends[1] - 30.0) - 8.0, frame.name, CURVE, taken, 18.0)
        place(canvas, left, y + 10.0, words, style, taken, 16.0)


def _times(canvas: Canvas, facts: ClosingFacts, time: Scale, bottom: float) -> None:
    last = -1e9
    middle = Lettering("small", "ink-3", anchor="middle")
    for moment in facts.marks():
        x = time.at(log2(moment))
        canvas["lines"].line(x, bottom, x, bottom + 5, "object")
        half = canvas.palette.face.width(f"{moment:g}", middle.px, strong=False) / 2.0
        at = min(x, canvas.width - MARGIN / 2.0 - half)
        if at - last >= 28.0:
            canvas["lettering"].text(at, bottom + 22, f"{moment:g}", middle)
            last = at
    for point in facts.picture.sweep.points:
        if point.parts:
            canvas["hardware"].circle(time.at(log2(point.time)), bottom - DOT - 1.0, DOT, "nail")
    words, end = facts.words["closing axis"], Lettering("small", "ink-3", anchor="end")
    canvas["lettering"].text(time.high_at, bottom + 42, words, end)


def _caption(canvas: Canvas, told: tuple[str, ...], y: float, width: float) -> float:
    style = Lettering("small", "ink-2")
    for words in told:
        for line in canvas.palette.face.wrap(words, style.px, width - 2.0 * MARGIN, strong=False):
            canvas["lettering"].text(MARGIN, y, line, style)
            y += style.line
    return y
