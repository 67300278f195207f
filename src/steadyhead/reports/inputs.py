"""Every value a person stated in the station file, with source, date and confidence."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from steadyhead.records.station import Station
from steadyhead.records.values import Origin, Value


def stated(station: Station) -> list[list[str]]:
    """Return one row per stated value in the order of the file: where, as typed, where it comes from.

    Parameters
    ----------
    station
        The station file's record.
    """
    return [
        [where, value.text, ", ".join(filter(None, (value.source, value.date, value.confidence)))]
        for where, value in _values(station, "")
        if value.origin is Origin.STATED
    ]


def _values(record: object, where: str) -> Iterator[tuple[str, Value]]:
    if isinstance(record, Value):
        yield where, record
    elif isinstance(record, BaseModel):
        for name in type(record).model_fields:
            yield from _values(getattr(record, name), f"{where} › {_words(name)}" if where else _words(name))
    elif isinstance(record, tuple):
        for index, item in enumerate(record):
            name = getattr(item, "id", "") or getattr(item, "component", "") or getattr(item, "at", "")
            yield from _values(item, f"{where} › {name or index + 1}")


def _words(name: str) -> str:
    return name.replace("_", " ")
