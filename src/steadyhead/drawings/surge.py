"""The surge trace: outlet thick, supply side thin, the shut-off as a wedge of water; the mains below it."""

from __future__ import annotations

from collections.abc import Sequence

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering, text_box
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.scale import Scale, ticks
from steadyhead.drawings.surge_facts import SurgeFacts, resolve_surge, surge_text
from steadyhead.drawings.surge_mains import draw_mains
from steadyhead.drawings.surge_spots import ON_CURVE, ON_EVENT, ON_LEVEL, Spots
from steadyhead.records.pictures import SurgePicture

MARGIN, AXIS_ROOM, SIDE_ROOM = 10.0, 48.0, 150.0
NARROW_BELOW = 700.0
HEIGHT, NARROW_HEIGHT = 430.0, 400.0
EVENT_LINES = 4
WEDGE_SHARE = 0.16
WALL = 9.0
"""Height of the hatch on the forbidden side of a limit. [px]"""
RING = 6.0
"""Room a ring takes to each side. [px]"""
MOST_POINTS = 900
HALO = Lettering("small", "ink-2", halo="paper")
LIMIT = Lettering("small", "halt", halo="paper")
CURVE = Lettering("normal", "grade", strong=True, halo="paper")


def draw_surge(picture: SurgePicture, palette: Palette, width: float, lang: str = "en") -> str:
    """Return the trace of one event as SVG text, with what the mains see below it.

    One pressure scale at datum; the outlet is the thick line, T0 on the supply side the thin one.
    How far the shut-off stands open is a wedge of water on the baseline. Limits are those of the sides these
    lines belong to; names that would lie on each other are pushed apart. What comes after a cavity fell in is
    a hair line under a hatch and not on the scale's account. Below, highest and lowest along the mains.
    """
    canvas = compose_surge(picture, palette, width, lang)
    facts = resolve_surge(picture, lang)
    return canvas.svg(f"{facts.words['surge']}, {picture.name}", surge_text(picture, lang))


def compose_surge(picture: SurgePicture, palette: Palette, width: float, lang: str = "en") -> Canvas:
    """Return the trace as a canvas, with the boxes of its lettering."""
    facts = resolve_surge(picture, lang)
    canvas = Canvas(palette, width)
    is_narrow = width < NARROW_BELOW
    right = width - MARGIN - (0.0 if is_narrow else SIDE_ROOM)
    time = Scale(facts.times[0], facts.times[-1], MARGIN + AXIS_ROOM, right)
    named = _placed(canvas, facts, time)
    top = _head(canvas, facts, right) + 18.0 * (1 + max(row for *_, row in named)) + 14.0
    bottom = top + (NARROW_HEIGHT if is_narrow else HEIGHT)
    pressure = Scale(*facts.span(), bottom, top)
    taken: list[Box] = []
    _scales(canvas, facts, time, pressure)
    _wedge(canvas, facts, time, pressure, taken)
    _unjudged(canvas, facts, time, pressure)
    _curves(canvas, facts, time, pressure)
    _levels(canvas, facts, time, pressure)
    _events(canvas, named, pressure)
    spots = _ground(canvas, facts, time, pressure, taken, [x for x, *_ in named])
    _name_levels(facts, pressure, spots)
    if is_narrow:
        _name_inside(facts, time, pressure, spots)
    else:
        _name_ends(canvas, facts, time, pressure, taken)
    foot = draw_mains(canvas, facts, (time.low_at, right), bottom + 78.0, is_narrow=is_narrow)
    canvas.height = round(_foot(canvas, facts, foot + 28.0, width) + 14.0)
    return canvas


def _head(canvas: Canvas, facts: SurgeFacts, right: float) -> float:
    head = Lettering("part", "ink", strong=True)
    y = 18.0 - head.line
    for line in canvas.palette.face.wrap(facts.title(), head.px, right - MARGIN, strong=True):
        y += head.line
        canvas["lettering"].text(MARGIN, y, line, head)
    canvas["lettering"].text(MARGIN, y + 20.0, facts.axis_words(), Lettering("small", "ink-3"))
    return y + 20.0


def _scales(canvas: Canvas, facts: SurgeFacts, time: Scale, pressure: Scale) -> None:
    draw_levels(canvas, facts, (time.low_at, time.high_at), pressure)
    foot = pressure.low_at
    canvas["lines"].line(time.low_at, foot, time.high_at, foot, "object")
    for at, figure in facts.seconds((time.high_at - time.low_at) / 90.0):
        x = time.at(at)
        canvas["lines"].line(x, foot, x, foot + 5, "object")
        canvas["lettering"].text(x, foot + 20, figure, Lettering("small", "ink-3", anchor="middle"))
    end = Lettering("small", "ink-3", anchor="end")
    canvas["lettering"].text(time.high_at, foot + 38, facts.words["seconds"], end)


def draw_levels(canvas: Canvas, facts: SurgeFacts, ends: tuple[float, float], pressure: Scale) -> None:
    """Draw the horizontal lines of a pressure scale with their figures."""
    count = (pressure.low_at - pressure.high_at) / 50.0
    style = Lettering("small", "ink-3", anchor="end")
    for tick in ticks(pressure.low, pressure.high, facts.picture.units, count):
        y = pressure.at(tick.pressure)
        canvas["grid"].line(ends[0], y, ends[1], y, "grid")
        canvas["lettering"].text(ends[0] - 8, y + 4.5, tick.figure, style)


def _wedge(canvas: Canvas, facts: SurgeFacts, time: Scale, pressure: Scale, taken: list[Box]) -> None:
    found = facts.opening()
    if found is None:
        return
    name, lifts = found
    tall = WEDGE_SHARE * (pressure.low_at - pressure.high_at)
    points = [
        (time.at(t), pressure.low_at - tall * share) for t, share in thinned(facts.times, lifts, MOST_POINTS)
    ]
    ends = [(points[-1][0], pressure.low_at), (points[0][0], pressure.low_at)]
    canvas["ground"].chain([*points, *ends], "water", closed=True)
    canvas["lines"].chain(points, "hair")
    said = facts.words["share open"].format(name=name)
    taken.append(canvas["lettering"].text(time.low_at + 8, pressure.low_at - 8, said, HALO))


def _unjudged(canvas: Canvas, facts: SurgeFacts, time: Scale, pressure: Scale) -> None:
    """Hatch what comes after a cavity fell in."""
    if facts.fell_in is None:
        return
    x = time.at(facts.fell_in)
    strip = Box(x, pressure.high_at, time.high_at, pressure.low_at)
    canvas["ground"].hatch(strip, "grid", rising=False, pitch=9.0)


def thinned(times: Sequence[float], values: Sequence[float], most: int) -> list[tuple[float, float]]:
    """Return points of a line with all its highs and lows: of each stretch its lowest and its highest.

    Examples
    --------
    >>> thinned([0, 1, 2, 3], [5.0, 9.0, 1.0, 5.0], 4)
    [(0, 5.0), (1, 9.0), (2, 1.0), (3, 5.0)]
    """
    if len(times) <= most:
        return list(zip(times, values, strict=True))
    size = -(-2 * len(times) // most)
    kept = {0, len(times) - 1}
    for first in range(0, len(times), size):
        stretch = range(first, min(first + size, len(times)))
        kept |= {min(stretch, key=values.__getitem__), max(stretch, key=values.__getitem__)}
    return [(times[place], values[place]) for place in sorted(kept)]


def _curves(canvas: Canvas, facts: SurgeFacts, time: Scale, pressure: Scale) -> None:
    last = facts.judged
    for values, pen in ((facts.supply, "tolerance"), (facts.outlet, "grade")):
        points = [
            (time.at(t), pressure.at(min(max(p, pressure.low), pressure.high)))
            for t, p in thinned(facts.times, values, MOST_POINTS)
        ]
        edge = time.at(facts.times[last - 1])
        judged, after = [p for p in points if p[0] <= edge], [p for p in points if p[0] >= edge]
        canvas["lines"].chain(judged, pen)
        if len(after) > 1:
            canvas["lines"].chain([judged[-1], *after], "hair")
    for values in (facts.supply, facts.outlet):
        place = max(range(last), key=values.__getitem__)
        canvas["rings"].circle(time.at(facts.times[place]), pressure.at(values[place]), 5.0, "ring")


def _levels(canvas: Canvas, facts: SurgeFacts, time: Scale, pressure: Scale) -> None:
    for level, _, pen in facts.levels():
        y = pressure.at(level)
        canvas["lines"].line(time.low_at, y, time.high_at, y, pen)
        if pen == "limit":
            canvas["grid"].hatch(Box(time.low_at, y - WALL, time.high_at, y), "hatch forbidden")


def _drawn(facts: SurgeFacts, time: Scale, pressure: Scale) -> list[list[tuple[float, float]]]:
    """Return the points of both curves on the page. [px]"""
    return [
        [(time.at(t), pressure.at(p)) for t, p in thinned(facts.times, values, MOST_POINTS)]
        for values in (facts.outlet, facts.supply)
    ]


def _ground(
    canvas: Canvas, facts: SurgeFacts, time: Scale, pressure: Scale, taken: list[Box], events: Sequence[float]
) -> Spots:
    """Return the ground of the trace with all its lines, on which names find their places."""
    frame = Box(time.low_at, pressure.high_at, time.high_at, pressure.low_at)
    spots = Spots(canvas, frame, taken)
    for curve in _drawn(facts, time, pressure):
        spots.add_line(curve, ON_CURVE)
        x, y = min(curve, key=lambda point: point[1])
        taken.append(Box(x - RING, y - RING, x + RING, y + RING))
    for level, _, pen in facts.levels():
        y = pressure.at(level)
        for edge in (y, y - WALL) if pen == "limit" else (y,):
            spots.add_line(((time.low_at, edge), (time.high_at, edge)), ON_LEVEL)
    for x in events:
        spots.add_line(((x, pressure.high_at), (x, pressure.low_at)), ON_EVENT)
    return spots


def _name_levels(facts: SurgeFacts, pressure: Scale, spots: Spots) -> None:
    """Name each limit below or above its line."""
    for level, words, pen in facts.levels():
        y = pressure.at(level)
        spots.put(words, LIMIT, (y + 16.0, y - (WALL if pen == "limit" else 0.0) - 6.0))


def _name_inside(facts: SurgeFacts, time: Scale, pressure: Scale, spots: Spots) -> None:
    """Name the curves, with what they reach, above or below them."""
    words = (facts.outlet_words(), facts.supply_words())
    for curve, said in zip(_drawn(facts, time, pressure), words, strict=True):
        heights, last = [y for _, y in curve], curve[-1][1]
        spots.put(said, CURVE, (min(heights) - 14.0, max(heights) + 19.0, last - 8.0, last + 19.0))


def place(
    canvas: Canvas, x: float, y: float, words: str, style: Lettering, taken: list[Box], step: float
) -> None:
    """Write a name where no other of `taken` stands, moved down step by step."""
    for _ in range(12):
        box = text_box(canvas.palette, x, y, words, style)
        if not any(box.meets(other, 1.0) for other in taken):
            break
        y += step
    taken.append(canvas["lettering"].text(x, y, words, style))


def _placed(canvas: Canvas, facts: SurgeFacts, time: Scale) -> list[tuple[float, float, str, int]]:
    """Return place of each event, of its name, the name and its row above the scale."""
    ends = [-1e9] * EVENT_LINES
    found = []
    for moment, words in facts.events():
        x = time.at(moment)
        width = canvas.palette.face.width(words, HALO.px, strong=False)
        is_late = x + 4.0 + width > canvas.width - MARGIN
        left = max(x - 4.0 - width if is_late else x + 4.0, MARGIN)
        row = next((row for row in range(EVENT_LINES) if ends[row] + 8.0 < left), None)
        if row is not None:
            ends[row] = left + width
            found.append((x, left, words, row))
    return found


def _events(canvas: Canvas, named: Sequence[tuple[float, float, str, int]], pressure: Scale) -> None:
    for x, left, words, row in named:
        y = pressure.high_at - 8.0 - 18.0 * row
        canvas["lines"].line(x, y - 10.0, x, pressure.low_at, "hair dashed")
        canvas["lettering"].text(left, y, words, HALO)


def _name_ends(canvas: Canvas, facts: SurgeFacts, time: Scale, pressure: Scale, taken: list[Box]) -> None:
    """Name the curves at their ends, with what they reach."""
    for values, words in ((facts.outlet, facts.outlet_words()), (facts.supply, facts.supply_words())):
        y = pressure.at(min(max(values[-1], pressure.low), pressure.high)) + 5.0
        place(canvas, time.high_at + 8.0, y, words, CURVE, taken, 18.0)


def _foot(canvas: Canvas, facts: SurgeFacts, y: float, width: float) -> float:
    style = Lettering("small", "ink-2")
    for words in facts.caption():
        for line in canvas.palette.face.wrap(words, style.px, width - 2.0 * MARGIN, strong=False):
            canvas["lettering"].text(MARGIN, y, line, style)
            y += style.line
    return y
