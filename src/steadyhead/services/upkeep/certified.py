"""What a final certificate counts for: proofs, checks and openings that were done on its day."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, select

from steadyhead.errors import StationError
from steadyhead.register.tables import blob, record
from steadyhead.upkeep.history import Done

VALID = "valid"
OPENED = "Y5O."
"""Beginning of the steps at which a yearly visit opens a filter or a strainer."""
HELD = 64
"""Certificates whose records are held at hand. Own estimate."""


@dataclass(frozen=True, slots=True)
class Counted:
    """One activity at one place that a certificate counts for."""

    activity: str
    place: str
    done: Done


def certificates_in(connection: Connection, key: str) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """Return the final certificates of a station: id of the row and the signed record, oldest first.

    A revision takes the place of the one before it; what was struck out or is not proved counts for nothing.
    """
    c = record.c
    rows = connection.execute(
        select(c.id, c.kind, c.content, c.about)
        .where(c.station == key, c.kind.in_(("certificate", "strike")))
        .order_by(c.at, c.id)
    ).all()
    struck = {_plain(row.about).get("strikes") for row in rows if row.kind == "strike"}
    newest: dict[str, tuple[str, Mapping[str, Any]]] = {}
    for row in rows:
        if row.kind == "strike" or row.id in struck:
            continue
        found = _record(connection, row.content, row.about)
        if found is not None and found.get("station_id", key) == key:
            newest[str(found.get("number", row.id))] = (row.id, found)
    final = (one for one in newest.values() if one[1].get("standing") == "final")
    return tuple(sorted(final, key=lambda one: (str(one[1].get("day", "")), one[0])))


def _record(connection: Connection, content: str, about: str) -> Mapping[str, Any] | None:
    """Return the signed record of a kept certificate; None where it is none that can be read."""
    told = _plain(about)
    if told.get("proved") is False:
        return None
    inside = told.get("record")
    if isinstance(inside, Mapping) and "trips" in inside:
        return inside
    if content not in _AT_HAND:
        found = connection.execute(select(blob.c.bytes).where(blob.c.hash == content)).scalar()
        _AT_HAND[content] = None if found is None else _in_paper(bytes(found))
        while len(_AT_HAND) > HELD:
            del _AT_HAND[next(iter(_AT_HAND))]
    return _AT_HAND[content]


_AT_HAND: dict[str, Mapping[str, Any] | None] = {}


def _in_paper(content: bytes) -> Mapping[str, Any] | None:
    from steadyhead.services.certificates.verifying import verify

    if not content.startswith(b"%PDF"):
        found = _plain(content)
        return found if "trips" in found else None
    try:
        verified = verify(content)
    except StationError:
        return None
    proved = verified.part("signature").proved and verified.part("record").proved
    return dict(verified.record) if proved else None


def _plain(text: str | bytes) -> Mapping[str, Any]:
    try:
        found = json.loads(text) if text else {}
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}


def counted(certificates: Sequence[tuple[str, Mapping[str, Any]]]) -> tuple[Counted, ...]:
    """Return everything the final certificates of a station count for, oldest first."""
    left: dict[str, float] = {}
    found: list[Counted] = []
    for name, one in certificates:
        day = _day(one.get("day"))
        if day is not None:
            found += _of_one(name, one, day, left)
        for setting in one.get("settings", ()):
            noted = setting.get("as_left")
            if noted is not None and isinstance(noted.get("value"), float):
                left[str(setting.get("key"))] = noted["value"]
    return tuple(found)


def _of_one(name: str, one: Mapping[str, Any], day: date, left: Mapping[str, float]) -> Iterator[Counted]:
    def done(at: object = None, moved: float | None = None) -> Done:
        who = next(
            (str(sign.get("who", "")) for sign in reversed(one.get("signatures", ())) if sign.get("stands")),
            "",
        )
        return Done(_day(at) or day, who, "certificate", str(one.get("number", "")), moved=moved, id=name)

    for trip in one.get("trips", ()):
        if trip.get("state") == VALID:
            valve = str(trip.get("valve"))
            kind = "relief_lift" if trip.get("what") == "relief" else "trip_proof"
            yield Counted(kind, valve, done(trip.get("at"), _moved(one, trip, left)))
    alarm = False
    for proof in one.get("proofs", ()):
        if proof.get("state") != VALID:
            continue
        place, _, what = str(proof.get("name", "")).partition(".")
        if place == "alarm" and not alarm:
            alarm = True
            yield Counted("alarm_check", "", done(proof.get("at")))
        elif what == "duty":
            yield Counted("functional_check", place, done(proof.get("at")))
        elif what == "stands_in":
            yield Counted("monitor_proof", place, done(proof.get("at")))
        elif what == "tight":
            yield Counted("isolating_travel", place, done(proof.get("at")))
    for step in one.get("tests", ()):
        place = str(step.get("step", ""))
        if place.startswith(OPENED) and step.get("state") == "done":
            place = place.removeprefix(OPENED)
            yield Counted("opened", place, done(step.get("at")))


def _moved(one: Mapping[str, Any], trip: Mapping[str, Any], left: Mapping[str, float]) -> float | None:
    """Return how far a trip had moved since it was left last, over its tolerance; None: not known."""
    key = f"{trip.get('valve')}.trip"
    found = next((s.get("as_found") for s in one.get("settings", ()) if s.get("key") == key), None)
    low, high = trip.get("low"), trip.get("high")
    if found is None or key not in left or not isinstance(low, float) or not isinstance(high, float):
        return None
    value = found.get("value")
    return (value - left[key]) / ((high - low) / 2.0) if isinstance(value, float) and high > low else None


@lru_cache(maxsize=4096)
def _read_day(text: str) -> date | None:
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        return None


def _day(text: object) -> date | None:
    """Return the day a time was written on, as the clock at the station had it."""
    return _read_day(text) if isinstance(text, str) else None
