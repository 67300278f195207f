"""The list of findings, read off the catalogue."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Protocol

from devtools.reference.marks import code, plain


class Entry(Protocol):
    """What the manual needs to know of one finding."""

    @property
    def code(self) -> str: ...  # noqa: D102
    @property
    def title(self) -> str: ...  # noqa: D102
    @property
    def statement(self) -> str: ...  # noqa: D102
    @property
    def why(self) -> str: ...  # noqa: D102
    @property
    def cure(self) -> str: ...  # noqa: D102
    @property
    def equation(self) -> str: ...  # noqa: D102
    @property
    def sources(self) -> tuple[str, ...]: ...  # noqa: D102


def pages(catalogue: Mapping[str, Entry]) -> str:
    """Return every finding under the heading of its code, in the order of the codes."""
    return "\n\n".join(_one(catalogue[key]) for key in sorted(catalogue)) + "\n"


def _one(entry: Entry) -> str:
    told = [
        f"(finding-{entry.code.lower()})=\n## {entry.code}: {plain(entry.title)}",
        _filled(entry.statement),
        f"**Why it matters.** {_filled(entry.why)}",
        f"**What cures it.** {_filled(entry.cure)}",
    ]
    if entry.equation:
        told.append(f"**Equation.** {code(entry.equation)}")
    if entry.sources:
        told.append("**Sources.** " + " · ".join(plain(source) for source in entry.sources))
    return "\n\n".join(told)


def _filled(template: str) -> str:
    """Return a template with each place to fill shown as a word in italics.

    >>> _filled("T3 shows {duty_pressure}.")
    'T3 shows *duty pressure*.'
    """
    pieces = re.split(r"\{([^{}]*)\}", template)
    shown = [
        f"*{piece.replace('_', ' ')}*" if number % 2 else plain_inside(piece)
        for number, piece in enumerate(pieces)
    ]
    return " ".join("".join(shown).split())


def plain_inside(piece: str) -> str:
    """Return a piece of a sentence as Markdown, its blanks at the ends kept."""
    body = plain(piece)
    return f"{' ' if piece[:1].isspace() else ''}{body}{' ' if body and piece[-1:].isspace() else ''}"
