"""Stations with several streams for the tests of this room, as data a person might have typed."""

from __future__ import annotations

import json
from typing import Any

from steadyhead.records.station import Station
from steadyhead.station.load import load_json
from tests.hydraulics.stations import INSIDE, PILOT, station_data

Part = dict[str, Any]


def valve(part_id: str, *, tight: str = "yes") -> Part:
    return {"part": "isolating_valve", "id": part_id, "size": "DN 100", "kv": "Kv 894", "tight": tight}


def tap(part_id: str) -> Part:
    return {"part": "tap", "id": part_id}


def reducer(part_id: str, senses: str, duty: str, lockup: str | None = None, flow: str = "5 L/s") -> Part:
    found = {
        "part": "reducer", "id": part_id, "size": "DN 100", "kv": "Kv 170", "senses": senses,
        "duty": {"pressure": duty, "flow": flow}, "pilot": PILOT, "mechanics": INSIDE,
    }  # fmt: skip
    return found | ({"lockup": lockup} if lockup else {})


def direct(part_id: str, senses: str, duty: str, flow: str = "0.3 L/s") -> Part:
    return {
        "part": "reducer", "id": part_id, "kind": "direct-acting", "size": "DN 25", "kv": "Kv 8",
        "senses": senses, "duty": {"pressure": duty, "flow": flow}, "pilot": PILOT,
    }  # fmt: skip


def shut_off(part_id: str, senses: str, trip: str) -> Part:
    return {
        "part": "shut_off", "id": part_id, "size": "DN 100", "kv": "Kv 170", "senses": senses,
        "pilot": PILOT, "trip": trip,
    }  # fmt: skip


def stream(name: str, role: str, duty: str, trip: str, *, extra: tuple[Part, ...] = ()) -> dict[str, Any]:
    """Return a stream with valves, taps and a drain of its own, shut-off upstream."""
    return {
        "id": name, "role": role,
        "line": [
            valve(f"IV1{name}"), tap(f"T1{name}"), shut_off(f"SO{name}", "T3", trip), tap(f"T2{name}"),
            reducer(f"RV{name}", f"T3{name}", duty), tap(f"T3{name}"),
            {"part": "drain", "id": f"TD{name}", "size": "DN 25", "kv": "Kv 8"}, *extra, valve(f"IV2{name}"),
        ],
    }  # fmt: skip


def line_with(group: list[dict[str, Any]], *after: Part) -> list[Part]:
    return [
        tap("T0"), valve("IV1"), {"part": "strainer", "id": "ST", "size": "DN 150", "kv_clean": "Kv 300"},
        tap("T1"), {"part": "parallel", "id": "PG", "branches": group}, tap("T3"), *after,
        {"part": "drain", "id": "TD", "size": "DN 50", "kv": "Kv 15"}, valve("IV2"), tap("T4"),
    ]  # fmt: skip


def loaded(line: list[Part]) -> Station:
    return load_json(json.dumps(station_data(line=line))).station


def duty_and_standby(*after: Part, **changes: Any) -> Station:
    """Return duty and standby streams, each with its own shut-off, and a manual bypass."""
    bypass = {"id": "by", "role": "manual bypass", "line": [valve("BV")]}
    standby = stream("b", "standby", "3.7 bar", "5.4 bar") | changes
    return loaded(line_with([stream("a", "duty", "4.0 bar", "5.1 bar"), standby, bypass], *after))


def with_low_flow() -> Station:
    """Return a main stream with a direct-acting low-flow reducer beside it."""
    main = {"id": "a", "line": [reducer("RV", "T3", "4.0 bar", "4.2 bar")]}
    return loaded(
        line_with([main, {"id": "lb", "role": "low flow", "line": [direct("LB", "T3", "4.25 bar")]}])
    )


def with_monitor() -> Station:
    """Return two reducers in series that sense one tap, the upstream one set higher."""
    line = line_with([])
    line[4:5] = [reducer("MON", "T3", "4.6 bar"), tap("T2"), reducer("RV", "T3", "4.0 bar")]
    return loaded(line)
