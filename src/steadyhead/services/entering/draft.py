"""An entry before it has its id and its time; and how names and values are taken apart."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from steadyhead.errors import InputError
from steadyhead.units import UnitError, parse
from steadyhead.units.table import KINDS

_FIGURE = re.compile(r"\s*[+\-\u2212]?[\d.,/ \u00a0\u2009\u202f-]*\d(?:[eE][+-]?\d+)?")
LISTED = 24
"""Most names written into one remedy."""


@dataclass(frozen=True, slots=True)
class Draft:
    """What an entry says: kind, payload, step, and the id of the entry it amends."""

    kind: str
    payload: Mapping[str, Any]
    node: str = ""
    replaces: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """A typed quantity: SI value, figure and unit as typed, and whether a gallon left open whose it is."""

    si: float
    typed: str
    unit: str
    gallon_open: bool = False


def pairs(words: Iterable[str]) -> tuple[str, dict[str, str]]:
    """Return the words before the first NAME=VALUE, joined, and the values by name.

    A word without ``=`` belongs to the value before it, so that blanks need no quotes.

    Raises
    ------
    InputError
        A name given twice, or no name before ``=``.

    Examples
    --------
    >>> pairs(["tighten", "nut", "thing=SO.nut", "detail=by", "hand"])
    ('tighten nut', {'thing': 'SO.nut', 'detail': 'by hand'})
    """
    head: list[str] = []
    found: dict[str, str] = {}
    last = ""
    for word in words:
        name, is_pair, value = word.partition("=")
        if is_pair and name and not any(mark.isspace() for mark in name):
            if name in found:
                raise InputError(name, "is given twice.", "Give it once, or enter it twice.")
            found[name], last = value.strip(), name
        elif last:
            found[last] = f"{found[last]} {word}".strip()
        else:
            head.append(word)
    return " ".join(head).strip(), found


def nearest(name: str, known: Iterable[str]) -> str:
    """Return a remedy that names what is closest to a name, else what there is."""
    names = list(dict.fromkeys(known))
    folded = {one.casefold(): one for one in reversed(names)}
    close = [folded[one] for one in get_close_matches(name.casefold(), folded, n=3, cutoff=0.5)]
    if close:
        return f"Did you mean {' or '.join(close)}?"
    more = f" and {len(names) - LISTED} more" if len(names) > LISTED else ""
    return f"There are: {', '.join(names[:LISTED])}{more}." if names else "There is none."


def known_name(field: str, name: str, known: Iterable[str], what: str) -> str:
    """Return a name that must be one of those known.

    Raises
    ------
    InputError
        Another one; the remedy names the nearest.
    """
    names = list(known)
    if name not in names:
        raise InputError(field, f"got {name!r:.60}, which is no {what}.", nearest(name, names))
    return name


def measured(field: str, text: str, kind: str) -> Measured:
    """Return a quantity as typed; of a count a bare number.

    Raises
    ------
    InputError
        No number, no unit or one of another kind; a pressure counted from vacuum.
    """
    if kind not in KINDS:
        return _count(field, text)
    try:
        found = parse(text, kind)
    except UnitError as error:
        raise InputError(field, error.problem, error.remedy) from None
    if found.absolute:
        remedy = "Write what the gauge shows above the air around it, e.g. 5.10 bar."
        raise InputError(field, f"got {text!r}, counted from vacuum.", remedy)
    figure = _FIGURE.match(text)
    typed = figure[0].strip() if figure else f"{found.number:g}"
    return Measured(found.si, typed, found.unit, found.gallon_open)


def _count(field: str, text: str) -> Measured:
    try:
        return Measured(float(text.replace(",", ".")), text, "")
    except ValueError:
        raise InputError(
            field, f"got {text!r:.40}, which is no number.", "Write a number, e.g. 12."
        ) from None


def yes_or_no(field: str, text: str) -> bool:
    """Return the answer to a question.

    Raises
    ------
    InputError
        Neither yes nor no.
    """
    said = {"yes": True, "y": True, "no": False, "n": False}.get(text.casefold())
    if said is None:
        raise InputError(field, f"got {text!r:.40}.", "Write yes or no.")
    return said
