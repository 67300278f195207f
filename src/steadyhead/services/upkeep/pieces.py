"""Pieces with a serial number: put into a place, taken out, moved on; each keeps its own history."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlalchemy import Connection, func, select

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.core import Writing
from steadyhead.register.tables import doing, fitting, piece
from steadyhead.services.ports import Clock
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.kept import NotKept, station_row
from steadyhead.services.upkeep.doings import Told, _Collecting, _now, _plain
from steadyhead.services.upkeep.past import kept_in, piece_words
from steadyhead.services.upkeep.renew import read_in
from steadyhead.upkeep.days import FIRST, latest, told

LONGEST_SERIAL = 60


def put_in_new(
    register: Register, key: str, who: str, *, place: str, serial: str, on: str, why: str, words: str = "",
    clock: Clock | None = None,
) -> Told:  # fmt: skip
    """Keep a new piece and put it into a place of a station.

    Parameters
    ----------
    place
        A place of the station file, as ``SO``, or ``SO.pilot``.
    serial
        Number on its plate; a piece of that kind and number is kept once.
    words
        What it is: make, size, range.
    on, why
        Day and reason.

    Raises
    ------
    InputErrors
        Every field that cannot be taken.
    """
    now = _now(clock)
    with register.writing(who) as writing:
        kind = kind_of(writing.connection, key, place)
        with _Collecting() as wrong:
            day = wrong.day("on", on, first=FIRST, last=latest(now))
            wrong.text("why", why, needed=True)
            wrong.text("words", words)
            wrong.check(_serial(writing.connection, kind, serial))
            if day is not None:
                wrong.check(_taken(writing.connection, key, place, day))
        assert day is not None
        name = writing.new_id()
        row = {
            "id": name,
            "kind": kind,
            "words": _plain(words),
            "serial": _plain(serial),
            "at": writing.at,
            "who": who,
        }
        writing.add(piece, row, "piece kept", key, piece=name)
        _fit(writing, key, place, name, day, "in", why)
        renew(writing, register, key, now.date())
        return Told(name, key, f"{piece_words(kind, serial)} put in {told(day)}")


def move(
    register: Register, name: str, who: str, *, on: str, why: str, key: str = "", place: str = "",
    clock: Clock | None = None,
) -> Told:  # fmt: skip
    """Take a piece out of where it stands, and put it into another place, where one is named.

    key, place: where to; empty: it goes to the store.

    Raises
    ------
    InputErrors
        Every field that cannot be taken: a place that is taken, a day before it was put in.
    NotKept
        No such piece.
    """
    now = _now(clock)
    with register.writing(who) as writing:
        connection = writing.connection
        row = piece_row(connection, name)
        stays = fittings_of(connection, name)
        stands = stays[-1] if stays and stays[-1].what == "in" else None
        with _Collecting() as wrong:
            day = wrong.day("on", on, first=FIRST, last=latest(now))
            wrong.text("why", why, needed=True)
            if stands is None and not place:
                wrong.check(
                    InputError("place", "it stands nowhere.", "Name the station and place it is put into.")
                )
            if day is not None and stays and day.isoformat() < stays[-1].on:
                problem = f"got {day.isoformat()}; its last line is of {stays[-1].on}."
                remedy = "Write that day or a later one, or strike that line out where it is wrong."
                wrong.check(InputError("on", problem, remedy))
            if place:
                kind = kind_of(connection, key, place)
                wrong.check(_fits(row.kind, kind, place), _same(stands, key, place))
                if day is not None:
                    wrong.check(_taken(connection, key, place, day))
        assert day is not None
        if stands is not None:
            _fit(writing, stands.station, stands.place, name, day, "out", why)
        if place:
            _fit(writing, key, place, name, day, "in", why)
        for station in {one for one in (key if place else "", stands.station if stands else "") if one}:
            renew(writing, register, station, now.date())
        where = f"put into {place} of {key}" if place else "taken out"
        return Told(name, key, f"{piece_words(row.kind, row.serial)} {where} {told(day)}")


def strike_fitting(
    register: Register, name: str, who: str, *, line: str, reason: str, clock: Clock | None = None
) -> Told:
    """Strike out the last line of where a piece stood, and the one told with it on a move.

    Raises
    ------
    InputErrors
        Not the last line of this piece, or no reason.
    """
    now = _now(clock)
    with register.writing(who) as writing:
        row = piece_row(writing.connection, name)
        stays = fittings_of(writing.connection, name)
        with _Collecting() as wrong:
            wrong.text("reason", reason, needed=True)
            if not stays or stays[-1].id != line:
                problem = f"got {line[:40]!r}, which is not the last line of this piece."
                wrong.check(
                    InputError("line", problem, "Strike the last line out first, then the one before it.")
                )
        together = [stays[-1]]
        if len(stays) > 1 and stays[-2].at == stays[-1].at and stays[-2].what == "out":
            together.append(stays[-2])
            _free_again(writing.connection, stays[-2], name)
        for one in together:
            struck = {"id": writing.new_id(), "station": one.station, "place": one.place, "piece": name,
                      "what": "struck", "on": now.date().isoformat(), "reason": _plain(reason),
                      "strikes": one.id, "at": writing.at, "who": who}  # fmt: skip
            writing.add(doing, struck, "line of a piece struck out", one.station, piece=name)
        for station in {one.station for one in together}:
            renew(writing, register, station, now.date())
        return Told(name, together[0].station, f"line of {piece_words(row.kind, row.serial)} struck out")


def _free_again(connection: Connection, out: Any, name: str) -> None:
    """Refuse to put a piece back by striking where another has come into its place meanwhile."""
    other = standing_at(connection, out.station, out.place)
    if other and other != name:
        problem = f"another piece stands in {out.place} of {out.station} by now."
        raise InputError("line", problem, "Move that one first.")


def piece_row(connection: Connection, name: str) -> Any:
    """Return the row of a piece.

    Raises
    ------
    NotKept
        No such piece.
    """
    found = connection.execute(select(piece).where(piece.c.id == name)).first()
    if found is None:
        raise NotKept("piece", f"{name[:40]!r} is not kept here.", "Look it up under Upkeep, Pieces.")
    return found


def fittings_of(connection: Connection, name: str) -> Sequence[Any]:
    """Return where a piece was put in and taken out, oldest first, lines struck out left away."""
    f = fitting.c
    rows = connection.execute(
        select(fitting).where(f.piece == name).order_by(f.on, f.at, f.what.desc(), f.id)
    ).all()
    struck = struck_in(connection, {row.station for row in rows})
    return [row for row in rows if row.id not in struck]


def struck_in(connection: Connection, stations: set[str]) -> set[str]:
    """Return the ids of lines struck out at some stations."""
    d = doing.c
    return set(
        connection.execute(select(d.strikes).where(d.station.in_(stations), d.what == "struck")).scalars()
    )


def standing_at(connection: Connection, key: str, place: str) -> str:
    """Return the piece that stands in a place now; empty where none is known."""
    last = _last_at(connection, key, place)
    return str(last.piece) if last is not None and last.what == "in" else ""


def _last_at(connection: Connection, key: str, place: str) -> Any:
    f = fitting.c
    rows = connection.execute(
        select(fitting).where(f.station == key, f.place == place).order_by(f.on, f.at, f.what.desc(), f.id)
    ).all()
    struck = struck_in(connection, {key})
    return next((row for row in reversed(rows) if row.id not in struck), None)


def kind_of(connection: Connection, key: str, place: str) -> str:
    """Return what kind of piece stands in a place: shut-off, pilot, strainer …

    Raises
    ------
    InputError
        The station has no such place.
    """
    station_row(connection, key)
    read = read_in(connection, key)
    known = {} if read is None else read.places
    if place not in known:
        listed = ", ".join(known) or "none"
        raise InputError("place", f"got {place[:40]!r}, which {key} has not.", f"Use one of: {listed}.")
    if known[place].startswith("pilot of"):
        return "pilot"
    return known[place].removesuffix(f" {place}").partition(f" {place},")[0]


def _fits(kind: str, needed: str, place: str) -> InputError | None:
    if kind == needed:
        return None
    return InputError(
        "place", f"got {place}, which takes a {needed}; this is a {kind}.", f"Pick a place of a {kind}."
    )


def _same(stands: Any, key: str, place: str) -> InputError | None:
    if stands is None or (stands.station, stands.place) != (key, place):
        return None
    return InputError(
        "place", f"it stands in {place} already.", "Name another place, or none to take it out."
    )


def _taken(connection: Connection, key: str, place: str, day: date) -> InputError | None:
    """Return why a place cannot be filled on a day: another piece stands in it, or came later."""
    last = _last_at(connection, key, place)
    if last is None:
        return None
    if last.what == "in":
        row = piece_row(connection, last.piece)
        problem = f"{place} holds {piece_words(row.kind, row.serial)} since {last.on}."
        return InputError("place", problem, "Take that one out first: two pieces cannot stand in one place.")
    if day.isoformat() < last.on:
        problem = f"got {day.isoformat()}; the piece before was taken out {last.on}."
        return InputError("on", problem, "Write that day or a later one.")
    return None


def _serial(connection: Connection, kind: str, serial: str) -> InputError | None:
    typed = _plain(serial)
    if not any(sign.isalnum() for sign in typed):
        return InputError("serial", "is not filled in.", "Write the number on its plate.")
    if len(typed) > LONGEST_SERIAL:
        return InputError(
            "serial", f"has {len(typed)} signs; {LONGEST_SERIAL} are taken.", "Write it shorter."
        )
    p = piece.c
    found = connection.execute(
        select(p.id).where(p.kind == kind, func.lower(p.serial) == typed.lower()).limit(1)
    ).scalar()
    if found is None:
        return None
    stays = fittings_of(connection, found)
    stands = stays and stays[-1].what == "in"
    where = f"stands in {stays[-1].place} of {stays[-1].station}" if stands else "is in the store"
    problem = f"got {typed}; {kind} {typed} is kept already and {where}."
    return InputError("serial", problem, "Move that piece: one piece cannot be in two places.")


def _fit(writing: Writing, key: str, place: str, name: str, day: date, what: str, why: str) -> None:
    row = {"id": writing.new_id(), "station": key, "place": place, "piece": name, "on": day.isoformat(),
           "what": what, "why": _plain(why), "at": writing.at, "who": writing.who}  # fmt: skip
    act = "piece put in" if what == "in" else "piece taken out"
    writing.add(fitting, row, act, key, piece=name, place=place)


__all__ = [
    "fittings_of", "kept_in", "kind_of", "move", "piece_row", "put_in_new", "standing_at", "strike_fitting",
]  # fmt: skip
