"""Every quantity of a station with its place in the file, so that one can be read differently on trial."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pydantic import BaseModel

from steadyhead.records.station import Station
from steadyhead.records.values import Origin, Value
from steadyhead.station.refusal import Path
from steadyhead.units import parse


@dataclass(frozen=True, slots=True)
class Slot:
    """One typed quantity: where it stands, its SI value, and how it was written."""

    path: Path
    kind: str
    si: float
    text: str
    number: float
    unit: str
    absolute: bool


class Sheet:
    """All slots of a station, found by their path, with the values as typed."""

    def __init__(self, station: Station) -> None:
        self.slots: tuple[Slot, ...] = tuple(_slots(station, ()))
        self.at: dict[Path, int] = {slot.path: index for index, slot in enumerate(self.slots)}
        self.values: list[float] = [slot.si for slot in self.slots]


def _slots(record: BaseModel, path: Path) -> Iterator[Slot]:
    for name in type(record).model_fields:
        yield from _inside(getattr(record, name), (*path, name))


def _inside(value: object, path: Path) -> Iterator[Slot]:
    if isinstance(value, Value):
        if value.origin is Origin.STATED:
            typed = parse(value.text, value.kind)
            yield Slot(path, value.kind, value.si, value.text, typed.number, typed.unit, typed.absolute)
    elif isinstance(value, BaseModel):
        yield from _slots(value, path)
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _inside(item, (*path, index))
