"""Renew the rows of what is due at a station, inside the transaction that changed something of it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Protocol

from sqlalchemy import Connection, delete, func, insert, select, update

from steadyhead.errors import InputErrors
from steadyhead.records.station import Station
from steadyhead.register import Register
from steadyhead.register.tables import blob, due, fitting, revision, run
from steadyhead.services.upkeep.intervals import PROOFS
from steadyhead.services.upkeep.past import Kept, kept_in, past_of
from steadyhead.station.load import load_json
from steadyhead.upkeep.cautions import CAUTIONS, cautions
from steadyhead.upkeep.days import interval, later
from steadyhead.upkeep.due import Due, work_out
from steadyhead.upkeep.history import Past
from steadyhead.upkeep.places import piece_places
from steadyhead.upkeep.tasks import Task, tasks

AT_HAND = 256
"""Station files whose activities are held at hand. Own estimate."""
NAME_OF = {told: name for name, told in CAUTIONS.items()}


@dataclass(frozen=True, slots=True)
class Read:
    """A station file as far as upkeep asks: name, zone, activities with their cautions, places."""

    name: str
    zone: str
    tasks: tuple[tuple[Task, tuple[str, ...]], ...]
    places: dict[str, str]
    kind: str


def renew_due(connection: Connection, register: Register, key: str, day: date) -> None:
    """Work out anew what is due at a station.

    The rows follow from file and history alone: they stay true on every later day.
    """
    read = read_in(connection, key)
    connection.execute(delete(due).where(due.c.station == key))
    if read is None:
        return
    kept = kept_in(connection, key)
    rows = [_row(key, read, one, names) for one, names in all_due(read, kept)]
    if rows:
        connection.execute(insert(due), rows)


class Standing(Protocol):
    """How the proofs of a station stand, as far as upkeep asks."""

    @property
    def state(self) -> str:
        """``stale`` and ``refused`` count for no proof."""
        ...

    @property
    def words(self) -> str:
        """The state in words."""
        ...

    @property
    def since(self) -> str:
        """Day since when it is so, ISO; empty where none is known."""
        ...


def put_standing(connection: Connection, key: str, proof: Standing, day: date) -> None:
    """Let a proof that is stale or refused count for none: it is due since that change, else the last one."""
    if proof.state not in ("stale", "refused"):
        return
    c = due.c
    rows = connection.execute(select(due).where(c.station == key, c.activity.in_(PROOFS))).all()
    since = proof.since if proof.state == "stale" and proof.since else _last_change(connection, key, day)
    for row in rows:
        body = json.loads(row.body)
        if not body["last"] or body["was"] <= since:
            continue
        body |= {"because": proof.words, "was": since, "stale": True}
        values = {
            "on": max(row.until, since),
            "pull_from": min(row.pull_from, since),
            "body": json.dumps(body, ensure_ascii=False, separators=(",", ":")),
        }
        mine = (c.station == key) & (c.place == row.place) & (c.activity == row.activity)
        connection.execute(update(due).where(mine).values(values))


def _last_change(connection: Connection, key: str, day: date) -> str:
    """Return the day of the last revision, visit or fitting of a station, no later than a day."""
    found = [day.isoformat()]
    for table in (revision, run, fitting):
        newest = connection.execute(select(func.max(table.c.at)).where(table.c.station == key)).scalar()
        found += [str(newest)[:10]] if newest else []
    return min(found[0], max(found[1:], default=found[0]))


def all_due(read: Read, kept: Kept) -> list[tuple[Due, tuple[str, ...]]]:
    """Return everything that is due at a station, and the names of its cautions."""
    beginning = kept.beginning()
    found = []
    reliefs: list[date] = []
    crossings, foreseen = dict(kept.crossings), dict(kept.foreseen)
    for task, names in sorted(read.tasks, key=lambda one: one[0].activity.key == "trip_proof"):
        past = past_of(kept, task.activity.key, task.place, task.stands_in)
        if task.activity.key == "trip_proof":
            past = _with_reliefs(past, reliefs)
        # Loggers do not tell which of several places it is: the first one is named.
        name = task.activity.key
        past = replace(past, crossings=crossings.pop(name, ()), foreseen=foreseen.pop(name, ()))
        one = work_out(task, past, beginning)
        if task.activity.key == "relief_lift" and one.last is not None:
            reliefs.append(one.on)
        found.append((one, names))
    return found


def _with_reliefs(past: Past, reliefs: Sequence[date]) -> Past:
    return Past(past.done, past.deferrals, past.stay, past.habit, past.readings, tuple(reliefs))


def read_in(connection: Connection, key: str, digest: str | None = None) -> Read | None:
    """Return the last file of a station as far as upkeep asks; None where none can be read.

    digest: of its canonical JSON, where that is known already.
    """
    if digest is None:
        r = revision.c
        query = select(r.canonical).where(r.station == key).order_by(r.number.desc()).limit(1)
        digest = connection.execute(query).scalar()
    if digest is None:
        return None
    if digest not in _FILES:
        found = connection.execute(select(blob.c.bytes).where(blob.c.hash == digest)).scalar()
        _FILES[digest] = None if found is None else _read(bytes(found))
        while len(_FILES) > AT_HAND:
            del _FILES[next(iter(_FILES))]
    return _FILES[digest]


_FILES: dict[str, Read | None] = {}


def _read(canonical: bytes) -> Read | None:
    try:
        station = load_json(canonical).station
    except InputErrors:
        return None
    return Read(
        station.station.name, station.station.zone,
        tuple((task, _cautions(task, station)) for task in tasks(station)), piece_places(station),
        station.station.kind,
    )  # fmt: skip


def _cautions(task: Task, station: Station) -> tuple[str, ...]:
    if task.activity.key == "setting_review":
        return ()
    return tuple(NAME_OF[told] for told in cautions(task.activity.cautions, station))


def _row(key: str, read: Read, one: Due, names: tuple[str, ...]) -> dict[str, Any]:
    activity = one.task.activity
    acts = one.acts_on
    return {
        "station": key,
        "place": one.task.place,
        "activity": activity.key,
        "on": acts.isoformat(),
        "until": one.deferral.until.isoformat() if one.deferral else "",
        "pull_from": min(one.pull_from, acts).isoformat(),
        "weighs": activity.weighs,
        "isolation": one.task.isolation,
        "name": read.name,
        "zone": read.zone,
        "body": json.dumps(_body(one, names), ensure_ascii=False, separators=(",", ":")),
    }


def _body(one: Due, names: tuple[str, ...]) -> dict[str, Any]:
    activity, deferral = one.task.activity, one.deferral
    return {
        "does": activity.does,
        "noun": activity.noun,
        "at": one.task.at,
        "place": one.task.place,
        "finds": activity.finds,
        "interval": interval(one.interval.months),
        "months": one.interval.months,
        "own": one.interval.is_own,
        "steps": one.interval.steps,
        "last": one.last.on.isoformat() if one.last else "",
        "source": one.last.source if one.last else "",
        "line": one.last.id if one.last else "",
        "counted": one.counted_words,
        "from": one.counted_from.isoformat(),
        "put_in": one.counted_words if one.is_new_piece else "",
        "because": one.because,
        "crossed": [each.code for each in one.crossings],
        "evidence": next((each.href for each in (*one.crossings, one.foreseen) if each is not None), ""),
        "was": one.on.isoformat(),
        "until": deferral.until.isoformat() if deferral else "",
        "deferral": _deferral(one) if deferral else None,
        "deferrals": one.deferrals,
        "stale": False,
        "cautions": names,
        "piece": [one.piece.piece, one.piece.words, one.piece.since.isoformat()] if one.piece else None,
    } | ({"foreseen": one.foreseen.words} if one.foreseen is not None else {})


def _deferral(one: Due) -> dict[str, str]:
    deferral = one.deferral
    assert deferral is not None
    return {
        "id": deferral.id, "on": deferral.on.isoformat(), "reason": deferral.reason, "risk": deferral.risk,
        "measure": deferral.measure, "approver": deferral.approver, "who": deferral.who,
    }  # fmt: skip


def longest_deferral(on: date, months: float, day: date) -> date:
    """Return the last day something may be deferred to: half its interval on from its day, or from today."""
    from steadyhead.upkeep.defaults import DEFER_SHARE

    return later(max(on, day), months * DEFER_SHARE.si)
