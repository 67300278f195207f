"""How many jobs are under way, for the mark at the top of each page."""

from __future__ import annotations

from sqlalchemy import Connection, func, select

from steadyhead.register.jobs import OPEN
from steadyhead.register.tables import job


def count_running(connection: Connection) -> int:
    """Return how many jobs wait or are at work."""
    return int(connection.execute(select(func.count()).where(job.c.state.in_(OPEN))).scalar_one())
