"""What is due as an iCalendar feed: all-day, with names that stay the same when a day moves."""

from __future__ import annotations

import json
import uuid
from collections import OrderedDict
from datetime import UTC, date, datetime
from typing import Any

from icalendar import Calendar, Event
from sqlalchemy import Connection, select

from steadyhead import __version__
from steadyhead.register import Register
from steadyhead.register.tables import audit, due, setting
from steadyhead.services.stations.judged import today
from steadyhead.services.stations.kept import station_row
from steadyhead.services.upkeep.lines import line_of
from steadyhead.upkeep.cautions import DEFERS
from steadyhead.upkeep.days import later

AHEAD_MONTHS = 12.0
"""How far ahead the feed reaches. [months]"""
MOST_EVENTS = 1_000
"""Most events of one feed; what waiting costs most comes first. Own estimate."""
AT_HAND = 16
"""Feeds held at hand until something is written. Own estimate."""
_ready: OrderedDict[tuple[Any, ...], bytes] = OrderedDict()


def feed(register: Register, *, station: str = "", home: str = "", day: date | None = None) -> bytes:
    """Return what is due up to a year ahead as an iCalendar file (RFC 5545).

    The same thing at the same place keeps its UID for ever: once done it moves to its next day. Looks and
    readings done in passing are left out. On a day that is past, what is overdue stands on its own day.

    Parameters
    ----------
    station
        Key of one station; empty: all.
    home
        Address of the app, for links; empty: none.

    Raises
    ------
    NotKept
        No such station.
    """
    day = day or today()
    with register.reading() as connection:
        if station:
            station_row(connection, station)
        head = connection.execute(select(audit.c.seq, audit.c.at).order_by(audit.c.seq.desc()).limit(1)).one()
        key = (str(register.engine.url), head.seq, station, home, day)
        if (found := _ready.get(key)) is not None:
            return found
        made = _made(connection, station, home, day, head.at)
    _ready[key] = made
    while len(_ready) > AT_HAND:
        _ready.popitem(last=False)
    return made


def _made(connection: Connection, station: str, home: str, day: date, changed: str) -> bytes:
    c = due.c
    query = select(due).where(c.weighs > 0, c.on <= later(day, AHEAD_MONTHS).isoformat())
    if station:
        query = query.where(c.station == station)
    rows = connection.execute(
        query.order_by(c.weighs.desc(), c.on, c.station, c.place, c.activity).limit(MOST_EVENTS + 1)
    ).all()
    name = connection.execute(select(setting.c.value).where(setting.c.name == "id")).scalar() or ""
    calendar = Calendar()
    calendar.add("prodid", f"-//steadyhead//upkeep {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", f"Upkeep {station}".strip())
    more = len(rows) > MOST_EVENTS
    limit = f" Only the first {MOST_EVENTS} stand here; the list in the app has all." if more else ""
    calendar.add("x-wr-caldesc", f"{DEFERS}{limit}")
    stamp = _moment(changed)
    for row in rows[:MOST_EVENTS]:
        calendar.add_component(_event(row, name, home, day, stamp))
    return bytes(calendar.to_ical())


def _event(row: Any, register_id: str, home: str, day: date, stamp: datetime) -> Event:
    body = json.loads(row.body)
    line = line_of(row, day, body)
    told = [line.why, line.costs, f"Interval {line.interval}."]
    if line.until:
        told.append(f"{line.state[0].upper()}{line.state[1:]}.")
    told.append(DEFERS)
    event = Event()
    event.add("uid", event_uid(register_id, row.station, row.place, row.activity))
    event.add("dtstamp", stamp)
    event.add("dtstart", date.fromisoformat(row.on))
    event.add("summary", f"{line.name}. {line.title}")
    event.add("description", "\n".join(told))
    event.add("location", f"{line.name} ({line.station})" + (f", {line.zone}" if line.zone else ""))
    event.add("transp", "TRANSPARENT")
    if home:
        event.add("url", f"{home}/stations/{row.station}/upkeep")
    return event


def event_uid(register_id: str, station: str, place: str, activity: str) -> str:
    """Return the name of an event: of register, station, place and activity, and of nothing that changes."""
    try:
        space = uuid.UUID(register_id)
    except ValueError:
        space = uuid.NAMESPACE_OID
    return str(uuid.uuid5(space, "\0".join((station, place, activity))))


def _moment(text: str) -> datetime:
    """Return the moment of a text of the chain, to the second, in UTC."""
    found = datetime.fromisoformat(text.replace("Z", "+00:00"))
    return found.astimezone(UTC).replace(microsecond=0)
