"""The door for station files: bytes in, a checked `Station` out, or every bad field at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from steadyhead.errors import InputErrors
from steadyhead.records.baseline import Baseline
from steadyhead.records.station import Station
from steadyhead.station.atmosphere import at_station
from steadyhead.station.canonical import canonical, sha256
from steadyhead.station.decoding import decoded
from steadyhead.station.document import Document, dump
from steadyhead.station.explain import not_filled_in, refusals, unknown_field
from steadyhead.station.fields import place_of
from steadyhead.station.formats import up_to_date
from steadyhead.station.limits import MOST_ERRORS
from steadyhead.station.plain import Reading, from_json, from_tree
from steadyhead.station.references import reference_refusals
from steadyhead.station.refusal import Path, Refusal
from steadyhead.station.tree import read_tree
from steadyhead.station.valve_sheets import SheetFile

PLACEHOLDER = "?"


@dataclass(frozen=True, slots=True)
class Loaded:
    """One station file as read.

    Parameters
    ----------
    station
        The typed record.
    document
        The text, for changes that keep comments; None when it came as JSON.
    data
        Plain data in today's format: maps, lists, text, true and false; numbers stay text.
    canonical
        Canonical JSON of `data`. [bytes]
    sha256
        SHA-256 of the bytes as given.
    where
        Name of the file, as given.
    sheets
        Data sheets that filled in `station`; `data` stays as the file has it.
    baseline
        What a run measured and `station` has in place of what was stated; None: nothing.
    """

    station: Station
    document: Document | None
    data: dict[str, Any]
    canonical: bytes
    sha256: str
    where: str = ""
    sheets: tuple[SheetFile, ...] = ()
    baseline: Baseline | None = None


def load(source: bytes | str, where: str = "") -> Loaded:
    """Return a station file, read from YAML.

    Parameters
    ----------
    source
        The file's bytes as stored, or its text.
    where
        Name of the file, for messages.

    Raises
    ------
    InputErrors
        Every bad field with its path, line, what was got, the limit and a remedy.
    """
    try:
        text, encoding = decoded(source)
        tree = read_tree(text)
        reading = from_tree(tree)
        station, data = _checked(reading)
        document = Document(text, tree, encoding)
    except Refusal as refusal:
        raise InputErrors((refusal,), where) from None
    except InputErrors as errors:
        raise InputErrors(errors.errors, where) from None
    return Loaded(station, document, data, canonical(data), sha256(_bytes(source)), where)


def load_document(document: Document, where: str = "") -> Loaded:
    """Return the station file a changed document is; the same as `load` of its bytes, without reading twice.

    Raises
    ------
    InputErrors
        As `load`.
    """
    try:
        source = dump(document)
        decoded(source)
        station, data = _checked(from_tree(document.root))
    except Refusal as refusal:
        raise InputErrors((refusal,), where) from None
    except InputErrors as errors:
        raise InputErrors(errors.errors, where) from None
    return Loaded(station, document, data, canonical(data), sha256(source), where)


def load_json(source: bytes | str, where: str = "") -> Loaded:
    """Return a station read from JSON: the quick door for fleets and the API, without comments.

    Raises
    ------
    InputErrors
        As `load`, without line numbers.
    """
    try:
        text, _ = decoded(source)
        station, data = _checked(from_json(text))
    except Refusal as refusal:
        raise InputErrors((refusal,), where) from None
    except InputErrors as errors:
        raise InputErrors(errors.errors, where) from None
    return Loaded(station, None, data, canonical(data), sha256(_bytes(source)), where)


def from_data(data: dict[str, Any], where: str = "") -> Loaded:
    """Return a station from plain data, e.g. after a change in memory."""
    return load_json(canonical(data), where)


def _bytes(source: bytes | str) -> bytes:
    return source if isinstance(source, bytes) else source.encode("utf-8")


def _checked(reading: Reading) -> tuple[Station, dict[str, Any]]:
    if not isinstance(reading.data, dict):
        got = "nothing" if reading.data is None else "a list" if isinstance(reading.data, list) else "text"
        raise Refusal(
            "station file",
            f"holds {got} at the top.",
            "Start with 'format: …', then 'station:' and its fields.",
        )
    reading.data = up_to_date(reading.data, line=reading.lines.get(("format",), 0))
    placeholders = list(_placeholders(reading.data, ()))
    found = list(reading.errors)
    found += [not_filled_in(path, reading) for path in placeholders]
    found += [unknown_field(path, reading) for path in reading.blanks if place_of(path, reading.data) is None]
    found += reference_refusals(reading)
    known = {refusal.path for refusal in found}
    try:
        station = Station.model_validate(reading.data, context={"atmosphere_pa": at_station(reading.data)})
    except ValidationError as error:
        found += [refusal for refusal in refusals(error, reading) if not _told(refusal.path, known)]
    if found:
        order = {path: index for index, path in enumerate(reading.lines)}
        found.sort(key=lambda refusal: (refusal.line, order.get(refusal.path, 0)))
        raise InputErrors(found[:MOST_ERRORS])
    return station, reading.data


def _told(path: Path, known: set[Path]) -> bool:
    return any(told[: len(path)] == path for told in known)


def _placeholders(data: object, path: Path) -> Iterator[Path]:
    if isinstance(data, dict):
        for key, value in data.items():
            yield from _placeholders(value, (*path, key))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from _placeholders(value, (*path, index))
    elif isinstance(data, str) and data.strip() == PLACEHOLDER:
        yield path
