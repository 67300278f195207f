"""Names that people give: one line, without signs that cannot be seen or that turn the reading order."""

from __future__ import annotations

import unicodedata

from steadyhead.errors import InputError

LONGEST = 100
"""Longest name. Own estimate. [characters]"""
UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Unicode categories that have no place in a name: controls, formats (with those of direction), lone
surrogates, private and unused places, line and paragraph ends."""
JOINERS = frozenset("\u200c\u200d")
"""Format signs that some scripts cannot be written without."""


def unseen(text: str) -> str:
    """Return the first sign of a text that cannot be seen, or nothing."""
    return next((one for one in text if unicodedata.category(one) in UNSEEN and one not in JOINERS), "")


def one_line(field: str, text: str, most: int = LONGEST) -> str:
    """Return a name as it is kept: composed (NFC), trimmed, single spaces.

    Raises
    ------
    InputError
        Empty, too long, or with a sign that cannot be seen; named by its number.
    """
    if hidden := unseen(text):
        raise InputError(
            field, f"holds a sign that cannot be seen (U+{ord(hidden):04X}).", "Type it again without it."
        )
    name = " ".join(unicodedata.normalize("NFC", text).split())
    if not name:
        raise InputError(field, "is empty.", "Fill it in.")
    if len(name) > most:
        raise InputError(field, f"has {len(name)} signs.", f"It may have {most} at most.")
    return name
