"""Fill a register with the example year."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

from sqlalchemy import func, select

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.tables import station
from steadyhead.services.example_year.stories import STORIES
from steadyhead.services.example_year.story_time import Days, StoryRegister
from steadyhead.services.example_year.teller import Teller
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.judged import today

Progress = Callable[[float, str], None]
"""Told how far it is, 0 to 1, and at which station."""
LATEST_DEED = timedelta(hours=5, minutes=12)
"""Into the last day (UTC), when the last thing of the year is told: a trip in the early morning."""


def last_day(now: datetime) -> date:
    """Return the last day that a year filled in now may tell of: nothing in it is to come."""
    return min(today(), (now.astimezone(UTC) - LATEST_DEED).date())


def fill(register: Register, progress: Progress | None = None, day: date | None = None) -> int:
    """Fill an empty register with a year of operations at invented stations; return how many there are.

    The same day gives the same year, the ids of its lines as well: stations, visits, certificates, trips,
    upkeep, pieces and papers, each with the day it is told of. Only what the signing key signs
    differs. Everything goes through the services that people use.

    Parameters
    ----------
    register
        An empty register.
    progress
        Told how far it is.
    day
        Last day of the year. Where left out: today, or yesterday as long as today's trip is still to come.

    Raises
    ------
    InputError
        The register holds stations already.
    """
    with register.reading() as connection:
        count = int(connection.execute(select(func.count()).select_from(station)).scalar_one())
    if count:
        raise InputError(
            "--example", f"got a register with {count} stations.", "Name a folder that is empty."
        )
    last = day or last_day(datetime.now(UTC))
    teller = Teller(StoryRegister(register, f"example year {last}"), Days(last))
    for at, (name, story) in enumerate(STORIES):
        if progress is not None:
            progress(at / len(STORIES), name)
        story(teller)
    with register.caching() as connection:
        for key in teller.files:
            renew(connection, register, key, last)
    if progress is not None:
        progress(1.0, "done")
    return len(STORIES)
