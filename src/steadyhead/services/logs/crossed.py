"""Limits that stand crossed by the last judgements: for pages, lists, what is due, and plans."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import quote, urlencode

from sqlalchemy import Connection, select

from steadyhead.register.logs.imports import undone_of
from steadyhead.register.tables import due, record
from steadyhead.upkeep.activities import BY_KEY
from steadyhead.upkeep.days import later, told
from steadyhead.upkeep.history import Crossing

KIND = "judgement"
"""Kind of the record of a judgement, as in `judged`; lists must not wait for its engines."""
LIMIT_NAMES = ("limit:", "limit", "highest normal", "lower edge of the trip", "trip")
"""How the words of a limit begin."""
AHEAD_MONTHS = 12.0
"""How far ahead of the judgement a limit that will be met brings work forward. [months]"""


@dataclass(frozen=True, slots=True)
class Crossed:
    """A measure over its limit.

    Parameters
    ----------
    code, activity
        The measure, and the work that follows.
    words, limit, source
        Value and limit in words, and whose limit it is.
    judged, until
        Day of the judgement, and of the last sample it rests on.
    judgement, href
        Its record, and the rows it comes from.
    """

    code: str
    activity: str
    words: str
    limit: str
    source: str
    judged: date
    until: date
    judgement: str
    href: str

    @property
    def because(self) -> str:
        """Limit as the clause of a sentence, and what the claim rests on: never without its days."""
        for name in LIMIT_NAMES:
            if self.limit.startswith(f"{name} "):
                rest = self.limit.removeprefix(f"{name} ")
                return f"the {name.removesuffix(':')} is {rest}{self.against.removeprefix(self.limit)}"
        return f"of its {self.against}"

    @property
    def against(self) -> str:
        """Limit and what the claim rests on, as a note behind the measure."""
        days = f"as judged on {told(self.judged)} of data until {told(self.until)}"
        return f"{self.limit} ({self.source.partition(':')[0]}); {days}"


def crossed_in(connection: Connection, key: str) -> tuple[Crossed, ...]:
    """Return the limits that are crossed by the judgement with the latest data of each measure.

    A judgement of an import that was undone says nothing.
    """
    return tuple(found for found, told_of in _latest(connection, key) if told_of["crossed"])


def foreseen_in(connection: Connection, key: str) -> dict[str, tuple[Crossing, ...]]:
    """Return by the work that follows the limits that will be met within a year, by the same judgements.

    Each stands on the earliest day on which it may be met, not before it was judged.
    """
    out: dict[str, list[Crossing]] = {}
    for found, told_of in _latest(connection, key):
        if told_of["crossed"] or "earliest" not in told_of:
            continue
        meets, earliest, latest = (
            date.fromisoformat(told_of[name]) for name in ("meets", "earliest", "latest")
        )
        if earliest > later(found.judged, AHEAD_MONTHS):
            continue
        span = f"about {told(meets)}, between {told(earliest)} and {told(latest)}"
        words = f"{found.words}; loggers say that it meets its limit {span}, {found.against}"
        out.setdefault(found.activity, []).append(
            Crossing(found.code, max(earliest, found.judged), found.until, words, found.href)
        )
    return {name: tuple(some) for name, some in out.items()}


def _latest(connection: Connection, key: str) -> list[tuple[Crossed, dict[str, Any]]]:
    """Return what the judgement with the latest data of each measure says of its limit, and that as kept."""
    c = record.c
    rows = connection.execute(
        select(c.id, c.at, c.about).where(c.station == key, c.kind == KIND).order_by(c.at)
    ).all()
    if not rows:
        return []
    undone = undone_of(connection, key)
    latest: dict[str, tuple[str, Crossed, dict[str, Any]]] = {}
    for row in rows:
        about = json.loads(row.about)
        if undone & set(about.get("imports", ())):
            continue
        for one in about.get("held", ()):
            until = one.get("until") or about["last"]
            if one["code"] in latest and latest[one["code"]][0] > until:
                continue
            latest[one["code"]] = (until, _crossed(key, row.id, row.at, until, one), one)
    return [(found, one) for _, found, one in latest.values()]


def held_by(connection: Connection, key: str, judgement: str) -> tuple[dict[str, str], ...]:
    """Return what a judgement's measures were held against, as kept; see `limits.held_of`."""
    c = record.c
    asked = select(c.about).where(c.station == key, c.kind == KIND, c.id == judgement)
    about = connection.execute(asked).scalar()
    return tuple(json.loads(about).get("held", ())) if about else ()


def _crossed(key: str, judgement: str, at: str, until: str, one: dict[str, str]) -> Crossed:
    here = f"/stations/{quote(key)}/logs"
    rows = urlencode({"channel": one["channel"], "start": one["since"]})
    return Crossed(
        code=one["code"], activity=one["activity"], words=one["words"], limit=one["limit"],
        source=one["source"], judged=date.fromisoformat(at[:10]), until=date.fromisoformat(until[:10]),
        judgement=judgement,
        href=f"{here}/rows?{rows}" if one["channel"] else f"{here}/judged/{judgement}",
    )  # fmt: skip


def crossings_of(every: Iterable[Crossed]) -> dict[str, tuple[Crossing, ...]]:
    """Return crossed limits by the work that follows, as upkeep takes them."""
    out: dict[str, list[Crossing]] = {}
    for one in every:
        words = f"{one.words}, {one.against}"
        out.setdefault(one.activity, []).append(Crossing(one.code, one.judged, one.until, words, one.href))
    return {name: tuple(some) for name, some in out.items()}


def standing_in(connection: Connection, key: str, day: date) -> tuple[Crossed, ...]:
    """Return the crossed limits that somebody must see to: the work is neither done since nor deferred.

    Rows of what is due must be those of now.
    """
    every = crossed_in(connection, key)
    if not every:
        return ()
    c = due.c
    names = {one.activity for one in every}
    rows = connection.execute(
        select(c.activity, c.until, c.body).where(c.station == key, c.activity.in_(names))
    ).all()
    by_activity: dict[str, list[tuple[str, list[str]]]] = {}
    for row in rows:
        codes = json.loads(row.body).get("crossed", [])
        by_activity.setdefault(row.activity, []).append((row.until, codes))
    return tuple(one for one in every if _stands(one, by_activity.get(one.activity), day))


def _stands(one: Crossed, rows: list[tuple[str, list[str]]] | None, day: date) -> bool:
    if rows is None:
        return True
    return any(one.code in codes and until < day.isoformat() for until, codes in rows)


def does(one: Crossed) -> str:
    """Return what to do about it, a few words."""
    activity = BY_KEY.get(one.activity)
    words = activity.does if activity is not None else "look into it"
    return f"{words[0].lower()}{words[1:]}"
