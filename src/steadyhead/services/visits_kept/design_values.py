"""Values of a design that proofs rest on, and which of them are others in a later file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from pydantic import BaseModel
from sqlalchemy import Connection, select

from steadyhead.records.parts import Reducer, Relief, ShutOff
from steadyhead.records.station import Station
from steadyhead.register.tables import blob, revision
from steadyhead.station.canonical import canonical, sha256
from steadyhead.station.load import load_json
from steadyhead.units import METRIC, say

AT_HAND = 64
"""Station files whose values are held at hand. Own estimate."""
SAME = 1e-9
"""Share by which two values may differ and be the same: rounding of units."""
NO_VALUE = ("source", "date", "confidence", "note", "data_sheet", "text", "directions", "observed", "factory")
"""Fields that say where a value comes from, and change nothing a proof rests on."""
_OF_VALVE = (
    "size",
    "resets",
    "dead_band",
    "senses",
    "sensing_tap",
    "closing_medium",
    "closes_by",
    "pilot",
    "closing",
)
_INLET = {
    "min": "lowest inlet pressure",
    "typical": "typical inlet pressure",
    "night": "night inlet pressure",
    "static": "highest static inlet pressure",
}


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a design.

    Parameters
    ----------
    words
        What it is.
    rests
        Beginnings of the names of things whose proofs rest on it.
    shown
        As typed; empty for what has no one figure.
    si
        In SI, or a hash of all that belongs together.
    """

    words: str
    rests: tuple[str, ...]
    shown: str
    si: float | str


def changed(then: Mapping[str, Value], now: Mapping[str, Value], rests: Iterable[str]) -> tuple[str, ...]:
    """Return in words what proofs rest on and is another value now; empty where nothing is.

    rests: things the proofs rest on; empty: not known, every value counts.
    """
    things = tuple(rests)
    return tuple(_changed(then, now, things))


def _changed(then: Mapping[str, Value], now: Mapping[str, Value], things: tuple[str, ...]) -> Iterator[str]:
    for name, was in then.items():
        if things and not any(one.startswith(was.rests) for one in things):
            continue
        new = now.get(name)
        if new is None:
            yield f"{was.words} is not in the station file any more"
        elif not _same(was.si, new.si):
            yield f"{was.words} {was.shown} is now {new.shown}" if was.shown else f"{was.words} changed"
    for name, new in now.items():
        if name not in then and (not things or any(one.startswith(new.rests) for one in things)):
            yield f"{new.words} {new.shown} is new in the station file".replace("  ", " ")


def _same(was: float | str, now: float | str) -> bool:
    if isinstance(was, float) and isinstance(now, float):
        return abs(was - now) <= SAME * max(abs(was), abs(now), 1.0)
    return was == now


def values_of(connection: Connection, digest: str) -> Mapping[str, Value] | None:
    """Return the values of a station file that is kept; None where it is not.

    digest: SHA-256 of the file's bytes.
    """
    found = connection.execute(
        select(revision.c.canonical).where(revision.c.file == digest).limit(1)
    ).scalar()
    if found is None:
        return None
    if found not in _at_hand:
        content = connection.execute(select(blob.c.bytes).where(blob.c.hash == found)).scalar_one()
        _at_hand[found] = values(load_json(bytes(content)).station)
        while len(_at_hand) > AT_HAND:
            del _at_hand[next(iter(_at_hand))]
    return _at_hand[found]


_at_hand: dict[str, Mapping[str, Value]] = {}


def values(station: Station) -> dict[str, Value]:
    """Return the values of a design that proofs rest on, by name."""
    found: dict[str, Value] = {}
    for name, words in _INLET.items():
        given = getattr(station.supply, name)
        if given is not None:
            found[f"supply.{name}"] = _value(words, ("design.inlet",), given)
    found["zone"] = Value(
        "what the station file says of the zone's pipes", ("design.zone",), "", _hash(station.zone)
    )
    for number, limit in enumerate(station.limits):
        name = f"limit.{limit.component}.{number}"
        for side in ("normal", "fault"):
            given = getattr(limit, side, None)
            if given is not None:
                found[f"{name}.{side}"] = _value(
                    f"{side} limit of {limit.component}", ("design.limits",), given
                )
    if station.alarm is not None:
        found["alarm"] = _value("high alarm", ("alarm.",), station.alarm.pressure)
    for part in station.parts():
        if isinstance(part, ShutOff | Relief | Reducer):
            found |= dict(_of_part(part))
    return found


def _of_part(part: ShutOff | Relief | Reducer) -> Iterator[tuple[str, Value]]:
    on = (f"{part.id}.",)
    if isinstance(part, Reducer):
        yield f"{part.id}.duty", _value(f"duty of {part.id}", (f"{part.id}.setting",), part.duty.pressure)
        if part.lockup is not None:
            yield f"{part.id}.lockup", _value(f"lock-up of {part.id}", (f"{part.id}.setting",), part.lockup)
        yield (
            f"{part.id}.valve",
            Value(f"valve {part.id}", on, "", _hash({n: getattr(part, n, None) for n in _OF_VALVE})),
        )
        return
    what, given = (
        ("trip", part.trip) if isinstance(part, ShutOff) else ("crack", getattr(part, "crack", None))
    )
    word = "trip" if what == "trip" else "crack pressure"
    if given is not None:
        yield f"{part.id}.{what}", _value(f"{word} of {part.id}", on, given)
    yield (
        f"{part.id}.valve",
        Value(f"valve {part.id}", on, "", _hash({n: getattr(part, n, None) for n in _OF_VALVE})),
    )


def _value(words: str, rests: tuple[str, ...], given: Any) -> Value:
    text = str(getattr(given, "text", "") or "")
    si = float(given.si)
    return Value(words, rests, text or say(si, "pressure", METRIC), si)


def _hash(given: Any) -> str:
    return sha256(canonical({"": _plain(given)}))


def _plain(given: Any) -> Any:
    """Return a record in SI without what only says where a value comes from."""
    if hasattr(given, "si"):
        return float(f"{given.si:.9g}")
    if isinstance(given, BaseModel):
        names = type(given).model_fields
        return {name: _plain(getattr(given, name)) for name in names if name not in NO_VALUE}
    if isinstance(given, Mapping):
        return {str(key): _plain(value) for key, value in given.items() if key not in NO_VALUE}
    if isinstance(given, list | tuple):
        return [_plain(one) for one in given]
    return given if isinstance(given, str | int | float | bool | None) else str(given)


@lru_cache(maxsize=8)
def values_in(source: bytes) -> Mapping[str, Value]:
    """Return the values of a station file at hand."""
    from steadyhead.station.load import load

    return values(load(source).station)
