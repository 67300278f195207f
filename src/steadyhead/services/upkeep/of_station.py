"""The upkeep of one station: what is due and why, what was done, which pieces stand where."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from typing import Any

from pydantic import BaseModel, ConfigDict
from sqlalchemy import Connection, select

from steadyhead.register import Register
from steadyhead.register.tables import due, revision, station
from steadyhead.services.page_words import called, on_day
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.stations.judged import today
from steadyhead.services.upkeep.all_due import _COLUMNS
from steadyhead.services.upkeep.lines import DueLine, line_of
from steadyhead.services.upkeep.past import STRUCK, Kept, about_of, kept_in
from steadyhead.services.upkeep.renew import longest_deferral, read_in
from steadyhead.units import METRIC, UnitSet
from steadyhead.upkeep.activities import BY_KEY, INTO_SERVICE
from steadyhead.upkeep.cautions import CAUTIONS, DEFERS
from steadyhead.upkeep.defaults import MOST_DEFERRALS
from steadyhead.upkeep.factors import NOT_KNOWN
from steadyhead.upkeep.history import FOUND_WORDS
from steadyhead.upkeep.places import isolation_words
from steadyhead.upkeep.waiting import NO_CLAIM

LINES = 100
"""Lines of the past that are shown. Own estimate."""


class StationLine(BaseModel):
    """One thing due at a station, with all that explains it.

    steps: how its interval came about; deferral: in force or run out, in words; most_until: last day it
    may be deferred to, empty where no more deferral is taken; least_months, most_months: what one's own
    interval may be; cautions: hazard and care.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    due: DueLine
    finds: str
    steps: tuple[str, ...]
    counted: str
    deferral: str
    most_until: str
    least_months: float
    most_months: float
    piece: str
    piece_words: str
    cautions: tuple[tuple[str, str], ...]


class StationGroup(BaseModel):
    """Things at one station under one isolation; words: of the section, empty where nothing is shut;
    cautions: of all its lines."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    isolation: str
    words: str
    cautions: tuple[tuple[str, str], ...]
    lines: tuple[StationLine, ...]


class PastLine(BaseModel):
    """One line of the past: what was done, deferred, or struck out, when and by whom.

    is_struck: it counts no more; can_strike: it may be struck out here.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    on: str
    words: str
    at: str
    place: str
    more: str
    who: str
    is_struck: bool
    can_strike: bool


class PlaceView(BaseModel):
    """A place of a station and the piece in it; piece: empty where none is known."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    place: str
    words: str
    piece: str
    piece_words: str
    since: str


class StationUpkeepView(BaseModel):
    """The upkeep of one station. begins: day from which what was never done counts, and what that day is."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: StationHead
    day: str
    groups: tuple[StationGroup, ...]
    past: tuple[PastLine, ...]
    places: tuple[PlaceView, ...]
    begins: str
    begins_words: str
    is_in_service: bool
    not_known: tuple[str, ...] = NOT_KNOWN
    no_claim: str = NO_CLAIM
    defers: str = DEFERS


def of_station(
    register: Register, key: str, day: date | None = None, units: UnitSet = METRIC
) -> StationUpkeepView:
    """Return the upkeep of a station.

    Raises
    ------
    NotKept
        No such station.
    """
    day = day or today()
    with register.reading() as connection:
        head = station_head(connection, register, key, day, units)
        rows = _rows(connection, key)
        made, digest = _made(connection, key)
        kept = kept_in(connection, key, made)
        read = read_in(connection, key, digest)
    begins = kept.beginning()
    return StationUpkeepView(
        station=head,
        day=day.isoformat(),
        groups=_groups(rows, day),
        past=_past(kept),
        places=_places({} if read is None else read.places, kept),
        begins=begins.on.isoformat(),
        begins_words=begins.words,
        is_in_service=begins.words.endswith("into service"),
    )


def _made(connection: Connection, key: str) -> tuple[str, str | None]:
    """Return when a station was first kept here, and the hash of the canonical JSON of its last file."""
    s, r = station.c, revision.c
    found = connection.execute(
        select(s.made_at, r.canonical)
        .outerjoin(revision, (r.station == s.key) & (r.number == s.head))
        .where(s.key == key)
    ).one()
    return str(found.made_at), found.canonical


def _rows(connection: Connection, key: str) -> Sequence[Any]:
    c = due.c
    query = select(*_COLUMNS).where(c.station == key).order_by(c.weighs.desc(), c.on, c.place, c.activity)
    return connection.execute(query).all()


def _groups(rows: Sequence[Any], day: date) -> tuple[StationGroup, ...]:
    found: dict[str, list[StationLine]] = {}
    for row in rows:
        found.setdefault(row.isolation, []).append(_line(row, day))
    return tuple(
        StationGroup(
            isolation=path,
            words=isolation_words(path) if path else "",
            cautions=tuple(dict.fromkeys(one for line in lines for one in line.cautions)),
            lines=tuple(lines),
        )
        for path, lines in found.items()
    )


def _line(row: Any, day: date) -> StationLine:
    body = json.loads(row.body)
    activity = BY_KEY[row.activity]
    piece, words, since = body["piece"] or ("", "", "")
    most = longest_deferral(date.fromisoformat(body["was"]), body["months"], day)
    return StationLine(
        due=line_of(row, day, body),
        finds=activity.finds,
        steps=tuple(body["steps"]),
        counted=body["counted"],
        deferral=_deferral(body),
        most_until=most.isoformat() if body["deferrals"] < MOST_DEFERRALS and most > day else "",
        least_months=activity.least,
        most_months=activity.most,
        piece=piece,
        piece_words=f"{words}, here since {since}" if piece else "",
        cautions=tuple(CAUTIONS[name] for name in body["cautions"]),
    )


def _deferral(body: dict[str, Any]) -> str:
    told = body["deferral"]
    if told is None:
        return ""
    return (
        f"Deferred {on_day(told['on'])} to {on_day(body['until'])}, because {told['reason']}. "
        f"Risk: {told['risk']}. Meanwhile: {told['measure']}. "
        f"Approved by {told['approver']}, entered by {called(told['who'])}."
    )


def _past(kept: Kept) -> tuple[PastLine, ...]:
    found = [_past_line(line, kept) for line in kept.lines if line.station == kept.key]
    for one in kept.certified:
        words = "opening of filter or strainer" if one.activity == "opened" else BY_KEY[one.activity].noun
        found.append(
            PastLine(
                id=one.done.id, on=one.done.on.isoformat(), words=words, at=one.done.on.isoformat(),
                place=one.place, more=one.done.source, who=one.done.who, is_struck=False, can_strike=False,
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda line: (line.on, line.at), reverse=True)[:LINES])


def _past_line(line: Any, kept: Kept) -> PastLine:
    about = about_of(line)
    noun = "went into service" if line.activity == INTO_SERVICE else ""
    noun = noun or (BY_KEY[line.activity].noun if line.activity in BY_KEY else line.activity)
    more = [line.reason]
    if line.what == "deferred":
        noun = f"{noun} deferred to {on_day(line.until)}"
        more += [f"risk: {line.risk}", f"meanwhile: {about.get('measure', '')}"]
        more.append(f"approved by {about.get('approver', '')}")
    elif line.what == STRUCK:
        noun = f"line struck out: {noun}" if noun else "line of a piece struck out"
    if about.get("found"):
        more.append(FOUND_WORDS.get(about["found"], ""))
    if about.get("ratio"):
        more.append(f"loss {about['ratio']:g} × clean")
    return PastLine(
        id=line.id, on=line.on, words=noun, at=line.at, place=line.place,
        more="; ".join(one for one in more if one), who=line.who, is_struck=line.id in kept.struck,
        can_strike=line.what != STRUCK and line.id not in kept.struck,
    )  # fmt: skip


def _places(places: dict[str, str], kept: Kept) -> tuple[PlaceView, ...]:
    found = []
    for place, words in places.items():
        stay = kept.stays.get(place)
        found.append(
            PlaceView(
                place=place, words=words, piece=stay.piece if stay else "",
                piece_words=stay.words if stay else "", since=stay.since.isoformat() if stay else "",
            )
        )  # fmt: skip
    return tuple(found)
