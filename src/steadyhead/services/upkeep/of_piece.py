"""Pieces: the list of them, and the history of one, wherever it stood."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pydantic import BaseModel, ConfigDict
from sqlalchemy import Connection, func, or_, select

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.tables import doing, fitting, piece, station
from steadyhead.services.upkeep.past import STRUCK, about_of, piece_words
from steadyhead.services.upkeep.pieces import piece_row, struck_in
from steadyhead.upkeep.activities import BY_KEY
from steadyhead.upkeep.history import FOUND_WORDS

PAGE = 50
LONGEST_FIND = 100
STORE = "in the store"


class PieceLine(BaseModel):
    """One piece of the list; station, its name, place: where it stands, empty in the store."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    kind: str
    serial: str
    words: str
    station: str
    station_name: str
    place: str
    since: str


class PiecesView(BaseModel):
    """A page of pieces. before, after: rows passed on the pages before and after, −1 where there is none."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    q: str
    first: int
    last: int
    total: int
    before: int
    after: int
    rows: tuple[PieceLine, ...]


class PieceEvent(BaseModel):
    """One line of a piece's history: put in, taken out, done to it. can_strike: the last of its stays."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    on: str
    words: str
    station: str
    place: str
    more: str
    who: str
    is_struck: bool
    can_strike: bool


class PieceView(BaseModel):
    """A piece: what it is, where it stands, and everything it went through, newest first."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    kind: str
    serial: str
    words: str
    title: str
    station: str
    station_name: str
    place: str
    since: str
    events: tuple[PieceEvent, ...]


def pieces_list(register: Register, q: str = "", begin: int = 0) -> PiecesView:
    """Return a page of the pieces, found by serial number, kind or words.

    Raises
    ------
    InputError
        What cannot be found by, or a page that cannot be.
    """
    if len(q) > LONGEST_FIND or "\0" in q:
        raise InputError("q", f"has {len(q)} signs.", f"Find by {LONGEST_FIND} signs at most.")
    if not 0 <= begin <= 1_000_000:
        raise InputError("from", f"got {begin}.", "Write 0 to 1000000.")
    p = piece.c
    where = [
        or_(*(func.lower(column).contains(word, autoescape=True) for column in (p.serial, p.kind, p.words)))
        for word in q.casefold().split()[:8]
    ]
    with register.reading() as connection:
        total = int(connection.execute(select(func.count()).select_from(piece).where(*where)).scalar_one())
        query = select(piece).where(*where).order_by(p.kind, p.serial, p.id).limit(PAGE).offset(begin)
        rows = connection.execute(query).all()
        stands = _standing(connection, [row.id for row in rows])
    lines = tuple(
        PieceLine(
            id=row.id, kind=row.kind, serial=row.serial, words=row.words, **stands.get(row.id, _NOWHERE)
        )
        for row in rows
    )
    return PiecesView(
        q=q, first=begin + 1 if lines else 0, last=begin + len(lines), total=total,
        before=max(0, begin - PAGE) if begin else -1,
        after=begin + PAGE if begin + len(lines) < total else -1, rows=lines,
    )  # fmt: skip


_NOWHERE = {"station": "", "station_name": "", "place": "", "since": ""}


def _standing(connection: Connection, names: Sequence[str]) -> dict[str, dict[str, str]]:
    f = fitting.c
    order = (f.on, f.at, f.what.desc(), f.id)
    rows = connection.execute(select(fitting).where(f.piece.in_(names)).order_by(*order)).all()
    keys = {row.station for row in rows}
    struck = struck_in(connection, keys)
    query = select(station.c.key, station.c.name).where(station.c.key.in_(keys))
    named = {one.key: one.name for one in connection.execute(query)}
    found: dict[str, dict[str, str]] = {}
    for row in rows:
        if row.id in struck:
            continue
        if row.what == "in":
            found[row.piece] = {
                "station": row.station,
                "station_name": named.get(row.station, ""),
                "place": row.place,
                "since": row.on,
            }
        else:
            found.pop(row.piece, None)
    return found


def of_piece(register: Register, name: str) -> PieceView:
    """Return a piece with its history.

    Raises
    ------
    NotKept
        No such piece.
    """
    f, d = fitting.c, doing.c
    with register.reading() as connection:
        row = piece_row(connection, name)
        order = (f.on, f.at, f.what.desc(), f.id)
        stays = connection.execute(select(fitting).where(f.piece == name).order_by(*order)).all()
        stations = {one.station for one in stays}
        lines = connection.execute(
            select(doing).where(d.station.in_(stations), or_(d.piece == name, d.what == STRUCK))
        ).all()
        struck = {line.strikes for line in lines if line.what == STRUCK}
        standing = [one for one in stays if one.id not in struck]
        last = standing[-1] if standing and standing[-1].what == "in" else None
        named = ""
        if last is not None:
            named = (
                connection.execute(select(station.c.name).where(station.c.key == last.station)).scalar() or ""
            )
    newest = standing[-1].id if standing else ""
    events = [_fitted(one, struck, newest) for one in stays]
    events += [_done(one, struck) for one in lines if one.piece == name and one.what == "done"]
    events += [_struck(one) for one in lines if one.piece == name and one.what == STRUCK]
    events.reverse()
    events.sort(key=lambda one: one.on, reverse=True)
    return PieceView(
        id=row.id, kind=row.kind, serial=row.serial, words=row.words, title=piece_words(row.kind, row.serial),
        station=last.station if last else "", station_name=named, place=last.place if last else "",
        since=last.on if last else "", events=tuple(events),
    )  # fmt: skip


def _fitted(row: Any, struck: set[str], newest: str) -> PieceEvent:
    return PieceEvent(
        id=row.id, on=row.on, words="put in" if row.what == "in" else "taken out", station=row.station,
        place=row.place, more=row.why, who=row.who, is_struck=row.id in struck, can_strike=row.id == newest,
    )  # fmt: skip


def _done(row: Any, struck: set[str]) -> PieceEvent:
    about = about_of(row)
    more = [row.reason, FOUND_WORDS.get(about.get("found", ""), "")]
    return PieceEvent(
        id=row.id, on=row.on, words=BY_KEY[row.activity].noun if row.activity in BY_KEY else row.activity,
        station=row.station, place=row.place, more="; ".join(one for one in more if one), who=row.who,
        is_struck=row.id in struck, can_strike=False,
    )  # fmt: skip


def _struck(row: Any) -> PieceEvent:
    return PieceEvent(
        id=row.id, on=row.on, words="line struck out", station=row.station, place=row.place, more=row.reason,
        who=row.who, is_struck=False, can_strike=False,
    )  # fmt: skip
