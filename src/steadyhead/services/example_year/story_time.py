"""The time of the example year: what is kept bears the day it is told of, not the moment it is filled in."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone
from itertools import count

from steadyhead.register import Register, Writing
from steadyhead.station.canonical import sha256

ZONE = timezone(timedelta(hours=1))
"""Zone of the clocks on site."""


class StoryRegister(Register):
    """A register that is written to as of a moment of the story; the same seed gives the same ids."""

    def __init__(self, under: Register, seed: str = "") -> None:
        super().__init__(under.engine, under.folder)
        self._under = under
        self._ids = (f"{seed} {at}" for at in count(1))
        self.moment = ""

    @contextmanager
    def writing(self, who: str, at: str = "") -> Iterator[Writing]:
        """Give a transaction as of the moment of the story; see `Register.writing`."""
        with self._under.writing(who, at or self.moment) as writing:
            writing.new_id = self._next_id
            yield writing

    def _next_id(self) -> str:
        return str(uuid.UUID(hex=sha256(next(self._ids).encode())[:32], version=4))


@dataclass(frozen=True, slots=True)
class StoryClock:
    """A clock that stands at one moment."""

    moment: datetime

    def now(self) -> datetime:
        """Return the moment."""
        return self.moment


@dataclass(frozen=True, slots=True)
class Days:
    """Days counted back from the last day of the year."""

    last: date

    def before(self, days: int) -> date:
        """Return the day so many days before the last one."""
        return self.last - timedelta(days=days)

    def clock(self, days: int, hour: int = 15, minute: int = 0) -> StoryClock:
        """Return a clock at an hour of such a day."""
        return StoryClock(datetime.combine(self.before(days), time(hour, minute), UTC))

    def at(self, days: int, hour: int = 15, minute: int = 0) -> str:
        """Return a moment of such a day as the register keeps it."""
        return f"{self.before(days).isoformat()}T{hour:02d}:{minute:02d}:00.000Z"

    def on_site(self, days: int, hour: int = 7, minute: int = 50) -> datetime:
        """Return a moment of such a day as clocks on site have it."""
        return datetime.combine(self.before(days), time(hour, minute), ZONE)
