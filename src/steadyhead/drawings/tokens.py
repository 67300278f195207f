"""The only place in the drawings with literal colours, pen widths and font names."""

from __future__ import annotations

from typing import Literal

Light = Literal["film", "lamp", "sun"]
Role = Literal[
    "paper",
    "sheet",
    "ink",
    "ink-2",
    "ink-3",
    "rule",
    "water",
    "grade",
    "grade-wash",
    "twin",
    "twin-wash",
    "heed",
    "halt",
]

LIGHTS: dict[Light, dict[Role, str]] = {
    "film": {
        "paper": "#eef2f0", "sheet": "#fbfcfb", "ink": "#13211f", "ink-2": "#3f4f4c", "ink-3": "#566663",
        "rule": "#c3cecb", "water": "#c4d8d7", "grade": "#7c1259", "grade-wash": "#f0dfe9",
        "twin": "#0b5964", "twin-wash": "#d9e9ea", "heed": "#7d4600", "halt": "#a3161b",
    },
    "lamp": {
        "paper": "#0e1413", "sheet": "#151d1b", "ink": "#e6eeeb", "ink-2": "#bac7c3", "ink-3": "#98a8a3",
        "rule": "#33403d", "water": "#2f4a4a", "grade": "#f2a0cb", "grade-wash": "#3a2231",
        "twin": "#7fccd3", "twin-wash": "#17373a", "heed": "#f1b65c", "halt": "#ff9384",
    },
    "sun": {
        "paper": "#ffffff", "sheet": "#ffffff", "ink": "#000000", "ink-2": "#000000", "ink-3": "#1d1d1d",
        "rule": "#6b6b6b", "water": "#d2d2d2", "grade": "#5b003e", "grade-wash": "#ffffff",
        "twin": "#003b44", "twin-wash": "#ffffff", "heed": "#532b00", "halt": "#7d0000",
    },
}  # fmt: skip
"""Hex colours of each role in each light; contrast figures are in the look's document."""

PRINT_INK: dict[Role, str] = {
    "paper": "#ffffff", "sheet": "#ffffff", "ink": "#000000", "ink-2": "#222222", "ink-3": "#444444",
    "rule": "#aaaaaa", "water": "#dddddd", "grade": "#000000", "grade-wash": "#f3f3f3",
    "twin": "#000000", "twin-wash": "#e8e8e8", "heed": "#000000", "halt": "#000000",
}  # fmt: skip
"""Paper: ink and a few greys; marks, hatching and dashes carry the state."""

ONE_COLOUR: dict[Role, str] = {
    role: "#ffffff" if role in ("paper", "sheet", "water", "grade-wash", "twin-wash") else "#000000"
    for role in PRINT_INK
}
"""Black on white and nothing between: the test whether a drawing needs its colours."""

Weight = Literal["fine", "thin", "object", "line", "heavy", "bar"]
WEIGHTS: dict[Weight, float] = {
    "fine": 1.0,
    "thin": 1.5,
    "object": 1.75,
    "line": 2.0,
    "heavy": 3.0,
    "bar": 5.0,
}
"""Pen widths. [px]"""

SUN_WEIGHTS: dict[Weight, float] = {
    "fine": 1.5,
    "thin": 2.25,
    "object": 2.75,
    "line": 3.0,
    "heavy": 5.0,
    "bar": 6.5,
}
"""Pen widths in bright sun, about half as much again. [px]"""

TextSize = Literal["small", "normal", "part", "head", "figure", "reading"]
SIZES: dict[TextSize, float] = {
    "small": 13.0, "normal": 14.0, "part": 15.0, "head": 19.0, "figure": 20.0, "reading": 26.0,
}  # fmt: skip
"""Text sizes. [px]"""

SCREEN_FONTS = (
    'Bahnschrift, "Avenir Next Condensed", "Roboto Condensed", sans-serif-condensed, '
    '"Noto Sans SemiCondensed", "DejaVu Sans Condensed", sans-serif'
)
PAPER_FONT = "Libertinus Serif"
