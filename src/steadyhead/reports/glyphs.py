"""Make any text printable: what the shipped faces cannot show is printed as its code point.

The PDF engine refuses a paper with one missing glyph, so nothing a person typed may reach it unchecked.
"""

from __future__ import annotations

import unicodedata
from bisect import bisect_right
from collections.abc import Mapping

_COVERED = """
20-7E A1-AC AE-241 243-245 247-249 24C-24D 250-2E9 2EC-2EE 2F3 374-377 37A-37F 384-38A 38C 38E-3A1 3A3-3CE
3D0-3E1 3F0-45F 462-463 470-477 490-4C4 4C7-4CC 4CF-4F9 510-511 51A-51D 5BE 5C0 5C3 5C6 5D0-5EA 5F0-5F4
606-607 609-60A 60C 61B 61F 621-63A 640-64A 660-66D 674 679-67B 67E-680 683-684 686-687 691 698 6A4 6A9 6AF
6BE 6CC 6F0-6F9 1E00-1E9B 1E9E-1EF9 1F00-1F15 1F18-1F1D 1F20-1F45 1F48-1F4D 1F50-1F57 1F59 1F5B 1F5D
1F5F-1F7D 1F80-1FB4 1FB6-1FC4 1FC6-1FD3 1FD6-1FDB 1FDD-1FEF 1FF2-1FF4 1FF6-1FFE 2010-2027 2030-2037
2039-203F 2042 2044-204B 204F 2070-2071 2074-208E 2090-209C 20A0-20B5 20B8-20BA 20BD 20BF 2100-2103
2105-2106 2109 210C-210F 2111 2113 2115-2117 2119-211A 211C-211D 2120 2122 2124 2126-2127 212A-212B 212E
2135-2139 2148 214F-2151 2153-2184 2189 2190-2220 2223-222D 2234-223D 2241-226B 226D-228B 228D-22A5 22B2-22B5
22B8 22C2-22C6 22CD-22D1 22DA-22E9 22EF 25A0-262F 2638-268B 2690-269C 26A0-26A5 26B0-26B1
"""
"""Characters of the two text faces the PDF engine carries (serif and fixed width), in regular and bold; found
by reading their tables and shown true by a test that prints every one of them."""

_EDGES: list[int] = []
for _range in _COVERED.split():
    _first, _, _last = _range.partition("-")
    _EDGES += [int(_first, 16), int(_last or _first, 16) + 1]

_PLAIN_SPACE = "\t\n\r\v\f\x85\u2028\u2029"
BREAK_HERE = "\u200b"
LONGEST_WORD = 22
"""Longer words may be broken anywhere, or they would run out of their cell. [characters]"""
PIECE = 8
"""Length of the pieces of such a word. [characters]"""


def is_covered(character: str) -> bool:
    """Return whether the shipped faces show this one character.

    Examples
    --------
    >>> is_covered("ö"), is_covered("≤"), is_covered("中"), is_covered("\\x07")
    (True, True, False, False)
    """
    return bisect_right(_EDGES, ord(character)) % 2 == 1


def covered(text: str) -> str:
    """Return `text` in composed form with every character that cannot be shown as its code point.

    Controls, direction marks and lone accents are shown as code points too: on a paper nothing is hidden.
    Line ends and tabs become spaces.

    Examples
    --------
    >>> covered("Grünau 中\\n#import")
    'Grünau [U+4E2D] #import'
    """
    return "".join(map(_shown, unicodedata.normalize("NFC", text)))


def unprintable(data: object) -> bool:
    """Say whether texts anywhere in plain data hold letters the shipped faces cannot show.

    Examples
    --------
    >>> unprintable({"a": ["Grünau"]}), unprintable([("b", "中")])
    (False, True)
    """
    if isinstance(data, str):
        return any("[U+" in _shown(one) for one in unicodedata.normalize("NFC", data))
    if isinstance(data, Mapping):
        return any(unprintable(one) for one in data.values())
    return isinstance(data, list | tuple) and any(unprintable(one) for one in data)


def _shown(character: str) -> str:
    if is_covered(character):
        return character
    if character in _PLAIN_SPACE or unicodedata.category(character) == "Zs":
        return "\u00a0" if character in "\u00a0\u2007\u2009\u202f" else " "
    return f"[U+{ord(character):04X}]"


def printable(text: str) -> str:
    """Return `text` as a paper can print it: covered characters only, over-long words with places to break.

    Examples
    --------
    >>> printable("W" * 24).split(BREAK_HERE)
    ['WWWWWWWW', 'WWWWWWWW', 'WWWWWWWW']
    """
    return " ".join(_breakable(word) for word in covered(text).split(" "))


def _breakable(word: str) -> str:
    if len(word) <= LONGEST_WORD:
        return word
    return BREAK_HERE.join(word[start : start + PIECE] for start in range(0, len(word), PIECE))
