"""Keys by which loggers send files by themselves: each for one station, kept as a hash, ended at any time."""

from __future__ import annotations

import hashlib
import json
import re
import secrets
from datetime import date

from pydantic import BaseModel, ConfigDict
from sqlalchemy import Connection, delete, insert, select, update

from steadyhead.errors import InputError
from steadyhead.register import Register, tables
from steadyhead.services.names import one_line
from steadyhead.services.stations.kept import station_row

NAME = "logger key "
"""Begins the names of the settings that hold them; what an archive takes along names none of these."""
LONGEST = 60
"""Most characters of a logger's name. Own estimate."""
_FORM = re.compile(r"sh-[A-Za-z0-9_-]{43}")


class LoggerKey(BaseModel):
    """A key without its secret: number, station, which logger, when and by whom it was made.

    used: day it was used last, UTC; empty: not yet.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    station: str
    logger: str
    at: str
    who: str
    used: str = ""


class LoggerKeys(BaseModel):
    """The keys that hold for a station, the oldest first; `secret`: of the one just made, else empty."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    format: str = "steadyhead/logger-keys/1"
    station: str
    keys: tuple[LoggerKey, ...]
    secret: str = ""


def make_key(register: Register, station: str, logger: str, who: str) -> tuple[LoggerKey, str]:
    """Make a key of a station's logger and return it with its secret, which nobody can be shown again.

    Raises
    ------
    NotKept
        No such station.
    InputError
        The logger has no name.
    """
    logger = one_line("logger", logger, LONGEST)
    secret = f"sh-{secrets.token_urlsafe(32)}"
    with register.reading() as connection:
        station_row(connection, station)
    with register.writing(who) as writing:
        made = LoggerKey(id=secrets.token_hex(6), station=station, logger=logger, at=writing.at, who=who)
        row = {"name": f"{NAME}{_hash(secret)}", "value": made.model_dump_json()}
        writing.connection.execute(insert(tables.setting).values(row))
        writing.tell("logger key made", station, words=logger, id=made.id)
    return made, secret


def end_key(register: Register, station: str, id_: str, who: str) -> LoggerKey:
    """End a key: what is sent with it is refused from now on.

    Raises
    ------
    InputError
        The station has no such key.
    """
    with register.writing(who) as writing:
        for name, one in _all(writing.connection):
            if one.station == station and one.id == id_:
                writing.connection.execute(delete(tables.setting).where(tables.setting.c.name == name))
                writing.tell("logger key ended", station, words=one.logger, id=one.id)
                return one
    raise InputError("key", f"got {id_[:20]!r}, which holds no more.", "The page of the loggers names each.")


def keys_of(connection: Connection, station: str) -> tuple[LoggerKey, ...]:
    """Return the keys that hold for a station, the oldest first."""
    found = [one for _, one in _all(connection) if one.station == station]
    return tuple(sorted(found, key=lambda one: (one.at, one.id)))


def key_of(connection: Connection, secret: str) -> LoggerKey | None:
    """Return which key a secret is of; None: of none that holds."""
    if not _FORM.fullmatch(secret):
        return None
    asked = select(tables.setting.c.value).where(tables.setting.c.name == f"{NAME}{_hash(secret)}")
    found = connection.execute(asked).scalar()
    return None if found is None else LoggerKey(**json.loads(found))


def used(register: Register, secret: str, key: LoggerKey, day: date) -> None:
    """Note the day on which a key was used; the chain does not tell of it."""
    if key.used == day.isoformat():
        return
    c = tables.setting.c
    with register.caching() as connection:
        noted = key.model_copy(update={"used": day.isoformat()}).model_dump_json()
        connection.execute(
            update(tables.setting).where(c.name == f"{NAME}{_hash(secret)}").values(value=noted)
        )


def listed(register: Register, station: str) -> LoggerKeys:
    """Return the keys that hold for a station.

    Raises
    ------
    NotKept
        No such station.
    """
    with register.reading() as connection:
        station_row(connection, station)
        return LoggerKeys(station=station, keys=keys_of(connection, station))


def _all(connection: Connection) -> list[tuple[str, LoggerKey]]:
    asked = select(tables.setting).where(tables.setting.c.name.like(f"{NAME}%"))
    return [(row.name, LoggerKey(**json.loads(row.value))) for row in connection.execute(asked)]


def _hash(secret: str) -> str:
    """Return the SHA-256 of a secret; of 256 random bits none can be guessed from it."""
    return hashlib.sha256(secret.encode()).hexdigest()
