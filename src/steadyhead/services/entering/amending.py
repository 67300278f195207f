"""Corrections and voids: another entry beside the one that was wrong; nothing that was entered is changed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from steadyhead.errors import InputError
from steadyhead.records.entry import KINDS, Entry
from steadyhead.records.procedure import Input
from steadyhead.services.entering.answers import BESIDE, noted_beside, seen
from steadyhead.services.entering.book import Book
from steadyhead.services.entering.draft import Draft, known_name, measured, nearest
from steadyhead.services.entering.kinds import described

WORDS = ("correct", "void")
_KEYS = {
    "with": ("instrument",),
    "flow": ("flow",),
    "at_flow": ("flow",),
    "flow_with": ("flow_instrument",),
    "tap": ("tap",),
    "stood": ("steady_for",),
    "moved": ("steady_within",),
    "wall": ("wall_temperature",),
    "as": ("as",),
    "read_at": ("read_at_height",),
    "mean": ("swing",),
    "swings_by": ("swing",),
    "period": ("swing",),
    "value": ("value", "typed", "unit"),
}


def amend(book: Book, word: str, head: str, typed: Mapping[str, str]) -> tuple[Draft, ...]:
    """Return the correction or void of an earlier entry, named by its number in the file.

    Raises
    ------
    InputError
        No such entry, one that is void, no reason, or a value it cannot take.
    """
    entry = book.entry(word, head)
    if not typed.get("reason"):
        remedy = 'Write why, e.g. reason="typed in the wrong unit".'
        raise InputError("reason", "is missing.", remedy)
    changes = {name: value for name, value in typed.items() if name != "reason"}
    if word == "void":
        if changes:
            remedy = "Void it and enter it again, or correct it."
            raise InputError(next(iter(changes)), "has no place in a void.", remedy)
        return (Draft("void", {"reason": typed["reason"]}, entry.node, entry.id),)
    entry = _root(book, entry)
    stands = book.standing(entry)
    if stands is None:
        raise InputError(word, f"entry {head} is void.", "Enter it again.")
    if not changes:
        raise InputError(word, "says nothing new.", "Write e.g. value=5.12 bar, or void the entry.")
    payload = changed(book, stands, changes)
    return (Draft("correction", {"reason": typed["reason"], "payload": payload}, entry.node, entry.id),)


def changed(book: Book, entry: Entry, changes: Mapping[str, str]) -> dict[str, Any]:
    """Return the keys of a payload that a correction gives; a value left empty takes its key away."""
    if entry.kind == "reading":
        return _reading(book, entry, changes)
    if entry.kind == "instrument":
        known = {key: changes[key] for key in changes if key in (*KINDS["instrument"], "certificate")}
        _all_known(changes, (*KINDS["instrument"], "certificate"))
        quantity = changes.get("quantity", str(entry.payload.get("quantity") or "pressure"))
        made = described({**{k: v for k, v in known.items() if v}, "quantity": quantity})
        return {key: made[key] if changes[key] else None for key in changes}
    keys = [key for key in KINDS.get(entry.kind, ()) if key not in ("input", "amount", "unit")]
    _all_known(changes, keys)
    if entry.kind == "observation" and "value" in changes:
        asked = book.input(entry.node, str(entry.payload.get("input")))
        one = asked if asked is not None else Input(str(entry.payload.get("input")), "text")
        return {**changes, "value": seen(one, changes["value"])}
    return {key: value or None for key, value in changes.items()}


def _reading(book: Book, entry: Entry, changes: Mapping[str, str]) -> dict[str, Any]:
    _all_known(changes, ("value", *BESIDE))
    quantity = str(entry.payload.get("quantity") or "pressure")
    found: dict[str, Any] = {}
    for name, value in changes.items():
        if not value:
            found |= dict.fromkeys(_KEYS[name])
    beside = {name: value for name, value in changes.items() if value and name not in ("value", "tap")}
    found |= noted_beside(book, quantity, beside)
    if "with" in beside and "instrument" not in found:
        problem = f"{beside['with']} does not measure a {quantity}."
        raise InputError("with", problem, nearest("", book.instruments))
    if changes.get("tap"):
        found["tap"] = changes["tap"]
    if changes.get("value"):
        got = measured("value", changes["value"], quantity)
        found |= {"value": got.si, "typed": got.typed, "unit": got.unit}
    elif "value" in changes:
        raise InputError("value", "got nothing.", "Void the entry instead.")
    return found


def _all_known(changes: Mapping[str, str], keys: tuple[str, ...] | list[str]) -> None:
    for name in changes:
        known_name("correct", name, keys, "part of that entry")


def _root(book: Book, entry: Entry) -> Entry:
    """Return the entry that a correction, or a correction of one, is about."""
    by_id = {one.id: one for one in book.entries}
    passed: set[str] = set()
    while entry.kind == "correction" and entry.replaces in by_id and entry.id not in passed:
        passed.add(entry.id)
        entry = by_id[entry.replaces]
    if entry.kind in ("correction", "void", "run", "sign"):
        remedy = "Void it and enter it again." if entry.kind != "run" else "Begin another file."
        raise InputError("correct", f"a {entry.kind} is not corrected.", remedy)
    return entry
