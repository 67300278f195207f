"""What differs between two revisions of a certificate, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from steadyhead.station.canonical import canonical

BLOCKS = {
    "design": "the block of the design says something else",
    "identity": "the block of identity says something else",
    "equipment": "the block of equipment says something else",
    "words_in": "the words are in other units",
    "engine_version": "another version of the program worked it out",
    "trips": "the block of trip proofs says something else",
    "lockups": "the block of lock-up says something else",
    "flows": "the block of flow tests says something else",
    "alarms": "the block of alarms says something else",
    "per_turn": "change per turn: worked out anew",
}
"""Blocks of a record that are compared as a whole."""
LISTS = {"amended": "correction", "deviations": "deviation", "signatures": "signature", "photos": "photo"}


def changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    """Return what changed from one record to the next; empty where nothing did.

    Parameters
    ----------
    old, new
        Records as plain data.
    """
    return list(_changes(old, new))


def _changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    if old.get("standing") != new["standing"]:
        yield f"{old.get('standing')} becomes {new['standing']}"
    if old.get("entries_sha256") != new["entries_sha256"]:
        yield f"{new['entries']} entries, before {old.get('entries')}"
    known = {str(one.get("entry")) for one in old.get("amended", ())}
    for one in new["amended"]:
        if str(one["entry"]) not in known:
            yield f"corrected: {one['was']} becomes {one['now']}; {one['reason']} ({one['who']}, {one['at']})"
    yield from _settings(old, new)
    yield from _blocks(old, new)
    for key, word in LISTS.items():
        more = len(new[key]) - len(old.get(key, ()))
        if more > 0 and key != "amended":
            yield f"{more} {word}{'s' if more > 1 else ''} more"
    if (old.get("design") or {}).get("revision") != (new["design"] or {}).get("revision"):
        yield "another release of the design is named"
    yield from _other_blocks(old, new)


def _other_blocks(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    """Yield the blocks that say something else, in words: the same entries may be certified otherwise."""
    for key, words in BLOCKS.items():
        if canonical({"": old.get(key)}) != canonical({"": new.get(key)}):
            yield words
    before, after = ((one.get("design") or {}).get("by_proof") for one in (old, new))
    if before is not after and before is not None and after is not None:
        yield f"credited peaks: {_peaks(before)} becomes {_peaks(after)}"


def _peaks(by_proof: bool) -> str:
    return "by the protection proof" if by_proof else "of the lumped zone, no proof"


def _settings(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    before = {one["key"]: one for one in old.get("settings", ())}
    for one in new["settings"]:
        was = before.get(one["key"])
        if was is None:
            yield f"{one['what']}: new in this record"
            continue
        states = (was.get("state"), one["state"])
        if states[0] != states[1]:
            yield f"{one['what']}: {states[0]} becomes {states[1]}"
        if _value(was.get("as_left")) != _value(one["as_left"]):
            yield f"{one['what']}: as-left value differs"


def _value(noted: Mapping[str, Any] | None) -> object:
    return None if noted is None else noted.get("value")


def _blocks(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    before = {str(one.get("statement")) for one in old.get("against", ()) if not one.get("accepted")}
    after = {str(one["statement"]) for one in new["against"] if not one["accepted"]}
    yield from (f"no longer stands against final: {one}" for one in sorted(before - after))
    yield from (f"now stands against final: {one}" for one in sorted(after - before))
