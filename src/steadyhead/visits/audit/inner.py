"""Which things of a plan a clause speaks of where it names a part inside a valve and no id of the station.

The plan's own words of its things are read, and a few by which people call the same. English only.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Final

from steadyhead.procedure.naming import folded
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.visits.texts.saying import say

_ALIKE: Final[Mapping[str, str]] = {
    "screw": "setting", "set": "setting", "sense": "sensing", "impulse": "sensing",
    "strainer": "filter", "mesh": "filter", "element": "filter", "locknut": "nut", "restrictor": "needle",
    "contact": "switch", "wiring": "cable",
}  # fmt: skip
"""What people call a thing, and the word the plan has for it."""
_COMMON: Final = frozenset(
    ("of", "and", "the", "main", "closing", "medium", "line", "range", "limit", "speed", "root", "lock")
)
"""Words of names that several things share, or that say nothing alone."""
_LETTERS: Final = 4
"""First letters by which a verb and its past are the same: clean, cleaned. Own choice."""


def words_in(text: str) -> frozenset[str]:
    """Return the words of a text by which a thing may be told, one for each thing.

    Examples
    --------
    >>> sorted(words_in("Lock nuts and the adjusting screw"))
    ['adjusting', 'nut', 'setting']
    """
    found = (word.removesuffix("s") for word in re.findall(r"[a-z]+", text.casefold()))
    return frozenset(_ALIKE.get(word, word) for word in found) - _COMMON


def told_words(procedure: Procedure) -> dict[str, frozenset[str]]:
    """Return the words of each thing of which a touch is minded, the id of its part left out."""
    found = {}
    for thing in procedure.minding.things:
        part, _, aspect = thing.rpartition(".")
        known = procedure.names.get(thing)
        said = f"{say(known) if known is not None else ''} {aspect}"
        found[thing] = words_in(said) - words_in(part)
    return found


def spoken_of(text: str, told: Mapping[str, frozenset[str]]) -> frozenset[str]:
    """Return the things a clause may speak of; none where it says no word of any."""
    said = words_in(text)
    return frozenset(thing for thing, words in told.items() if words & said)


def fits(act: Entry, things: Iterable[str], thing: str, works: Iterable[str], text: str) -> bool:
    """Return whether an act is about one of the things a clause speaks of.

    Parameters
    ----------
    act
        The act or position.
    things
        What the clause speaks of; none: the act must be told by its verb, or by a word of what it names.
    thing
        Name of the plan for what the act names; empty where it names nothing.
    works
        What the step of the act works.
    text
        The clause.
    """
    spoken = frozenset(things)
    if words_in(thing) & words_in(text):
        return True
    if spoken:
        own = {thing} if thing else set(works)
        return any(one in own or one.rpartition(".")[0] == thing for one in spoken)
    verb = folded(str(act.payload.get("do", "")).partition(" ")[0])[:_LETTERS]
    return bool(verb) and any(word.startswith(verb) for word in re.findall(r"[a-z]+", text.casefold()))
