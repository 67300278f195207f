"""Changes of a station file as data: applied in memory, written in the units the file already uses."""

from __future__ import annotations

import copy
from typing import Any

from steadyhead.records.design import Patch
from steadyhead.records.station import Station
from steadyhead.records.values import Value
from steadyhead.station.atmosphere import at_station
from steadyhead.units import from_si, parse


def changed(data: dict[str, Any], patches: tuple[Patch, ...]) -> Station:
    """Return the station with patches applied to its plain data and everything validated again.

    Entries are taken out after all values are set, so that indices hold.
    """
    fresh = copy.deepcopy(data)
    for patch in sorted(patches, key=lambda one: one.value is None):
        _apply(fresh, patch)
    return Station.model_validate(fresh, context={"atmosphere_pa": at_station(fresh)})


def changed_quickly(station: Station, data: dict[str, Any], patches: tuple[Patch, ...]) -> Station:
    """Return the same as `changed`, reading again only what the patches touch; for searches."""
    fresh: dict[str, Any] = {name: getattr(station, name) for name in station.model_fields_set}
    for name in {str(patch.path[0]) for patch in patches}:
        fresh[name] = copy.deepcopy(data.get(name))
    for patch in sorted(patches, key=lambda one: one.value is None):
        _apply(fresh, patch)
    touched = {patch.path[1] for patch in patches if patch.path[0] == "line"}
    if touched:
        fresh["line"] = [raw if i in touched else station.line[i] for i, raw in enumerate(fresh["line"])]
    return Station.model_validate(fresh, context={"atmosphere_pa": at_station(data)})


def _apply(data: Any, patch: Patch) -> None:
    here = data
    for step in patch.path[:-1]:
        here = here[step]
    last = patch.path[-1]
    if patch.value is None:
        del here[last]
    elif isinstance(here, list) and last == len(here):
        here.append(patch.value)
    else:
        here[last] = patch.value


def unit_of(value: Value) -> str:
    """Return the unit a value was typed in; gauge where it was typed absolute."""
    unit = parse(value.text, value.kind).unit
    return unit[:-2] if unit.endswith(" a") else unit


def in_unit(si: float, kind: str, unit: str, digits: int = 4) -> str:
    """Return a quantity as the file would write it, to so many significant digits.

    >>> in_unit(0.0025, "ratio", "%"), in_unit(3.95e5, "pressure", "bar")
    ('0.25 %', '3.95 bar')
    """
    number = float(f"{from_si(si, kind, unit):.{digits}g}")
    return f"{number:g} {unit}".rstrip()


def quantity_patch(data: dict[str, Any], path: tuple[str | int, ...], text: str) -> Patch:
    """Return the patch that gives a quantity a new text; one written as a map keeps its other fields."""
    here: Any = data
    for step in path:
        here = here[step]
    return Patch((*path, "value"), text) if isinstance(here, dict) else Patch(path, text)
