"""Pictures as a paper takes them: drawn at the width at which their lettering comes out largest."""

from __future__ import annotations

import re

from steadyhead.drawings import PAPER_WIDTH, alt_text, draw_strip, paper
from steadyhead.records.pictures import StripPicture
from steadyhead.reports.paper import Drawing

COLUMN, SHEET = 175.0, 230.0
"""Width of a text column of A4 and the height a picture may take there. [mm]"""
WIDTHS = (720.0, 800.0, 880.0, 960.0, 1080.0, 1200.0)
"""Widths that a strip with several streams may be drawn at. [px]"""
_SIZE = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')


def strip_drawing(picture: StripPicture, *, wide: float = COLUMN, high: float = SHEET) -> Drawing:
    """Return a strip for a paper; one line at the usual width, several streams at the width that suits them.

    Parameters
    ----------
    picture
        What is shown.
    wide, high
        Room on the paper. [mm]
    """
    several = any(branch.group for branch in picture.branches)
    drawn = [draw_strip(picture, paper(), width) for width in (WIDTHS if several else (PAPER_WIDTH,))]
    best = max(drawn, key=lambda svg: printed(svg, wide, high))
    return Drawing(best, alt_text(picture))


def is_tall(picture: StripPicture | None) -> bool:
    """Say whether a strip asks for a sheet of its own: several streams below each other."""
    return picture is not None and any(branch.group for branch in picture.branches)


def printed(svg: str, wide: float, high: float) -> float:
    """Return millimetres of paper for a pixel of the drawing."""
    found = _SIZE.search(svg)
    assert found is not None
    return min(wide / float(found.group(1)), high / float(found.group(2)))
