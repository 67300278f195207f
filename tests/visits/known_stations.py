"""Two stations of the design texts, written as station files: the default station, and station A's valves."""

from __future__ import annotations

import copy
from typing import Any

from steadyhead.records.station import Station


def default_station(**changes: Any) -> Station:
    """Return the physics specification's default station (its section 8), reducer before the shut-off."""
    data = {
        "format": "steadyhead/station/1",
        "station": {"id": "DEF", "name": "Default", "datum": "0 m"},
        "water": {"temperature": "10 °C"},
        "supply": {
            "min": "9 bar", "typical": "9 bar", "static": "9 bar", "stated_at": "head of main",
            "main": {"length": "500 m", "bore": "150 mm", "roughness": "0.1 mm", "material": "steel"},
        },
        "zone": {"main": {"length": "800 m", "bore": "150 mm", "roughness": "0.1 mm", "material": "steel"}},
        "demand": {"night": "1 m³/h", "average": "30 m³/h", "peak": "60 m³/h"},
        "line": [
            {"part": "tap", "id": "T0"},
            {"part": "isolating_valve", "id": "IV1", "size": "DN 150", "kv": "Kv 894", "turns": "100 turns"},
            {"part": "strainer", "id": "ST", "size": "DN 100", "kv_clean": "Kv 300"},
            {"part": "tap", "id": "T1"},
            {
                "part": "reducer", "id": "RV", "size": "DN 100", "kv": "Kv 170", "senses": "T2",
                "duty": {"pressure": "4.0 bar", "flow": "30 m³/h"}, "lockup": "4.5 bar",
                "pilot": {"spring_low": "1 bar", "spring_high": "8 bar", "per_turn": "0.5 bar/turn"},
            },
            {"part": "tap", "id": "T2"},
            {"part": "drain", "id": "TD2", "size": "DN 25"},
            {
                "part": "shut_off", "id": "SO", "size": "DN 100", "kv": "Kv 170", "senses": "T3",
                "trip": "5.5 bar",
                "pilot": {"spring_low": "1 bar", "spring_high": "9 bar"},
            },
            {"part": "tap", "id": "T3"},
            {"part": "drain", "id": "TD", "size": "DN 50", "kv": "Kv 15"},
            {"part": "isolating_valve", "id": "IV2", "size": "DN 150", "kv": "Kv 894"},
            {"part": "tap", "id": "T4"},
        ],
    }  # fmt: skip
    return Station.model_validate(_with(data, changes))


STATION_A: dict[str, Any] = {
    "format": "steadyhead/station/1",
    "station": {"id": "QHL", "name": "Quernhollow Lane", "datum": "142 m"},
    "water": {"temperature": "11 °C"},
    "supply": {"min": "8.4 bar", "typical": "10.6 bar", "night": "11.4 bar", "static": "11.8 bar"},
    "demand": {"night": "1.8 L/s", "average": "9 L/s", "peak": "21 L/s"},
    "limits": [{"component": "old spur", "normal": "8 bar", "fault": "8 bar", "level": "121 m"}],
    "line": [
        {"part": "tap", "id": "T0"},
        {"part": "isolating_valve", "id": "IV1", "size": "DN 150", "turns": "34 turns"},
        {"part": "strainer", "id": "ST", "size": "DN 150", "kv_clean": "Kv 131.5"},
        {"part": "tap", "id": "T1"},
        {
            "part": "shut_off", "id": "SO", "size": "DN 150", "kv": "Kv 207.8", "senses": "T3",
            "trip": "5.1 bar",
            "repeatability": "0.15 bar", "drift": "0.10 bar", "dead_band": "0.5 bar",
            "closing": {"time": "5.6 s", "flow": "0.4 L/s"},
            "pilot": {"spring_low": "3 bar", "spring_high": "9 bar", "raises": "clockwise"},
        },
        {"part": "tap", "id": "T2"},
        {
            "part": "reducer", "id": "RV", "size": "DN 100", "kv": "Kv 150", "senses": "T3",
            "duty": {"pressure": "4.0 bar", "flow": "5 L/s"}, "lockup": "4.3 bar",
            "pilot": {"spring_low": "1.5 bar", "spring_high": "7 bar", "raises": "clockwise"},
        },
        {"part": "tap", "id": "T3"},
        {"part": "drain", "id": "TD", "size": "DN 80", "kv": "Kv 45", "allowed": "60 m³", "metered": "yes"},
        {"part": "isolating_valve", "id": "IV2", "size": "DN 150", "turns": "34 turns"},
        {"part": "tap", "id": "T4"},
    ],
    "alarm": {"pressure": "4.8 bar", "delay": "60 s", "error": "0.1 bar"},
    "stacking": "root-sum-square",
    "gauges": [
        {"id": "TG-07", "span": "10 bar", "accuracy": "1 %", "for_setting": "yes"},
        {"id": "TG-11", "span": "16 bar", "accuracy": "1 %"},
    ],
}  # fmt: skip
"""Station A of the design handbook without its low-flow stream (2.5, 3.8, 10): losses as H4 found them."""


def station_a(**changes: Any) -> Station:
    return Station.model_validate(_with(STATION_A, changes))


def _with(data: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """Return the data with changes: ``section__field`` or ``part id__field`` → value; None takes it out."""
    found = copy.deepcopy(data)
    for path, value in changes.items():
        *where, name = path.split("__")
        place = found
        for step in where:
            parts = [p for p in found["line"] if p["id"] == step]
            place = parts[0] if parts else place.setdefault(step, {})
        if value is None:
            place.pop(name, None)
        else:
            place[name] = value
    return found


def without_part(station_data: dict[str, Any], part_id: str) -> Station:
    data = copy.deepcopy(station_data)
    data["line"] = [part for part in data["line"] if part["id"] != part_id]
    return Station.model_validate(data)
