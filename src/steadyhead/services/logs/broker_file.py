"""The file that says which broker is listened to, and what its topics mean (TOML)."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from steadyhead.errors import InputError
from steadyhead.records.logger import Quantity, Statistic
from steadyhead.services.names import one_line
from steadyhead.watch.messages import Payload, Sensor, TimeKind, Topic, fixed_offset

MOST = 1_000_000
"""Largest file. [bytes] Own choice."""
PLAIN_PORT, TLS_PORT = 1883, 8883
"""Ports registered for MQTT."""


@dataclass(frozen=True, slots=True)
class Broker:
    """A broker and what is heard from it.

    Parameters
    ----------
    host, port, client
        Where it is, and the name under which it keeps what we have not heard yet.
    is_tls, authority, certificate, key
        Whether the way is encrypted; files of who vouches for the broker (None: whom the system trusts) and
        of our own certificate.
    user, password_file
        Who signs in; the password is the first line of the file.
    every
        Messages are taken in as one import after this time. [s]
    topics
        What is heard.
    """

    host: str
    port: int
    client: str
    is_tls: bool
    authority: Path | None
    certificate: Path | None
    key: Path | None
    user: str
    password_file: Path | None
    every: float
    topics: tuple[Topic, ...]

    def password(self) -> str | None:
        """Return the password; None where there is none.

        Raises
        ------
        InputError
            Its file cannot be read.
        """
        if self.password_file is None:
            return None
        try:
            return self.password_file.read_text("utf-8").splitlines()[0]
        except (OSError, UnicodeDecodeError, IndexError):
            raise InputError(
                "password_file", f"got {str(self.password_file)!r:.120}, which holds no line of text.",
                "Write the password into it, and let nobody else read it.",
            ) from None  # fmt: skip


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _Broker(_Strict):
    host: str = Field(min_length=1, max_length=255)
    port: int | None = Field(None, ge=1, le=65535)
    client: str = Field(min_length=1, max_length=60)
    tls: bool = False
    authority: str = ""
    certificate: str = ""
    key: str = ""
    user: str = Field("", max_length=200)
    password_file: str = ""
    every_minutes: float | int = Field(60.0, gt=0.0, le=1440.0)


class _Sensor(_Strict):
    at: str | int = ""
    quantity: Quantity
    unit: str = Field(min_length=1, max_length=20)
    statistic: Statistic = "spot"


class _Topic(_Strict):
    filter: str = Field(min_length=1, max_length=400)
    station: str = Field("", max_length=60)
    station_at: int = Field(0, ge=0, le=100)
    source: str = Field("", max_length=60)
    payload: Payload
    time: str | int = ""
    time_kind: TimeKind = "text"
    zone: str = ""
    separator: str = Field(",", min_length=1, max_length=1)
    decimal: Literal[".", ","] = "."
    channel: list[_Sensor] = Field(min_length=1, max_length=100)


class _File(_Strict):
    broker: _Broker
    topic: list[_Topic] = Field(min_length=1, max_length=1000)


def read_broker(path: Path) -> Broker:
    """Return what a file says of a broker.

    Raises
    ------
    InputError
        It cannot be read, or a field does not fit; the field is named.
    """
    try:
        with path.open("rb") as source:
            content = source.read(MOST + 1)
        if len(content) > MOST:
            raise InputError(str(path), f"has more than {MOST} bytes.", "Name the file of the broker.")
        told = _File.model_validate(tomllib.loads(content.decode("utf-8")))
    except OSError as problem:
        raise InputError(
            str(path), f"cannot be read: {problem.strerror}.", "Name the file of the broker."
        ) from None
    except ValidationError as problem:
        first = problem.errors()[0]
        field = ".".join(str(one) for one in first["loc"])
        raise InputError(
            field, f"got {first['input']!r:.60}: {first['msg']}.", f"Mend it in {path.name}."
        ) from None
    except ValueError as problem:
        raise InputError(str(path), f"is no TOML: {problem}.", "Mend it, or name another file.") from None
    return _broker(told, path.parent)


def _broker(told: _File, beside: Path) -> Broker:
    one = told.broker
    files = [
        (beside / name if name else None)
        for name in (one.authority, one.certificate, one.key, one.password_file)
    ]
    if (one.authority or one.certificate or one.key) and not one.tls:
        raise InputError("broker.tls", "is false, and files for TLS are named.", "Write tls = true.")
    if one.password_file and not one.user:
        raise InputError("broker.user", "is missing, and a password is named.", "Write who signs in.")
    port = one.port or (TLS_PORT if one.tls else PLAIN_PORT)
    topics = tuple(_topic(number, each) for number, each in enumerate(told.topic, 1))
    return Broker(
        one.host, port, one_line("broker.client", one.client), one.tls, files[0], files[1], files[2],
        one.user, files[3], 60.0 * one.every_minutes, topics,
    )  # fmt: skip


def _topic(number: int, told: _Topic) -> Topic:
    field = f"topic {number}"
    if bool(told.station) == bool(told.station_at):
        raise InputError(f"{field}, station", "must be named in one way.", "Write station or station_at.")
    offset = fixed_offset(told.zone) if told.zone else None
    if told.zone and offset is None:
        raise InputError(
            f"{field}, zone", f"got {told.zone!r:.40}; only a zone that never changes its clock can be told.",
            "Write UTC or UTC+1, and let the logger send that; or send stamps with their offset.",
        )  # fmt: skip
    sensors = tuple(_sensor(f"{field}, channel {at}", one, told) for at, one in enumerate(told.channel, 1))
    headings = [one.heading for one in sensors]
    if told.payload == "number" and (len(sensors) > 1 or told.time != ""):
        raise InputError(field, "is a bare number with more than a number.", "Name one channel and no time.")
    if len(set(headings)) < len(headings):
        raise InputError(field, "names the same quantity and statistic twice.", "Leave one of them out.")
    if told.decimal == told.separator and told.payload == "row":
        raise InputError(f"{field}, decimal", "is the separator, too.", "Write another of them.")
    return Topic(
        told.filter, told.station, told.source or "broker", told.payload, sensors, told.station_at,
        _place(f"{field}, time", told.time, told) if told.time != "" else "", told.time_kind, offset,
        told.separator, told.decimal,
    )  # fmt: skip


def _sensor(field: str, told: _Sensor, topic: _Topic) -> Sensor:
    at = "" if topic.payload == "number" else _place(f"{field}, at", told.at, topic)
    one = Sensor(at, told.quantity, told.unit, told.statistic)
    if not one.is_understood:
        raise InputError(
            f"{field}, unit", f"got {told.unit!r:.20}, which is no unit of {told.quantity}.",
            "Write its unit, as bar or L/s.",
        )  # fmt: skip
    return one


def _place(field: str, at: Any, topic: _Topic) -> str:
    words = str(at)
    is_column = words.isascii() and words.isdigit() and 0 < int(words) <= 1000
    if not words or (topic.payload == "row" and not is_column):
        raise InputError(
            field, f"got {at!r:.40}.",
            "Write the number of the column, from 1." if topic.payload == "row" else "Write the key.",
        )  # fmt: skip
    return words
