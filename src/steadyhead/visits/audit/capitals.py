"""Notes written in capitals throughout, read as ordinary ones.

Many a fitter prints. In such a note capitals no longer tell a desk's text from a sentence, nor SO, the
shut-off, from *so*: what must stand in capitals is found by what it says.
"""

from __future__ import annotations

import re
from typing import Final

_WORD: Final = re.compile(r"[A-Za-z]{2,}")
_UNIT: Final = re.compile(r"^(?:psi|bar|kpa|mbar|mpa|gpm|min|sec|secs|mm|hr|hrs)$", re.IGNORECASE)
_LEAST: Final = 4
"""Words of a note from which its case is told; own estimate. A shorter one is told by its other notes."""
_SHARE: Final = 0.85
"""Share of the words in capitals that makes a note one; own estimate."""
_KEPT: Final = re.compile(
    r"\b(?:TD2?|IV ?[12]|SO|RV|LB|BY|OS(?:V)|ST|I|[A-Z]{1,3}-?\d+[A-Z]?)\b(?! YOU\b)|[\"“«][^\"”»]*[\"”»]"
)
"""Names of things, and what is quoted."""
_SO_THEN: Final = re.compile(
    r"\bSO (?=(?:I|WE|HE|SHE|IT|THEY|THAT|THE|THIS|THESE|THOSE|YOU|NO|NONE|NOT|ALL|FAR|AS|MUCH|LONG|BOTH|"
    r"GAVE|"
    r"LEFT (?!OPEN)|PUT|TOOK|WENT|THERE|NOBODY|NOTHING|EVERYONE)\b)"
)
"""*So* that goes on with a sentence."""
_CONTACT: Final = re.compile(r"\b(?:SO |SHUT-?OFF )?(?:REACHED CLOSED|LEFT OPEN|NOT OPEN|FULLY CLOSED)\b")
_TELLS: Final = re.compile(
    r"\b(?:TEXT|GOT|GETS|GOTTEN|RECEIVED|RECEIVES|HAD|HAS|HAVE|READS?|SHOWS?|SHOWED|SAYS?|SAID|SAW|SEES|PRINTED|"
    r"ALARM|SCREEN|BOARD|DESK|OPERATIONS|OPS|CONTROL(?: ROOM)?|WITH|AS|FROM|AND|MESSAGE|DISPLAY(?:ED|S)?|"
    r"NAME|"
    r"CALLED|CAME(?: UP| IN)?|IS|WAS)\b[:,]?|[.;:,!?(]\s"
)
"""Behind which a desk's text begins."""


def in_capitals(text: str) -> bool:
    """Return whether a note is written in capitals throughout, units aside.

    Examples
    --------
    >>> in_capitals("SHUT IN 5.8 SEC AT 79.6 psi. HELD 5 MIN."), in_capitals("TD shut, SO REACHED CLOSED.")
    (True, False)
    """
    words = [w for w in _WORD.findall(text) if not _UNIT.match(w)]
    return len(words) >= _LEAST and sum(w.isupper() for w in words) >= _SHARE * len(words)


def in_small(text: str, name: str = "") -> str:
    """Return a note in capitals as an ordinary one: names of things and a desk's text as they are.

    Parameters
    ----------
    text
        As written; one not in capitals is returned unchanged.
    name
        The station's.

    Examples
    --------
    >>> in_small("DESK GOT PIER NINE SO REACHED CLOSED, OWN PILOT. SHUT IN 6 SEC, SO WE HELD 5 MIN.")
    'desk got PIER NINE SO REACHED CLOSED, own pilot. shut in 6 sec, so we held 5 min.'
    """
    if not in_capitals(text):
        return text
    kept = [spot.span() for spot in _KEPT.finditer(_SO_THEN.sub("so ", text))]
    kept += list(_desk_texts(text, name))
    small = list(text.lower())
    for start, end in kept:
        small[start:end] = text[start:end]
    return "".join(small)


def _desk_texts(text: str, name: str) -> list[tuple[int, int]]:
    """Return where a desk's text stands: a contact, and ahead of it the station it names."""
    found = []
    for spot in _CONTACT.finditer(text):
        ahead = text[: spot.start()]
        own = ahead.rfind(name.upper()) if name else -1
        told = [tell.end() for tell in _TELLS.finditer(ahead)]
        start = own if own >= 0 and own + len(name) >= len(ahead.rstrip()) else (told or [spot.start()])[-1]
        found.append((start, spot.end()))
    return found
