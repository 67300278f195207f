"""How many jobs are under way, for the mark at the top of each page."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, func, select

from steadyhead.register.jobs import OPEN
from steadyhead.register.tables import job


@dataclass(frozen=True, slots=True)
class Open:
    """How many jobs are at work, and how many wait."""

    at_work: int = 0
    waiting: int = 0

    @property
    def words(self) -> str:
        """Both in words, e.g. ``1 at work, 2 waiting``; empty where there is none."""
        told = ((self.at_work, "at work"), (self.waiting, "waiting"))
        return ", ".join(f"{count} {words}" for count, words in told if count)


def count_open(connection: Connection) -> Open:
    """Return how many jobs are at work and wait."""
    query = select(job.c.state, func.count()).where(job.c.state.in_(OPEN)).group_by(job.c.state)
    counts = {state: int(count) for state, count in connection.execute(query)}
    running = counts.get("running", 0)
    return Open(running, sum(counts.values()) - running)
