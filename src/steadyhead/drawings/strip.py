"""The station strip: the water's pressure drawn as a line over the hardware."""

from __future__ import annotations

from steadyhead.drawings.alt import strip_text
from steadyhead.drawings.canvas import Canvas
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.strip_across import draw_across
from steadyhead.drawings.strip_down import draw_down
from steadyhead.drawings.strip_facts import resolve
from steadyhead.drawings.words import words_of
from steadyhead.records.pictures import StripPicture

STANDING_BELOW = 700.0
"""Narrower than this the strip is drawn standing. [px]"""


def draw_strip(picture: StripPicture, palette: Palette, width: float, lang: str = "en") -> str:
    """Return the station strip as SVG text: parts in the order of flow, the pressure line to scale over them.

    Holds for one stream with parallel lengths such as a manual bypass. The line is drawn only where a
    pressure is known; it is cut where no water can pass. One unit of the drawing is one CSS px; below
    700 px the strip stands. The same arguments give the same bytes.

    Raises
    ------
    InputError
        Where the picture names a part or tap it does not hold, or for an unknown language.
    """
    canvas = compose_strip(picture, palette, width, lang)
    title = f"{words_of(lang)['strip']}, {picture.name}"
    return canvas.svg(title, strip_text(picture, lang))


def compose_strip(picture: StripPicture, palette: Palette, width: float, lang: str = "en") -> Canvas:
    """Return the strip as a canvas, with the boxes of its lettering; `draw_strip` is what rooms call."""
    facts = resolve(picture, words_of(lang))
    canvas = Canvas(palette, width)
    if width < STANDING_BELOW:
        draw_down(canvas, facts)
    else:
        draw_across(canvas, facts)
    return canvas
