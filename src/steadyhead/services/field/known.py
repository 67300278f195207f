"""What is known at a station before a visit: instruments, people, values as left, a photo, like names."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, or_, select

from steadyhead.procedure.ledger import Fault, gathered, lines
from steadyhead.records.entry import Entry
from steadyhead.register.tables import blob, entry, run, station
from steadyhead.reports.card_left import as_left
from steadyhead.services.field.alike import Alike, Named, alike
from steadyhead.services.visits_kept.documents import is_picture
from steadyhead.services.visits_kept.filing import Filed, filed
from steadyhead.units import UnitSet

MOST_PHOTO = 3_000_000
"""Largest photo that goes along inside the pack. Own estimate: what a telephone takes. [bytes]"""
HAZARDS: Mapping[str, str] = {
    "confined space": "Confined space: test the air before and while somebody is down; one stays above. "
    "Entry by your own rules and permit.",
    "traffic": "Traffic: guard the lid on the side of the road before it is lifted.",
    "flooding": "Flooding: the place can fill. Keep the way out free; leave when the water rises.",
    "electric": "Electric parts: keep wet hands and tools off. A licensed person isolates them.",
    "lifting": "Lifting: lid and parts are heavy. Use a lifter; feet clear.",
    "noise": "Noise: wear ear protection and agree on signs.",
    "frost": "Frost: rungs and drains freeze; water that is let off makes ice.",
    "ladder": "Ladder: look at rungs and fixing before they carry you.",
    "animals": "Animals: look for nests, snakes, rats before you reach in.",
    "none known": "No hazard of this place is known. Look round before you go down.",
}
"""The usual caution at a place, in few words; local rules come first."""
UNTOLD = "The station file names no hazard of this place. Look round before you go down."
_ASKED = ("instrument", "person", "correction", "void")


def cautions(hazards: Sequence[str]) -> list[tuple[str, str]]:
    """Return the hazards of a place, each with its caution; one line that says so where none is named."""
    return [(tag, HAZARDS.get(tag, tag)) for tag in hazards] or [("", UNTOLD)]


def described(connection: Connection, key: str) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return instruments and people named in visits of a station, each as it was said last."""
    query = (
        select(entry.c.line)
        .join(run, run.c.id == entry.c.run)
        .where(run.c.station == key, or_(*(entry.c.line.like(f'%"{kind}"%') for kind in _ASKED)))
        .order_by(run.c.at, run.c.id, entry.c.seq)
    )
    rows = connection.execute(query).scalars()
    found = [one for one in _entries(rows) if one.kind in _ASKED]
    standing = gathered(found).standing
    instruments = {
        str(one.payload.get("name")): dict(one.payload) for one in standing if one.kind == "instrument"
    }
    people = {str(one.payload.get("name")): dict(one.payload) for one in standing if one.kind == "person"}
    return list(instruments.values()), list(people.values())


def _entries(rows: Iterable[str]) -> list[Entry]:
    content = b"".join(b" \n" + row.encode() + b"\n" for row in rows)
    return [one for one in lines(content, "entries") if not isinstance(one, Fault)]


def left_last(connection: Connection, key: str, units: UnitSet) -> list[dict[str, Any]]:
    """Return the values the newest certificate of a station left, in words."""
    every = [
        one for one in filed(connection, key, ("certificate",)) if not one.struck and "record" in one.about
    ]
    if not every:
        return []
    last = max(every, key=lambda one: (str(one.about.get("signed_at") or one.about.get("day", "")), one.at))
    record = last.about["record"]
    told = as_left(record, units)
    names = {one["key"]: str(one["what"]) for one in record["settings"]}
    noted = {one["key"]: (one["as_left"], str(one["quantity"])) for one in record["settings"]}
    return [
        {
            "key": name,
            "what": names.get(name, name),
            "value": value,
            "value_si": float(noted[name][0]["value"]),
            "flow_si": noted[name][0].get("flow"),
            "quantity": noted[name][1],
            "tap": told.taps.get(name, ""),
            "on": told.day,
            "run": last.run,
            "certificate": told.certificate,
        }
        for name, value in told.values.items()
    ]


def photo_of(connection: Connection, key: str) -> Filed | None:
    """Return the newest photo of a station that belongs to no visit."""
    every = filed(connection, key, ("photo",))
    return next((one for one in every if not one.struck and not one.run and is_picture(one)), None)


def photo_data(connection: Connection, one: Filed) -> str:
    """Return a photo as an address that holds it; empty where it is larger than `MOST_PHOTO`."""
    found = connection.execute(
        select(blob.c.bytes).where(blob.c.hash == one.digest, blob.c.size <= MOST_PHOTO)
    )
    content = found.scalar()
    if content is None:
        return ""
    return f"data:{one.media};base64,{base64.b64encode(bytes(content)).decode()}"


def alike_here(connection: Connection, one: Named) -> tuple[Alike, ...]:
    """Return the stations of the register that may be taken for one; the key stands for the id there."""
    rows = connection.execute(select(station.c.key, station.c.name, station.c.place, station.c.struck))
    return alike(one, (Named(row.key, row.key, row.name, row.place) for row in rows if not row.struck))
