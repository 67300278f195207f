"""Colour, pen and lettering of a drawing: one drawing function, several palettes.

A drawing asks for a pen or a lettering by name. The screen palette answers with classes and keeps colours in
CSS variables; the paper palettes answer with literal sRGB attributes, because the PDF engine draws variables
as black without saying so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from steadyhead.drawings import tokens
from steadyhead.drawings.text_width import SANS, SERIF, Face
from steadyhead.drawings.tokens import Light, Role, TextSize, Weight

Anchor = Literal["start", "middle", "end"]
CLASS = "sh"
HALO_WIDTH, READING_HALO = 7.0, 10.0


@dataclass(frozen=True, slots=True)
class Pen:
    """A way of drawing a line or a body: stroke, weight, dash and fill."""

    stroke: Role | None
    weight: Weight = "object"
    fill: Role | None = None
    dash: str = ""
    round_ends: bool = False


PENS: dict[str, Pen] = {
    "object": Pen("ink"),
    "body": Pen("ink", fill="sheet"),
    "body shut": Pen("ink", fill="ink"),
    "body unknown": Pen("ink", fill="sheet", dash="3 3"),
    "object dashed": Pen("ink", dash="4 3"),
    "dots": Pen(None, fill="ink"),
    "blade": Pen("halt", fill="halt"),
    "pipe full": Pen("ink", fill="water"),
    "pipe vented": Pen("ink", fill="sheet"),
    "pipe unknown": Pen("ink", fill="sheet", dash="4 4"),
    "water": Pen(None, fill="water"),
    "water mark": Pen("ink", "fine", dash="6 4"),
    "joint": Pen(None, fill="ink-2"),
    "grade": Pen("grade", "heavy"),
    "grade wash": Pen(None, fill="grade-wash"),
    "no flow": Pen("grade", "thin", dash="1 5", round_ends=True),
    "ring": Pen("grade", "line", fill="paper"),
    "dot": Pen("grade", "line", fill="grade"),
    "tolerance": Pen("grade", "object"),
    "worked out": Pen("twin", "object"),
    "twin": Pen("twin", "object"),
    "twin heavy": Pen("twin", "heavy"),
    "twin wash": Pen(None, fill="twin-wash"),
    "twin band": Pen("twin", "object", fill="twin-wash"),
    "limit": Pen("halt", "line"),
    "limit heavy": Pen("halt", "heavy"),
    "limit normal": Pen("halt", "thin"),
    "trip": Pen("halt", "line", dash="10 4"),
    "alarm": Pen("heed", "line", dash="2 4"),
    "relief": Pen("heed", "line", dash="12 3 2 3"),
    "edge": Pen("ink-3", "fine", dash="8 3"),
    "sensing": Pen("ink-2", "fine", dash="5 3"),
    "hair": Pen("ink-3", "fine"),
    "hair dashed": Pen("ink-3", "fine", dash="3 3"),
    "quiet": Pen("twin", "thin", dash="1 4", round_ends=True),
    "grid": Pen("rule", "fine"),
    "hatch forbidden": Pen("halt", "fine"),
    "hatch cannot": Pen("ink-3", "fine"),
    "hatch expected": Pen("twin", "fine"),
    "hatch heed": Pen("heed", "fine"),
    "nail": Pen(None, fill="ink"),
    "slipped": Pen("heed", "line"),
    "halted": Pen("halt", "line"),
    "mark dashed": Pen("ink", dash="2 5"),
    "slipped dashed": Pen("heed", "object", dash="5 4"),
    "standing bar": Pen("ink", "bar", round_ends=True),
    "slipped bar": Pen("heed", "bar", round_ends=True),
    "refused bar": Pen("halt", "line", dash="3 7"),
    "dot object": Pen("ink", fill="ink"),
    "dot slipped": Pen("heed", fill="heed"),
    "dot halted": Pen("halt", fill="halt"),
    "knot": Pen("ink", fill="sheet"),
    "knot slipped": Pen("heed", "heavy", fill="sheet"),
    "knot halted": Pen("halt", "heavy", fill="sheet"),
    "ground": Pen(None, fill="paper"),
}
"""Every pen a drawing may ask for."""

ONE_COLOUR_ONLY = frozenset({"water mark"})
"""Pens that appear only where there is no tint to say the same."""


@dataclass(frozen=True, slots=True)
class Palette:
    """How a drawing is coloured and lettered.

    Parameters
    ----------
    name
        ``screen``, ``paper`` or ``one colour``.
    face
        Widths used to keep labels apart.
    colours
        Literal sRGB by role; None for classes and variables.
    embed
        True where the SVG carries its own style sheet and ground, to stand alone as a file.
    light
        Which light a stand-alone file shows.
    """

    name: str
    face: Face
    colours: dict[Role, str] | None = None
    embed: bool = False
    light: Light = "film"

    def pen(self, name: str) -> str:
        """Return the attributes that draw with pen `name`."""
        if self.colours is None:
            return f'class="{_class(name)}"'
        pen = PENS[name]
        parts = [f'fill="{self.colours[pen.fill] if pen.fill else "none"}"']
        if pen.stroke:
            parts.append(f'stroke="{self.colours[pen.stroke]}"')
            parts.append(f'stroke-width="{tokens.WEIGHTS[pen.weight]:g}" stroke-linejoin="round"')
        if pen.dash:
            parts.append(f'stroke-dasharray="{pen.dash}"')
        if pen.round_ends:
            parts.append('stroke-linecap="round"')
        return " ".join(parts)

    def lettering(
        self, size: TextSize, tone: Role, *, strong: bool, anchor: Anchor, halo: Role | None
    ) -> str:
        """Return the attributes of a text of this size and tone.

        The halo is drawn by the screen only; see `mask`.
        """
        if self.colours is None:
            classes = [_class(f"text {size}"), _class(f"tone {tone}")]
            classes += [_class("strong")] if strong else []
            classes += [_class(f"at {anchor}")] if anchor != "start" else []
            classes += [_class("halo"), _class(f"on {halo}")] if halo else []
            return f'class="{" ".join(classes)}"'
        parts = [f'font-size="{tokens.SIZES[size]:g}"', f'fill="{self.colours[tone]}"']
        if strong:
            parts.append('font-weight="600"')
        if anchor != "start":
            parts.append(f'text-anchor="{anchor}"')
        return " ".join(parts)

    def mask(self, halo: Role | None) -> str:
        """Return the attributes of a box laid under a text in place of a halo, or nothing.

        The PDF engine strokes a text letter by letter, each over the one before it.
        """
        return f'fill="{self.colours[halo]}"' if halo and self.colours is not None else ""

    def strong(self) -> str:
        """Return the attributes of a stronger run inside a text."""
        return f'class="{_class("strong")}"' if self.colours is None else 'font-weight="600"'

    def root(self) -> str:
        """Return the attributes of the drawing as a whole."""
        if self.colours is None:
            light = f' data-light="{self.light}"' if self.embed else ""
            return f'class="{CLASS}-drawing"{light}'
        return f'font-family="{tokens.PAPER_FONT}"'

    def style(self) -> str:
        """Return the embedded style element of a stand-alone file, or nothing."""
        return f"<style>{variables()}{stylesheet()}</style>" if self.embed and self.colours is None else ""

    def shows(self, pen: str) -> bool:
        """Say whether this palette draws with `pen` at all."""
        return pen not in ONE_COLOUR_ONLY or self.name == "one colour"


def screen(*, embed: bool = False, light: Light = "film") -> Palette:
    """Return the palette for pages (`embed` False) and for SVG files that stand alone (`embed` True)."""
    return Palette("screen", SANS, embed=embed, light=light)


def paper() -> Palette:
    """Return the palette for PDF papers: ink and greys, the serif that the PDF engine carries."""
    return Palette("paper", SERIF, dict(tokens.PRINT_INK))


def one_colour() -> Palette:
    """Return black on white only: what a worn office printer leaves of a drawing."""
    return Palette("one colour", SERIF, dict(tokens.ONE_COLOUR))


def variables() -> str:
    """Return the CSS variables of the three lights, chosen by ``data-light`` on the drawing."""
    blocks = []
    for light, colours in tokens.LIGHTS.items():
        weights = tokens.SUN_WEIGHTS if light == "sun" else tokens.WEIGHTS
        values = [f"--{role}:{colour}" for role, colour in colours.items()]
        values += [f"--pen-{name}:{width:g}px" for name, width in weights.items()]
        blocks.append(f'.{CLASS}-drawing[data-light="{light}"]{{{";".join(values)}}}')
    return "".join(blocks)


def stylesheet() -> str:
    """Return the CSS rules of every pen and lettering; colours and weights come from variables."""
    rules = [f".{CLASS}-drawing text{{font-family:var(--font-draw,{tokens.SCREEN_FONTS});"]
    rules[0] += "font-variant-numeric:lining-nums tabular-nums}"
    rules += [_pen_rule(name, pen) for name, pen in PENS.items()]
    rules += [f".{_class(f'text {size}')}{{font-size:{px:g}px}}" for size, px in tokens.SIZES.items()]
    for role in tokens.PRINT_INK:
        rules.append(f".{_class(f'tone {role}')}{{fill:var(--{role})}}")
        rules.append(f".{_class(f'on {role}')}{{stroke:var(--{role})}}")
    rules.append(f".{_class('strong')}{{font-weight:600}}")
    rules += [f".{_class(f'at {anchor}')}{{text-anchor:{anchor}}}" for anchor in ("middle", "end")]
    rules.append(
        f".{_class('halo')}{{paint-order:stroke;stroke-width:{HALO_WIDTH:g}px;stroke-linejoin:round}}"
    )
    large = ",".join(f".{_class(f'text {size}')}.{_class('halo')}" for size in ("figure", "reading"))
    rules.append(f"{large}{{stroke-width:{READING_HALO:g}px}}")
    return "".join(rules)


def _pen_rule(name: str, pen: Pen) -> str:
    parts = [f"fill:var(--{pen.fill})" if pen.fill else "fill:none"]
    if pen.stroke:
        width = tokens.WEIGHTS[pen.weight]
        parts += [f"stroke:var(--{pen.stroke})", f"stroke-width:var(--pen-{pen.weight},{width:g}px)"]
        parts.append("stroke-linejoin:round")
    if pen.dash:
        parts.append(f"stroke-dasharray:{pen.dash}")
    if pen.round_ends:
        parts.append("stroke-linecap:round")
    return f".{_class(name)}{{{';'.join(parts)}}}"


def _class(name: str) -> str:
    return f"{CLASS}-{name.replace(' ', '-')}"
