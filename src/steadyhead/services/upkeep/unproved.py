"""What protects a station and was never proved: said as such, whatever day it is due."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, select

from steadyhead.register.tables import due

GUARDS = {
    "trip_proof": ("shut-off", "prove its trip"),
    "monitor_proof": ("monitor", "prove that it holds"),
    "relief_lift": ("relief valve", "lift the relief valve"),
}
"""Activities that prove what protects: what that is, and what to do."""


@dataclass(frozen=True, slots=True)
class Unproved:
    """Something that protects and was never proved, as it stands there.

    Parameters
    ----------
    activity, place
        Of its line of upkeep.
    words
        What it is, as ``monitor MON``; with the piece, where that is newer than its proof.
    then
        What to do, a few words.
    until
        Day its proof was deferred to, ISO; empty where it was not.
    """

    activity: str
    place: str
    words: str
    then: str
    until: str = ""


def never_proved(connection: Connection, key: str, day: date) -> tuple[Unproved, ...]:
    """Return what protects a station and was never proved on a day, as the rows of what is due have it.

    A relief valve counts from the day its first lift is due; before that it waits for its first turn.
    """
    c = due.c
    query = select(c.activity, c.place, c.on, c.until, c.body).where(c.station == key, c.activity.in_(GUARDS))
    found = []
    for row in connection.execute(query.order_by(c.place)):
        body = json.loads(row.body)
        if body["last"] or (row.activity == "relief_lift" and str(body["was"]) >= day.isoformat()):
            continue
        kind, then = GUARDS[row.activity]
        named = f"{kind} {row.place}"
        words = f"{named}, {body['put_in'].partition(';')[0]}" if body["put_in"] else named
        found.append(Unproved(row.activity, row.place, words, then, str(row.until)))
    return tuple(sorted(found, key=lambda one: list(GUARDS).index(one.activity)))
