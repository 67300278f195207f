"""Scenarios of the coupled station format that need the transient twin: no physics here."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from math import inf, isnan, sqrt
from typing import Any

from steadyhead import surge
from steadyhead.laws.coefficients import kv_of_k
from steadyhead.surge import needle
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.metrics import interpolated, stored, tail_mean
from steadyhead.surge.stability import stability as judge
from tests.independent.case_format import first, merged
from tests.independent.surge_plan import (
    BAR,
    GRAVITY,
    HOUR,
    REFERENCE_REACHES,
    full_case,
    k_of,
    plan_of,
    schedule_of,
    unsteady_factor,
)


def metrics(
    case: Mapping[str, Any],
    args: Mapping[str, Any],
    t_event: float = 0.0,
    begin: Callable[[surge.Plant, surge.Schedule], surge.State] = surge.start,
) -> dict[str, Any]:
    """Run a full case and return the metrics of the format."""
    plant = surge.compile_plan(plan_of(case))
    schedule = schedule_of(case)
    state = begin(plant, schedule)
    schedule = with_runaway(case, schedule, state, plant)
    before = stored(plant, state)
    trace = surge.run(plant, state, schedule, float(case["num"]["t_end"]))
    found = _pressures(case, plant, state, trace, t_event) | _events(plant, state, trace)
    found["mass_error"] = surge.mass_error(plant, state, before)
    if args.get("sample") is not None:
        found["samples"] = _samples(trace, [float(t) for t in args["sample"]])
    return found


def with_runaway(
    case: Mapping[str, Any], schedule: surge.Schedule, state: surge.State, plant: surge.Plant
) -> surge.Schedule:
    """Return the schedule with a stem driven from where it stands to full lift in the time stated."""
    fail = case["fail"]
    if fail is None or fail["kind"] != "stem":
        return schedule
    row = plant.rows["prv"]
    lift = state.row_state[row][at.X] / state.row_values[row][at.STROKE]
    seconds = max(float(fail.get("T") or 1.0), 1e-3)
    t0 = float(fail.get("t0", 1.0))
    driven = surge.Held("prv", "runaway", ((0.0, 0.0), (t0, (1.0 - lift) / seconds)))
    return surge.Schedule((*schedule.inputs, driven))


def _pressures(
    case: Mapping[str, Any], plant: surge.Plant, state: surge.State, trace: surge.Trace, t_event: float
) -> dict[str, Any]:
    time, out = trace.time, trace.pressure("out")
    node = state.node_state[plant.nodes["out"]]
    mid = state.node_state[plant.nodes["mid"]]
    up, down = surge.extremes(plant, state, "supply"), surge.extremes(plant, state, "consumer")
    limits = case["limits"]
    ripple, period = surge.swing(time, out)
    left = surge.settling(time, out)
    gas = max(up.most_gas, down.most_gas)
    mid_max = float(mid[at.HIGHEST])
    return {
        "p_out_max": float(node[at.HIGHEST]) / BAR,
        "p_out_min": float(node[at.LOWEST_SEEN]) / BAR,
        "p_out_final": tail_mean(out, 0.10) / BAR,
        "t_p_out_max": float(node[at.T_HIGHEST]),
        "max_down": down.highest / BAR,
        "min_down": down.lowest / BAR,
        "max_up": up.highest / BAR,
        "min_up": up.lowest / BAR,
        "t_settle": t_event if left is None else left,
        "ripple": ripple / BAR,
        "period": period,
        "max_cavity_L": gas * 1e3,
        "separation": up.is_separated or down.is_separated,
        "q_final": float(trace.inflow[-1]) * HOUR,
        "lift_final": float(trace.lift("prv")[-1]),
        "p_mid_max": mid_max / BAR,
        "ok_down": down.highest <= limits["p_max_down"] * BAR,
        "ok_up": up.highest <= limits["p_max_up"] * BAR,
        "ok_mid": limits["p_max_mid"] is None or mid_max <= limits["p_max_mid"] * BAR,
    }


def _events(plant: surge.Plant, state: surge.State, trace: surge.Trace) -> dict[str, Any]:
    row = state.row_state[plant.rows["osv"]]

    def moment(column: int) -> float | None:
        return None if isnan(row[column]) else float(row[column])

    found: dict[str, Any] = {
        "n_trips": int(row[at.TRIPS]),
        "t_trip": moment(at.T_TRIP),
        "t_limit_switch": moment(at.T_SWITCH),
        "t_closed": moment(at.T_CLOSED),
        "relief_lift_max": 0.0,
        "relief_L": 0.0,
    }
    if "relief" in plant.reliefs:
        relief = state.relief_state[plant.reliefs["relief"]]
        found["relief_lift_max"] = float(relief[at.MOST_DISC])
        found["relief_L"] = float(relief[at.LET_OFF]) * 1e3
    return found


def _samples(trace: surge.Trace, moments: list[float]) -> dict[str, list[float]]:
    columns = {
        "p_in": (trace.pressure("in"), BAR),
        "p_mid": (trace.pressure("mid"), BAR),
        "p_out": (trace.pressure("out"), BAR),
        "q": (trace.inflow, 1.0 / HOUR),
        "x": (trace.lift("prv"), 1.0),
        "xo": (trace.lift("osv"), 1.0),
    }
    time = trace.time
    return {
        key: [interpolated(time, column, moment) / unit for moment in moments]
        for key, (column, unit) in columns.items()
    }


def _timed(case: Mapping[str, Any], args: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    found = merged(full_case(case), over)
    if args.get("t_end") is not None:
        found["num"]["t_end"] = float(args["t_end"])
    return found


def _ramp(before: float, after: float, start: float, length: float) -> list[list[float]]:
    return [[0.0, before], [start, before], [start + length, after]]


def transient(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Run a case as it stands."""
    fail = case.get("fail") or {}
    return metrics(_timed(case, args, {}), args, float(args.get("t_event", fail.get("t0", 0.0) or 0.0)))


def demand_step(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Step the demand of a case."""
    start = float(args.get("t_event", 1.0))
    table = _ramp(float(args["kv0"]), float(args["kv1"]), start, float(args.get("ramp", 1.0)))
    return metrics(_timed(case, args, {"demand": {"type": "orifice", "kv": table}}), args, start)


def supply_step(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Step the supply pressure of a case."""
    start = float(args.get("t_event", 1.0))
    before = float(args["p0"]) if "p0" in args else first(case["supply"]["p"])
    table = _ramp(before, float(args["p1"]), start, float(args.get("ramp", 1.0)))
    return metrics(_timed(case, args, {"supply": {"p": table}}), args, start)


def prv_fail_open(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Let the reducer of a case fail open."""
    start = float(args.get("t_event", 1.0))
    fail = {"t0": start, "kind": args.get("kind", "pilot"), "T": args.get("T"), "kv": args.get("kv")}
    return metrics(_timed(case, args, {"fail": fail}), args, start)


def closing_window(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Let the reducer fail open once for each closing time."""
    runs = [
        prv_fail_open(merged(case, {"osv": {"t_close": float(t)}}), {**args, "sample": None})
        for t in args["t_close"]
    ]
    return {
        "t_close": list(args["t_close"]),
        "max_down": [run["max_down"] for run in runs],
        "max_up": [run["max_up"] for run in runs],
        "min_down": [run["min_down"] for run in runs],
        "separation": [run["separation"] for run in runs],
        "ok": [run["ok_down"] and run["ok_up"] and run["ok_mid"] for run in runs],
    }


def startup(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Open the inlet isolating valve onto a full line at no pressure."""
    start = float(args.get("t_event", 1.0))
    opening = _ramp(0.0, float(args.get("opening", 1.0)), start, float(args["T_open"]))
    found = _timed(case, args, {"iso_up": {"open": opening}})
    if "kv" in args:
        found["demand"] |= {"type": "orifice", "kv": [[0.0, float(args["kv"])]]}
    lift = float(args.get("x0", 0.0))

    def begin(plant: surge.Plant, schedule: surge.Schedule) -> surge.State:
        supply = _static_supply(found)
        return surge.start_standing(plant, surge.Standing(0.0, supply, lifts=_lifts(found, lift)), schedule)

    return metrics(found, args, start, begin)


def _static_supply(case: Mapping[str, Any]) -> float:
    """Return the supply pressure at the level of the station with no flow."""
    up = case["up"]
    rise = float(case["fluid"]["rho"]) * GRAVITY * (float(up["z"][0]) - float(up["z"][1]))
    return first(case["supply"]["p"]) * BAR + rise


def _lifts(case: Mapping[str, Any], lift: float) -> dict[str, float]:
    return {"prv": max(lift, float(case["prv"]["x_min"]))}


def restart_after_trip(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Open the shut-off after a trip."""
    found = _timed(case, args, {"osv": {"x0": 0.0}})
    p0, lift = float(args.get("p0", 0.0)) * BAR, float(args.get("x0", 0.0))
    supply = _static_supply(found)
    prv = found["prv"]
    lockup = prv["turn"] * max(first(prv["screw"]) - prv["n_free"], 0.0) * BAR
    if args.get("p_mid0") is not None:
        mid = float(args["p_mid0"]) * BAR
    elif found["order"] == "osv_prv":
        mid = p0
    else:
        mid = lockup if lift <= 0.0 else supply

    def begin(plant: surge.Plant, schedule: surge.Schedule) -> surge.State:
        sections = {"in": supply, "mid": mid, "out": p0}
        lifts = _lifts(found, lift) | {"osv": 0.0}
        return surge.start_standing(plant, surge.Standing(p0, supply, sections, lifts), schedule)

    return metrics(found, args, 0.0, begin)


def dynamic_signature(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Return the response of a faulty case to a demand step, the shut-off kept out of it."""
    quiet = merged(case, {"osv": {"trip": 99.0}})
    step = {
        "kv0": args.get("kv0", 30),
        "kv1": args.get("kv1", 18),
        "t_end": args.get("t_end", 20),
        "ramp": args.get("ramp", 1.0),
    }
    return demand_step(quiet, step)


def pipe_closure(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Close a valve to atmosphere at the end of one main."""
    full = full_case(case)
    water = replace(plan_of(full).water)
    weight = water.density * GRAVITY
    length, bore, wave = float(args["L"]), float(args["D"]), float(args["a"])
    flow, head = float(args["Q0"]), float(args["H0"])
    rough = float(args.get("rough", 1e-4))
    smooth = bool(args.get("frictionless", False))
    pipe = surge.Pipe(
        "main", "reservoir", "valve", length, bore, rough, wave, side="supply", has_friction=not smooth,
        unsteady=unsteady_factor(args.get("k_unsteady", 0), flow, bore, water.viscosity),
    )  # fmt: skip
    numbers = surge.Numbers(
        max(int(args.get("n", 100)), REFERENCE_REACHES),
        1e9,
        float(full["fluid"]["alpha0"]),
        float(full["fluid"]["psi"]),
    )

    def plan(consumers: surge.Consumers) -> surge.Plan:
        return surge.Plan(
            water, (pipe,), (surge.Reservoir("reservoir", head * weight), consumers), numbers=numbers
        )

    before = surge.steady_rest(surge.compile_plan(plan(surge.Consumers("valve", drawn=flow))))
    k = flow / sqrt(before.end_pressure)
    plant = surge.compile_plan(plan(surge.Consumers("valve", k)))
    schedule = surge.Schedule((surge.Straight("valve", "demand", ((0.0, k), (float(args["T"]), 0.0))),))
    state = surge.start(plant, surge.Schedule())
    trace = surge.run(plant, state, schedule, float(args["t_end"]))
    found = surge.extremes(plant, state, "supply")
    heads = [pressure / weight for pressure in trace.joint("valve")]
    return {
        "H_max": found.highest / weight,
        "H_min": found.lowest / weight,
        "max_cavity_L": found.most_gas * 1e3,
        "H_valve": [interpolated(trace.time, heads, float(t)) for t in args.get("sample", [])],
    }


def osv_needle(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Turn a timed stroke into a needle, and the needle into times elsewhere."""
    full = full_case(case)
    test = args.get("test")
    if test is None:
        k = k_of(full, full["osv"]["kv_close"])
    else:
        k = _stroke_integral(full, test) / float(test["t"])
    density = float(full["fluid"]["rho"])
    then = args.get("then") or []
    return {
        "kv_close": kv_of_k(k, density),
        "t": [_stroke_integral(full, condition) / k for condition in then],
    }


def _stroke_integral(full: Mapping[str, Any], condition: Mapping[str, Any]) -> float:
    if "station" in condition:
        case = merged(full, condition["station"])
        return needle.integral_in_station(surge.compile_plan(plan_of(case)), "osv", schedule_of(case))
    stroke = needle.TimedStroke(
        condition["p1"] * BAR,
        condition["p2"] * BAR,
        condition["Q"] / HOUR,
        is_outlet_held=bool(condition.get("held", False)),
    )
    plan = plan_of(full)
    return needle.integral_on_test(needle.shut_off_of(plan, "osv"), plan.water, stroke)


def stability(case: Mapping[str, Any], args: Mapping[str, Any]) -> dict[str, Any]:
    """Judge the loop of a case at its steady point."""
    plant = surge.compile_plan(plan_of(full_case(case)))
    rest = surge.steady_rest(plant)
    found = judge(plant, rest, "prv")
    return {
        "Q": rest.flow * HOUR,
        "lift": rest.lifts["prv"],
        "unstable_roots": found.unstable_roots,
        "growth": found.growth,
        "omega": found.omega,
        "gain_margin": None if found.gain_margin == inf else found.gain_margin,
        "phase_margin": None if isnan(found.phase_margin) else found.phase_margin,
    }


SCENARIOS = {
    "osv_needle": osv_needle,
    "stability": stability,
    "transient": transient,
    "demand_step": demand_step,
    "fast_shutoff": demand_step,
    "supply_step": supply_step,
    "prv_fail_open": prv_fail_open,
    "closing_window": closing_window,
    "startup": startup,
    "restart_after_trip": restart_after_trip,
    "pipe_closure": pipe_closure,
}
