"""What heads every page of a station: name, state, revision, and the eight moments of its life."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from pydantic import BaseModel, ConfigDict
from sqlalchemy import Connection, select

from steadyhead.register import Register
from steadyhead.register.tables import gist, station
from steadyhead.services.stations.judged import today
from steadyhead.services.stations.kept import not_kept
from steadyhead.services.stations.situation import say_day
from steadyhead.units import METRIC, UnitSet, say_window

MOMENTS = ("face", "pressures", "capacity", "surge", "design", "visits", "records", "upkeep")
"""The moments of a station's life, as the life line shows them."""
HASH_SHOWN = 8
"""Characters of a hash that are shown."""


class Moment(BaseModel):
    """One moment of the life line: its latest fact, and whether it is done."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    fact: str
    is_done: bool


class StationHead(BaseModel):
    """What heads every page of a station.

    mark: `holds`, `due`, `slipped`, `dropped`, `struck` or `unknown`; state, because: how it stands, and why;
    released: revision the file is released as, in words; struck: why it is off the list; empty: on it.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    key: str
    name: str
    place: str
    mark: str
    state: str
    because: str
    weight: int
    revision: int
    file_hash: str
    released: str
    struck: str
    changed_at: str
    changed_by: str
    changed: str
    life: dict[str, Moment]


def station_head(
    connection: Connection,
    register: Register,
    key: str,
    day: date | None = None,
    units: UnitSet = METRIC,
) -> StationHead:
    """Return the head of a station's pages, with one statement.

    Raises
    ------
    NotKept
        No such station.
    """
    return head_and_body(connection, key, day, units)[0]


def head_and_body(
    connection: Connection, key: str, day: date | None = None, units: UnitSet = METRIC
) -> tuple[StationHead, Mapping[str, Any]]:
    """Return the head and the longer part of the gist it is made from; see `station_head`."""
    c = station.c
    query = (
        select(c.key, c.name, c.place, c.weight, c.head, c.struck, gist.c.body)
        .join(gist, gist.c.station == c.key)
        .where(c.key == key)
    )
    found = connection.execute(query).first()
    if found is None:
        raise not_kept(key)
    body = json.loads(found.body)
    at, who, act = body["changed"]
    head = StationHead(
        key=found.key,
        name=found.name,
        place=found.place,
        mark=body["mark"],
        state=body["state"],
        because=body["because"],
        weight=found.weight,
        revision=found.head,
        file_hash=body["file"][:HASH_SHOWN],
        released=released_words(found.head, *body["release"]),
        struck=found.struck,
        changed_at=at,
        changed_by=who,
        changed=act,
        life=_life(body, found.head, day or today(), units),
    )
    return head, body


def released_words(head: int, release: int, release_of: int) -> str:
    """Return which release a revision is, in words.

    Examples
    --------
    >>> released_words(7, 2, 7), released_words(7, 2, 5), released_words(7, 0, 0)
    ('released as r2', 'changed since r2', 'not released')
    """
    if not release:
        return "not released"
    return f"released as r{release}" if release_of == head else f"changed since r{release}"


def _life(body: Mapping[str, Any], head: int, day: date, units: UnitSet) -> dict[str, Moment]:
    release, release_of = body["release"]
    proof = body["proof"]
    facts = {
        "face": (body["layout"], True),
        "pressures": _window(body, units),
        "capacity": _capacity(body),
        "surge": _surge(body),
        "design": (released_words(head, release, release_of), bool(release) and release_of == head),
        "visits": _proof(proof),
        "records": _records(body["records"]),
        "upkeep": _upkeep(body["due"], day),
    }
    return {moment: Moment(fact=fact, is_done=done) for moment, (fact, done) in facts.items()}


def _window(body: Mapping[str, Any], units: UnitSet) -> tuple[str, bool]:
    """Return the trip window, which is done where it is open and rests on the protection proof."""
    if body["verdict"] == "no shut-off":
        return "no shut-off", True
    if body["verdict"] == "not known" or body["window"] is None:
        return "window not known", False
    is_proved = bool(body.get("is_proved"))  # a gist of earlier code does not say
    mark = "" if is_proved else ", lumped; not proved"
    if body["verdict"] == "empty":
        return f"window empty{mark}", False
    low, high = body["window"]
    return f"window {say_window(low, high, (), 'pressure', units)[0]}{mark}", is_proved


def _proof(proof: Mapping[str, Any]) -> tuple[str, bool]:
    """Return the proof state in few words; the pages of the visits say it whole."""
    short = {
        "none": "no proof yet",
        "due": f"proof due {say_day(proof['on'])}",
        "stale": f"proof stale since {say_day(proof['since'])}",
        "open": f"visit open since {say_day(proof['since'])}",
        "tripped": "tripped, shut",
        "refused": "a test refused",
    }
    told = short.get(proof["state"], proof["words"]).removesuffix("since").removesuffix("due").strip()
    return told, proof["state"] in ("stands", "due")


def _capacity(body: Mapping[str, Any]) -> tuple[str, bool]:
    travel = body["travel"]
    return ("not worked out", False) if travel is None else (f"{100 * travel:.0f} % open at peak", True)


def _surge(body: Mapping[str, Any]) -> tuple[str, bool]:
    credited, covered, *rest = body["peaks"]
    unknown = rest[0] if rest else 0  # a gist of earlier code does not say
    if not credited:
        return "nothing credited", False
    if unknown == credited:
        return "cover not known", False
    more = f", {unknown} not known" if unknown else ""
    if not body.get("is_proved", False):
        return f"{covered} of {credited} covered{more}, on lumped figures", False
    return f"{covered} of {credited} covered{more}", covered == credited


def _records(records: Mapping[str, int]) -> tuple[str, bool]:
    certificates = records.get("certificate", 0)
    total = sum(records.values())
    if certificates:
        return f"{certificates} certificate{'s' if certificates > 1 else ''}", True
    return (f"{total} kept", True) if total else ("none yet", False)


def _upkeep(due: Mapping[str, Any], day: date) -> tuple[str, bool]:
    if not due["on"]:
        return due["words"], False
    late = due["on"] < day.isoformat()
    return f"{due['words']} {'overdue since ' if late else ''}{say_day(due['on'])}", not late
