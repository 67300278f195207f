"""The first example station rebuilt with several streams, a relief valve, a vessel, a monitor."""

from __future__ import annotations

import copy
import json
from typing import Any

from steadyhead.station.load import Loaded, load_json
from tests.reports.stations import loaded

Part = dict[str, Any]
RELIEF: Part = {
    "part": "relief", "id": "RL", "size": "DN 50", "crack": "5.0 bar", "runs_to": "road gully",
}  # fmt: skip
CHECK: Part = {"part": "check_valve", "id": "CV", "size": "DN 150"}
VESSEL: Part = {"part": "expansion_vessel", "id": "EV", "volume": "80 L", "precharge": "3.5 bar"}


def _example() -> dict[str, Any]:
    return copy.deepcopy(dict(loaded("quillenby-row").data))


def _part(data: dict[str, Any], part_id: str, **changed: Any) -> Part:
    found = next(part for part in data["line"] if part["id"] == part_id)
    return {**copy.deepcopy(found), **changed}


def _made(data: dict[str, Any], name: str, line: list[Part]) -> Loaded:
    data["line"] = line
    data["station"] = {**data["station"], "id": name[:3].upper() + "-01", "name": name}
    return load_json(json.dumps(data))


def stream(data: dict[str, Any], name: str, role: str, duty: str, trip: str) -> dict[str, Any]:
    """Return a stream with valves, taps and a drain of its own, shut-off upstream."""
    return {
        "id": name, "role": role,
        "line": [
            _part(data, "IV1", id=f"IV1{name}", name=""), {"part": "tap", "id": f"T1{name}"},
            _part(data, "SO", id=f"SO{name}", trip=trip), {"part": "tap", "id": f"T2{name}"},
            _part(data, "RV", id=f"RV{name}", senses=f"T3{name}",
                  duty={"pressure": duty, "flow": "5 L/s"}, lockup=f"{float(duty[:3]) + 0.2:.1f} bar"),
            {"part": "tap", "id": f"T3{name}"}, _part(data, "TD", id=f"TD{name}"),
            _part(data, "IV2", id=f"IV2{name}", name=""),
        ],
    }  # fmt: skip


def duty_and_standby(*after: Part) -> Loaded:
    """Return duty and standby streams, each with its own shut-off, and a manual bypass."""
    data = _example()
    bypass = {
        "id": "BY", "role": "manual bypass", "locked_shut": "yes",
        "line": [_part(data, "IV1", id="BV", name="")],
    }  # fmt: skip
    group = [
        stream(data, "a", "duty", "4.0 bar", "5.2 bar"),
        stream(data, "b", "standby", "3.7 bar", "5.5 bar"),
    ]
    line = [
        *(_part(data, part) for part in ("T0", "IV1", "ST", "T1")),
        {"part": "parallel", "id": "PG", "branches": [*group, bypass]},
        {"part": "tap", "id": "T3"}, *after, *(_part(data, part) for part in ("TD", "IV2", "T4")),
    ]  # fmt: skip
    return _made(data, "Fallow Street", line)


def low_flow() -> Loaded:
    """Return a main and a low-flow stream behind one shut-off."""
    data = _example()
    beside = {
        "part": "reducer", "id": "LB", "kind": "direct-acting", "size": "DN 25", "senses": "T3",
        "duty": {"pressure": "4.2 bar", "flow": "0.4 L/s"},
        "pilot": {"spring_low": "1 bar", "spring_high": "6 bar"},
    }  # fmt: skip
    group = [
        {"id": "a", "line": [_part(data, "RV")]},
        {"id": "lb", "role": "low flow", "line": [beside]},
    ]
    line = [
        *(_part(data, part) for part in ("T0", "IV1", "ST", "T1", "SO", "T2")),
        {"part": "parallel", "id": "PG", "branches": group},
        *(_part(data, part) for part in ("T3", "TD", "IV2", "T4")),
    ]
    return _made(data, "Sallow Court", line)


def relief_in_place() -> Loaded:
    """Return a building's reducer with a relief valve where others have a shut-off, and a vessel."""
    data = _example()
    line = [
        *(_part(data, part) for part in ("T0", "IV1", "ST", "T1", "RV", "T3")), RELIEF, CHECK, VESSEL,
        *(_part(data, part) for part in ("TD", "IV2", "T4")),
    ]  # fmt: skip
    del data["credited"]
    return _made(data, "Veldany House", line)


def monitor() -> Loaded:
    """Return a monitor in series with its worker, both sensing the outlet, shut-off upstream."""
    data = _example()
    higher = _part(data, "RV", id="MON", duty={"pressure": "4.5 bar", "flow": "5 L/s"}, lockup="4.7 bar")
    line = [
        *(_part(data, part) for part in ("T0", "IV1", "ST", "T1", "SO", "T2")), higher,
        {"part": "tap", "id": "T2b"}, *(_part(data, part) for part in ("RV", "T3", "TD", "IV2", "T4")),
    ]  # fmt: skip
    return _made(data, "Hartwell Rise", line)


MADE = {
    "duty and standby": duty_and_standby,
    "low flow": low_flow,
    "relief in place": relief_in_place,
    "monitor": monitor,
}
