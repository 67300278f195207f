"""Blocks of lettering that both forms of the strip share: part words, tap figures, limit names."""

from __future__ import annotations

from collections.abc import Sequence

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import (
    ASCENT,
    DESCENT,
    Canvas,
    Content,
    Layer,
    Lettering,
    Run,
    as_runs,
    text_box,
    text_width,
)
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.strip_facts import LimitLine, StripFacts
from steadyhead.drawings.text_width import pieces
from steadyhead.drawings.tokens import Role, TextSize
from steadyhead.records.pictures import StripPart, TapPressure

Rows = tuple[tuple[Content, Lettering], ...]

SMALL = Lettering("small", "ink-3")
PART_NAME = Lettering("part", "ink", strong=True, anchor="middle", halo="paper")
PART_WORDS = Lettering("small", "ink-2", anchor="middle", halo="paper")


def write_rows(layer: Layer, x: float, first_baseline: float, rows: Rows) -> None:
    """Write rows below each other."""
    layer.lines(x, first_baseline, rows)


def rows_height(rows: Rows) -> float:
    """Return the height of a block of rows, from the top of the first to the foot of the last. [px]"""
    if not rows:
        return 0.0
    return rows[0][1].px * ASCENT + sum(style.line for _, style in rows[1:]) + rows[-1][1].px * DESCENT


def block_width(palette: Palette, rows: Rows) -> float:
    """Return the width of the widest row. [px]"""
    return max((text_width(palette, content, style) for content, style in rows), default=0.0)


def rows_box(palette: Palette, x: float, first_baseline: float, rows: Rows) -> Box:
    """Return the box a block of rows would take."""
    y, boxes = first_baseline, []
    for index, (content, style) in enumerate(rows):
        y += style.line if index else 0.0
        boxes.append(text_box(palette, x, y, content, style))
    return Box(
        min(box.left for box in boxes), boxes[0].top, max(box.right for box in boxes), boxes[-1].bottom
    )


def part_rows(
    canvas: Canvas,
    name: str,
    words: Sequence[str],
    room: float,
    name_style: Lettering = PART_NAME,
    words_style: Lettering = PART_WORDS,
) -> Rows:
    """Return name and words of a part, wrapped to `room` px."""
    face = canvas.palette.face
    rows: list[tuple[Content, Lettering]] = []
    rows += [(line, name_style) for line in face.wrap(name, name_style.px, room, strong=True)]
    for text in words:
        rows += [(line, words_style) for line in face.wrap(text, words_style.px, room)]
    return tuple(rows)


def reading_rows(facts: StripFacts, part: StripPart, tap: TapPressure, *, small: bool) -> Rows:
    """Return the figure of a tap and what stands under it."""
    said = (facts.tap_words(part, tap), Lettering("small", "ink-3", halo="paper"))
    if tap.now is None:
        return (said,)
    tone: Role = "grade" if tap.source == "read" else "twin"
    size: TextSize = "figure" if small else "reading"
    figure = facts.figures.pressure(tap.now)
    return ((figure, Lettering(size, tone, halo="paper")), said)


def limit_rows(canvas: Canvas, facts: StripFacts, limit: LimitLine, room: float, style: Lettering) -> Rows:
    """Return value, kind and owner of a limit, wrapped to `room` px."""
    return tuple((line, style) for line in wrap_runs(canvas.palette, facts.limit_words(limit), style, room))


def wrap_runs(palette: Palette, content: Content, style: Lettering, room: float) -> tuple[Content, ...]:
    """Return runs of text broken at spaces into lines no wider than `room` px.

    Thin and unbreakable spaces hold; a run that does not start with a space stays with the word before it.
    """
    lines: list[list[Run]] = []
    for word in _words(as_runs(content, style.strong)):
        if not lines:
            lines.append(list(word))
            continue
        longer = [*lines[-1], (" ", lines[-1][-1][1]), *word]
        if text_width(palette, tuple(longer), style) <= room:
            lines[-1] = longer
        else:
            lines.append(list(word))
    return tuple(_joined(line) for line in lines)


def _words(runs: Sequence[Run]) -> list[list[Run]]:
    """Return the words of runs, each a chain of runs that is not broken."""
    words: list[list[Run]] = []
    for text, strong in runs:
        starts_new = text.startswith(" ") or not words
        for index, piece in enumerate(pieces(text)):
            if index or starts_new:
                words.append([])
            words[-1].append((piece, strong))
    return words


def _joined(runs: Sequence[Run]) -> tuple[Run, ...]:
    """Return the runs with neighbours of one weight put together."""
    joined: list[Run] = []
    for text, strong in runs:
        if joined and joined[-1][1] == strong:
            joined[-1] = (joined[-1][0] + text, strong)
        else:
            joined.append((text, strong))
    return tuple(joined)
