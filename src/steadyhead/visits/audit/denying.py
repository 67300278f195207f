"""Notes of which somebody says that they tell of no touch, and who must agree."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from steadyhead.procedure.naming import calls, folded, words_of
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.visits.audit.reliefs import RELIEF

NOTHING: Final = "nothing touched"
LOOKED: Final = "second look"


def denied_notes(entries: Sequence[Entry]) -> frozenset[str]:
    """Return the notes and answers of which somebody says that nothing was touched."""
    found = (one.payload.get("to") for one in entries if one.payload.get("do") == NOTHING)
    return frozenset(note for note in found if isinstance(note, str))


def agreed_notes(procedure: Procedure, entries: Sequence[Entry]) -> frozenset[str]:
    """Return the notes that touched nothing, as somebody says; of what protects, as somebody else agrees."""
    denied, minding = denied_notes(entries), procedure.minding
    notes = {one.id: one for one in entries if one.id in denied}
    guarding = {
        id_
        for id_, note in notes.items()
        if calls(said_in(note), minding.called)
        or RELIEF.search(said_in(note))
        or words_of(said_in(note)) & set(minding.guards)
    }
    people = {folded(one.who) for one in entries if one.payload.get("do") not in (NOTHING, LOOKED)}
    people |= {folded(str(one.payload.get("name"))) for one in entries if one.kind == "person"}
    agreed = {
        str(one.payload.get("to"))
        for one in entries
        if one.payload.get("do") in (NOTHING, LOOKED)
        and one.payload.get("to") in notes
        and folded(one.who) in people - {"", folded(notes[str(one.payload["to"])].who)}
    }
    return frozenset(denied - (guarding - agreed))


def said_in(entry: Entry) -> str:
    """Return what a note, or an answer in words, says."""
    text = entry.payload.get("text" if entry.kind == "note" else "value")
    return text if isinstance(text, str) else ""
