"""A trip that was reported: the station is shut until a restart is final."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.kept import station_row
from steadyhead.services.visits_kept.filing import LONGEST_REASON, Filed, keep
from steadyhead.station.canonical import canonical

FORMAT = "steadyhead/trip/1"
_OF_DAY = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")
TYPED_WITHIN = timedelta(minutes=15)
"""How far clocks may stand apart before a time counts as one to come. Own estimate."""
KNOWN_BY = (
    ("switch", "limit switch told the control room"),
    ("seen", "seen on site"),
    ("pressure", "outlet pressure fell away"),
    ("calls", "consumers called"),
    ("else", "otherwise"),
)
"""How a trip becomes known, by short name and in words."""


def report_trip(
    register: Register,
    key: str,
    since: str,
    who: str,
    *,
    valve: str = "",
    known_by: str = "else",
    words: str = "",
    at: str = "",
    day: date | None = None,
) -> Filed:
    """Keep that a station is shut by its shut-off: since when, by which valve, how it is known.

    Parameters
    ----------
    since
        *now*, a time of day by this machine's clock (the nearest past one), a day, or day and hour, ISO
        8601; with its offset from UTC where it has both.
    valve
        Id of the shut-off; empty: not known which.
    known_by, words
        One of `KNOWN_BY`, and more in words.

    Raises
    ------
    NotKept
        No such station.
    InputError
        A time that is none, or a way of knowing that is not listed.
    """
    if known_by not in dict(KNOWN_BY):
        raise InputError("known_by", f"got {known_by!r:.40}.", f"Pick one of: {', '.join(dict(KNOWN_BY))}.")
    told = _moment(since)
    about = {
        "since": told,
        "valve": " ".join(valve.split())[:40],
        "known_by": known_by,
        "words": " ".join(words.split())[:LONGEST_REASON],
    }
    title = f"trip of {about['valve'] or 'a shut-off'}, shut since {told[:16].replace('T', ' ')}"
    with register.writing(who, at) as writing:
        station_row(writing.connection, key)
        one = keep(
            writing,
            key,
            "trip",
            canonical({"format": FORMAT, **about}),
            name="trip.json",
            title=title,
            about=about,
            act="trip reported",
        )
        renew(writing, register, key, day)
    return one


def _moment(text: str, now: datetime | None = None) -> str:
    said = text.strip()
    remedy = (
        "Write now, a time of day, 02:47, a day, 2027-06-23, or day and hour with the offset from UTC, "
        "2027-06-23T02:47+01:00."
    )
    clock = now or datetime.now().astimezone()
    of_day = _OF_DAY.fullmatch(said)
    if said == "now":
        return clock.isoformat(timespec="minutes")
    if of_day:
        found = clock.replace(hour=int(of_day[1]), minute=int(of_day[2]), second=0, microsecond=0)
        return (found if found <= clock else found - timedelta(days=1)).isoformat(timespec="minutes")
    try:
        found = datetime.fromisoformat(said)
    except ValueError:
        raise InputError("since", f"got {text!r:.40}.", remedy) from None
    is_ahead = found > clock + TYPED_WITHIN if found.tzinfo else False
    if is_ahead or found.date() > clock.astimezone(UTC).date() + timedelta(days=1):
        raise InputError("since", f"got {text!r:.40}, which is to come.", remedy)
    if len(said) == 10:
        return found.date().isoformat()
    if found.tzinfo is None:
        raise InputError("since", f"got {text!r:.40} without its offset from UTC.", remedy)
    return found.isoformat(timespec="minutes")
