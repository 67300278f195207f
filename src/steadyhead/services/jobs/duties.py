"""What a worker does quietly: renews gists when the day turns, makes pages of stations just saved ready."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from importlib import import_module
from typing import Final, cast

from sqlalchemy import select

from steadyhead.register import Register
from steadyhead.register.tables import station

PREPARERS: Final = (
    "steadyhead.services.stations.face:prepare",
    "steadyhead.services.studies.capacity:prepare",
    "steadyhead.services.studies.offer:prepare",
)
"""``module:function`` given the register and the key of a station; each makes something ready once."""
LOOKS_BACK = timedelta(hours=1)
"""How far back a worker that begins looks for stations that were saved."""
AT_ONCE = 20
LOG = logging.getLogger("steadyhead.jobs")


class Duties:
    """The quiet duties of one worker; `once` does what has come up."""

    def __init__(self, register: Register, is_ending: Callable[[], bool] = lambda: False) -> None:
        self._register = register
        self._is_ending = is_ending
        self._day: date | None = None
        self._judged: tuple[int, int] | None = None
        before = (datetime.now(UTC) - LOOKS_BACK).isoformat(timespec="milliseconds")
        self._since = (before.replace("+00:00", "Z"), "")

    def once(self) -> None:
        """Renew what is of another day, prepare what was saved since, judge visits that other code judged."""
        today = datetime.now(UTC).date()
        if today != self._day:
            self._renew(today)
            self._day = today
        self._prepare()
        self._judge()

    def _renew(self, day: date) -> None:
        from steadyhead.services.prepared import sweep
        from steadyhead.services.staging import clear_left
        from steadyhead.services.stations.gist import renew_old

        clear_left(self._register)
        sweep(self._register)
        while not self._is_ending() and renew_old(self._register, day):
            pass

    def _judge(self) -> None:
        """Judge anew the visits other code judged, or nobody; until then pages show the last known."""
        from steadyhead.services.visits_kept.run_gist import judge_anew, judged_counts

        if self._judged != (counts := judged_counts(self._register)):
            judge_anew(self._register, self._is_ending)
            self._judged = (counts[0], judged_counts(self._register)[1])

    def _prepare(self) -> None:
        c = station.c
        at, key = self._since
        changed = (c.changed_at > at) | ((c.changed_at == at) & (c.key > key))
        query = select(c.changed_at, c.key).where(changed).order_by(c.changed_at, c.key).limit(AT_ONCE)
        with self._register.reading() as connection:
            found = connection.execute(query).all()
        for changed_at, saved in found:
            if self._is_ending():
                return
            self._since = (changed_at, saved)
            for name in PREPARERS:
                _call(name, self._register, saved)


def _call(name: str, register: Register, key: str) -> None:
    module, _, function = name.partition(":")
    try:
        prepare = cast("Callable[[Register, str], None]", getattr(import_module(module), function))
        prepare(register, key)
    except Exception:
        LOG.exception("%s of %s", name, key)  # it is made when somebody looks
