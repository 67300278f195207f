"""Stations with streams, relief, vessel, monitor: those of the design handbook, part 10, rebuilt."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Data = dict[str, Any]

PLANT, FIELD, MONITORED, STAGED = "plant room", "field", "monitored", "staged"


SPRING = ("1.5 bar", "8 bar")


def valve(part_id: str, size: str = "DN 80") -> Data:
    return {"part": "isolating_valve", "id": part_id, "size": size, "turns": "9 turns", "closes": "clockwise",
            "tight": "yes"}  # fmt: skip


def tap(part_id: str) -> Data:
    return {"part": "tap", "id": part_id}


def drain(part_id: str) -> Data:
    return {"part": "drain", "id": part_id, "size": "DN 25", "kv": "Kv 8", "runs_to": "gully"}


def shut_off(part_id: str, senses: str, trip: str, size: str, spring: tuple[str, str], **more: Any) -> Data:
    return {
        "part": "shut_off", "id": part_id, "size": size, "trip": trip, "resets": "by hand", "senses": senses,
        "sensing_tap": "own", "closing_medium": "own inlet", "exhaust": "atmosphere", "closes_by": "spring",
        "tell_tale": "exhaust port", "limit_switch": {"kind": "leaves open", "text": "LEFT OPEN"},
        "pilot": {"spring_low": spring[0], "spring_high": spring[1]}, **more,
    }  # fmt: skip


def reducer(
    part_id: str,
    senses: str,
    duty: tuple[str, str],
    lockup: str,
    size: str,
    spring: tuple[str, str],
    **more: Any,
) -> Data:
    return {
        "part": "reducer", "id": part_id, "size": size, "senses": senses, "lockup": lockup,
        "duty": {"pressure": duty[0], "flow": duty[1]},
        "pilot": {"spring_low": spring[0], "spring_high": spring[1]}, **more,
    }  # fmt: skip


def _stream(end: str, role: str, duty: str, lockup: str, trip: str) -> Data:
    tight = {"repeatability": "0.10 bar", "drift": "0.08 bar"}
    calm = {"repeatability": "0.08 bar", "drift": "0.10 bar"}
    closing = {"time": "1 s", "flow": "0.1 L/s"}
    return {
        "id": role, "role": role,
        "line": [
            valve(f"IV{end}1", "DN 50"), tap(f"T1{end}"),
            shut_off(f"SO{end}", f"T3{end}", trip, "DN 50", ("3 bar", "10 bar"), closing=closing, **tight),
            tap(f"T2{end}"),
            reducer(f"RV{end}", f"T3{end}", (duty, "0.4 L/s"), lockup, "DN 50", SPRING, **calm),
            tap(f"T3{end}"), drain(f"TD{end}"), valve(f"IV{end}2", "DN 50"),
        ],
    }  # fmt: skip


def plant_room() -> Data:
    """Station B of the handbook: duty and standby stream, small relief valve, expansion vessel."""
    return {
        "format": "steadyhead/station/1",
        "station": {"id": "HB-B", "name": "plant room", "kind": "building plant room", "datum": "0 m",
                    "altitude": "60 m"},
        "water": {"temperature": "12 °C"},
        "supply": {"min": "12.6 bar", "typical": "13.5 bar", "night": "13.8 bar", "static": "14.2 bar"},
        "demand": {"night": "0 L/s", "average": "0.4 L/s", "peak": "3.2 L/s", "zero_possible": "yes"},
        "zone": {"volume": "1.1 m³", "material": "steel", "bore_over_wall": "22", "level": "18 m",
                 "other_feed": "no"},
        "hot_water": {"volume": "1000 L", "cold": "12 °C", "hot": "60 °C",
                      "safety_valve": {"pressure": "8 bar", "level": "3 m"}},
        "needs": [{"at": "shower on level 9", "pressure": "0.6 bar", "level": "36 m", "friction": "0.1 bar"}],
        "limits": [
            {"component": "draw-off", "normal": "5.0 bar", "fault": "10 bar", "level": "6 m"},
            {"component": "heater safety valve", "normal": "6.0 bar", "fault": "6.0 bar", "level": "3 m"},
            {"component": "hoses", "normal": "10 bar", "fault": "10 bar", "level": "6 m"},
            {"component": "inside", "normal": "16 bar", "fault": "20 bar", "level": "0 m", "side": "between"},
        ],
        "line": [
            tap("T0"), valve("IV1"), {"part": "strainer", "id": "ST", "size": "DN 80"}, tap("T1"),
            {"part": "parallel", "id": "PG", "branches": [
                _stream("A", "duty", "4.8 bar", "4.9 bar", "5.65 bar"),
                _stream("B", "standby", "4.5 bar", "4.6 bar", "5.85 bar"),
            ]},
            tap("T3"),
            {"part": "relief", "id": "RL", "size": "DN 25", "kv": "Kv 5", "crack": "5.4 bar",
             "runs_to": "tundish", "tells": "none"},
            {"part": "expansion_vessel", "id": "EV", "volume": "200 L", "precharge": "4.4 bar"},
            drain("TD"), valve("IV2"), tap("T4"),
        ],
        "alarm": {"pressure": "5.25 bar", "error": "0.05 bar"},
        "credited": [{"failure": "reducer drifts open", "within": "2 min", "at": "average flow"}],
        "stacking": "root-sum-square",
        "tolerances": {"gap": "0.10 bar"},
        "gauges": [{"id": "TG", "span": "10 bar", "accuracy": "0.6 %", "for_setting": "yes"}],
        "equipment": {"hand_pump": "yes"},
    }  # fmt: skip


def field() -> Data:
    """Station C of the handbook: two reducers in series and a low-flow one, shut-off ahead, relief valve."""
    spring = ("20 psi", "120 psi")
    calm = {"repeatability": "2 psi", "drift": "2 psi"}
    low = reducer("LB", "T3", ("69 psi", "60 gpm"), "73 psi", "3 in", spring, **calm)
    second = reducer("RV2", "T3", ("65 psi", "620 gpm"), "68 psi", "8 in", spring, **calm)
    return {
        "format": "steadyhead/station/1",
        "station": {"id": "HB-C", "name": "field", "kind": "irrigation", "datum": "3214 ft"},
        "water": {"temperature": "58 °F"},
        "supply": {"min": "165 psi", "typical": "190 psi", "night": "205 psi", "static": "210 psi"},
        "demand": {"night": "0 gpm", "average": "620 gpm", "peak": "1450 gpm", "fire": "1000 gpm",
                   "zero_possible": "yes"},
        "zone": {"volume": "210000 gal", "material": "PVC-U", "bore_over_wall": "24", "other_feed": "no"},
        "needs": [{"at": "far turnout", "pressure": "30 psi", "level": "3220 ft", "friction": "10 psi"}],
        "limits": [{"component": "PVC rated 165 psi", "normal": "165 psi", "fault": "165 psi",
                    "level": "3122 ft", "derating": "100 %"},
                   {"component": "between", "normal": "230 psi", "fault": "300 psi", "level": "3214 ft",
                    "side": "between"}],
        "line": [
            tap("T0"), valve("IV1", "10 in"), {"part": "strainer", "id": "ST", "size": "10 in"}, tap("T1"),
            shut_off("SO", "T3", "98 psi", "10 in", ("50 psi", "150 psi"),
                     closing={"time": "12 s", "flow": "60 gpm"}, repeatability="2 psi", drift="1.5 psi"),
            tap("T1S"),
            reducer("RV1", "T2", ("110 psi", "620 gpm"), "114 psi", "8 in", ("30 psi", "220 psi"), **calm),
            tap("T2"), drain("TD2"),
            {"part": "parallel", "id": "PG", "branches": [
                {"id": "large", "role": "main",
                 "line": [valve("IVM1", "10 in"), second, valve("IVM2", "10 in")]},
                {"id": "small", "role": "low flow",
                 "line": [valve("IVL1", "3 in"), low, valve("IVL2", "3 in")]},
            ]},
            tap("T3"),
            {"part": "relief", "id": "RL", "size": "4 in", "crack": "88 psi", "runs_to": "ditch"},
            drain("TD"), valve("IV2", "10 in"), tap("T4"),
        ],
        "alarm": {"pressure": "80 psi", "error": "0.7 psi"},
        "credited": [{"failure": "reducer drifts open", "within": "2 min", "at": "average flow"}],
        "gauges": [{"id": "TG", "span": "160 psi", "accuracy": "0.5 %", "for_setting": "yes"}],
        "equipment": {"hand_pump": "yes"},
    }  # fmt: skip


def monitored() -> Data:
    """A worker and its monitor, no shut-off."""
    data = plant_room()
    spring = ("1.5 bar", "10 bar")
    worker = reducer("RV", "T3", ("4.5 bar", "0.4 L/s"), "4.6 bar", "DN 50", spring)
    monitor = reducer("MON", "T3", ("5.2 bar", "0.4 L/s"), "5.3 bar", "DN 50", spring)
    data["line"] = [
        tap("T0"), valve("IV1"), {"part": "strainer", "id": "ST", "size": "DN 80"}, tap("T1"),
        monitor, tap("T2"), worker, tap("T3"), drain("TD"), valve("IV2"), tap("T4"),
    ]  # fmt: skip
    del data["hot_water"], data["alarm"]
    data["station"]["kind"] = "kiosk"
    return data


def staged() -> Data:
    """Two stages under one shut-off, one stream."""
    data = field()
    group = next(part for part in data["line"] if part["id"] == "PG")
    second = group["branches"][0]["line"][1]
    data["line"] = [second if part["id"] == "PG" else part for part in data["line"] if part["id"] != "RL"]
    return data


BUILT: dict[str, Callable[[], Data]] = {
    PLANT: plant_room, FIELD: field, MONITORED: monitored, STAGED: staged,
}  # fmt: skip
