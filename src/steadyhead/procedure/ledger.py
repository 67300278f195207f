"""The ledger of a run: entries of any number of devices, read, put in order, and laid together.

Nothing is lost: what cannot be read is named with its line, one id with two contents is kept in both and
judged in neither, and a correction stands beside what it corrects. Laying ledgers together is a union.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from steadyhead.errors import InputError
from steadyhead.procedure.entry_form import LARGEST, SPAN, entry_of
from steadyhead.records.entry import FORMAT, Entry, order_of, plain_entry
from steadyhead.station.canonical import canonical

LONGEST_LINE = 1_000_000
"""Longest line read; own estimate: an entry has some hundred bytes, and pictures lie elsewhere. [bytes]"""
PHOTO = b'{"photo":'
"""How a line begins that brings the bytes of a photo beside the entries; no entry begins so."""
__all__ = [
    "LARGEST",
    "LONGEST_LINE",
    "PHOTO",
    "SPAN",
    "Clash",
    "Fault",
    "Ledger",
    "Standing",
    "dump",
    "lines",
    "merge",
    "read",
]


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """A line that cannot be used: where it stands, what is wrong, what to do, and its beginning."""

    where: str
    line: int
    problem: str
    remedy: str
    text: str = ""


@dataclass(frozen=True, slots=True)
class Clash:
    """One id with several contents; none of them is judged."""

    id: str
    forms: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Standing:
    """An entry as it stands after what came to it: its own id and time, the payload of its corrections.

    revisions: ids of the corrections that made it so, in order.
    """

    entry: Entry
    revisions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Ledger:
    """Entries in the order of judging, and everything that could not be taken as one.

    forms: every content of every id, in order. faults: lines that could not be used. run: the run it was
    narrowed to; empty: none.
    """

    forms: tuple[Entry, ...] = ()
    faults: tuple[Fault, ...] = ()
    run: str = ""

    @cached_property
    def clashes(self) -> tuple[Clash, ...]:
        """Ids that carry several contents."""
        by_id: dict[str, list[Entry]] = {}
        for entry in self.forms:
            by_id.setdefault(entry.id, []).append(entry)
        return tuple(Clash(id_, tuple(forms)) for id_, forms in by_id.items() if len(forms) > 1)

    @cached_property
    def entries(self) -> tuple[Entry, ...]:
        """Every entry of one content, originals and corrections, in the order of judging."""
        clashing = {clash.id for clash in self.clashes}
        return tuple(entry for entry in self.forms if entry.id not in clashing)

    @cached_property
    def standing(self) -> tuple[Entry, ...]:
        """Entries as they stand once corrections and voids are applied; those are not among them."""
        return tuple(one.entry for one in standing(self.entries))

    def of_run(self, run: str) -> Ledger:
        """Return the entries of one run, with all faults.

        One id with several contents is judged in none, also where another of them names another run.
        """
        other = {entry.id for clash in self.clashes for entry in clash.forms if entry.run == run}
        forms = tuple(entry for entry in self.forms if entry.run == run or entry.id in other)
        return replace(self, forms=forms, run=run)


def read(data: bytes, where: str = "entries") -> Ledger:
    """Return the entries of a file of JSON lines; whatever a line is, the other lines are read.

    Parameters
    ----------
    data
        The file. A line with only ``format`` may stand first; blank lines and photos count for nothing.
    where
        Name of the file, for messages.

    Raises
    ------
    InputError
        The first line names another format.
    """
    forms: dict[bytes, Entry] = {}
    faults: set[Fault] = set()
    for found in lines(data, where):
        if isinstance(found, Fault):
            faults.add(found)
        else:
            forms[canonical(plain_entry(found))] = found
    return Ledger(_in_order(forms), tuple(sorted(faults)))


def lines(data: bytes, where: str = "entries") -> Iterator[Entry | Fault]:
    """Yield each line of a file of entries as it stands there, one that cannot be used as a fault.

    What is yielded n-th is entry number n of the file: lines are only ever added at its end. Lines that bring
    photos (`PHOTO`) are passed over.

    Raises
    ------
    InputError
        The first line names another format.
    """
    rows = data.removeprefix(b"\xef\xbb\xbf").split(b"\n")
    for number, line in enumerate(rows, 1):
        text = line.strip()
        if not text or text.startswith(PHOTO):
            continue
        try:
            found = _object(text)
            if number == 1 and "format" in found and "id" not in found:
                _known_format(found["format"], where)
                continue
            made = entry_of(found)
        except _Other as other:
            raise other.error from None
        except InputError as problem:
            cut = number == len(rows) and problem.field == "line"
            told = "is cut off: the file does not end with a whole line." if cut else problem.problem
            field = "" if problem.field == "line" else f"{problem.field}: "
            start = text[:60].decode("utf-8", "replace")
            yield Fault(where, number, f"{field}{told}", problem.remedy, start)
        else:
            yield made


def merge(*ledgers: Ledger) -> Ledger:
    """Return the union of ledgers, whatever their order and however often one is given."""
    forms = {canonical(plain_entry(entry)): entry for ledger in ledgers for entry in ledger.forms}
    return Ledger(_in_order(forms), tuple(sorted({fault for ledger in ledgers for fault in ledger.faults})))


def gathered(entries: Iterable[Entry]) -> Ledger:
    """Return a ledger of entries at hand."""
    return Ledger(_in_order({canonical(plain_entry(entry)): entry for entry in entries}))


def dump(entries: Iterable[Entry]) -> bytes:
    """Return entries as JSON lines, each in the canonical form."""
    lines = [canonical({"format": FORMAT}), *(canonical(plain_entry(entry)) for entry in entries)]
    return b"".join(line + b"\n" for line in lines)


def standing(entries: Iterable[Entry]) -> tuple[Standing, ...]:
    """Return what stands once corrections and voids are applied, in the order of judging.

    A correction changes the keys of the payload it gives; null takes a key away. The newest correction of a
    key counts. A void takes an entry, a correction or another void out of the record; what it took out stays
    to be read. A correction of a correction is one of the same entry. What replaces itself, or something that
    is not there, changes nothing.
    """
    listed = tuple(entries)
    by_id = {entry.id: entry for entry in listed}
    voids: dict[str, list[str]] = {}
    for entry in listed:
        if entry.kind == "void" and entry.replaces in by_id:
            voids.setdefault(entry.replaces, []).append(entry.id)
    gone = _gone(by_id, voids)
    changed: dict[str, list[Entry]] = {}
    for entry in listed:
        root = _root(entry, by_id) if entry.kind == "correction" and entry.id not in gone else None
        if root is not None:
            changed.setdefault(root, []).append(entry)
    return tuple(
        _revised(entry, changed.get(entry.id, []))
        for entry in listed
        if entry.kind not in ("correction", "void") and entry.id not in gone
    )


def amends_nothing(entries: Iterable[Entry]) -> tuple[str, ...]:
    """Return the ids of corrections and voids whose entry is not there, or that go round in a circle."""
    listed = tuple(entries)
    by_id = {entry.id: entry for entry in listed}
    return tuple(
        entry.id
        for entry in listed
        if entry.kind in ("correction", "void")
        and _root(entry, by_id, through=("correction", "void")) is None
    )


def amended(entry: Entry, by_id: Mapping[str, Entry]) -> Entry | None:
    """Return the entry that a correction or a void is about in the end; None where it is not there."""
    root = _root(entry, by_id, through=("correction", "void"))
    return None if root is None else by_id[root]


def _gone(by_id: Mapping[str, Entry], voids: Mapping[str, list[str]]) -> set[str]:
    """Return what is void. A void counts unless it is void itself; what goes round in a circle does not."""
    known: dict[str, bool] = {}
    for start in by_id:
        stack = [start]
        while stack:
            one = stack[-1]
            open_ = [each for each in voids.get(one, ()) if each not in known and each not in stack]
            if one not in known and open_:
                stack.append(open_[0])
                continue
            known.setdefault(one, any(not known.get(each, True) for each in voids.get(one, ())))
            stack.pop()
    return {one for one, is_gone in known.items() if is_gone}


def _root(entry: Entry, by_id: Mapping[str, Entry], through: tuple[str, ...] = ("correction",)) -> str | None:
    seen = {entry.id}
    one = entry
    while one.kind in through:
        if one.replaces in seen or one.replaces not in by_id:
            return None
        seen.add(one.replaces)
        one = by_id[one.replaces]
    return None if one.kind in ("correction", "void") else one.id


def _revised(entry: Entry, changes: list[Entry]) -> Standing:
    payload: dict[str, Any] = dict(entry.payload)
    for change in changes:
        given = change.payload.get("payload")
        for key, value in given.items() if isinstance(given, Mapping) else ():
            if value is None:
                payload.pop(key, None)
            else:
                payload[key] = value
    ids = tuple(change.id for change in changes)
    return Standing(replace(entry, payload=payload) if ids else entry, ids)


def _in_order(forms: Mapping[bytes, Entry]) -> tuple[Entry, ...]:
    """Return entries in the order of judging; one id with several contents moves no other entry."""
    count = Counter(entry.id for entry in forms.values())
    place = order_of(entry for entry in forms.values() if count[entry.id] == 1)
    keys = {form: (place.get(entry.id, entry.order), form) for form, entry in forms.items()}
    return tuple(forms[form] for form in sorted(forms, key=keys.__getitem__))


class _Other(Exception):
    """Carries the refusal of a whole file past the handling of lines."""

    def __init__(self, error: InputError) -> None:
        self.error = error


def _known_format(found: object, where: str) -> None:
    if found != FORMAT:
        remedy = f"This program reads {FORMAT}. Take the entries out of the device again, or use its program."
        raise _Other(InputError(f"{where}: format", f"got {found!r:.60}.", remedy))


def _object(line: bytes) -> dict[str, Any]:
    as_written = "Give the line as the device wrote it."
    if len(line) > LONGEST_LINE:
        raise InputError("line", f"has {len(line):,} bytes; the most is {LONGEST_LINE:,}.", as_written)
    try:
        found = json.loads(line.decode("utf-8"), parse_constant=_no_number, object_pairs_hook=_once)
    except UnicodeDecodeError:
        raise InputError("line", "is no UTF-8.", as_written) from None
    except RecursionError:
        raise InputError("line", "is nested too deep.", as_written) from None
    except ValueError as problem:
        raise InputError("line", f"is no JSON: {problem!s:.80}.", as_written) from None
    if not isinstance(found, dict):
        raise InputError("line", f"is no entry but {type(found).__name__}.", as_written)
    return found


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError("a key stands twice")
    return found
