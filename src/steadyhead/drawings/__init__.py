"""Pictures of ours as SVG text: the station strip, the pressure ladder, the capacity map, state marks.

One drawing function serves screen and paper; colour and letters come from a `Palette`. The functions are
pure: the same record, palette, width and language give the same bytes. Text stays text.

What every ``draw_…`` takes and gives: the picture, which is what is shown, pressures at datum; a palette,
`screen`, `paper` or `one_colour`; the width of the drawing [px]; where it has words, their language, while
figures follow the picture's units. It returns an ``<svg>`` element with title, description and role ``img``.
"""

from steadyhead.drawings.alt import alt_text
from steadyhead.drawings.capacity_map import draw_capacity
from steadyhead.drawings.ladder import draw_ladder
from steadyhead.drawings.marks import MARKS, Mark, draw_mark
from steadyhead.drawings.palette import Palette, one_colour, paper, screen, stylesheet, variables
from steadyhead.drawings.strip import draw_strip

PAPER_WIDTH = 720.0
"""Width to draw at for an A4 or Letter text column; the smallest letters then print at about 8.5 pt. [px]"""

__all__ = [
    "MARKS",
    "PAPER_WIDTH",
    "Mark",
    "Palette",
    "alt_text",
    "draw_capacity",
    "draw_ladder",
    "draw_mark",
    "draw_strip",
    "one_colour",
    "paper",
    "screen",
    "stylesheet",
    "variables",
]
