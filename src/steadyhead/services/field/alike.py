"""Stations whose names can be mistaken for this one's, told before the first step."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

MOST_ALIKE = 6
"""Most stations that are told. Own choice: more is not read. [1]"""
SHORT = 4
"""Names below this many signs are alike only where one sign differs. Own estimate. [1]"""
FAR = 2
"""Most signs by which longer names may differ and still be taken for one another. Own estimate. [1]"""
FIRST_WORD = 4
"""Signs from which on the same first word makes two names alike. Own estimate. [1]"""


@dataclass(frozen=True, slots=True)
class Named:
    """A station as it is called: key, id, name, and where it is."""

    key: str
    id: str
    name: str
    place: str = ""


@dataclass(frozen=True, slots=True)
class Alike:
    """A station that may be taken for another one, and why."""

    station: Named
    why: str
    rank: int


def alike(one: Named, others: Iterable[Named]) -> tuple[Alike, ...]:
    """Return the stations that may be taken for one, the likest first.

    Examples
    --------
    >>> here = Named("a", "QUR-02", "Quillenby Row")
    >>> [each.why for each in alike(here, [Named("b", "TOR-09", "Quillenby Terrace")])]
    ['The name begins with the same word.']
    >>> [each.why for each in alike(here, [Named("c", "TOR-09", "Quilenby Row")])]
    ['The name differs by one sign.']
    """
    found = [told for other in others if other.key != one.key and (told := _like(one, other)) is not None]
    found.sort(key=lambda each: (each.rank, each.station.name, each.station.id))
    return tuple(found[:MOST_ALIKE])


def _like(one: Named, other: Named) -> Alike | None:
    mine, theirs = folded(one.name), folded(other.name)
    if mine and mine == theirs:
        return Alike(other, "The name is the same.", 0)
    most = 1 if min(len(mine), len(theirs)) < SHORT + FAR else FAR
    steps = distance(mine, theirs, most)
    if steps <= most:
        words = "one sign" if steps == 1 else f"{steps} signs"
        return Alike(other, f"The name differs by {words}.", steps)
    first, second = mine.partition(" ")[0], theirs.partition(" ")[0]
    is_begun = len(first) >= FIRST_WORD and first == second
    is_near = distance(folded(one.id), folded(other.id), 1) <= 1
    if is_begun and is_near:
        return Alike(other, "The name begins with the same word, the id differs by one sign.", FAR + 1)
    if is_begun:
        return Alike(other, "The name begins with the same word.", FAR + 2)
    if is_near:
        return Alike(other, "The id differs by one sign.", FAR + 3)
    return None


def folded(name: str) -> str:
    """Return a name as the ear takes it: small letters without accents, one blank between words.

    Examples
    --------
    >>> folded("  Nord-Öster  Weg 2")
    'nord oster weg 2'
    """
    plain = "".join(
        sign for sign in unicodedata.normalize("NFKD", name.casefold()) if not unicodedata.combining(sign)
    )
    return " ".join(re.findall(r"\w+", plain))


def distance(one: str, other: str, most: int) -> int:
    """Return by how many signs two names differ; two signs changed about count as one. ``most + 1``: by more.

    Examples
    --------
    >>> distance("mill lane", "mlil lane", 2), distance("mill lane", "hill lanes", 2)
    (1, 2)
    >>> distance("mill", "weir", 2)
    3
    """
    if abs(len(one) - len(other)) > most:
        return most + 1
    before: list[int] = []
    last = list(range(len(other) + 1))
    for at, sign in enumerate(one, 1):
        row = [at]
        for to, wanted in enumerate(other, 1):
            cost = min(last[to] + 1, row[to - 1] + 1, last[to - 1] + (sign != wanted))
            if at > 1 and to > 1 and sign == other[to - 2] and one[at - 2] == wanted:
                cost = min(cost, before[to - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
        before, last = last, row
    return min(last[-1], most + 1)
