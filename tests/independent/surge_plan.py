"""A case of the coupled station format as a plan of the transient engine: data to data, no physics."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf, log10, nan, pi
from typing import Any

from steadyhead import surge
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.surge.plan import ValveBody
from tests.independent.case_format import first, merged

BAR = 1e5
HOUR = 3600.0
GRAVITY = 9.81
SURGE_DEFAULTS: dict[str, Any] = {
    "fluid": {"alpha0": 1e-7, "psi": 1.0},
    "up": {"L": 500.0, "a": 1150.0, "k_unsteady": 0},
    "down": {"L": 800.0, "a": 1150.0, "k_unsteady": 0},
    "iso_up": {"n": 1.5, "floor": 1e-5},
    "iso_dn": {"n": 1.5, "floor": 1e-5},
    "vol": {"v_in": 0.015, "v_mid": 0.008, "v_out": 0.015, "k_eff": 1.2e9},
    "prv": {
        "backlash": 0, "tau": 0.05, "pil_hyst": 0, "fric": 0, "air": 0, "air_p": None, "air_n": 1.2,
        "c_v": 2e4, "V0": 1e-4,
    },
    "osv": {
        "mode": "timed", "t_close": 5, "t_open": 10, "kv_close": 0.15, "kv_vent": 0.10, "tau": 0.10,
        "ls_kind": "reaches_closed", "ls_closed": 0.03, "ls_open": 0.95, "reset_at": None, "trip_at": None,
    },
    "demand": {"vessel": None, "zone": None, "relief": None},
    "fail": None,
    "limits": {"p_max_down": 10, "p_max_up": 16, "p_max_mid": None, "p_min": 0},
    "num": {"n_short": 100, "dt_max": 0.02, "t_end": 20, "record": 1},
}  # fmt: skip
REFERENCE_REACHES = 200
SWITCH_BREAKS = 0.05


def full_case(case: Mapping[str, Any]) -> dict[str, Any]:
    """Return a case with the defaults that only the transient part of the format knows."""
    return merged(SURGE_DEFAULTS, case)


def rows(value: Any) -> list[list[float]]:
    """Return a table, or a number as one."""
    return [[float(t), float(v)] for t, v in value] if isinstance(value, list) else [[0.0, float(value)]]


def k_of(case: Mapping[str, Any], kv: float) -> float:
    """Return k of a Kv in the water of a case."""
    return k_of_kv(float(kv), float(case["fluid"]["rho"]))


def given(value: Any, missing: float = nan) -> float:
    """Return a number, or `missing` for None."""
    return missing if value is None else float(value)


def water_of(case: Mapping[str, Any]) -> surge.Water:
    """Return the water of a case."""
    fluid = case["fluid"]
    return surge.Water(
        fluid["rho"], fluid["nu"], fluid["pv"], fluid["patm"], fluid["pcrit"], GRAVITY, reference=BAR
    )


def unsteady_factor(stated: Any, flow: float, bore: float, viscosity: float) -> float:
    """Return k_u as stated, or the one of the flow at the start where it is asked for by a word."""
    if not isinstance(stated, str | bool):
        return float(stated or 0.0)
    if not stated:
        return 0.0
    reynolds = max(4.0 * abs(flow) / (pi * bore * viscosity), 1.0)
    shear = 0.00476 if reynolds < 2320 else 7.41 / reynolds ** log10(14.3 / reynolds**0.05)
    return 0.5 * float(shear**0.5)


def with_unsteady_factors(case: Mapping[str, Any]) -> dict[str, Any]:
    """Return a full case whose k_u are numbers: one asked for by a word is that of the flow at the start."""
    asked = {name for name in ("up", "down") if isinstance(case[name]["k_unsteady"], str | bool)}
    if not asked:
        return dict(case)
    steady = merged(case, {name: {"k_unsteady": 0} for name in asked})
    flow = surge.steady_rest(surge.compile_plan(plan_of(steady)), schedule_of(steady)).flow
    found = {
        name: unsteady_factor(case[name]["k_unsteady"], flow, case[name]["D"], case["fluid"]["nu"])
        for name in asked
    }
    return merged(steady, {name: {"k_unsteady": factor} for name, factor in found.items()})


def _pipe(case: Mapping[str, Any], name: str, above: str, below: str) -> surge.Pipe:
    main = case[name]
    return surge.Pipe(
        id=name,
        above=above,
        below=below,
        length=float(main["L"]),
        bore=float(main["D"]),
        roughness=float(main["rough"]),
        wave_speed=float(main["a"]),
        level_above=float(main["z"][0]),
        level_below=float(main["z"][1]),
        side="supply" if name == "up" else "consumer",
        unsteady=float(main["k_unsteady"] or 0.0),
    )


def _body(case: Mapping[str, Any], name: str) -> ValveBody:
    valve = case[name]
    return ValveBody(
        coefficient=k_of(case, valve["kvs"]),
        shape=float(valve["b"]),
        stroke=float(valve["stroke"]),
        recovery=float(valve["FL"]),
        leak=k_of(case, valve.get("leak", 0.0)),
        floor=float(valve["floor"]),
        area=float(valve["A_d"]),
        seat_ratio=float(valve["r0"]),
        flow_force=float(valve["r1"]),
        spring_shut=valve["s0"] * BAR,
        spring_rise=valve["s1"] * BAR,
        lowest=float(valve.get("x_min", 0.0)),
    )


def _reducer(case: Mapping[str, Any]) -> surge.ReducerRow:
    prv = case["prv"]
    auto = "mid" if case["order"] == "prv_osv" else "out"
    tap = {"auto": auto, "p_mid": "mid", "p_out": "out"}.get(prv["sense"], prv["sense"])
    prescribed = prv["mode"] != "pilot" and prv["x_table"] is not None
    return surge.ReducerRow(
        id="prv",
        body=_body(case, "prv"),
        senses=tap,
        feed=k_of(case, prv["kv_feed"]),
        pilot=k_of(case, prv["kv_pilot"]),
        band=prv["band"] * BAR,
        needle=inf if prv["kv_open"] is None else k_of(case, prv["kv_open"]),
        filter=inf if prv["filter"] is None else k_of(case, prv["filter"]),
        tear=k_of(case, prv["tear"]),
        screw=first(prv["screw"]),
        per_turn=prv["turn"] * BAR,
        turns_free=float(prv["n_free"]),
        screw_play=float(prv["backlash"]),
        lag=float(prv["tau"]),
        is_cock_open=bool(prv["sense_open"]),
        trapped=given(prv["p_trapped"]) * BAR,
        pilot_play=prv["pil_hyst"] * BAR,
        friction=prv["fric"] * BAR,
        stuck_pilot=given(prv["y_stuck"]),
        lift=first(prv["x_table"]) if prescribed else nan,
        air=float(prv["air"]),
        air_pressure=given(prv["air_p"]) * BAR,
        air_exponent=float(prv["air_n"]),
        damping=float(prv["c_v"]),
        dead_volume=float(prv["V0"]),
    )


def _shut_off(case: Mapping[str, Any]) -> surge.ShutOffRow:
    osv = case["osv"]
    leaves = osv["ls_kind"] == "leaves_open"
    makes = osv["ls_open"] if leaves else osv["ls_closed"]
    return surge.ShutOffRow(
        id="osv",
        body=_body(case, "osv"),
        senses="out",
        trip=osv["trip"] * BAR,
        release=nan if osv["latched"] else (osv["trip"] - osv["diff"]) * BAR,
        is_hydraulic=osv["mode"] == "hydraulic",
        close_time=float(osv["t_close"]),
        open_time=float(osv["t_open"]),
        close_needle=k_of(case, osv["kv_close"]),
        vent=k_of(case, osv["kv_vent"]),
        lag=float(osv["tau"]),
        is_cock_open=bool(osv["sense_open"]),
        trapped=given(osv["p_trapped"]) * BAR,
        switch_makes=float(makes),
        switch_breaks=float(makes) if leaves else max(SWITCH_BREAKS, makes),
        lift=given(osv["stuck"]),
        start_lift=float(osv["x0"]) if osv["stuck"] is None else float(osv["stuck"]),
        trip_at=given(osv["trip_at"]),
        reset_at=given(osv["reset_at"]),
    )


def _relief(case: Mapping[str, Any]) -> surge.ReliefValve | None:
    relief = case["demand"]["relief"]
    if relief is None:
        return None
    return surge.ReliefValve(
        "relief",
        k_of(case, relief["kv"]),
        crack=relief["crack"] * BAR,
        wide=relief["full"] * BAR,
        reseat=relief["reseat"] * BAR,
        stroke_time=float(relief.get("t_stroke") or 0.0),
        curve=tuple((p * BAR, float(share)) for p, share in relief.get("lift") or ()),
    )


def _consumers(case: Mapping[str, Any]) -> surge.Consumers:
    demand = case["demand"]
    imposed = demand["type"] == "flow"
    relief = _relief(case)
    at_end = relief is not None and (demand["relief"].get("at") or "out") == "end"
    zone, vessel = demand["zone"], demand["vessel"]
    return surge.Consumers(
        "end",
        coefficient=0.0 if imposed else k_of(case, first(demand["kv"])),
        exponent=float(demand["n"]),
        drawn=first(demand["q"]) / HOUR if imposed else nan,
        level=float(case["down"]["z"][1]),
        elasticity=0.0 if zone is None else float(zone["V"]) * float(zone["beta"]),
        vessel=None if vessel is None else surge.Vessel(float(vessel["V_air"]), float(vessel.get("n", 1.2))),
        relief=relief if at_end else None,
    )


def plan_of(case: Mapping[str, Any]) -> surge.Plan:
    """Return the plan of a full case."""
    case = with_unsteady_factors(case)
    demand, vol = case["demand"], case["vol"]
    relief = _relief(case)
    at_end = relief is not None and (demand["relief"].get("at") or "out") == "end"
    valves: list[surge.ReducerRow | surge.Section | surge.ShutOffRow] = [
        _reducer(case),
        surge.Section("mid", float(vol["v_mid"])),
        _shut_off(case),
    ]
    iso_up, iso_dn = case["iso_up"], case["iso_dn"]
    num = case["num"]
    return surge.Plan(
        water_of(case),
        (_pipe(case, "up", "supply", "station"), _pipe(case, "down", "station", "end")),
        (
            surge.Reservoir("supply", first(case["supply"]["p"]) * BAR, float(case["up"]["z"][0])),
            _consumers(case),
        ),
        (
            _loss(case, "iso_up", iso_up),
            surge.LossRow("strainer", k_of(case, case["strainer"]["kv"]), clogging=case["strainer"]["clog"]),
            surge.Section("in", float(vol["v_in"])),
            *(valves if case["order"] == "prv_osv" else valves[::-1]),
            surge.Section(
                "out",
                float(vol["v_out"]),
                drain=k_of(case, first(demand["drain"])) if demand["drain"] is not None else 0.0,
                relief=None if at_end else relief,
            ),
            _loss(case, "iso_dn", iso_dn),
        ),
        stiffness=float(vol["k_eff"]),
        numbers=surge.Numbers(
            max(int(num["n_short"]), REFERENCE_REACHES),
            float(num["dt_max"]),
            float(case["fluid"]["alpha0"]),
            float(case["fluid"]["psi"]),
        ),
    )


def _loss(case: Mapping[str, Any], name: str, valve: Mapping[str, Any]) -> surge.LossRow:
    return surge.LossRow(
        name,
        k_of(case, valve["kvs"]),
        opening=first(valve["open"]),
        power=float(valve["n"]),
        floor=float(valve["floor"]),
    )


def schedule_of(case: Mapping[str, Any]) -> surge.Schedule:
    """Return everything of a case that changes with time."""
    demand, prv = case["demand"], case["prv"]
    tables: list[tuple[str, str, Any, float]] = [
        ("supply", "supply pressure", case["supply"]["p"], BAR),
        ("iso_up", "opening", case["iso_up"]["open"], 1.0),
        ("iso_dn", "opening", case["iso_dn"]["open"], 1.0),
        ("prv", "screw", prv["screw"], 1.0),
    ]
    if demand["type"] == "flow":
        tables.append(("end", "drawn", demand["q"], 1.0 / HOUR))
    else:
        tables.append(("end", "demand", demand["kv"], k_of(case, 1.0)))
    if demand["drain"] is not None:
        tables.append(("out", "drain", demand["drain"], k_of(case, 1.0)))
    if prv["mode"] != "pilot" and prv["x_table"] is not None:
        tables.append(("prv", "lift", prv["x_table"], 1.0))
    inputs: list[surge.Straight | surge.Held] = [
        surge.Straight(name, what, tuple((t, v * factor) for t, v in rows(table)))  # type: ignore[arg-type]
        for name, what, table, factor in tables
        if len(rows(table)) > 1
    ]
    return surge.Schedule(tuple(inputs + _failure(case)))


def _failure(case: Mapping[str, Any]) -> list[surge.Straight | surge.Held]:
    fail = case["fail"]
    if fail is None:
        return []
    t0 = float(fail.get("t0", 1.0))
    prv = case["prv"]
    if fail["kind"] == "tear":
        before = k_of(case, prv["tear"])
        after = k_of(case, fail.get("kv") if fail.get("kv") is not None else 0.5)
        return [surge.Held("prv", "tear", ((0.0, before), (t0, after)))]
    if fail["kind"] == "stem":
        return []  # the speed depends on where the stem stands; see the runner
    opening = 1.0 if fail["kind"] == "pilot" else 0.0
    return [surge.Held("prv", "stuck pilot", ((0.0, given(prv["y_stuck"])), (t0, opening)))]
