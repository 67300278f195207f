"""Fill a register with the example year."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

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


def fill(register: Register, progress: Progress | None = None, day: date | None = None) -> int:
    """Fill an empty register with a year of operations at invented stations; return how many there are.

    The same day gives the same year: stations, visits, certificates, trips, upkeep, pieces and papers, each
    with the day it is told of. Everything goes through the services that people use.

    Parameters
    ----------
    register
        An empty register.
    progress
        Told how far it is.
    day
        Last day of the year; today where left out.

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
    last = day or today()
    teller = Teller(StoryRegister(register), Days(last))
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
