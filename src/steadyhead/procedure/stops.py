"""Stops that were said in a run: notes that begin with *Stop* and stand until a note says what came of it."""

from __future__ import annotations

import re
from collections.abc import Sequence

from steadyhead.procedure.clocks import Doubt, doubts, may_follow
from steadyhead.records.entry import Entry

_SAID = re.compile(r"(?i:stop)(?:[:.!]\s*|\s*\Z)|STOP\s+", re.ASCII)
_AFTER = re.compile(r"After the Stop of (\S+) no\. (\d+)\b", re.ASCII)
_AGREED = re.compile(r"\bagreed\b", re.ASCII | re.IGNORECASE)
_DID_NOT = re.compile(r"\b(?:nobody|not|never)\s+agreed\b", re.ASCII | re.IGNORECASE)
NOBODY = "Nobody agreed to go on."
"""A note that ends so lifts no Stop."""


def said_stops(standing: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return the Stops of a run that were said and still stand, in their order; the same as field/stops.js.

    A Stop is lifted by a note at its step that names it, *After the Stop of DEVICE no. NUMBER*, or that names
    none, says who agreed and came after it, by another device as far as both clocks tell; not by another
    note, nor by one that says that nobody agreed.

    Parameters
    ----------
    standing
        Entries as they stand once corrections and voids are applied, in the order of judging.

    Examples
    --------
    >>> made = [Entry(f"e{n}", "", "A4", "tab-1", n, "note", {"text": text}, "Tam", f"2027-04-14T09:0{n}:00Z")
    ...         for n, text in ((1, "Stop: gas."), (2, "Aired. Agreed with Isla."))]
    >>> [one.id for one in said_stops(made[:1])], said_stops(made)
    (['e1'], ())
    """
    notes = [(at, entry) for at, entry in enumerate(standing) if entry.kind == "note"]
    lifting = [
        (at, entry)
        for at, entry in notes
        if not _SAID.match(text(entry)) and not text(entry).endswith(NOBODY)
    ]
    doubt = doubts(standing)
    return tuple(
        stop
        for at, stop in notes
        if _SAID.match(text(stop))
        and not any(
            _lifts(entry, later, stop, at, doubt) for later, entry in lifting if entry.node == stop.node
        )
    )


def text(entry: Entry) -> str:
    """Return the words of a note."""
    return str(entry.payload.get("text") or "")


def words(stop: Entry) -> str:
    """Return the words of a Stop without the word that makes it one."""
    return _SAID.sub("", text(stop), count=1)


def _lifts(entry: Entry, later: int, stop: Entry, at: int, doubt: Doubt) -> bool:
    named = _AFTER.match(text(entry))
    if named is not None:
        return named[1] == stop.device and int(named[2]) == stop.device_seq
    if not _AGREED.search(text(entry)) or _DID_NOT.search(text(entry)):
        return False
    if entry.device == stop.device:
        return entry.device_seq > stop.device_seq
    return later > at and not may_follow(stop, entry, doubt)
