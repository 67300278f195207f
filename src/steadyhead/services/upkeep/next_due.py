"""What upkeep of a station is due next."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, select

from steadyhead.register.tables import due
from steadyhead.upkeep.words import since_words


@dataclass(frozen=True, slots=True)
class NextDue:
    """The next thing due at a station.

    Parameters
    ----------
    on
        Day it is due, ISO; empty where nothing is due.
    words
        What is due, e.g. ``cleaning of the strainer ST``.
    why
        Why it is due.
    overdue_days
        Days since then; 0 where it is still to come.
    activity, place
        Which line of upkeep it is.
    is_never
        Whether it was never done on record.
    """

    on: str
    words: str
    why: str = ""
    overdue_days: int = 0
    activity: str = ""
    place: str = ""
    is_never: bool = False


def foreseen(connection: Connection, key: str) -> tuple[tuple[str, str], ...]:
    """Return the limits that loggers say will be met and that bring work forward: words, and their rows."""
    c = due.c
    asked = select(c.body).where(c.station == key, c.body.contains('"foreseen":')).order_by(c.on, c.activity)
    bodies = [json.loads(body) for body in connection.execute(asked).scalars()]
    return tuple((body["foreseen"], body["evidence"]) for body in bodies if body.get("foreseen"))


def next_due(connection: Connection, key: str, day: date) -> NextDue:
    """Return what is due next at a station; nothing planned: an empty day.

    Of what is overdue the one whose waiting costs most, then the oldest. Looks and readings done in passing
    are left to the lists of upkeep.
    """
    c, today = due.c, day.isoformat()
    rows = select(c.on, c.activity, c.place, c.body).where(c.station == key, c.weighs > 0).limit(1)
    found = connection.execute(rows.where(c.on < today).order_by(c.weighs.desc(), c.on, c.activity)).first()
    if found is None:
        found = connection.execute(rows.order_by(c.on, c.weighs.desc(), c.activity)).first()
    if found is None:
        return NextDue("", "nothing planned")
    body = json.loads(found.body)
    last = date.fromisoformat(body["last"]) if body["last"] else None
    why = since_words(
        body["noun"], last, date.fromisoformat(body["from"]), body["put_in"], body["because"], day
    ).rstrip(".")
    over = max(0, (day - date.fromisoformat(found.on)).days)
    return NextDue(
        found.on, f"{body['noun']} {body['place']}".strip(), f"{why[0].lower()}{why[1:]}", over,
        found.activity, found.place, is_never=last is None and not body["put_in"],
    )  # fmt: skip
