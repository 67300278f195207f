"""A year at a glance: a column for each day, a row for each hour, one ink."""

from __future__ import annotations

from steadyhead.drawings.canvas import Canvas, Lettering, number
from steadyhead.drawings.frames import HEAD, MARGIN, foot_lines
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.time_marks import DAY, NAMES, moment
from steadyhead.records.logger_pictures import ABOVE, BELOW, BOTH, NOTHING, WITHIN, YearPicture

AXIS, ROOM = 44.0, 40.0
"""Room at the left for the hours; below each band of days for the months. [px]"""
HOUR = 7.0
"""Height of an hour. [px]"""
LEAST = 2.4
"""Least width of a day: a narrower sheet shows the year in two, four or six bands. [px]"""
SMALL = Lettering("small", "ink-3")
KEY = (
    (WITHIN, "in the band: empty"), (ABOVE, "above: whole"), (BELOW, "below: lower half"),
    (BOTH, "above and below: two bars"), (NOTHING, "not seen: thin stroke"),
)  # fmt: skip


def draw_year(picture: YearPicture, palette: Palette, width: float) -> str:
    """Return a year as SVG text; on a narrow sheet in several bands below each other.

    The state of an hour is how its cell is inked, never a colour: not at all (in the band), whole (a sample
    above it), the lower half (below), two bars (both), a thin stroke in the middle (not seen).
    """
    return compose_year(picture, palette, width).svg(picture.title, " ".join(picture.caption))


def compose_year(picture: YearPicture, palette: Palette, width: float) -> Canvas:
    """Return the picture as a canvas, with the boxes of its lettering."""
    canvas = Canvas(palette, width)
    room = width - 2 * MARGIN - AXIS
    days = len(picture.hours)
    bands = next((n for n in (1, 2, 4, 6) if room * n / max(days, 1) >= LEAST), 6)
    each = -(-days // bands)
    y = 18.0 - HEAD.line
    for line in palette.face.wrap(picture.title, HEAD.px, width - 2 * MARGIN, strong=True):
        y += HEAD.line
        canvas["lettering"].text(MARGIN, y, line, HEAD)
    top = y + 18.0
    wide = room / each
    for band in range(bands):
        cells = picture.hours[band * each : (band + 1) * each]
        if cells:
            _band(canvas, cells, picture.first_day + band * each, top, wide)
            top += 24 * HOUR + ROOM
    top = _key(canvas, top + 4.0, width)
    canvas.height = round(foot_lines(canvas, top + 14.0, picture.caption) + 4.0)
    return canvas


def _band(canvas: Canvas, cells: tuple[tuple[int, ...], ...], first: int, top: float, wide: float) -> None:
    left, foot = MARGIN + AXIS, top + 24 * HOUR
    right = left + wide * len(cells)
    for hour in (0, 6, 12, 18, 24):
        y = foot - hour * HOUR
        canvas["grid"].line(left, y, right, y, "grid")
        figure = Lettering("small", "ink-3", anchor="end")
        canvas["lettering"].text(left - 8, y + 4.5, f"{hour:02d}:00" if hour < 24 else "24:00", figure)
    solid, strokes = _paths(cells, left, foot, wide)
    if solid:
        canvas["hardware"].path(solid, "nail")
    if strokes:
        canvas["lines"].path(strokes, "hair")
    canvas["lines"].line(left, foot, right, foot, "object")
    last = -1e9
    for place in range(len(cells)):
        when = moment((first + place) * DAY)
        if when.day == 1 or place == 0:
            x = left + place * wide
            canvas["lines"].line(x, foot, x, foot + 5, "object")
            words = NAMES[when.month - 1]
            if place == 0 or when.month == 1:
                words = f"{when.day} {words} {when.year}" if when.day > 1 else f"{words} {when.year}"
            if x >= last and x + canvas.palette.face.width(words, SMALL.px, strong=False) <= canvas.width:
                canvas["lettering"].text(x + 2, foot + 18, words, SMALL)
                last = x + canvas.palette.face.width(words, SMALL.px, strong=False) + 10.0


def _paths(cells: tuple[tuple[int, ...], ...], left: float, foot: float, wide: float) -> tuple[str, str]:
    """Return the ink and the strokes; hours of one day that show the same are one piece."""
    solid, strokes = [], []
    for place, day in enumerate(cells):
        x = left + place * wide
        for hour, state in enumerate(day):
            low = foot - hour * HOUR
            if state == NOTHING:
                strokes.append(f"M{number(x)} {number(low - HOUR / 2)}h{number(wide)}")
            else:
                solid += _ink(state, x, low, wide, HOUR)
    return "".join(solid), "".join(strokes)


def _ink(state: int, left: float, low: float, wide: float, tall: float) -> list[str]:
    """Return the inked pieces of a cell whose lower edge lies at `low`. [px]"""
    shares = {ABOVE: ((0.0, 1.0),), BELOW: ((0.0, 0.5),), BOTH: ((0.0, 0.38), (0.62, 1.0))}.get(state, ())
    return [
        f"M{number(left)} {number(low - a * tall)}h{number(wide)}V{number(low - z * tall)}h{number(-wide)}Z"
        for a, z in shares
    ]


def _key(canvas: Canvas, y: float, width: float) -> float:
    """Show a cell of each kind with its words; return the last baseline. [px]"""
    x = MARGIN
    for state, words in KEY:
        need = 34.0 + canvas.palette.face.width(words, SMALL.px, strong=False) + 18.0
        if x > MARGIN and x + need > width:
            x, y = MARGIN, y + 22.0
        canvas["grid"].rect(x, y - 13.0, 22.0, 16.0, "hair")
        solid = "".join(_ink(state, x, y + 3.0, 22.0, 16.0))
        if solid:
            canvas["hardware"].path(solid, "nail")
        if state == NOTHING:
            canvas["lines"].line(x, y - 5.0, x + 22.0, y - 5.0, "hair")
        canvas["lettering"].text(x + 30.0, y, words, Lettering("small", "ink-2"))
        x += need
    return y + 8.0
