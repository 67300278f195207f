"""The entries of one run laid beside its plan: rows in the order of judging, choices, instruments."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from math import floor
from typing import Any

from steadyhead.procedure.clocks import Doubt
from steadyhead.procedure.expression import Scalar, Taken
from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.naming import SHUT, Names, folded, in_order, names_of, stands_shut
from steadyhead.records.entry import Entry, zone_minutes
from steadyhead.records.procedure import Node, Procedure

DAY_MICROS = 86_400_000_000
EPOCH_DAYS = 719_163
"""Day number of 1970-01-01 in the calendar of `datetime`."""
SOFT = ("text", "photo")
"""Kinds of input that are words and pictures: a step that is ticked is done without them."""
ANSWERS = (*SOFT, "yes_no", "time_of_day", "turns", "count")
"""Kinds of input nobody reads with an instrument: noted again, they do not say that a step was done again."""
BLANKS = " \t\r\n"
AGREES = "second look"
"""Act by which somebody else agrees to an entry."""
_DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
TIME_OF_DAY = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?", re.ASCII)
"""A time of day as people write it: 8:05, 12:49:02."""
NOTED = ("reading", "observation")
"""Kinds of entry that answer an input."""


@dataclass(frozen=True, slots=True)
class Row:
    """A standing entry with its place in the order of judging.

    thing: what an act or a position is about, as the plan names it.
    """

    entry: Entry
    at: int
    thing: str = ""

    @property
    def time(self) -> float:
        """Corrected time. [s]"""
        return self.entry.time

    @property
    def day(self) -> int:
        """Day where it was made, counted from 1970-01-01."""
        return (self.entry.micros + zone_minutes(self.entry.t_device) * 60_000_000) // DAY_MICROS

    @property
    def input(self) -> str:
        """Input it answers; empty for what is no reading."""
        return self.text("input") if self.entry.kind in NOTED else ""

    @property
    def do(self) -> str:
        """What was done; empty for what is no act."""
        return self.text("do") if self.entry.kind == "action" else ""

    def text(self, key: str) -> str:
        """Return a text of the payload; empty where there is none."""
        found = self.entry.payload.get(key)
        return found if isinstance(found, str) else ""

    def number(self, key: str) -> float | None:
        """Return a number of the payload; None where there is none."""
        found = self.entry.payload.get(key)
        return float(found) if is_number(found) else None


@dataclass(frozen=True)
class Record:
    """Plan and entries together.

    rows: standing entries, in order. by_node: the same by step. choices: option taken by choice.
    instruments: attributes by name, the newest description. described: every description by name, with its
    place.
    """

    procedure: Procedure
    rows: tuple[Row, ...]
    by_node: Mapping[str, tuple[Row, ...]]
    choices: Mapping[str, str | None]
    instruments: Mapping[str, Mapping[str, Scalar]]
    node: Mapping[str, Node] = field(default_factory=dict)
    described: Mapping[str, tuple[tuple[int, Mapping[str, Scalar]], ...]] = field(default_factory=dict)

    def at(self, node_id: str) -> tuple[Row, ...]:
        """Return the rows of one step."""
        return self.by_node.get(node_id, ())


def lay(procedure: Procedure, standing: Iterable[Entry]) -> Record:
    """Return the record of a plan and standing entries in the order of judging."""
    names = names_of(procedure)
    rows = tuple(Row(entry, at, _thing(entry, names)) for at, entry in enumerate(standing))
    by_node: dict[str, list[Row]] = {}
    described: dict[str, list[tuple[int, Mapping[str, Scalar]]]] = {}
    for row in rows:
        by_node.setdefault(row.entry.node, []).append(row)
        if row.entry.kind == "instrument":
            described.setdefault(row.text("name"), []).append((row.at, _instrument(row)))
    return Record(
        procedure,
        rows,
        {node: tuple(found) for node, found in by_node.items()},
        _choices(procedure, rows),
        {name: found[-1][1] for name, found in described.items()},
        {node.id: node for node in procedure.nodes},
        {name: tuple(found) for name, found in described.items()},
    )


def people(record: Record) -> frozenset[str]:
    """Return the people of a run: who is described in it, and who entered more than an agreement."""
    named = {row.text("name") for row in record.rows if row.entry.kind == "person"}
    wrote = {row.entry.who for row in record.rows if not vouches(row)}
    return frozenset(map(folded, named | wrote)) - {""}


def vouches(row: Row) -> bool:
    """Return whether somebody only vouches by an entry for what others entered."""
    return row.do == AGREES or row.entry.kind == "sign"


def day_of(text: object) -> int | None:
    """Return a date as days since 1970-01-01; None where it is no date.

    Examples
    --------
    >>> day_of("1970-01-02")
    1
    """
    if not isinstance(text, str) or _DATE.fullmatch(text) is None:
        return None
    try:
        return date.fromisoformat(text).toordinal() - EPOCH_DAYS
    except ValueError:
        return None


def taken(row: Row, doubt: Doubt) -> Taken | None:
    """Return an entry as expressions see it; None for kinds they do not see.

    doubt: what the clocks leave open; by it an entry carries how much ``early`` and ``late`` it may be. [s]
    """
    entry, payload = row.entry, row.entry.payload
    names = {
        "action": (entry.node, "@action", "do"),
        "choice": (row.text("choice"), "@choice", "option"),
        "position": (entry.node, "@position", "is"),
        "photo": (entry.node, "@photo", "of"),
        "note": (entry.node, "@note", "text"),
    }
    if entry.kind in NOTED:
        node, name, key = entry.node, row.input, "value"
    elif entry.kind in names:
        node, name, key = names[entry.kind]
    else:
        return None
    keys = {**flat(payload), "who": entry.who, "device": entry.device, "day": float(row.day)}
    keys["early"] = entry.clock_within + doubt.early(entry)
    keys["late"] = entry.clock_within + doubt.late(entry)
    if row.thing:
        keys["thing"] = row.thing
    clock = clock_of(row) if entry.kind in NOTED else None
    if clock is not None:
        keys["clock"] = clock
    value = SHUT[0] if _says_shut(row) else _scalar(payload.get(key))
    return Taken(node, name, value, row.time, float(row.at), keys)


def _says_shut(row: Row) -> bool:
    """Return whether a position says, in whatever words, that a thing stands shut."""
    if row.entry.kind != "position" or not set(in_order(row.text("is"))) & set(SHUT):
        return False
    return stands_shut(row.text("is"))


def clock_of(row: Row) -> float | None:
    """Return a time of day that was noted, on the day nearest to its entry; None for any other value.

    Holds for a time less than half a day from when it was entered. [s since 1970-01-01 UTC]
    """
    value = row.entry.payload.get("value")
    found = TIME_OF_DAY.fullmatch(value.strip(BLANKS)) if isinstance(value, str) else None
    if found is None:
        return None
    of_day = int(found[1]) * 3600 + int(found[2]) * 60 + int(found[3] or 0)
    clock = row.day * 86400.0 + of_day - zone_minutes(row.entry.t_device) * 60
    return clock - 86400.0 * floor((clock - row.time) / 86400.0 + 0.5)


def flat(payload: Mapping[str, Any], before: str = "") -> dict[str, Scalar]:
    """Return the plain values of a payload; inner keys are joined by a dot.

    Examples
    --------
    >>> flat({"tap": "T3", "swing": {"mean": 4}})
    {'tap': 'T3', 'swing.mean': 4.0}
    """
    found: dict[str, Scalar] = {}
    for key, value in payload.items():
        if isinstance(value, Mapping):
            found.update(flat(value, f"{before}{key}."))
        elif not isinstance(value, list | tuple):
            found[f"{before}{key}"] = _scalar(value)
    return found


def round_starts(rows: Iterable[Row], node: Node) -> tuple[Row, ...]:
    """Return the first row of each time a step was gone through.

    A step is gone through again where an input that has been noted is noted once more, or a second tick set.
    Notes, photos and the like are no part of it; nor, at a step that reads something with an instrument, is
    an answer noted late: words, a time told, turns counted.
    """
    kinds = {one.name: one.quantity for one in node.inputs}
    late = set(kinds) if set(kinds.values()) - set(ANSWERS) else set()
    late = {name for name in late if kinds[name] in ANSWERS}
    starts: list[Row] = []
    seen: set[str] = set()
    for row in rows:
        key = row.input or ("@tick" if row.do == "tick" else "")
        if not (key or row.entry.kind in ("action", "choice")):
            continue
        if not starts or (key in seen and key not in late):
            starts.append(row)
            seen = set()
        if key:
            seen.add(key)
    return tuple(starts)


def _thing(entry: Entry, names: Names) -> str:
    thing = entry.payload.get("thing") if entry.kind in ("action", "position") else None
    return names.of(thing) if isinstance(thing, str) else ""


def _choices(procedure: Procedure, rows: Iterable[Row]) -> dict[str, str | None]:
    taken_: dict[str, str | None] = {choice.id: None for choice in procedure.choices}
    known = {choice.id: {name for name, _, _ in choice.options} for choice in procedure.choices}
    for row in rows:
        choice, option = row.text("choice"), row.text("option")
        if row.entry.kind == "choice" and option in known.get(choice, ()):
            taken_[choice] = option
    return taken_


def _instrument(row: Row) -> Mapping[str, Scalar]:
    low, high, share = row.number("low"), row.number("high"), row.number("class")
    error = None
    if low is not None and high is not None and share is not None and share > 0.0 and high > low:
        error = share * (high - low)
    due = day_of(row.entry.payload.get("due"))
    return {
        "name": folded(row.text("name")),
        "quantity": row.text("quantity"),
        "low": low,
        "high": high,
        "class": share,
        "division": row.number("division"),
        "zero": row.number("zero"),
        "error": error,
        "due": None if due is None else float(due),
    }


def _scalar(value: Any) -> Scalar:
    if isinstance(value, bool | str) or value is None:
        return value
    return float(value) if is_number(value) else None
