"""Small pieces of Markdown."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

_SPECIAL = re.compile(r"([|*_`<\[\]$\\])")


def plain(text: str) -> str:
    """Return *text* as Markdown that shows every character as it is, on one line.

    >>> plain("a|b  *c*")
    'a\\\\|b \\\\*c\\\\*'
    """
    return _SPECIAL.sub(r"\\\1", " ".join(text.split()))


def code(text: str) -> str:
    """Return *text* as code inside a table cell."""
    return f"`{text}`"


def grid(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a Markdown table; the cells are Markdown already."""
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)
