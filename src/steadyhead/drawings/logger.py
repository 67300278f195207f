"""A window of logger data: channels below each other on one time, extremes kept, gaps left open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering, number
from steadyhead.drawings.frames import AXIS_ROOM, HEAD, MARGIN, NAME, foot_lines
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.scale import Scale, round_step
from steadyhead.drawings.time_marks import moment, time_marks
from steadyhead.drawings.tokens import Role
from steadyhead.records.logger_pictures import Bucket, Level, LevelKind, LoggerFrame, LoggerPicture, Spot

TALL, LOW, BETWEEN = 190.0, 110.0, 44.0
"""Height of the first frame, of the others, and the room between two. [px]"""
STAND = 9.0
"""How far below the baseline the line of standing lies. [px]"""
STANDS = ("mark dashed", "hair", "alarm", "trip")
"""Pens of the line of standing: not judged, believed, doubted, refused."""
WIDE_GAP, NAMED_GAP = 2.0, 84.0
NARROW_BELOW, SIDE_ROOM = 700.0, 158.0
"""Below this width lines are named above their frame, from it on at their right. [px]"""
SMALL = Lettering("small", "ink-3")
TITLE = Lettering("small", "ink", strong=True, halo="paper")
PENS = {"trip": "trip", "alarm": "alarm", "edge": "edge"}
TONES: dict[LevelKind, Role] = {"trip": "halt", "alarm": "heed", "edge": "ink-3"}


def draw_logger(picture: LoggerPicture, palette: Palette, width: float) -> str:
    """Return a window of a record as SVG text.

    Each channel has a frame and a scale of its own; all share one time. A stroke reaches from the least to
    the most of each stretch, so that no sample is lost however much time is shown. Times without values stay
    open, hatched where they are wide enough. The line below a frame says how its samples stand. Numbers on
    top are those of the words that go with the picture.
    """
    return compose_logger(picture, palette, width).svg(picture.title, says(picture))


def compose_logger(picture: LoggerPicture, palette: Palette, width: float) -> Canvas:
    """Return the picture as a canvas, with the boxes of its lettering."""
    canvas = Canvas(palette, width)
    is_narrow = width < NARROW_BELOW
    beside = SIDE_ROOM if not is_narrow and any(one.levels for one in picture.frames) else 0.0
    right = width - MARGIN - beside
    time = Scale(float(picture.start), float(picture.end), MARGIN + AXIS_ROOM, right)
    y = 18.0 - HEAD.line
    for line in palette.face.wrap(picture.title, HEAD.px, width - 2 * MARGIN, strong=True):
        y += HEAD.line
        canvas["lettering"].text(MARGIN, y, line, HEAD)
    top = y + 24.0
    bottom = top
    for place, frame in enumerate(picture.frames):
        head = bottom + BETWEEN if place else top + 34.0
        head = _named(canvas, picture, frame, time, head) if is_narrow else head
        bottom = head + (LOW if place else TALL)
        _frame(canvas, picture, frame, time, head, bottom)
    _spots(canvas, picture.spots, time, top, bottom)
    _times(canvas, picture, time, bottom)
    canvas.height = round(foot_lines(canvas, bottom + 72.0, picture.caption) + 6.0)
    return canvas


def says(picture: LoggerPicture) -> str:
    """Return the picture in one sentence for each channel."""
    span = f"{_when(picture.start)} to {_when(picture.end)} UTC"
    told = [f"{frame.name}: {range_words(frame, picture.decimal)}" for frame in picture.frames]
    return f"{span}. " + (". ".join(told) + "." if told else "No channel is shown.")


def range_words(frame: LoggerFrame, decimal: str = ".") -> str:
    """Return least and most of a frame, and how often it is open, in words."""
    if not frame.buckets:
        return "no values"
    ends = (min(one.low for one in frame.buckets), max(one.high for one in frame.buckets))
    low, high = (f"{frame.shown.figure(one):.{frame.shown.digits}f}" for one in ends)
    words = f"{low} to {high} {frame.shown.unit}".rstrip().replace(".", decimal).replace("-", "\u2212")
    gaps = len(frame.gaps)
    return words + ("" if not gaps else ", 1 gap" if gaps == 1 else f", {gaps} gaps")


def _when(micros: int) -> str:
    return f"{moment(micros):%-d %b %Y, %H:%M}"


def span_of(frame: LoggerFrame) -> tuple[float, float]:
    """Return the ends of a frame's scale, as figures; lines it is held against are on it where near."""
    figures = [frame.shown.figure(v) for one in frame.buckets for v in (one.low, one.high)] or [0.0, 1.0]
    low, high = min(figures), max(figures)
    reach = max(high - low, 0.2 * abs(high), 10.0**-frame.shown.digits)
    near = [
        v for v in (frame.shown.figure(one.value) for one in frame.levels) if low - reach < v < high + reach
    ]
    low, high = min([low, *near]), max([high, *near])
    room = max(0.06 * (high - low), 0.5 * 10.0**-frame.shown.digits)
    return low - room, high + room


def _frame(
    canvas: Canvas, picture: LoggerPicture, frame: LoggerFrame, time: Scale, top: float, foot: float
) -> None:
    low, high = span_of(frame)
    scale = Scale(low, high, foot, top)
    if canvas.width >= NARROW_BELOW:
        canvas["lettering"].text(time.low_at, top - 7.0, _title(frame), TITLE)
    step = round_step(high - low, max((foot - top) / 45.0, 1.0))
    for at in range(int(-(-low // step)), int(high // step) + 1):
        y = scale.at(at * step)
        canvas["grid"].line(time.low_at, y, time.high_at, y, "grid")
        words = (
            f"{at * step:.{frame.shown.digits}f}".rstrip("0").rstrip(".") if step < 1 else f"{at * step:g}"
        )
        words = words.replace("-", "\u2212").replace(".", picture.decimal)
        canvas["lettering"].text(time.low_at - 8, y + 4.5, words, Lettering("small", "ink-3", anchor="end"))
    canvas["lines"].line(time.low_at, foot, time.high_at, foot, "object")
    _gaps(canvas, frame, time, top, foot)
    _levels(canvas, picture, frame, time, scale)
    path = "".join(strokes(frame, picture, time, scale))
    if path:
        canvas["lines"].path(path, "tolerance" if frame.is_pressure else "object")
    _standing(canvas, frame, picture, time, foot + STAND)
    if not frame.buckets:
        canvas["lettering"].text(time.low_at + 8, (top + foot) / 2, "no values in this window", NAME)


def strokes(frame: LoggerFrame, picture: LoggerPicture, time: Scale, scale: Scale) -> Iterator[str]:
    """Yield the pieces of a line: through first, least, most, last of each bucket, never over a gap."""
    after_gap = {end for _, end in frame.gaps}
    before: Bucket | None = None
    for one in frame.buckets:
        x1, x2 = (time.at(min(max(t, picture.start), picture.end)) for t in (one.start, one.end))
        y = [scale.at(frame.shown.figure(v)) for v in (one.first, one.low, one.high, one.last)]
        begins = before is None or one.start in after_gap
        step = f"H{number(x1)}" if frame.holds and not begins else ""
        out = f"{'M' if begins else step + 'L'}{number(x1)} {number(y[0])}"
        if one.low != one.high:
            middle = number((x1 + x2) / 2)
            out += f"L{middle} {number(y[1])}V{number(y[2])}L{number(x2)} {number(y[3])}"
        elif x2 - x1 > 0.5:
            out += f"H{number(x2)}"
        elif begins:
            out += "h0.6"
        yield out
        before = one


def _gaps(canvas: Canvas, frame: LoggerFrame, time: Scale, top: float, foot: float) -> None:
    for start, end in frame.gaps:
        left, right = max(time.at(start), time.low_at), min(time.at(end), time.high_at)
        if right - left >= WIDE_GAP:
            canvas["ground"].hatch(Box(left, top, right, foot), "hatch cannot", rising=False, pitch=9.0)
        if right - left >= NAMED_GAP:
            style = Lettering("small", "ink-2", anchor="middle", halo="paper")
            canvas["lettering"].text((left + right) / 2, (top + foot) / 2, "no samples", style)


def _title(frame: LoggerFrame) -> str:
    return f"{frame.name}, {frame.shown.unit}".rstrip(", ")


def _level_words(frame: LoggerFrame, level: Level, decimal: str) -> str:
    figure = f"{frame.shown.figure(level.value):.{frame.shown.digits}f}"
    return f"{figure} {level.words}".replace("-", "\u2212").replace(".", decimal)


def _named(canvas: Canvas, picture: LoggerPicture, frame: LoggerFrame, time: Scale, head: float) -> float:
    """Write a frame's name and those of its lines above it; return where the frame begins. [px]"""
    canvas["lettering"].text(time.low_at, head - 7.0, _title(frame), TITLE)
    low, high = span_of(frame)
    shown = [one for one in frame.levels if low <= frame.shown.figure(one.value) <= high]
    for one in shown:
        head += 17.0
        tone = TONES[one.kind]
        words = _level_words(frame, one, picture.decimal)
        canvas["lines"].line(time.low_at, head - 11.0, time.low_at + 24.0, head - 11.0, PENS[one.kind])
        style = Lettering("small", tone, halo="paper")
        canvas["lettering"].text(time.low_at + 30.0, head - 7.0, words, style)
    return head


def _levels(canvas: Canvas, picture: LoggerPicture, frame: LoggerFrame, time: Scale, scale: Scale) -> None:
    last = -1e9
    for level in sorted(frame.levels, key=lambda one: -one.value):
        figure = frame.shown.figure(level.value)
        if not scale.covers(figure):
            continue
        y = scale.at(figure)
        canvas["lines"].line(time.low_at, y, time.high_at, y, PENS[level.kind])
        if canvas.width >= NARROW_BELOW:
            last = max(y + 4.5, last + 16.0)
            words = _level_words(frame, level, picture.decimal)
            canvas["lettering"].text(time.high_at + 8.0, last, words, Lettering("small", TONES[level.kind]))


def _standing(canvas: Canvas, frame: LoggerFrame, picture: LoggerPicture, time: Scale, y: float) -> None:
    """Draw how the samples stand as a line of four forms."""
    runs: list[list[float]] = []
    opens = {end for _, end in frame.gaps}
    for one in frame.buckets:
        x1, x2 = (time.at(min(max(t, picture.start), picture.end)) for t in (one.start, one.end))
        if runs and runs[-1][2] == one.stands and one.start not in opens:
            runs[-1][1] = x2
        else:
            if runs and one.start not in opens:
                runs[-1][1] = x1
            runs.append([x1, x2, one.stands])
    for x1, x2, stands in runs:
        wide = max(x2 - x1, 3.0 if stands > 1 else 0.6)
        canvas["lines"].line(x1, y, x1 + wide, y, STANDS[int(stands)])


def _spots(canvas: Canvas, spots: tuple[Spot, ...], time: Scale, top: float, foot: float) -> None:
    groups: list[tuple[float, list[Spot]]] = []
    for one in spots:
        x1 = min(max(time.at(one.start), time.low_at), time.high_at)
        x2 = min(max(time.at(one.end), time.low_at), time.high_at)
        pen = "object" if one.is_event else "hair"
        canvas["lines"].line(x1, top + 8.0, max(x2, x1 + 2.0), top + 8.0, pen)
        canvas["grid"].line(x1, top + 8.0, x1, foot, "hair dashed")
        if groups and x1 - groups[-1][0] < 8.0 + 7.0 * len(_numbers([*groups[-1][1], one])):
            groups[-1][1].append(one)
        else:
            groups.append((x1, [one]))
    for x, together in groups:
        pen_ = Lettering("small", "ink", strong=any(one.is_event for one in together))
        words = _numbers(together)
        room = time.high_at + 6.0 - 7.0 * len(words)
        canvas["lettering"].text(min(x, max(room, time.low_at)), top + 3.0, words, pen_)


def _numbers(spots: Sequence[Spot]) -> str:
    """Return the numbers of marks that stand too near for a number each: ``3, 4``, ``3–6``."""
    numbers = sorted(one.number for one in spots)
    if len(numbers) > 2 and numbers[-1] - numbers[0] == len(numbers) - 1:
        return f"{numbers[0]}–{numbers[-1]}"
    return ", ".join(map(str, numbers)) if len(numbers) < 5 else f"{numbers[0]} … {numbers[-1]}"


def _times(canvas: Canvas, picture: LoggerPicture, time: Scale, foot: float) -> None:
    y, last = foot + STAND + 6.0, -1e9
    canvas["lines"].line(time.low_at, y, time.high_at, y, "hair")
    for mark in time_marks(picture.start, picture.end, (time.high_at - time.low_at) / 96.0):
        x = time.at(mark.at)
        canvas["lines"].line(x, y, x, y + 5, "hair")
        half = canvas.palette.face.width(mark.words, SMALL.px, strong=False) / 2.0
        at = min(max(x, time.low_at + half - 30.0), time.high_at - half)
        if at - half >= last:
            canvas["lettering"].text(at, y + 20, mark.words, Lettering("small", "ink-3", anchor="middle"))
            last = at + half + 8.0
    canvas["lettering"].text(time.high_at, y + 38, "time, UTC", Lettering("small", "ink-3", anchor="end"))
