"""Map the coupled station cases of the independent reference onto the public API of steadyhead.

No physics here: dictionaries in, station records and conditions, dictionaries out. The names of the case
format stay in this folder. Scenarios that need the transient twin are in `tests.independent.surge_adapter`.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from math import isinf, isnan
from typing import Any

from steadyhead.hydraulics import Model, build_plain, solve
from steadyhead.hydraulics.reach import reach
from steadyhead.hydraulics.sequence import Step, read_sequence
from steadyhead.records.steady import Conditions, Steady, ValveReading
from steadyhead.station.load import load_json
from steadyhead.water import WaterProperties
from tests.independent.case_format import DEFAULTS, FAULTS, first, merged
from tests.independent.rest_adapter import is_beyond_the_file, readings
from tests.independent.surge_adapter import SCENARIOS, dynamic_signature

BAR = 1e5
HOUR = 3600.0
STATES = {
    "shut": "closed", "holding": "regulating", "wide open": "open", "lock-up": "lock-up", "creep": "creep",
    "works open": "ratchet", "cannot shut": "regulating", "standing open": "lock-up", "forced": "open",
}  # fmt: skip
STATES_AT_REST = STATES | {"shut": "lock-up", "works open": "creep"}  # the format says so for no demand
FEED_BLOCKED_KV = 1e-4
CODES = {
    "cannot hold": "open",
    "choked": "choked",
    "cavitating": "cavitation",
    "low flow": "low_flow",
    "holds": "regulating",
}


def run(scenario: str, args: Mapping[str, Any]) -> dict[str, Any]:
    """Run one case of the format and return its results.

    Raises
    ------
    NotImplementedError
        A scenario the format does not name.
    """
    known = {
        "steady_state": _steady_state,
        "steady_curve": _steady_curve,
        "envelope": _envelope,
        "setting_procedure": _setting_procedure,
        "fault_signature": _fault_signature,
        **SCENARIOS,
    }
    if scenario not in known:
        raise NotImplementedError(scenario)
    return known[scenario](merged(DEFAULTS, args.get("station", {})), args)


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


def _feed_is_blocked(prv: Mapping[str, Any]) -> bool:
    return float(prv["kv_feed"]) < FEED_BLOCKED_KV


def station_file(case: Mapping[str, Any]) -> dict[str, Any]:
    """Return the station file of a case."""
    prv, osv = case["prv"], case["osv"]
    mechanics = _mechanics(prv) | {
        "incipient_ratio": repr(float(prv["xFz"])),
        "feed_kv": _kv(prv["kv_feed"] if not _feed_is_blocked(prv) else DEFAULTS["prv"]["kv_feed"]),
        "pilot_kv": _kv(prv["kv_pilot"]),
        "proportional_band": _bar(prv["band"]),
    }
    for key, name in (("kv_open", "opening_needle_kv"), ("filter", "filter_kv")):
        if prv[key] is not None:
            mechanics[name] = _kv(prv[key])
    first_valve = case["order"] == "prv_osv"
    tap = {"auto": "T2" if first_valve else "T3", "mid": "T2", "out": "T3", "p_mid": "T2", "p_out": "T3"}[
        prv["sense"]
    ]
    pilot = {"spring_low": "0 bar", "spring_high": "40 bar"}
    reducer = {
        "part": "reducer", "id": "RV", "size": "DN 100", "kv": _kv(prv["kvs"]),
        "duty": {"pressure": "4 bar", "flow": "5 L/s"}, "senses": tap, "pilot": pilot, "mechanics": mechanics,
    }  # fmt: skip
    shut_off = {
        "part": "shut_off", "id": "SO", "size": "DN 100", "kv": _kv(osv["kvs"]), "senses": "T3",
        "pilot": pilot, "trip": _bar(osv["trip"]), "dead_band": _bar(osv["diff"]),
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
    forced = (
        {}
        if osv["stuck"] is None and osv["x0"] == 1.0
        else {"SO": osv["stuck"] if osv["stuck"] is not None else osv["x0"]}
    )
    changes: dict[str, Any] = {}
    if not prv["sense_open"] and prv["p_trapped"] is not None:
        changes["trapped_sense"] = {"RV": prv["p_trapped"] * BAR}
    if prv["y_stuck"] is not None:
        changes["pilot_stuck"] = {"RV": prv["y_stuck"]}
    if prv["mode"] != "pilot" and prv["x_table"] is not None:
        forced["RV"] = first(prv["x_table"])
    if _feed_is_blocked(prv):
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
    return float(max(prv["turn"] * (turns - prv["n_free"]), 0.0) * BAR)


def _reading(steady: Steady) -> ValveReading:
    return steady.valves["RV"]


def _steady_state(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    if is_beyond_the_file(case):
        return readings(case)
    return _flat(_solved(model_of(case), conditions_of(case)))


def _solved(model: Model, conditions: Conditions) -> Steady:
    """Solve; what a shut reducer holds back at no flow is what stood there while it was sound."""
    before = None
    if conditions.trapped_sense or conditions.pilot_stuck:
        before = solve(model, replace(conditions, trapped_sense={}, pilot_stuck={}))
    return solve(model, conditions, before)


def _flat(steady: Steady) -> dict[str, Any]:
    reading = _reading(steady)
    states = STATES if steady.flow > 0.0 else STATES_AT_REST
    return {
        "Q": steady.flow * HOUR,
        "p_in": steady.taps["T1"] / BAR,
        "p_mid": steady.taps["T2"] / BAR,
        "p_out": steady.taps["T3"] / BAR,
        "p_end": steady.consumer_end / BAR,
        "p_chamber": reading.chamber_pressure / BAR,
        "lift": reading.lift,
        "y": reading.pilot_opening,
        "state": states[reading.state],
        "xF": reading.pressure_ratio,
        "sigma": None if isinf(reading.sigma_1) else reading.sigma_1,
        "choked": reading.choked,
        "incipient": reading.incipient,
    }


def _steady_curve(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    if is_beyond_the_file(case):
        rows = [readings(case, float(kv)) for kv in args["demand_kv"]]
    else:
        model, conditions = model_of(case), conditions_of(case)
        rows = [
            _flat(_solved(model, replace(conditions, consumer_kv=float(kv), consumer_flow=None)))
            for kv in args["demand_kv"]
        ]
    return {key: [row[key] for row in rows] for key in rows[0]}


def _fault_signature(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Readings with gauge offsets, whether the shut-off would act, and the response to a demand step."""
    faulty = merged(case, FAULTS.get(args["fault"] or "", {}))
    curve = _steady_curve(faulty, args)
    osv = faulty["osv"]
    blind = not osv["sense_open"] and osv["p_trapped"] is not None
    felt = [osv["p_trapped"] if blind else p for p in curve["p_out"]]
    given = args.get("gauge_offset") or {}
    offset = given if isinstance(given, Mapping) else {"p_out": given}
    read = {key: [p + offset.get(key, 0.0) for p in curve[key]] for key in ("p_in", "p_mid", "p_out")}
    found = {key: curve[key] for key in ("Q", "lift", "state")} | read
    found["would_trip"] = [p >= osv["trip"] for p in felt]
    if args.get("dynamic", True):
        found["dynamic"] = dynamic_signature(faulty, args)
    return found


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
    now = {
        "prv_turns": first(prv["screw"]),
        "osv_turns": args["osv_turns0"],
        "demand_kv": start.consumer_kv,
        "drain_kv": 0.0,
    }
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
            Step(
                conditions,
                {"SO": osv["turn"] * now["osv_turns"] * BAR},
                frozenset({"SO"} if given.get("reset") else ()),
            )
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
