"""Names as people write them: the same thing whatever the case and the blanks, and the part it belongs to."""

from __future__ import annotations

import re
import string
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from steadyhead.records.procedure import Procedure

OUTSIDE = "outside"
"""Name of whatever lies outside the station, so that nothing proved there rests on it: ``outside.ladder``."""
LOWER = str.maketrans(string.ascii_uppercase, string.ascii_lowercase)
_GONE = str.maketrans("", "", " \t\r\n")
_WORD = frozenset(string.ascii_lowercase + string.digits)


def folded(text: str) -> str:
    """Return a name without regard to case and blanks.

    Examples
    --------
    >>> folded(" SO.Setting ")
    'so.setting'
    """
    return text.translate(LOWER).translate(_GONE)


def words_of(text: str) -> frozenset[str]:
    """Return the words of a text as they are written: letters, figures and hyphens.

    Examples
    --------
    >>> sorted(words_of("SO: nut of TG-07, shut"))
    ['SO', 'TG-07', 'nut', 'of', 'shut']
    """
    return frozenset(re.findall(r"[A-Za-z0-9-]+", text))


def low_words(text: str) -> frozenset[str]:
    """Return the words of a text without regard to case.

    Examples
    --------
    >>> sorted(low_words("Cock shut, SO dry"))
    ['cock', 'dry', 'shut', 'so']
    """
    return frozenset(word.translate(LOWER) for word in words_of(text))


SHUT = ("shut", "closed")
"""Words that say of a valve that it stands shut."""
NOT_SHUT = (
    "open", "opened", "opens", "opening", "ajar", "cracked", "crack", "part", "partly", "partially", "half",
    "throttled", "passing", "passes", "leaking", "leaks", "weeping", "weeps", "running", "runs", "unlocked",
    "cannot", "unknown", "reopened", "flowing", "trickling",
)  # fmt: skip
"""Words beside these by which it does not, or not surely."""
SHORT_OF = ("not", "never", "nearly", "almost", "hardly", "from", "of", "off", "to", "before", "un")
"""Words before these by which it does not: *2 turns from shut*, *not closed*."""
STILL = ("dry", "tight", "locked", "sealed", "capped", "plugged", "tagged", "seated", "isolated")
"""Words that say by themselves that nothing runs through it."""
IN_USE = ("service", "normal")
"""Words beside these by which they say nothing: *locked in service*."""
FULLY = ("fully", "full", "quite", "completely", "entirely", "yet")
"""Words between one of these and a word for shut: *not fully closed*."""
AGAIN = ("again", "reshut", "reclosed", "after")
"""Words by which a valve that stands shut was open before: *shut again after 2 turns*."""
LOOKED = ("still", "seen", "looked", "checked", "read", "found", "remained", "stayed")
"""Words beside these by which it was only looked at again."""
OPEN = (
    "open", "opened", "opens", "opening", "ajar", "cracked", "crack", "part", "partly", "partially", "half",
    "throttled", "running", "runs", "full", "fully", "wide", "service", "trickle", "trickling", "flowing",
    "reopened",
)  # fmt: skip
"""Words that say that it stands open, more or less."""


def stands_shut(text: str) -> bool:
    """Return whether what is written of a valve says that it stands shut, whatever else it says.

    Examples
    --------
    >>> [stands_shut(text) for text in ("SHUT", "closed, locked", "found shut as tagged", "shut, 34 turns")]
    [True, True, True, True]
    >>> [stands_shut(text) for text in ("not shut", "34 turns from shut", "locked in service", "zu")]
    [False, False, False, False]
    """
    words = in_order(text)
    if set(words) & set(NOT_SHUT):
        return False
    if set(words) & set(SHUT):
        return not _short_of(words)
    still = bool(set(words) & set(STILL)) and not set(words) & set(IN_USE)
    return still and words[0] not in SHORT_OF


def stands_open(text: str) -> bool:
    """Return whether what is written of a valve says that it stands open, more or less.

    Examples
    --------
    >>> [stands_open(text) for text in ("fully open", "2 turns from shut", "shut", "zu")]
    [True, True, False, False]
    """
    words = in_order(text)
    return not stands_shut(text) and (_short_of(words) or bool(set(words) & set(OPEN)))


def _short_of(words: list[str]) -> bool:
    """Return whether a word for shut is taken back by the one before it."""
    for at, word in enumerate(words):
        before = [one for one in words[:at] if one not in FULLY]
        if word in SHUT and before and before[-1] in SHORT_OF:
            return True
    return False


def was_opened(text: str) -> bool:
    """Return whether what is written of a valve says that it was moved, and shut only then.

    Examples
    --------
    >>> [was_opened(text) for text in ("shut again after 2 turns", "reshut", "still shut after F1", "shut")]
    [True, True, False, False]
    """
    words = set(in_order(text))
    return bool(words & set(AGAIN)) and not words & set(LOOKED)


NO = ("no", "not", "never", "nobody", "none", "nothing", "skipped", "untold", "unsealed", "undone")
"""Words by which a field in words is answered with a refusal."""
EMPTY = ("none", "nothing", "nobody")
"""Those of them that may be what was found: no debris, no permit, nobody without water."""
FILLS = (
    "done", "yet", "told", "sealed", "asked", "called", "reached", "answered", "was", "were", "is", "it",
    "at", "all", "one", "known", "today", "n", "a", "has", "have", "been", "did", "could", "be", "anyone",
)  # fmt: skip
"""Words beside them that say nothing more."""
MARKS = re.compile(r"[-./?_ \t]+")


def refuses(text: str, *, empty: bool) -> bool:
    """Return whether an answer in words is a bare refusal; empty: *none* is one as well.

    Examples
    --------
    >>> [refuses(text, empty=True) for text in ("no", "Not done.", "n/a", "-", "none", "no seals on it")]
    [True, True, True, True, True, False]
    >>> [refuses(text, empty=False) for text in ("no", "none", "nothing yet", "nobody", "no one")]
    [True, False, False, False, False]
    """
    words = ["nobody"] if in_order(text) == ["no", "one"] else in_order(text)
    if words in (["n"], ["n", "a"], ["na"]) or MARKS.fullmatch(text) is not None:
        return True
    if set(words) - {*NO, *FILLS}:
        return False
    return bool(set(words) & (set(NO) if empty else set(NO) - set(EMPTY)))


def in_order(text: str) -> list[str]:
    """Return the words and whole numbers of a text in small letters, in their order."""
    return re.findall("[a-z0-9]+", text.translate(LOWER))


def calls(text: str, names: Iterable[str]) -> bool:
    """Return whether a text calls something by one of several names of one or more words.

    Examples
    --------
    >>> calls("Trimmed the shut-off.", ["shut off"]), calls("a stripped nut", ["trip"])
    (True, False)
    """
    low = "".join(mark if mark in _WORD else " " for mark in text.translate(LOWER))
    padded = f" {' '.join(low.split())} "
    return any(f" {name} " in padded for name in names)


def plainly(text: str) -> str:
    """Return words of a state without case, blanks and marks.

    Examples
    --------
    >>> plainly("Open, 34 turns")
    'open34turns'
    """
    return "".join(mark for mark in text.translate(LOWER) if mark in _WORD)


@dataclass(frozen=True)
class Names:
    """The names a plan knows, by how they are written without case and blanks; its parts, longest first."""

    known: Mapping[str, str]
    parts: tuple[str, ...]

    def of(self, thing: str) -> str:
        """Return the name of the plan for what somebody wrote.

        The very thing where the plan has it, else the part it belongs to, else what was written.
        """
        found = self.known.get(folded(thing))
        return found if found is not None else self.part(thing) or thing

    def part(self, thing: str) -> str:
        """Return the part a name belongs to; empty where it is none of the station."""
        low = thing.translate(LOWER).strip(" \t\r\n")
        for part in (*self.parts, OUTSIDE):
            begins = part.translate(LOWER)
            if low.startswith(begins) and low[len(begins) : len(begins) + 1] not in _WORD:
                return part
        return ""

    def is_of_station(self, thing: str) -> bool:
        """Return whether a name belongs to a part of the station."""
        return self.part(thing) not in ("", OUTSIDE)

    def hides(self, thing: str, called: Iterable[str] = ()) -> bool:
        """Return whether what is said to lie outside bears a name of the station, or of what protects it."""
        if self.part(thing) != OUTSIDE:
            return False
        rest = thing.translate(LOWER).strip(" \t\r\n")[len(OUTSIDE) :]
        rest = rest.lstrip("".join(mark for mark in rest if mark not in _WORD))
        words = "".join(mark if mark in _WORD else " " for mark in rest).split()
        parts = {part.translate(LOWER) for part in self.parts if part != part.translate(LOWER)}
        named = self.is_exact(rest) or self.is_of_station(rest) or bool(parts & set(words))
        return named or calls(rest, called)

    def is_exact(self, thing: str) -> bool:
        """Return whether the plan has this very name."""
        return folded(thing) in self.known


def names_of(procedure: Procedure) -> Names:
    """Return the names of a plan."""
    minded = procedure.minding
    every = [
        name
        for node in procedure.nodes
        for name in (*node.touches, *node.proves, *node.depends_on, *node.opens, *node.restores)
    ]
    left = (one.thing for one in minded.left)
    return _names(tuple(dict.fromkeys((*every, *minded.things, *left))), minded.parts)


@lru_cache(maxsize=64)
def _names(every: tuple[str, ...], parts: tuple[str, ...]) -> Names:
    return Names({folded(name): name for name in _reversed((*every, *parts))}, _longest(parts))


def _reversed(names: tuple[str, ...]) -> Iterable[str]:
    return reversed(names)


def _longest(parts: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(parts, key=lambda part: (-len(part), part)))
