"""Gallons whose country the file leaves open."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from steadyhead.findings import Amount, Finding, Input, Severity
from steadyhead.records.values import Value
from steadyhead.station.refusal import Path
from steadyhead.station.sense.places import Places
from steadyhead.units import Parsed, UnitError, parse
from steadyhead.units.table import IMPERIAL_GALLON, US_GALLON

US_HABIT = ("psi", "psi a", "ft head")
"""Pressures of a file in which a bare gallon is a US gallon."""
UK_HABIT = ("m head",)
"""Pressures of a file in which a bare gallon may be an imperial one, whatever else stands in it."""


def gallons(at: Places) -> Iterator[Finding]:
    """Yield STN-11 (ask) where gallons are written without saying whose in a file not of US habit.

    A file of US habit states pressures in psi or ft head, none in m head, and no imperial gallon.
    """
    read = [(path, value, got) for path, value in _values(at.station, ()) if (got := _parsed(value))]
    open_ones = [(path, value) for path, value, got in read if got.gallon_open]
    if not open_ones or _is_us([got.unit for _, _, got in read]):
        return
    path, first = max(open_ones, key=lambda one: (one[1].kind == "flow", one[1].si))
    more = len(open_ones) - 1
    larger = Amount(first.kind, first.si * IMPERIAL_GALLON / US_GALLON)
    yield Finding(
        "STN-11",
        at.words(*path),
        Severity.ASK,
        {"typed": first.text, "others": f" and {more} more" if more else "", "imperial": larger},
        Amount(first.kind, first.si),
        inputs=tuple(Input(at.words(*place), value.text, "gallon not said") for place, value in open_ones),
    )


def _is_us(units: list[str]) -> bool:
    imperial = any(unit in UK_HABIT or unit.startswith("imp ") for unit in units)
    return not imperial and any(unit in US_HABIT for unit in units)


def _parsed(value: Value) -> Parsed | None:
    try:
        return parse(value.text, value.kind)
    except UnitError:
        return None


def _values(record: object, path: Path) -> Iterator[tuple[Path, Value]]:
    if isinstance(record, Value):
        yield path, record
    elif isinstance(record, BaseModel):
        for key in type(record).model_fields:
            if key in record.model_fields_set:
                yield from _values(getattr(record, key), (*path, key))
    elif isinstance(record, tuple | list):
        for index, item in enumerate(record):
            yield from _values(item, (*path, index))
