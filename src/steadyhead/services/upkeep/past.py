"""What the register knows of the upkeep of one station: doings, pieces, intervals, certificates."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sqlalchemy import Connection, or_, select

from steadyhead.register.reading import order_told
from steadyhead.register.tables import doing, fitting, habit, piece, station
from steadyhead.services.logs.crossed import crossed_in, crossings_of, foreseen_in
from steadyhead.services.upkeep.certified import Counted, certificates_in, counted
from steadyhead.upkeep.activities import INTO_SERVICE
from steadyhead.upkeep.history import Beginning, Crossing, Deferral, Done, Habit, Past, Stay

STRUCK = "struck"


@dataclass(frozen=True, slots=True)
class Kept:
    """Everything of one station.

    Parameters
    ----------
    made_on
        Day it was first kept here.
    lines
        Rows of `doing` of this station, and of its pieces elsewhere, oldest first.
    struck
        Ids of the lines and fittings struck out.
    stays
        The piece that stands in each place now.
    crossings
        Limits crossed by measures of loggers, by the activity they ask for.
    foreseen
        Limits that will be met, alike.
    """

    key: str
    made_on: date
    lines: Sequence[Any]
    struck: frozenset[str]
    stays: Mapping[str, Stay]
    habits: Mapping[tuple[str, str], Habit]
    certified: Sequence[Counted] = field(default_factory=tuple)
    crossings: Mapping[str, tuple[Crossing, ...]] = field(default_factory=dict)
    foreseen: Mapping[str, tuple[Crossing, ...]] = field(default_factory=dict)

    def standing(self) -> Iterable[Any]:
        """Yield the lines that count: neither struck out nor the striking itself."""
        return (line for line in self.lines if line.id not in self.struck and line.what != STRUCK)

    def beginning(self) -> Beginning:
        """Return the day from which everything counts that was never done."""
        told = [
            line.on for line in self.standing() if line.activity == INTO_SERVICE and line.station == self.key
        ]
        if told:
            return Beginning(date.fromisoformat(told[-1]), "the day it went into service")
        first = min((one.done.on for one in self.certified), default=self.made_on)
        if first < self.made_on:
            return Beginning(first, "the day of its first certificate")
        return Beginning(self.made_on, "the day it was first kept here")


def kept_in(connection: Connection, key: str, made: str = "") -> Kept:
    """Return everything of one station, as this transaction sees it.

    made: when it was first kept here, where that is known already.
    """
    s = station.c
    made = made or connection.execute(select(s.made_at).where(s.key == key)).scalar() or "1970-01-01"
    stays, elsewhere, fitted = _stays(connection, key)
    d = doing.c
    places = [d.station == key]
    pieces = {stay.piece for stay in stays.values()}
    if elsewhere:
        places.append(d.station.in_(elsewhere) & or_(d.piece.in_(pieces), d.what == STRUCK))
    lines = connection.execute(select(doing).where(or_(*places)).order_by(d.on, d.at, d.id)).all()
    struck = frozenset(line.strikes for line in lines if line.what == STRUCK)
    if struck & fitted:
        stays, elsewhere, _ = _stays(connection, key, struck)
    h = habit.c
    rows = list(connection.execute(select(habit).where(h.station == key).order_by(h.at, h.id)).all())
    if len(rows) > 1:
        told = order_told(connection, key, habit)
        rows.sort(key=lambda row: told.get(row.id, 0))
    habits = {(row.activity, row.place): Habit(row.months, row.reason, row.who, row.at) for row in rows}
    certified = counted(certificates_in(connection, key))
    crossings = crossings_of(crossed_in(connection, key))
    foreseen = foreseen_in(connection, key)
    first_day = date.fromisoformat(made[:10])
    return Kept(key, first_day, lines, struck, stays, habits, certified, crossings, foreseen)


def _stays(
    connection: Connection, key: str, struck: frozenset[str] = frozenset()
) -> tuple[dict[str, Stay], set[str], set[str]]:
    """Return the piece in each place, the other stations those pieces stood at, and ids of all fittings."""
    f, p = fitting.c, piece.c
    here = select(f.piece).where(f.station == key)
    rows = connection.execute(
        select(fitting, p.kind, p.serial).join(piece, p.id == f.piece).where(f.piece.in_(here))
        .order_by(f.on, f.at, f.what.desc(), f.id)
    ).all()  # fmt: skip
    first: dict[str, date] = {}
    stays: dict[str, Stay] = {}
    for row in rows:
        if row.id in struck:
            continue
        on = date.fromisoformat(row.on)
        first.setdefault(row.piece, on)
        if row.station != key:
            continue
        if row.what == "in":
            stays[row.place] = Stay(row.piece, piece_words(row.kind, row.serial), on, first[row.piece])
        elif row.place in stays and stays[row.place].piece == row.piece:
            del stays[row.place]
    return stays, {row.station for row in rows} - {key}, {row.id for row in rows}


def piece_words(kind: str, serial: str) -> str:
    """Return what a piece is called: its kind and serial number."""
    return f"{kind} {serial}".strip()


def past_of(kept: Kept, activity: str, place: str, stands_in: str = "") -> Past:
    """Return what is known of one activity at one place, and of the piece that stands there."""
    stay = kept.stays.get(stands_in) if stands_in else None
    done, deferrals, readings = [], [], []
    for line in kept.standing():
        mine = line.station == kept.key and line.place == place
        moved_in = stay is not None and line.piece == stay.piece
        if line.activity == activity and line.what == "done" and (mine or moved_in):
            done.append(done_of(line))
        elif line.activity == activity and line.what == "deferred" and mine:
            deferrals.append(_deferral_of(line))
        elif (
            line.activity == "strainer_reading"
            and activity == "strainer_clean"
            and mine
            and line.what == "done"
        ):
            readings.append(done_of(line))
    done += [one.done for one in kept.certified if one.place == place and _is(one.activity, activity)]
    return Past(tuple(done), tuple(deferrals), stay, kept.habits.get((activity, place)), tuple(readings))


def _is(counted_as: str, activity: str) -> bool:
    return counted_as == activity or (
        counted_as == "opened" and activity in ("strainer_clean", "pilot_filter")
    )


def done_of(line: Any) -> Done:
    """Return a line of `doing` as a time something was done."""
    about = about_of(line)
    ratio = about.get("ratio")
    return Done(
        date.fromisoformat(line.on), line.who, "entry", piece=line.piece, found=about.get("found", ""),
        ratio=float(ratio) if isinstance(ratio, int | float) else None, id=line.id,
    )  # fmt: skip


def _deferral_of(line: Any) -> Deferral:
    about = about_of(line)
    return Deferral(
        date.fromisoformat(line.on), date.fromisoformat(line.until), line.reason, line.risk,
        str(about.get("measure", "")), str(about.get("approver", "")), line.who, line.id,
    )  # fmt: skip


def about_of(line: Any) -> dict[str, Any]:
    """Return what more a line tells."""
    try:
        found = json.loads(line.about) if line.about else {}
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}
