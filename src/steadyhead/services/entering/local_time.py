"""A day and a time as a clock on the wall showed them, in a zone: daylight saving is told, never guessed."""

from __future__ import annotations

import difflib
from datetime import UTC, date, datetime, time, timedelta, timezone
from functools import lru_cache
from itertools import pairwise
from typing import Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from steadyhead.errors import InputError

Which = Literal["", "first", "second"]
"""Which of the two hours is meant on the night the clocks go back."""
_FORMS = ("%H:%M", "%H:%M:%S", "%H.%M")


@lru_cache(maxsize=1)
def _known() -> dict[str, str]:
    return {name.casefold(): name for name in available_timezones()}


def zone_of(name: str) -> ZoneInfo:
    """Return a zone by its name in the tz database.

    Raises
    ------
    InputError
        No such zone, with the nearest name.
    """
    found = _known().get(name.strip().replace(" ", "_").casefold())
    try:
        return ZoneInfo(found or name.strip())
    except (ZoneInfoNotFoundError, ValueError, OSError):
        close = difflib.get_close_matches(name.strip().casefold(), _known(), n=1)
        hint = f"Did you mean {_known()[close[0]]}?" if close else "Write e.g. Europe/Dublin or UTC."
        raise InputError("zone", f"got {name!r:.60}, which is no zone.", hint) from None


def local(day: str, clock: str, zone: str, which: Which = "") -> datetime:
    """Return the moment a clock on the wall showed, with the offset that held there.

    Parameters
    ----------
    day, clock
        As typed: 2027-03-28 and 12:55 or 12:55:20.
    zone
        Name in the tz database.
    which
        The first or the second such hour of a night on which the clocks go back.

    Raises
    ------
    InputError
        No day, no time, no zone; an hour that was left out that night, or one that came twice.

    Examples
    --------
    >>> local("2027-07-01", "12:55", "Europe/Dublin").isoformat()
    '2027-07-01T12:55:00+01:00'
    """
    tz = zone_of(zone)
    shown = datetime.combine(_day(day), _clock(clock))
    early, late = (shown.replace(tzinfo=tz, fold=fold) for fold in (0, 1))
    before, after = (one.utcoffset() or timedelta() for one in (early, late))
    if before == after:
        return _fixed(shown, before)
    if early.astimezone(UTC).astimezone(tz).replace(tzinfo=None) != shown:
        problem = f"got {clock}: the clocks of {tz.key} went forward over that hour on {day}."
        raise InputError("time", problem, "Write the time the clock showed, an hour earlier or later.")
    if not which:
        problem = f"got {clock}: that hour came twice on {day}, for the clocks of {tz.key} went back."
        raise InputError("time", problem, "Choose the first or the second one.")
    return _fixed(shown, before if which == "first" else after)


def zone_words(moment: datetime, zone: str) -> str:
    """Return how clocks of a zone stood at a moment: ``UTC+01:00, daylight saving time``."""
    there = moment.astimezone(zone_of(zone))
    # the tz database tells summer as standard time of some places: what counts is that clocks are ahead
    standard = min((there.replace(month=month, day=15).utcoffset() or timedelta()) for month in (1, 7))
    saving = ", daylight saving time" if (there.utcoffset() or timedelta()) > standard else ""
    return f"UTC{there.isoformat()[-6:]}{saving}"


def comes_twice(day: date, zone: str) -> bool:
    """Return whether clocks of a zone go back on a day or the one after it, so that an hour comes twice."""
    tz = zone_of(zone)
    hours = (datetime.combine(day, time()) + timedelta(minutes=30 * each) for each in range(96))
    offsets = [one.replace(tzinfo=tz).utcoffset() or timedelta() for one in hours]
    return any(later < early for early, later in pairwise(offsets))


def _fixed(shown: datetime, offset: timedelta) -> datetime:
    return shown.replace(tzinfo=timezone(offset))


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError("day", f"got {text!r:.40}, which is no day.", "Write e.g. 2027-04-14.") from None


def _clock(text: str) -> time:
    for form in _FORMS:
        try:
            return datetime.strptime(text.strip(), form).time()
        except ValueError:
            continue
    raise InputError("time", f"got {text!r:.40}, which is no time of day.", "Write 12:55 or 12:55:20.")
