"""The day on which the tests of upkeep are played, and what they ask of a register."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import select

from steadyhead.register import Register
from steadyhead.register.tables import due

WHO = "Ilse Marrow"
LONE, PAIR = "QUR-02", "VEL-Z1"
"""A station with one shut-off, and one with two streams and a relief valve."""
DAY = date(2027, 6, 30)


@dataclass(frozen=True)
class Fixed:
    """A clock that stands."""

    moment: datetime

    def now(self) -> datetime:
        """Return the moment."""
        return self.moment


CLOCK = Fixed(datetime(2027, 6, 30, 9, 0, tzinfo=UTC))


def row(register: Register, activity: str, place: str = "", key: str = LONE) -> Any:
    """Return a row of what is due, its body read."""
    with register.reading() as connection:
        found = connection.execute(
            select(due).where(due.c.station == key, due.c.activity == activity, due.c.place == place)
        ).one()
    return {**found._mapping, "body": json.loads(found.body)}
