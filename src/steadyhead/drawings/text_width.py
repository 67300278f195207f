"""How wide a text will be, without asking a font: enough to keep labels apart.

The classes are advance widths in em, measured once and rounded to a twentieth: of a wide condensed sans,
the widest face the screen's font stack is expected to end in, and of the serif that the PDF engine carries.
`SPARE` is added on screen, where the face found is not known beforehand.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

SPARE = 1.15
UNKNOWN_WIDTH = 1.0
_GLUE = "\u2060"
_UNIT = re.compile(r"(?<=\d) (?=(?:bar|psi|kPa|MPa|L/s|m³/h|gpm|m|ft|mm|s|min|h|%|°C|°F)(?:\W|$))")
_Classes = tuple[tuple[float, str], ...]

_SANS: _Classes = (
    (0.25, "'IJijl"),
    (0.30, " ,-./:;\\f|·‘’"),
    (0.35, "!()[]rt²³⁴₁"),
    (0.40, '"'),
    (0.45, "*_`sz°–“”"),
    (0.50, "?FLckç⁻"),
    (0.55, "$0123456789EPSTYabdeghnopquvxy{}µßäèéñöøüβρσ"),
    (0.60, "ABKRVXZÅΔ"),
    (0.65, "CNU"),
    (0.70, "&DGHOQ"),
    (0.75, "#+<=>^w~±×↑→↓−∞≈≤≥"),
    (0.80, "M"),
    (0.85, "%¼½"),
    (0.90, "@Wm—…"),
)
_SANS_STRONG: _Classes = (
    (0.30, " 'ijl"),
    (0.35, ",-./:;IJ\\|·‘’"),
    (0.40, "!()[]f²³⁴₁"),
    (0.45, '"*_`rt°–'),
    (0.50, "?z⁻"),
    (0.55, "Lcsç"),
    (0.60, "EFTaekovxyäèéöø“”"),
    (0.65, "$0123456789CPSYZbdghnpqu{}µßñüβρ"),
    (0.70, "ABKRVXÅΔσ"),
    (0.75, "#+<=>DGHNOQU^~±×↑→↓−∞≈≤≥"),
    (0.80, "&"),
    (0.85, "w"),
    (0.90, "%@M—…"),
    (0.95, "m¼½"),
    (1.00, "W"),
)
_SERIF: _Classes = (
    (0.20, "',.|"),
    (0.25, " :;ijl°·‘’"),
    (0.30, "!()/IJ\\ft{}²³⁴⁻₁"),
    (0.35, '"*-[]r'),
    (0.40, "`sz“”"),
    (0.45, "#$0123456789?ace~äçèé↑↓"),
    (0.50, "FS^_bdgkopqvxyµöøβρ"),
    (0.55, "+<=>ELPhnu±×ßñüσ–−≈≤≥"),
    (0.60, "BRTYZ"),
    (0.65, "%CKUVX¼½Δ"),
    (0.70, "&ADGNOQÅ"),
    (0.75, "Hw—…"),
    (0.80, "m∞"),
    (0.85, "M"),
    (0.90, "@"),
    (0.95, "W"),
    (1.15, "→"),
)
_SERIF_STRONG: _Classes = (
    (0.20, "':;|"),
    (0.25, " !,.°‘’"),
    (0.30, "()/I\\ijl{}·"),
    (0.35, '"-ft²³⁴⁻₁'),
    (0.40, "J[]`rs“”"),
    (0.45, "#$*?cez~çèé↑"),
    (0.50, "0123456789<>FS^_abgkopqxäöø↓"),
    (0.55, "+=ELPdhnuvy±µ×ñüβρ–−≈≤≥"),
    (0.60, "BRTYZßσ"),
    (0.65, "%CKV¼½"),
    (0.70, "ADHNUXÅΔ"),
    (0.75, "&GOQ—…"),
    (0.80, "mw∞"),
    (0.85, "M"),
    (1.00, "@W"),
    (1.15, "→"),
)


@dataclass(frozen=True, slots=True)
class Face:
    """The widths of one face in two weights, in em per character, and what to add to be safe."""

    regular: Mapping[str, float]
    strong: Mapping[str, float]
    spare: float

    def width(self, text: str, size: float, *, strong: bool = False) -> float:
        """Return the estimated width of `text` at `size` px, spare included. [px]

        Examples
        --------
        >>> SANS.width("", 14.0)
        0.0
        >>> SANS.width("trip", 14.0) < SANS.width("trip", 14.0, strong=True)
        True
        """
        table = self.strong if strong else self.regular
        return size * self.spare * sum(table.get(character, UNKNOWN_WIDTH) for character in text)

    def wrap(self, text: str, size: float, room: float, *, strong: bool = False) -> tuple[str, ...]:
        """Return `text` broken at plain spaces into lines no wider than `room` px.

        A single word wider than `room` stays whole on a line of its own.

        Examples
        --------
        >>> SANS.wrap("old spur, Tannery Row", 14.0, 95.0)
        ('old spur,', 'Tannery Row')
        """
        lines: list[str] = []
        for word in pieces(text):
            longer = f"{lines[-1]} {word}" if lines else word
            if lines and self.width(longer, size, strong=strong) <= room:
                lines[-1] = longer
            else:
                lines.append(word)
        return tuple(lines)


def pieces(text: str) -> tuple[str, ...]:
    """Return the pieces a text may be broken into: words, with a figure kept beside its unit.

    Examples
    --------
    >>> pieces("duty at 5.0 L/s, main reducer")
    ('duty', 'at', '5.0 L/s,', 'main', 'reducer')
    """
    return tuple(piece.replace(_GLUE, " ") for piece in _UNIT.sub(_GLUE, text).split(" ") if piece)


def _table(classes: _Classes) -> dict[str, float]:
    table = {character: width for width, characters in classes for character in characters}
    return table | {"\u2009": table[" "], "\u202f": table[" "], "\u00a0": table[" "]}


SANS = Face(_table(_SANS), _table(_SANS_STRONG), SPARE)
SERIF = Face(_table(_SERIF), _table(_SERIF_STRONG), 1.05)
