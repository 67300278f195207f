"""Least and most of an import made ready after it is kept, so that the first look at it does not wait.

All of it is derived: whatever stops it, the samples are kept as they were, and the first look makes the rest.
"""

from __future__ import annotations

from contextlib import suppress

import polars as pl

from steadyhead.errors import StationError
from steadyhead.register import Register
from steadyhead.register.logs import LogsFolder, channels_of
from steadyhead.register.logs.buckets import make_ready
from steadyhead.register.logs.frames import groups
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

LEAST = 100_000
"""Samples of a month of a channel below which a first look is quick anyway. Own estimate."""


def warm(
    register: Register,
    logs: LogsFolder,
    key: str,
    number: int,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> int:
    """Make buckets of the months that an import touches, one at a time; return of how many.

    number: of the import; 0 where nothing was new.
    """
    made = 0
    with suppress(StationError, OSError, pl.exceptions.PolarsError):
        with register.reading() as connection:
            channels = channels_of(connection, key) if number else []
        wanted = [
            stretch
            for one in channels
            for stretch in groups(one.parts)
            if any(each == number for each, _ in stretch) and sum(part.count for _, part in stretch) >= LEAST
        ]
        for stretch in wanted:
            if cancel():
                break
            progress(made, len(wanted), "pictures made ready")
            make_ready(logs, stretch)
            made += 1
    return made
