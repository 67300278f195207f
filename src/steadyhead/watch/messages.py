"""Messages of loggers that come through a broker: what one says, and many of them as a file to be read."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from typing import Any, Literal

from steadyhead.records.logger import Quantity, Statistic
from steadyhead.watch.reading.headings import said

Payload = Literal["number", "json", "row"]
TimeKind = Literal["text", "epoch s", "epoch ms"]
MOST = 1_000_000
"""Largest message that is looked into. [bytes] Own choice."""
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?")
_FIXED = re.compile(r"UTC(?:([+-])(\d{1,2})(?::([0-5]\d))?)?")


class Unreadable(ValueError):
    """A message that does not say what its topic should; the text says why."""


@dataclass(frozen=True, slots=True)
class Sensor:
    """One value in the messages of a topic.

    Parameters
    ----------
    at
        Where it stands: a key of the JSON (`p.out` goes deeper), the number of a column counted from 1; empty
        where the message is the number.
    quantity, unit, statistic
        What it is.
    """

    at: str
    quantity: Quantity
    unit: str
    statistic: Statistic = "spot"

    @property
    def heading(self) -> str:
        """Its heading in the file that is read."""
        word = "" if self.statistic == "spot" else f" {self.statistic}"
        return f"{self.quantity}{word} ({self.unit})"

    @property
    def is_understood(self) -> bool:
        """Whether its heading is read as what it is."""
        told = said(self.heading)
        return told.quantity == self.quantity and told.unit is not None


@dataclass(frozen=True, slots=True)
class Topic:
    """Messages under one topic, or under all that a pattern meets.

    Parameters
    ----------
    filter
        The topic, or a pattern of MQTT with `+` and `#`.
    station
        Key of the station; empty: level `station_at` of the topic, counted from 1, is the key.
    source
        Which logger; how its files are read is remembered under it.
    payload
        A bare number, JSON, or rows of text.
    sensors
        What is read of it; a bare number has one.
    time
        Where the time of a sample stands, as `Sensor.at`; empty: the time at which it came is taken.
    time_kind
        How it is written; `offset` is that of stamps without a zone of their own. [min]
    separator, decimal
        Of rows and bare numbers.
    """

    filter: str
    station: str
    source: str
    payload: Payload
    sensors: tuple[Sensor, ...]
    station_at: int = 0
    time: str = ""
    time_kind: TimeKind = "text"
    offset: int | None = None
    separator: str = ","
    decimal: str = "."

    def station_of(self, name: str) -> str:
        """Return the key of the station a topic's name stands for; empty: none."""
        levels = name.split("/")
        return self.station or (levels[self.station_at - 1] if self.station_at <= len(levels) else "")


@dataclass(frozen=True, slots=True)
class Sample:
    """What one message says of one time: values as written, empty for none; `at` None: when it came."""

    at: datetime | None
    values: tuple[str, ...]


def fixed_offset(words: str) -> int | None:
    """Return the offset of a zone that never changes its clock; None: it is none. [min]

    Examples
    --------
    >>> fixed_offset("UTC"), fixed_offset("UTC+5:30"), fixed_offset("Europe/Berlin")
    (0, 330, None)
    """
    found = _FIXED.fullmatch(words.strip())
    if found is None:
        return None
    minutes = int(found[2] or 0) * 60 + int(found[3] or 0)
    return None if minutes > 14 * 60 else -minutes if found[1] == "-" else minutes


def decoded(topic: Topic, payload: bytes) -> list[Sample]:
    """Return what a message says.

    Raises
    ------
    Unreadable
        It does not say what its topic should.
    """
    if len(payload) > MOST:
        raise Unreadable(f"it has {len(payload)} bytes, more than {MOST}")
    try:
        text = payload.decode("utf-8-sig").strip()
    except UnicodeDecodeError:
        raise Unreadable("it is no text in UTF-8") from None
    if not text:
        raise Unreadable("it is empty")
    if topic.payload == "number":
        return [Sample(None, (_number(text, topic.decimal),))]
    if topic.payload == "row":
        return [_of_row(topic, line) for line in text.splitlines() if line.strip()]
    told = _plain(text)
    many = told if isinstance(told, list) else [told]
    if not many:
        raise Unreadable("it is an empty list")
    return [_of_json(topic, one) for one in many]


def _plain(text: str) -> Any:
    def refuse(word: str) -> Any:
        raise ValueError(word)

    try:
        return json.loads(text, parse_float=str, parse_int=str, parse_constant=refuse)
    except (ValueError, RecursionError):
        raise Unreadable("it is no JSON") from None


def _of_json(topic: Topic, told: Any) -> Sample:
    values = tuple(_json_value(_at(told, one.at)) for one in topic.sensors)
    if all(_at(told, one.at) is MISSING for one in topic.sensors):
        raise Unreadable(f"it holds none of {', '.join(one.at for one in topic.sensors)}")
    if not topic.time:
        return Sample(None, values)
    when = _at(told, topic.time)
    if not isinstance(when, str):
        raise Unreadable(f"it holds no time under {topic.time}")
    return Sample(_moment(topic, when), values)


MISSING = object()


def _at(told: Any, way: str) -> Any:
    for step in way.split("."):
        if isinstance(told, dict) and step in told:
            told = told[step]
        elif isinstance(told, list) and step.isascii() and step.isdigit() and int(step) < len(told):
            told = told[int(step)]
        else:
            return MISSING
    return told


def _json_value(found: Any) -> str:
    if found is None or found is MISSING:
        return ""
    if isinstance(found, bool):
        return str(int(found))
    if not isinstance(found, str):
        raise Unreadable("a value is no number")
    return _number(found, ".") if found.strip() else ""


def _of_row(topic: Topic, line: str) -> Sample:
    cells = [one.strip() for one in next(csv.reader([line], delimiter=topic.separator))]
    values = tuple(_cell(cells, one.at) for one in topic.sensors)
    numbers = tuple(_number(one, topic.decimal) if one else "" for one in values)
    if not topic.time:
        return Sample(None, numbers)
    return Sample(_moment(topic, _cell(cells, topic.time)), numbers)


def _cell(cells: Sequence[str], at: str) -> str:
    if int(at) > len(cells):
        raise Unreadable(f"it has {len(cells)} columns, not the {at} that are read")
    return cells[int(at) - 1]


def _number(text: str, decimal: str) -> str:
    plain = text.strip().replace(decimal, ".") if decimal != "." else text.strip()
    if not _NUMBER.fullmatch(plain) or not math.isfinite(float(plain)):
        raise Unreadable(f"{text[:40]!r} is no number")
    return plain


def _moment(topic: Topic, text: str) -> datetime:
    if topic.time_kind != "text":
        seconds = float(_number(text, ".")) / (1000.0 if topic.time_kind == "epoch ms" else 1.0)
        try:
            return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=round(seconds * 1e6))
        except OverflowError:
            raise Unreadable(f"{text[:40]!r} is no time") from None
    try:
        when = datetime.fromisoformat(text.strip())
        if when.tzinfo is None:
            if topic.offset is None:
                raise Unreadable(f"the time {text[:40]!r} has no zone, and none is told for its topic")
            when = when.replace(tzinfo=timezone(timedelta(minutes=topic.offset)))
        return when.astimezone(UTC)
    except (ValueError, OverflowError) as problem:
        if isinstance(problem, Unreadable):
            raise
        raise Unreadable(f"{text[:40]!r} is no time") from None


def as_file(topic: Topic, samples: Iterable[tuple[datetime, tuple[str, ...]]]) -> bytes:
    """Return samples as a text file in order of time, each once; values as they were written."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["Time (UTC)", *(one.heading for one in topic.sensors)])
    writer.writerows(_in_order(samples))
    return out.getvalue().encode()


def _in_order(samples: Iterable[tuple[datetime, tuple[str, ...]]]) -> Iterator[list[str]]:
    listed = dict.fromkeys(sorted(samples, key=lambda one: one[0]))
    kind = "milliseconds" if all(when.microsecond % 1000 == 0 for when, _ in listed) else "microseconds"
    for when, values in listed:
        yield [when.isoformat(timespec=kind).replace("+00:00", "Z"), *values]
