"""Stations of the tests: the shipped examples and changes of them. All invented."""

from __future__ import annotations

import copy
from collections.abc import Callable
from functools import cache
from importlib.resources import files
from typing import Any

from steadyhead.records.station import Station
from steadyhead.station.load import from_data, load
from tests.design.way_stations import BUILT

Data = dict[str, Any]
Edit = Callable[[Data], object]

UPSTREAM, DOWNSTREAM, ALONE, SERIES = "quillenby-row", "dunmarrow-bottom", "pinnock-yard", "sorrel-flat"
EXAMPLES = (UPSTREAM, DOWNSTREAM, ALONE, SERIES)


@cache
def _example(name: str) -> Data:
    if name in BUILT:
        return BUILT[name]()
    source = files("steadyhead.station").joinpath("examples", f"{name}.yaml").read_bytes()
    data = load(source).data
    kept = [one for one in data.pop("answers", []) if one["to"] == "LAY-26"]  # fire: not ours to decide
    if kept:
        data["answers"] = kept
    if name in NARROW:
        _narrow(data, *NARROW[name])
    return data


NARROW = {
    UPSTREAM: ("202 mm", "6.3 mm", "150 mm", "8.6 mm", "6 s"),
    DOWNSTREAM: ("101 mm", "6.0 mm", "102 mm", "11.4 mm", "7 s"),
}
"""Bore and wall of supply and zone main, and closing time: narrower and slower than in the examples."""


def _narrow(data: Data, bore: str, wall: str, zone_bore: str, zone_wall: str, time: str) -> None:
    """Give a station narrower mains and a slower needle: there is more to find."""
    data["supply"]["main"] |= {"bore": bore, "wall": wall}
    data["zone"]["main"] |= {"bore": zone_bore, "wall": zone_wall}
    shut_off = next(part for part in data["line"] if part["id"] == "SO")
    shut_off["closing"]["time"] = time


def data_of(name: str, *edits: Edit) -> Data:
    """The plain data of an example, changed."""
    data = copy.deepcopy(_example(name))
    for edit in edits:
        edit(data)
    return data


def station_of(name: str, *edits: Edit) -> Station:
    """An example as a typed station, changed and validated again."""
    return from_data(data_of(name, *edits)).station


def every_part(line: list[Data]) -> list[Data]:
    """Every part of a line, those in branches too."""
    inside = [p for one in line for b in one.get("branches", ()) for p in every_part(b["line"])]
    return [*line, *inside]


def branch(branch_id: str, **fields: Any) -> Edit:
    """Set fields of a branch."""

    def edit(data: Data) -> None:
        for one in every_part(data["line"]):
            for found in one.get("branches", ()):
                if found["id"] == branch_id:
                    found.update(fields)

    return edit


def in_branch(branch_id: str, index: int, *parts: Data) -> Edit:
    """Put parts into a branch at a place."""

    def edit(data: Data) -> None:
        for one in every_part(data["line"]):
            for found in one.get("branches", ()):
                if found["id"] == branch_id:
                    found["line"][index:index] = [dict(one) for one in parts]

    return edit


def after(part_id: str, *parts: Data) -> Edit:
    """Put parts into the main line behind one."""

    def edit(data: Data) -> None:
        index = next(i for i, p in enumerate(data["line"]) if p["id"] == part_id)
        data["line"][index + 1 : index + 1] = [dict(one) for one in parts]

    return edit


def part(part_id: str, **fields: Any) -> Edit:
    """Set fields of a part; None takes a field out."""

    def edit(data: Data) -> None:
        found = next(p for p in every_part(data["line"]) if p["id"] == part_id)
        for key, value in fields.items():
            if value is None:
                found.pop(key, None)
            else:
                found[key] = value

    return edit


def section(name: str, **fields: Any) -> Edit:
    """Set fields of a map at the top of the file; None takes a field out."""

    def edit(data: Data) -> None:
        here = data.setdefault(name, {})
        for key, value in fields.items():
            if value is None:
                here.pop(key, None)
            else:
                here[key] = value

    return edit


def top(**fields: Any) -> Edit:
    """Set entries at the top of the file; None takes one out."""

    def edit(data: Data) -> None:
        for key, value in fields.items():
            if value is None:
                data.pop(key, None)
            else:
                data[key] = value

    return edit


def without(*part_ids: str) -> Edit:
    """Take parts out of the line."""

    def edit(data: Data) -> None:
        data["line"] = [p for p in data["line"] if p["id"] not in part_ids]
        for group in data["line"]:
            for way in group.get("branches", ()):
                way["line"] = [p for p in way["line"] if p["id"] not in part_ids]

    return edit


def limit(index: int, **fields: Any) -> Edit:
    """Set fields of one limit; None takes a field out."""

    def edit(data: Data) -> None:
        for key, value in fields.items():
            if value is None:
                data["limits"][index].pop(key, None)
            else:
                data["limits"][index][key] = value

    return edit


def no_side(side: str) -> Edit:
    """Take out the limits of one side."""

    def edit(data: Data) -> None:
        data["limits"] = [one for one in data["limits"] if one.get("side", "consumer") != side]

    return edit


def bypass(locked: str, around: str) -> Edit:
    """Put a manual bypass around one part of the line."""

    def edit(data: Data) -> None:
        index = next(i for i, p in enumerate(data["line"]) if p["id"] == around)
        inner = data["line"][index]
        group = {
            "part": "parallel",
            "id": "BYG",
            "branches": [
                {"id": "MAIN", "role": "main", "line": [inner]},
                {
                    "id": "BY",
                    "role": "manual bypass",
                    "locked_shut": locked,
                    "line": [{"part": "isolating_valve", "id": "BV", "size": "DN 80"}],
                },
            ],
        }
        data["line"][index] = group

    return edit
