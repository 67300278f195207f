"""The lists that leave as tables: their columns, and the rows of each, a few in memory at a time."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from sqlalchemy import Connection, Select, Table, and_, func, select

from steadyhead.errors import InputError
from steadyhead.register import tables
from steadyhead.register.reading import found, in_order, rows

Kind = Literal["text", "whole", "number"]
Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Listed:
    """One list: its name, what it holds, its columns with their kind, and its rows."""

    name: str
    words: str
    columns: Mapping[str, Kind]
    rows: Callable[[Connection], Iterator[Row]]


def listed(name: str) -> Listed:
    """Return a list by its name.

    Raises
    ------
    InputError
        No such list; names those there are.
    """
    if name not in LISTS:
        raise InputError("list", f"got {name!r:.40}.", f"Use one of: {', '.join(LISTS)}.")
    return LISTS[name]


def _plain(table: Table, *left_out: str) -> tuple[Mapping[str, Kind], Callable[[Connection], Iterator[Row]]]:
    """Return columns and rows of a table as it stands."""
    kept = [one for one in table.columns if one.name not in left_out]
    kinds = {one.name: _kind(one.type.python_type) for one in kept}
    return kinds, lambda connection: rows(connection, table, *kept)


def _kind(python: type) -> Kind:
    return "whole" if python is int else "number" if python is float else "text"


_STATION: Final[Mapping[str, Kind]] = {
    "key": "text", "name": "text", "place": "text", "revision": "whole", "worst": "text", "proof": "text",
    "proof_words": "text", "released": "text", "struck": "text", "next_due": "text", "due_words": "text",
    "changed_at": "text", "made_at": "text",
    "made_by": "text", "latitude": "number", "longitude": "number",
}  # fmt: skip


def _stations(connection: Connection) -> Iterator[Row]:
    one, head, blob = tables.station, tables.revision, tables.blob
    asked = (
        select(one, blob.c.bytes)
        .outerjoin(head, and_(head.c.station == one.c.key, head.c.number == one.c.head))
        .outerjoin(blob, blob.c.hash == head.c.canonical)
        .order_by(*in_order(connection, one.c.key))
    )
    for row in found(connection, asked):
        latitude, longitude = coordinates(row.pop("bytes"))
        yield {name: row[name] for name in _STATION if name in row} | {
            "revision": row["head"], "latitude": latitude, "longitude": longitude,
        }  # fmt: skip


def coordinates(content: bytes | None) -> tuple[float | None, float | None]:
    """Return latitude and longitude a station file states [°, WGS 84]; None where it states none."""
    try:
        stated = json.loads(content or b"{}")["station"]["coordinates"]
        return float(stated["latitude"]), float(stated["longitude"])
    except (ValueError, KeyError, TypeError):
        return None, None


_VISIT: Final[Mapping[str, Kind]] = {
    "id": "text", "station": "text", "kind": "text", "title": "text", "plan_name": "text", "at": "text",
    "who": "text", "entries": "whole", "last_entry_at": "text",
}  # fmt: skip


def _visits(connection: Connection) -> Iterator[Row]:
    run, entry = tables.run, tables.entry
    entries = (
        select(entry.c.run, func.count().label("entries"), func.max(entry.c.at).label("last_entry_at"))
        .group_by(entry.c.run)
        .subquery()
    )
    asked = (
        select(run, func.coalesce(entries.c.entries, 0).label("entries"), entries.c.last_entry_at)
        .outerjoin(entries, entries.c.run == run.c.id)
        .order_by(*in_order(connection, run.c.station, run.c.at, run.c.id))
    )
    yield from ({name: row[name] for name in _VISIT} for row in found(connection, asked))


_RECORD: Final[Mapping[str, Kind]] = {
    "id": "text", "station": "text", "kind": "text", "name": "text", "title": "text", "media": "text",
    "run": "text", "at": "text", "who": "text", "bytes": "whole", "sha256": "text", "about": "text",
}  # fmt: skip


def _records(connection: Connection) -> Iterator[Row]:
    record, blob = tables.record, tables.blob
    asked: Select[Any] = (
        select(record, record.c.content.label("sha256"), blob.c.size.label("bytes"))
        .outerjoin(blob, blob.c.hash == record.c.content)
        .order_by(*in_order(connection, record.c.station, record.c.at, record.c.id))
    )
    yield from ({name: row[name] for name in _RECORD} for row in found(connection, asked))


_REASONS: Final[Mapping[str, Kind]] = {
    "what": "text", "why": "text", "counted": "text", "last_done": "text", "interval_months": "number",
    "interval_steps": "text", "deferred_on": "text", "deferred_reason": "text", "deferred_risk": "text",
    "deferred_measure": "text", "deferred_approver": "text", "deferred_by": "text",
}  # fmt: skip
"""What explains a line of upkeep: why it is due, from when its interval counts, why it was put off."""


def _upkeep() -> Listed:
    kinds, given = _plain(tables.due)
    kinds = {name: kind for name, kind in kinds.items() if name != "body"} | dict(_REASONS)

    def rows_of(connection: Connection) -> Iterator[Row]:
        for row in given(connection):
            yield row | _reasons(json.loads(row.pop("body")))

    return Listed(
        "upkeep", "What is due at each station and place, why, and why it was put off.", kinds, rows_of
    )


def _reasons(body: Mapping[str, Any]) -> Row:
    off = body.get("deferral") or {}
    return {
        "what": f"{body.get('noun', '')} {body.get('at') or 'of the station'}".strip(),
        "why": body.get("because") or body.get("counted", ""),
        "counted": body.get("counted", ""),
        "last_done": body.get("last", ""),
        "interval_months": float(body.get("months", 0.0)),
        "interval_steps": "; ".join(body.get("steps", ())),
        "deferred_on": off.get("on", ""),
        "deferred_reason": off.get("reason", ""),
        "deferred_risk": off.get("risk", ""),
        "deferred_measure": off.get("measure", ""),
        "deferred_approver": off.get("approver", ""),
        "deferred_by": off.get("who", ""),
    }


def _one(name: str, words: str, table: Table, *left_out: str) -> Listed:
    kinds, given = _plain(table, *left_out)
    return Listed(name, words, kinds, given)


LISTS: Final[dict[str, Listed]] = {
    one.name: one
    for one in (
        Listed(
            "stations",
            "Every station with its most serious finding, proof and next due.",
            _STATION,
            _stations,
        ),
        Listed("visits", "Every run of a plan.", _VISIT, _visits),
        Listed("records", "Every document, certificate and paper.", _RECORD, _records),
        _upkeep(),
        _one("doings", "Upkeep that was done, put off, or struck out.", tables.doing),
        _one("history", "The chain: everything that was done.", tables.audit),
        _one("revisions", "Every saving of a station file.", tables.revision),
        _one("listings", "Stations taken off the list or brought back.", tables.listing),
        _one("releases", "Every release.", tables.released),
        _one("entries", "Every line entered in a run, as it came.", tables.entry),
        _one("pieces", "Things that can be taken out and put in elsewhere.", tables.piece),
        _one("fittings", "What was put in and taken out, and where.", tables.fitting),
        _one("intervals", "Intervals people set.", tables.habit),
    )
}
"""Lists by name."""
