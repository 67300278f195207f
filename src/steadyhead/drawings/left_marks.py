"""The pressure ladder of a run: rungs of the design, and on it what was found and what was left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering
from steadyhead.drawings.figures import Figures
from steadyhead.drawings.frames import AXIS_ROOM, MARGIN, foot_lines, head, levels, named, padded
from steadyhead.drawings.labels import dodge
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.scale import Scale
from steadyhead.units import METRIC, UnitSet, say

HEIGHT = 330.0
PENS = {"fault limit": "limit", "normal limit": "limit normal", "trip": "trip", "high alarm": "alarm"}
SIDE_ROOM = 200.0


@dataclass(frozen=True, slots=True)
class LeftMark:
    """A setting on the ladder: as found and as left, None: not known. [Pa at datum]

    words: its name; state: where its proof stands, printed where it is no longer valid.
    """

    words: str
    found: float | None
    left: float | None
    state: str = ""


@dataclass(frozen=True, slots=True)
class LeftPicture:
    """Rungs of the design [Pa at datum] and the marks of a run, with what was touched between them."""

    name: str
    datum_m: float
    rungs: tuple[tuple[str, float], ...]
    marks: tuple[LeftMark, ...]
    touched: tuple[str, ...] = ()
    units: UnitSet = METRIC


def draw_left(picture: LeftPicture, palette: Palette, width: float) -> str:
    """Return the ladder with as-found and as-left marks as SVG text.

    As found is a hollow ring in the left column, as left a full one in the right; a line joins the two. What
    is not known has a word and no mark.

    Parameters
    ----------
    picture
        What is shown.
    palette, width
        Colours and pens; width of the drawing. [px]
    """
    canvas = compose_left(picture, palette, width)
    return canvas.svg(f"As found and as left, {picture.name}", left_text(picture))


def compose_left(picture: LeftPicture, palette: Palette, width: float) -> Canvas:
    """Return the drawing as a canvas, with the boxes of its lettering."""
    canvas, units = Canvas(palette, width), picture.units
    left, right = MARGIN + AXIS_ROOM, width - MARGIN - min(SIDE_ROOM, 0.36 * width)
    datum = say(picture.datum_m, "length", units)
    top = head(canvas, "As found and as left", f"{units.heading('pressure')} at datum {datum}", right) + 40.0
    values = [value for _, value in picture.rungs]
    values += [value for one in picture.marks for value in (one.found, one.left) if value is not None]
    scale = Scale(*padded(values or [0.0, 1e5], 0.06), top + HEIGHT, top)
    levels(canvas, scale, (left, right), units)
    taken = _rungs(canvas, picture, scale, (left, right))
    columns = (left + 0.22 * (right - left), left + 0.62 * (right - left))
    for x, word in zip(columns, ("as found", "as left"), strict=True):
        canvas["lines"].line(x, top - 6.0, x, scale.low_at, "hair")
        canvas["lettering"].text(x, top - 14.0, word, Lettering("small", "ink", strong=True, anchor="middle"))
    for mark in picture.marks:
        _mark(canvas, mark, scale, columns, units, taken)
    canvas.height = round(foot_lines(canvas, scale.low_at + 26.0, caption(picture)) + 4.0)
    return canvas


def _rungs(canvas: Canvas, picture: LeftPicture, scale: Scale, ends: tuple[float, float]) -> list[Box]:
    style = Lettering("small", "ink-2")
    wanted = [scale.at(value) for _, value in picture.rungs]
    placed = dodge(wanted, [style.line] * len(wanted), gap=0.0)
    taken: list[Box] = []
    for (name, value), y, at in zip(picture.rungs, placed, wanted, strict=True):
        canvas["lines"].line(ends[0], at, ends[1], at, PENS.get(name, "quiet"))
        canvas["lines"].line(ends[1], at, ends[1] + 14.0, y, "hair")
        words = f"{Figures(picture.units).key(value)} {name}"
        taken.append(canvas["lettering"].text(ends[1] + 18.0, y + 4.5, words, style))
        if PENS.get(name) == "limit":
            canvas["grid"].hatch(Box(ends[0], at - 9.0, ends[1], at), "hatch forbidden")
    return taken


def _mark(
    canvas: Canvas,
    mark: LeftMark,
    scale: Scale,
    columns: tuple[float, float],
    units: UnitSet,
    taken: list[Box],
) -> None:
    figures, style = Figures(units), Lettering("small", "ink", strong=True, halo="paper")
    if mark.found is not None and mark.left is not None:
        canvas["lines"].line(columns[0], scale.at(mark.found), columns[1], scale.at(mark.left), "grade")
    if mark.found is not None:
        canvas["rings"].circle(columns[0], scale.at(mark.found), 5.0, "ring")
        words = f"{figures.key(mark.found)} {mark.words}"
        named(canvas, columns[0] + 9.0, scale.at(mark.found) - 6.0, words, taken, style)
    if mark.left is not None:
        canvas["rings"].circle(columns[1], scale.at(mark.left), 5.0, "dot")
        words = f"{figures.key(mark.left)} {mark.words}"
        named(canvas, columns[1] + 9.0, scale.at(mark.left) - 6.0, words, taken, style)


def caption(picture: LeftPicture) -> list[str]:
    """Return what stands below: what is not known as left, and what was touched between."""
    gone = [
        f"{one.words}{f' ({one.state})' if one.state else ''}" for one in picture.marks if one.left is None
    ]
    unread = [one.words for one in picture.marks if one.found is None]
    lines = [
        f"Not known as left: {', '.join(gone)}." if gone else "",
        f"Not read as found: {', '.join(unread)}." if unread else "",
        f"Touched between: {_list(picture.touched)}." if picture.touched else "Nothing was touched.",
    ]
    return [line for line in lines if line]


def _list(items: Sequence[str], most: int = 12) -> str:
    more = f" and {len(items) - most} more" if len(items) > most else ""
    return ", ".join(items[:most]) + more


def left_text(picture: LeftPicture) -> str:
    """Return the picture as sentences."""

    def told(value: float | None) -> str:
        return "not known" if value is None else say(value, "pressure", picture.units)

    said = [f"{one.words}: as found {told(one.found)}, as left {told(one.left)}" for one in picture.marks]
    return f"As found and as left at datum: {'; '.join(said) or 'no settings'}. {' '.join(caption(picture))}"
