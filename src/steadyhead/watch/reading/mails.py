"""Lines that a mail program put marks ahead of when a message was answered or handed on."""

from __future__ import annotations

import re

QUOTED = 0.5
"""Share of the lines with such a mark from which on it is taken away. Own estimate."""
_MARK = re.compile(r"^(?:[>|]\s?)+(?=[^\s]|$)")


def unmarked(lines: list[str]) -> list[str]:
    """Return lines without the ``>`` that quotes them.

    Examples
    --------
    >>> unmarked(["Hallo", "> a;b", ">> 1;2"])
    ['Hallo', 'a;b', '1;2']
    """
    filled = [one for one in lines if one.strip()]
    if sum(one.startswith(">") for one in filled) <= QUOTED * len(filled):
        return lines
    return [_MARK.sub("", one) if one.startswith(">") else one for one in lines]
