"""Map the coupled station cases of the independent reference onto the public API of steadyhead.

No physics here: dictionaries in, station records and conditions, dictionaries out. The names of the case
format stay in this folder. Scenarios that need the transient twin answer with ``NotImplementedError`` until
it exists; the tests list them as not covered.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import replace
from math import isnan
from typing import Any

from steadyhead.hydraulics import Model, build_plain, solve
from steadyhead.hydraulics.reach import reach
from steadyhead.hydraulics.sequence import Step, read_sequence
from steadyhead.records.steady import Conditions, Steady, ValveReading
from steadyhead.station.load import load_json
from steadyhead.water import WaterProperties

BAR = 1e5
HOUR = 3600.0
DEFAULTS: dict[str, Any] = {
    "fluid": {"rho": 999.7, "nu": 1.31e-6, "pv": 1228.0, "patm": 101325.0, "pcrit": 221.2e5},
    "supply": {"p": [[0, 9.0]]},
    "up": {"L": 500.0, "D": 0.150, "rough": 1e-4, "z": [0.0, 0.0]},
    "down": {"L": 800.0, "D": 0.150, "rough": 1e-4, "z": [0.0, 0.0]},
    "iso_up": {"kvs": 894.0, "open": [[0, 1]]},
    "iso_dn": {"kvs": 894.0, "open": [[0, 1]]},
    "strainer": {"kv": 300.0, "clog": 1.0},
    "order": "prv_osv",
    "prv": {
        "kvs": 170.0, "b": 1.0, "stroke": 0.025, "FL": 0.85, "leak": 0.0, "floor": 1e-5, "xFz": 0.45,
        "A_d": 0.01745, "r0": 0.45, "r1": 0.15, "s0": 0.05, "s1": 0.08, "kv_feed": 0.06, "kv_pilot": 0.12,
        "kv_open": None, "filter": None, "band": 0.8, "turn": 0.5, "n_free": 0.0, "screw": [[0, 9]],
        "sense": "auto", "tear": 0.0, "x_min": 0.0, "y_stuck": None, "sense_open": True, "p_trapped": None,
        "mode": "pilot", "x_table": None,
    },
    "osv": {
        "kvs": 170.0, "b": 1.0, "stroke": 0.025, "FL": 0.85, "floor": 1e-5, "A_d": 0.01745, "r0": 0.45,
        "r1": 0.15, "s0": 0.15, "s1": 0.25, "turn": 0.6, "trip": 5.5, "diff": 0.6, "latched": True,
        "stuck": None, "x0": 1.0, "sense_open": True, "p_trapped": None,
    },
    "demand": {"type": "orifice", "kv": [[0, 30]], "q": None, "n": 0.5, "drain": None},
}  # fmt: skip
FAULTS: dict[str, dict[str, Any]] = {
    "feed_partly_blocked": {"prv": {"kv_feed": 0.012}},
    "feed_blocked": {"prv": {"kv_feed": 1e-6}},
    "pilot_filter_clogged": {"prv": {"filter": 0.02}},
    "diaphragm_torn": {"prv": {"tear": 0.5}},
    "debris_on_seat": {"prv": {"x_min": 0.02}},
    "seat_leak": {"prv": {"leak": 0.5}},
    "air_in_chamber": {"prv": {"air": 1e-4}},
    "strainer_clogged": {"strainer": {"clog": 30}},
    "prv_sense_cock_closed_low": {"prv": {"sense_open": False, "p_trapped": 2}},
    "prv_sense_cock_closed_high": {"prv": {"sense_open": False, "p_trapped": 6}},
    "osv_sense_cock_closed": {"osv": {"sense_open": False, "p_trapped": 2}},
    "osv_partly_closed": {"osv": {"stuck": 0.15}},
    "wrong_spring": {"prv": {"turn": 0.9}},
    "pilot_drain_blocked": {"prv": {"kv_open": 0.015}},
    "opening_needle_tight": {"prv": {"kv_open": 0.09}},
}
STATES = {
    "shut": "closed", "holding": "regulating", "wide open": "open", "lock-up": "lock-up", "creep": "creep",
    "works open": "ratchet", "cannot shut": "regulating", "standing open": "lock-up", "forced": "open",
}  # fmt: skip
CODES = {
    "cannot hold": "open", "choked": "choked", "cavitating": "cavitation", "low flow": "low_flow", "holds": "regulating",
}  # fmt: skip


def run(scenario: str, args: Mapping[str, Any]) -> dict[str, Any]:
    """Run one case of the format and return its results.

    Raises
    ------
    NotImplementedError
        A scenario that needs the transient twin.
    """
    known = {
        "steady_state": _steady_state,
        "steady_curve": _steady_curve,
        "envelope": _envelope,
        "setting_procedure": _setting_procedure,
    }
    if scenario not in known:
        raise NotImplementedError(scenario)
    return known[scenario](merged(DEFAULTS, args.get("station", {})), args)


def merged(base: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    """Return `base` with `over` merged in deeply."""
    out = deepcopy(dict(base))
    for key, value in over.items():
        out[key] = merged(out[key], value) if isinstance(value, Mapping) and isinstance(out.get(key), Mapping) else value
    return out


def first(rows: Any) -> float:
    """Return the first value of a table, or the number itself."""
    return float(rows[0][1]) if isinstance(rows, list) else float(rows)


def _bar(value: float) -> str:
    return f"{value!r} bar"


def _kv(value: float) -> str:
    return f"Kv {value!r}"


def _mechanics(side: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "curve_shape": repr(float(side["b"])),
        "stroke": f"{side['stroke']!r} m",
        "diaphragm_area": f"{side['A_d']!r} m²",
        "seat_ratio": repr(float(side["r0"])),
        "flow_force": repr(float(side["r1"])),
        "spring_shut": _bar(side["s0"]),
        "spring_rise": _bar(side["s1"]),
        "pressure_recovery": repr(float(side["FL"])),
        "seat_tightness": repr(float(side["floor"])),
    }


def station_file(case: Mapping[str, Any]) -> dict[str, Any]:
    """Return the station file of a case."""
    prv, osv = case["prv"], case["osv"]
    mechanics = _mechanics(prv) | {
        "incipient_ratio": repr(float(prv["xFz"])),
        "feed_kv": _kv(prv["kv_feed"]),
        "pilot_kv": _kv(prv["kv_pilot"]),
        "proportional_band": _bar(prv["band"]),
    }
    for key, name in (("kv_open", "opening_needle_kv"), ("filter", "filter_kv")):
        if prv[key] is not None:
            mechanics[name] = _kv(prv[key])
    first_valve = case["order"] == "prv_osv"
    tap = {"auto": "T2" if first_valve else "T3", "mid": "T2", "out": "T3", "p_mid": "T2", "p_out": "T3"}[prv["sense"]]
    pilot = {"spring_low": "0 bar", "spring_high": "40 bar"}
    reducer = {
        "part": "reducer", "id": "RV", "size": "DN 100", "kv": _kv(prv["kvs"]),
        "duty": {"pressure": "4 bar", "flow": "5 L/s"}, "senses": tap, "pilot": pilot, "mechanics": mechanics,
    }  # fmt: skip
    shut_off = {
        "part": "shut_off", "id": "SO", "size": "DN 100", "kv": _kv(osv["kvs"]), "senses": "T3", "pilot": pilot,
        "trip": _bar(osv["trip"]), "dead_band": _bar(osv["diff"]),
        "resets": "by hand" if osv["latched"] else "by itself", "mechanics": _mechanics(osv),
    }  # fmt: skip
    valves = [reducer, {"part": "tap", "id": "T2"}, shut_off]
    supply = _bar(first(case["supply"]["p"]))
    up, down = case["up"], case["down"]
    return {
        "format": "steadyhead/station/1",
        "station": {"id": "CASE", "name": "case", "datum": f"{float(up['z'][1])!r} m", "altitude": "0 m"},
        "water": {"temperature": "10 °C"},
        "supply": {
            "min": supply, "typical": supply, "static": supply, "level": f"{float(up['z'][0])!r} m",
            "stated_at": "head of main", "main": _main(up),
        },
        "demand": {"night": "0 L/s", "average": "5 L/s", "peak": "20 L/s"},
        "zone": {"level": f"{float(down['z'][1])!r} m", "main": _main(down)},
        "line": [
            {"part": "isolating_valve", "id": "IV1", "size": "DN 150", "kv": _kv(case["iso_up"]["kvs"])},
            {"part": "strainer", "id": "ST", "size": "DN 150", "kv_clean": _kv(case["strainer"]["kv"])},
            {"part": "tap", "id": "T1"},
            *(valves if first_valve else valves[::-1]),
            {"part": "tap", "id": "T3"},
            {"part": "drain", "id": "TD", "size": "DN 80", "kv": "Kv 1000"},
            {"part": "isolating_valve", "id": "IV2", "size": "DN 150", "kv": _kv(case["iso_dn"]["kvs"])},
        ],
    }  # fmt: skip


def _main(main: Mapping[str, Any]) -> dict[str, str]:
    return {"length": f"{main['L']!r} m", "bore": f"{main['D']!r} m", "roughness": f"{main['rough']!r} m"}


def model_of(case: Mapping[str, Any]) -> Model:
    """Return the model of a case, with the fluid it states."""
    fluid = case["fluid"]
    model = build_plain(load_json(json.dumps(station_file(case))).station)
    water = replace(
        model.water,
        density=fluid["rho"],
        kinematic_viscosity=fluid["nu"],
        vapour_pressure_abs=fluid["pv"],
    )
    assert isinstance(water, WaterProperties)
    return model.with_water(water, fluid["patm"])


def conditions_of(case: Mapping[str, Any]) -> Conditions:
    """Return the conditions of a case at its start."""
    prv, osv, demand = case["prv"], case["osv"], case["demand"]
    imposed = demand["type"] == "flow"
    forced = {} if osv["stuck"] is None and osv["x0"] == 1.0 else {"SO": osv["stuck"] if osv["stuck"] is not None else osv["x0"]}
    changes: dict[str, Any] = {}
    if not prv["sense_open"] and prv["p_trapped"] is not None:
        changes["trapped_sense"] = {"RV": prv["p_trapped"] * BAR}
    if prv["y_stuck"] is not None:
        changes["pilot_stuck"] = {"RV": prv["y_stuck"]}
    if prv["mode"] != "pilot" and prv["x_table"] is not None:
        forced["RV"] = first(prv["x_table"])
    if prv["kv_feed"] < 1e-4:
        changes["feed_share"] = {"RV": 0.0}
    drain = demand["drain"]
    return Conditions(
        supply_pressure=first(case["supply"]["p"]) * BAR,
        consumer_kv=None if imposed else first(demand["kv"]),
        consumer_flow=first(demand["q"]) / HOUR if imposed else None,
        demand_exponent=demand["n"],
        openings={
            "IV1": first(case["iso_up"]["open"]),
            "IV2": first(case["iso_dn"]["open"]),
            "TD": first(drain) / 1000.0 if drain is not None else 0.0,
        },
        lockup={"RV": _lockup(prv, first(prv["screw"]))},
        forced_lift=forced,
        strainer_clog=case["strainer"]["clog"],
        seat_leak_kv={"RV": prv["leak"]} if prv["leak"] else {},
        torn_kv={"RV": prv["tear"]} if prv["tear"] else {},
        debris_lift={"RV": prv["x_min"]} if prv["x_min"] else {},
        **changes,
    )


def _lockup(prv: Mapping[str, Any], turns: float) -> float:
    return max(prv["turn"] * (turns - prv["n_free"]), 0.0) * BAR


def _reading(steady: Steady) -> ValveReading:
    return steady.valves["RV"]


def _steady_state(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    steady = solve(model_of(case), conditions_of(case))
    return _flat(steady)


def _flat(steady: Steady) -> dict[str, Any]:
    reading = _reading(steady)
    return {
        "Q": steady.flow * HOUR,
        "p_in": steady.taps["T1"] / BAR,
        "p_mid": steady.taps["T2"] / BAR,
        "p_out": steady.taps["T3"] / BAR,
        "p_end": steady.consumer_end / BAR,
        "p_chamber": reading.chamber_pressure / BAR,
        "lift": reading.lift,
        "y": reading.pilot_opening,
        "state": STATES[reading.state],
        "xF": reading.pressure_ratio,
        "sigma": reading.sigma_1,
        "choked": reading.choked,
        "incipient": reading.incipient,
    }


def _steady_curve(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    model = model_of(case)
    conditions = conditions_of(case)
    rows = [_flat(solve(model, replace(conditions, consumer_kv=float(kv), consumer_flow=None))) for kv in args["demand_kv"]]
    return {key: [row[key] for row in rows] for key in rows[0]}


def _envelope(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    points = reach(
        model_of(case),
        "RV",
        [q / HOUR for q in args["Q"]],
        [p * BAR for p in args["p_in"]],
        least_lift=args.get("lift_min", 0.03),
        conditions=conditions_of(case),
    )
    return {
        "code": [CODES[point.verdict] for point in points],
        "lift": [point.lift for point in points],
        "p2": [None if isnan(point.outlet_pressure) else point.outlet_pressure / BAR for point in points],
        "xF": [None if isnan(point.pressure_ratio) else point.pressure_ratio for point in points],
    }


def _setting_procedure(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    model = model_of(case)
    start = conditions_of(case)
    prv, osv = case["prv"], case["osv"]
    now = {"prv_turns": first(prv["screw"]), "osv_turns": args["osv_turns0"], "demand_kv": start.consumer_kv, "drain_kv": 0.0}
    steps = []
    for given in args["steps"]:
        now |= {key: value for key, value in given.items() if key != "reset"}
        conditions = replace(
            start,
            consumer_kv=float(now["demand_kv"]),
            lockup={"RV": _lockup(prv, now["prv_turns"])},
            openings={**start.openings, "TD": float(now["drain_kv"]) / 1000.0},
        )
        steps.append(
            Step(conditions, {"SO": osv["turn"] * now["osv_turns"] * BAR}, frozenset({"SO"} if given.get("reset") else ()))
        )
    before = model.standing_at(args.get("p0", 0.0) * BAR)
    readings = read_sequence(model, steps, before)
    rows = [
        {
            "Q": r.steady.flow * HOUR,
            "p_in": r.steady.taps["T1"] / BAR,
            "p_out": r.steady.taps["T3"] / BAR,
            "trip": step.trip["SO"] / BAR,
            "margin": r.margin["SO"] / BAR,
            "tripped": "SO" in r.tripped,
            "osv_closed_switch": "SO" in r.tripped,
        }
        for r, step in zip(readings, steps, strict=True)
    ]
    return {key: [row[key] for row in rows] for key in rows[0]}
