"""Everything that was done at a station, from the audit chain, in words: the newest first."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from pydantic import BaseModel, ConfigDict
from sqlalchemy import Connection, select

from steadyhead.register import Register
from steadyhead.register.tables import audit, doing
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.stations.situation import say_day
from steadyhead.units import METRIC, UnitSet
from steadyhead.upkeep.places import PILOT

PAGE = 50
"""Lines of a page. [1]"""
READ = 2_000
"""Most links read for a page: hundreds of entries of a visit make one line. [1]"""
ENTRY = "entry taken in"
BESIDE = ("plan text kept", "plan paper kept", "logger file kept", "way of reading kept")
"""Acts that come with another one and are not told by themselves."""


class Line(BaseModel):
    """One thing done, or several alike in a row: when, by whom, what, and where to see it.

    seq, hash: of the newest link it tells of; count: how many links. at: when it was kept; on: the day of
    the work, where upkeep tells one.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    seq: int
    hash: str
    at: str
    who: str
    act: str
    words: str
    href: str
    count: int
    on: str = ""


class HistoryView(BaseModel):
    """A page of what was done at a station; before: link the next page begins below, 0 at the end."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: StationHead
    lines: tuple[Line, ...]
    before: int
    is_first: bool


def history_view(
    register: Register, key: str, below: int = 0, day: date | None = None, units: UnitSet = METRIC
) -> HistoryView:
    """Return a page of what was done at a station.

    below: number of a link; older ones are told. 0: from the newest.

    Raises
    ------
    NotKept
        No such station.
    """
    c = audit.c
    query = select(c.seq, c.at, c.who, c.act, c.body, c.hash).where(c.subject == key)
    if below > 0:
        query = query.where(c.seq < below)
    with register.reading() as connection:
        head = station_head(connection, register, key, day, units)
        rows = connection.execute(query.order_by(c.seq.desc()).limit(READ)).all()
        done = _upkeep_done(connection, rows)
    lines: list[Line] = []
    last, alike = 0, 0
    for row in rows:
        if lines and _is_alike(lines[-1], row):
            alike += 1
            last = row.seq
            continue
        lines, alike = _closed(lines, alike), 0
        if len(lines) == PAGE:
            break
        last = row.seq
        if row.act not in BESIDE:
            line = _line(key, row, json.loads(row.body) if row.body else {})
            lines.append(line.model_copy(update=done.get(row.seq, {})))
    lines = _closed(lines, alike)
    is_more = (bool(rows) and last > rows[-1].seq) or len(rows) == READ
    return HistoryView(
        station=head,
        lines=tuple(lines),
        before=last if is_more else 0,
        is_first=below <= 0,
    )


def _upkeep_done(connection: Connection, rows: Sequence[Any]) -> dict[int, dict[str, str]]:
    """Return words with the place, and the day of the work, of links that tell of upkeep, by their number."""
    links = {}
    for row in rows:
        told = json.loads(row.body) if f'"table":"{doing.name}"' in (row.body or "") else {}
        if told.get("table") == doing.name:
            links[str(told["key"][0])] = row
    d, found = doing.c, {}
    query = select(d.id, d.place, d.on, d.what).where(d.id.in_(list(links)))
    for kept in connection.execute(query) if links else ():
        link = links[kept.id]
        words = f"{link.act}, {_named(kept.place)}" if kept.place else link.act
        is_other_day = kept.what == "done" and kept.on and kept.on[:10] != link.at[:10]
        found[link.seq] = {"words": words, "on": say_day(kept.on) if is_other_day else ""}
    return found


def _is_alike(before: Line, row: Any) -> bool:
    """Return whether a link goes on with the line before it: entries of one visit by one person."""
    if row.act != ENTRY or before.act != ENTRY or before.who != row.who:
        return False
    return f'"run":{json.dumps(before.href.rpartition("/")[2])}' in row.body


def _closed(lines: list[Line], alike: int) -> list[Line]:
    """Return the lines, the last one telling of all that went on with it."""
    if alike:
        words = f"{alike + 1} entries taken in"
        lines[-1] = lines[-1].model_copy(update={"count": alike + 1, "words": words})
    return lines


def _line(key: str, row: Any, told: Mapping[str, Any]) -> Line:
    words, end = _words(row.act, told)
    return Line(
        seq=row.seq,
        hash=row.hash,
        at=row.at,
        who=row.who,
        act=row.act,
        words=words,
        href=f"/stations/{key}{end}" if end else "",
        count=1,
    )


def _words(act: str, told: Mapping[str, Any]) -> tuple[str, str]:
    """Return what is said of a link, and the end of the address it is seen at."""
    title, run = str(told.get("title", "")), str(told.get("run", ""))
    if act in ("station saved", "station added"):
        return f"{act}: revision {told.get('revision', '')}", f"/revisions?one={told.get('revision', '')}"
    if act == ENTRY:
        step, kind = str(told.get("step", "")), str(told.get("kind", "entry"))
        by = f", by {told['by']}" if told.get("by") else ""
        return f"entry taken in: {' '.join(filter(None, (step, kind)))}{by}", f"/runs/{run}"
    if act in ("visit begun", "entries refused"):
        return f"{act}: {title}", f"/runs/{run}"
    if act in ("plan made", "plan taken in"):
        return f"{act}: {title}", "/plans"
    if act == "trip reported":
        return f"{act}: {title}", "/runs"
    if act.startswith(("logger data", "logger key")):
        more = [str(told[name]) for name in ("title", "words", "reason") if told.get(name)]
        return f"{act}: {', '.join(more)}", "/logs"
    if told.get("table") == "record":
        end = "/surge" if act in ("study made", "traces kept") else "/records"
        title = title or str(told.get("study", ""))
        return f"{act}: {title}" if title else act, end
    if told.get("table") in ("doing", "habit", "fitting"):
        return _upkeep(act, told), "/upkeep"
    if told.get("table") == "released":
        return f"{act}: r{told.get('number', (told.get('key') or ['', ''])[-1])}", "/design"
    more = [str(told[name]) for name in ("title", "words", "reason", "name") if told.get(name)]
    return f"{act}: {', '.join(more)}" if more else act, ""


def _upkeep(act: str, told: Mapping[str, Any]) -> str:
    names = ("activity", "place", "on", "until", "what", "reason", "why")
    more = [_named(str(told[name])).replace("_", " ") for name in names if told.get(name)]
    return f"{act}: {', '.join(more)}" if more else act


def _named(place: str) -> str:
    """Return a place as a person says it: the pilot of a valve is kept beside it, as ``SO.pilot``."""
    return f"pilot of {place.removesuffix(PILOT)}" if place.endswith(PILOT) else place
