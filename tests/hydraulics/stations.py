"""Station files of every layout for the tests of this room, as data a person might have typed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Literal

from steadyhead.hydraulics import Model, build
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions
from steadyhead.station.load import load_json

BAR = 1e5
HOUR = 3600.0
Layout = Literal["reducer alone", "shut-off upstream", "shut-off downstream", "two reducers in series"]
LAYOUTS: tuple[Layout, ...] = (
    "reducer alone",
    "shut-off upstream",
    "shut-off downstream",
    "two reducers in series",
)
MAIN = {"length": "500 m", "bore": "150 mm", "roughness": "0.1 mm"}
ZONE_MAIN = {"length": "800 m", "bore": "150 mm", "roughness": "0.1 mm"}
PILOT = {"spring_low": "0 bar", "spring_high": "40 bar"}
INSIDE = {
    "curve_shape": "1",
    "seat_ratio": "0.45",
    "flow_force": "0.15",
    "spring_shut": "0.05 bar",
    "spring_rise": "0.08 bar",
    "pressure_recovery": "0.85",
    "incipient_ratio": "0.45",
    "feed_kv": "Kv 0.06",
    "pilot_kv": "Kv 0.12",
}


def station_data(
    layout: Layout = "shut-off downstream",
    *,
    supply: str = "9 bar",
    levels: tuple[float, float, float] = (0.0, 0.0, 0.0),
    altitude: float = 0.0,
    senses: str = "",
    lockup: str | None = "4.5 bar",
    duty: tuple[str, str] = ("4.05 bar", "5.6 L/s"),
    inside: Mapping[str, str] | None = None,
    resets: str = "by hand",
    line: list[dict[str, Any]] | None = None,
    mains: bool = True,
) -> dict[str, Any]:
    """Return a station file: DN 100 valves between mains DN 150; levels of supply, station and zone [m]."""
    above, datum, below = (f"{level!r} m" for level in levels)
    data: dict[str, Any] = {
        "format": "steadyhead/station/1",
        "station": {"id": "TST", "name": "test", "datum": datum, "altitude": f"{altitude!r} m"},
        "water": {"temperature": "10 °C"},
        "supply": {
            "min": supply, "typical": supply, "static": supply, "level": above,
            "stated_at": "head of main", "main": dict(MAIN),
        },
        "demand": {"night": "0.5 L/s", "average": "5 L/s", "peak": "15 L/s"},
        "zone": {"level": below, "main": dict(ZONE_MAIN)},
        "line": line
        or [
            {"part": "tap", "id": "T0"},
            {"part": "isolating_valve", "id": "IV1", "size": "DN 150", "kv": "Kv 894"},
            {"part": "strainer", "id": "ST", "size": "DN 150", "kv_clean": "Kv 300"},
            {"part": "tap", "id": "T1"},
            *_valves(layout, senses, lockup, duty, dict(inside or INSIDE), resets),
            {"part": "drain", "id": "TD", "size": "DN 50", "kv": "Kv 15"},
            {"part": "isolating_valve", "id": "IV2", "size": "DN 150", "kv": "Kv 894", "tight": "yes"},
            {"part": "tap", "id": "T4"},
        ],
    }  # fmt: skip
    if not mains:
        del data["supply"]["main"], data["zone"]["main"]
    return data


def _valves(
    layout: Layout,
    senses: str,
    lockup: str | None,
    duty: tuple[str, str],
    inside: dict[str, str],
    resets: str,
) -> list[dict[str, Any]]:
    def reducer(part_id: str, tap: str) -> dict[str, Any]:
        return {
            "part": "reducer", "id": part_id, "size": "DN 100", "kv": "Kv 170", "senses": senses or tap,
            "duty": {"pressure": duty[0], "flow": duty[1]}, "pilot": PILOT, "mechanics": inside,
        } | ({"lockup": lockup} if lockup else {})  # fmt: skip

    shut_off = {
        "part": "shut_off", "id": "SO", "size": "DN 100", "kv": "Kv 170", "senses": "T3", "pilot": PILOT,
        "trip": "5.5 bar", "dead_band": "0.6 bar", "resets": resets,
        "mechanics": {"pressure_recovery": "0.85", "curve_shape": "1"},
    }  # fmt: skip
    t2, t3 = ({"part": "tap", "id": name} for name in ("T2", "T3"))
    between = {"part": "drain", "id": "TD2", "size": "DN 25", "kv": "Kv 10"}
    if layout == "reducer alone":
        return [reducer("RV", "T3"), t3]
    if layout == "shut-off upstream":
        return [shut_off, t2, reducer("RV", "T3"), t3]
    if layout == "shut-off downstream":
        return [reducer("RV", "T2"), t2, between, shut_off, t3]
    first = reducer("RV1", "T2") | {"duty": {"pressure": "6.4 bar", "flow": duty[1]}, "lockup": "6.8 bar"}
    if senses:
        first["senses"] = "T2"
    return [first, t2, between, reducer("RV", "T3"), t3]


def station(layout: Layout = "shut-off downstream", **options: Any) -> Station:
    """Return the station of `station_data`."""
    return load_json(json.dumps(station_data(layout, **options))).station


def model(layout: Layout = "shut-off downstream", **options: Any) -> Model:
    """Return the model of a station with its design settings."""
    return build(station(layout, **options))


def drawing(kv: float = 0.0, *, supply: float = 9.0, **more: Any) -> Conditions:
    """Return conditions with consumers of a Kv [m³/h at 1 bar] and a supply pressure [bar]."""
    return Conditions(supply_pressure=supply * BAR, consumer_kv=kv, **more)
