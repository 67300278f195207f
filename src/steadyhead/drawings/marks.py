"""State marks: one level line that holds, slips, drops, is struck through, or is not known.

A mark is never shown alone: the word follows it, and the cause after *because*.
"""

from __future__ import annotations

from typing import Literal, get_args

from steadyhead.drawings.canvas import Canvas, Layer
from steadyhead.drawings.palette import Palette

Mark = Literal["holds", "due", "slipped", "dropped", "struck", "unknown"]
MARKS: tuple[Mark, ...] = get_args(Mark)
MARK_WIDTH, MARK_HEIGHT = 28.0, 16.0


def draw_mark(mark: Mark, word: str, palette: Palette) -> str:
    """Return one state mark as SVG text of 28 × 16 px.

    Parameters
    ----------
    mark
        Which mark.
    word
        The word that stands beside it; becomes its title and text equivalent.
    palette
        Colours and pens.
    """
    canvas = Canvas(palette, MARK_WIDTH, MARK_HEIGHT)
    put_mark(canvas["lines"], mark, 0.0, 0.0)
    return canvas.svg(word, word)


def put_mark(layer: Layer, mark: Mark, left: float, top: float) -> None:
    """Draw a state mark with its box's upper left corner at a point of a larger drawing."""

    def line(*steps: tuple[float, float], pen: str = "object") -> None:
        layer.chain([(left + x, top + y) for x, y in steps], pen)

    if mark == "holds":
        line((1, 8), (27, 8))
    elif mark == "due":
        line((1, 8), (18, 8))
        line((18, 3), (18, 13))
        line((23, 8), (27, 8))
    elif mark == "slipped":
        line((1, 5), (12, 5), pen="slipped")
        line((12, 1.5), (16, 14.5), pen="slipped")
        line((16, 11), (27, 11), pen="slipped")
    elif mark == "dropped":
        line((1, 4), (27, 4), pen="halted")
        layer.chain([(left + x, top + y) for x, y in ((7, 4), (21, 4), (14, 15))], "blade", closed=True)
    elif mark == "struck":
        line((1, 8), (27, 8), pen="halted")
        line((8, 15), (20, 1), pen="halted")
    else:
        line((1, 8), (27, 8), pen="mark dashed")
