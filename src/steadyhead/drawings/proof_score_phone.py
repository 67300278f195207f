"""The proof score on a narrow screen: one proof below the other, each with its own bar and what broke it."""

from __future__ import annotations

from steadyhead.drawings.canvas import Canvas, Lettering
from steadyhead.drawings.marks import put_mark
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.proof_score_facts import MARK_OF, shown_moments
from steadyhead.drawings.proof_times import TimeScale, time_scale
from steadyhead.records.proof_score import Knot, ProofScore, ScoreBar

NARROW_BELOW = 700.0
"""Below this width the proofs stand one below the other. [px]"""
MARGIN, SLIP = 6.0, 9.0
HOUR_ROOM = 58.0
SHOWN = 3
"""Strings a proof names in words. [1]"""
TONES: dict[str, str] = {"stale": "heed", "refused": "halt"}


def compose_phone(picture: ProofScore, palette: Palette, width: float) -> Canvas:
    """Return the narrow form as a canvas.

    Parameters
    ----------
    picture
        What is shown.
    palette, width
        Colours and pens; width of the drawing. [px]
    """
    canvas = Canvas(palette, width)
    time = time_scale(shown_moments(picture), picture.zone, MARGIN, width - MARGIN)
    y = _hours(canvas, time)
    for bar in picture.bars:
        y = _proof(canvas, picture, bar, time, y)
    y = _struck(canvas, picture, time, y)
    foot = picture.left_out
    for line in palette.face.wrap(foot, 13.0, width - 2 * MARGIN, strong=False) if foot else ():
        y += 18.0
        canvas["lettering"].text(MARGIN, y, line, Lettering("small", "ink-2"))
    canvas.height = round(y + 16.0)
    for x, _ in time.hours(HOUR_ROOM):
        canvas["ground"].line(x, 40.0, x, canvas.height - 8.0, "grid")
    return canvas


def _hours(canvas: Canvas, time: TimeScale) -> float:
    lettering, width = canvas["lettering"], canvas.width
    small = Lettering("small", "ink-3", anchor="middle")
    for x, day in time.days():
        lettering.text(x, 14.0, day, Lettering("small", "ink-3"))
    for x, clock in time.hours(HOUR_ROOM):
        if 18.0 < x < width - 18.0:
            lettering.text(x, 32.0, clock, small)
    for before, after in time.cuts():
        middle = (before + after) / 2
        for move in (-3.0, 3.0):
            canvas["lines"].line(middle + move - 3, 46.0, middle + move + 3, 34.0, "hair")
    return 44.0


def _proof(canvas: Canvas, picture: ProofScore, bar: ScoreBar, time: TimeScale, y: float) -> float:
    lettering, face = canvas["lettering"], canvas.palette.face
    room = canvas.width - 2 * MARGIN
    y += 34.0
    strong, small = (
        Lettering("normal", "ink", strong=True, halo="paper"),
        Lettering("small", "ink-2", halo="paper"),
    )
    for line in face.wrap(bar.words, strong.px, room, strong=True):
        lettering.text(MARGIN, y, line, strong)
        y += strong.line
    if bar.detail:
        lettering.text(MARGIN, y, bar.detail, small)
        y += small.line
    y -= 8.0
    if bar.at is not None:
        y = _bar(canvas, picture, bar, time, y)
    tone = TONES.get(bar.state, "ink")
    put_mark(canvas["lines"], MARK_OF[bar.state], MARGIN, y + 4.0)
    said = Lettering("normal", tone, halo="paper")  # type: ignore[arg-type]
    rows = [(line, said) for line in face.wrap(bar.says, said.px, room - 40.0, strong=False)]
    why = face.wrap(bar.because, small.px, room - 40.0, strong=False) if bar.because else []
    rows += [(line, small) for line in why]
    return lettering.lines(MARGIN + 40.0, y + 17.0, rows)


def _bar(canvas: Canvas, picture: ProofScore, bar: ScoreBar, time: TimeScale, y: float) -> float:
    """Draw a proof's bar, and the string that broke it; return the foot of both. [px]"""
    assert bar.at is not None
    lines, x, right = canvas["lines"], time.at(bar.at), canvas.width - MARGIN
    if bar.state == "refused":
        lines.line(x, y + 10.0, right, y + 10.0, "refused bar")
        lines.line(x - 6, y + 19, x + 8, y + 1, "halted")
        return y + 22.0
    if bar.state != "stale":
        if bar.state != "open":
            lines.line(x, y + 6.0, right, y + 6.0, "standing bar")
            lines.line(x, y, x, y + 14.0, "object")
        return y + 16.0
    at = min(max(time.at(bar.until) if bar.until is not None else x + 12.0, x + 6.0), right - 12.0)
    lines.line(x, y + 6.0, at - 4.0, y + 6.0, "slipped bar")
    lines.line(at - 5.0, y - 2.0, at + 5.0, y + 6.0 + 2 * SLIP, "slipped")
    lines.line(at + 6.0, y + 6.0 + SLIP, right, y + 6.0 + SLIP, "slipped bar")
    knot = next((one for one in picture.knots if one.string == bar.broken_on and one.kind == "slips"), None)
    names = {one.id: one.words for one in picture.strings}
    if knot is None or bar.broken_on not in names:
        return y + 30.0
    return _string(canvas, knot, names[bar.broken_on], (x, at), y + 62.0)


def _string(canvas: Canvas, knot: Knot, name: str, ends: tuple[float, float], y: float) -> float:
    lines, half = canvas["lines"], 8.0
    x, at = ends
    lines.line(MARGIN, y, canvas.width - MARGIN, y, "hair")
    lines.line(at, y - 38.0, at, y - half, "slipped dashed")
    lines.line(x, y - 56.0, x, y, "slipped")
    canvas["hardware"].circle(x, y, 4.5, "dot slipped")
    canvas["rings"].chain(
        ((at, y - half), (at + half, y), (at, y + half), (at - half, y)), "knot slipped", closed=True
    )
    small = Lettering("small", "ink-2", halo="paper")
    room = canvas.width - 2 * MARGIN
    words = f"{name}: {knot.words}" if knot.words else name
    for line in canvas.palette.face.wrap(words, small.px, room, strong=False):
        y += small.line
        canvas["lettering"].text(MARGIN, y + 4.0, line, small)
    return y + 8.0


def _struck(canvas: Canvas, picture: ProofScore, time: TimeScale, y: float) -> float:
    """Draw the touches that nothing proves again, each on its string; return the foot. [px]"""
    names = {one.id: one.words for one in picture.strings}
    for knot in (one for one in picture.knots if one.kind == "strikes" and one.string in names):
        y += 40.0
        x, half = time.at(knot.at), 8.0
        canvas["lines"].line(MARGIN, y, canvas.width - MARGIN, y, "hair")
        canvas["rings"].chain(
            ((x, y - half), (x + half, y), (x, y + half), (x - half, y)), "knot halted", closed=True
        )
        words = f"{names[knot.string]}: {knot.words or 'touched'}, not proved since"
        said = Lettering("small", "halt", halo="paper")
        for line in canvas.palette.face.wrap(words, said.px, canvas.width - 2 * MARGIN, strong=False):
            y += said.line
            canvas["lettering"].text(MARGIN, y + 4.0, line, said)
        y += 8.0
    return y
