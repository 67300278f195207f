"""Every scenario and key the case format describes, on invented inputs: complete, finite, sensible."""

from __future__ import annotations

from math import isfinite
from typing import Any

import pytest

from tests.independent.case_format import FAULTS
from tests.independent.twin_adapter import run

RELIEF = {"kv": 25, "crack": 3.0, "full": 5.0, "reseat": 2.6, "t_stroke": 0.3}
AT_END = {
    "kv": 25, "crack": 4.2, "full": 6.0, "reseat": 4.0, "t_stroke": 0.0, "at": "end",
    "lift": [[4.2, 0], [4.5, 0.7], [6, 1]],
}  # fmt: skip
STATIONS: dict[str, dict[str, Any]] = {
    "fluid": {"fluid": {"rho": 998.2, "nu": 1.0e-6, "pv": 2340, "patm": 95000, "pcrit": 220e5}},
    "gas": {"fluid": {"alpha0": 1e-5, "psi": 0.7}},
    "supply": {"supply": {"p": [[0, 9.0], [1, 9], [2, 10]]}},
    "mains": {
        "up": {"L": 350, "D": 0.2, "a": 400, "rough": 1e-5, "z": [50, 30], "k_unsteady": 0.03},
        "down": {"L": 1200, "D": 0.125, "a": 900, "rough": 5e-4, "z": [30, 10], "k_unsteady": "auto"},
    },
    "isolating valves": {
        "iso_up": {"kvs": 600, "open": [[0, 1], [1, 1], [2, 0.1]], "n": 2.0, "floor": 1e-4},
        "iso_dn": {"kvs": 700, "open": [[0, 0.5]], "n": 1.2, "floor": 1e-5},
    },
    "strainer": {"strainer": {"kv": 200, "clog": 10}},
    "volumes": {"vol": {"v_in": 0.03, "v_mid": 0.02, "v_out": 0.03, "k_eff": 0.8e9}},
    "order": {"order": "osv_prv"},
    "reducer's body": {
        "prv": {
            "kvs": 109,
            "b": 2.0,
            "stroke": 0.02,
            "FL": 0.9,
            "leak": 0.3,
            "floor": 1e-4,
            "xFz": 0.3,
            "A_d": 0.011,
            "r0": 0.4,
            "r1": 0.1,
            "s0": 0.1,
            "s1": 0.1,
        }
    },
    "circuit": {"prv": {"kv_feed": 0.08, "kv_pilot": 0.2, "kv_open": 0.1, "filter": 0.05}},
    "pilot": {
        "prv": {
            "band": 0.5,
            "turn": 0.6,
            "n_free": 1,
            "screw": [[0, 9], [1, 9], [3, 10]],
            "backlash": 0.3,
            "tau": 0.2,
            "pil_hyst": 0.03,
            "fric": 0.1,
            "sense": "out",
        }
    },
    "air": {"prv": {"air": 5e-5, "c_v": 3e4, "V0": 2e-4, "air_n": 1.3, "air_p": 6.0}},
    "stem by table": {"prv": {"mode": "table", "x_table": [[0, 0.2], [1, 0.2], [2, 0.8]]}},
    "tear": {"prv": {"tear": 0.3}},
    "debris": {"prv": {"x_min": 0.02}},
    "pilot stuck": {"prv": {"y_stuck": 1.0}},
    "cock shut": {"prv": {"sense_open": False, "p_trapped": 4.0}},
    "cock shut on what stands there": {"prv": {"sense_open": False}},
    "shut-off's body": {
        "osv": {
            "kvs": 200,
            "b": 0.0,
            "stroke": 0.03,
            "FL": 0.8,
            "floor": 1e-4,
            "A_d": 0.02,
            "r0": 0.5,
            "r1": 0.2,
            "s0": 0.2,
            "s1": 0.3,
        }
    },
    "driven shut-off": {
        "osv": {"mode": "hydraulic", "kv_close": 0.4, "kv_vent": 0.2, "trip_at": 1.0, "reset_at": 2.0}
    },
    "self-resetting": {"osv": {"latched": False, "diff": 1.0, "trip": 4.5, "turn": 0.5, "tau": 0.3}},
    "switch at its open end": {"osv": {"ls_kind": "leaves_open", "ls_open": 0.9, "trip_at": 0.5}},
    "tripped and reset by hand": {
        "osv": {"trip_at": 0.5, "reset_at": 1.5, "t_close": 2, "t_open": 3, "ls_closed": 0.1}
    },
    "blind shut-off": {"osv": {"sense_open": False, "p_trapped": 2}},
    "shut-off stuck": {"osv": {"stuck": 0.3}},
    "shut-off half open": {"osv": {"x0": 0.5}},
    "imposed flow": {"demand": {"type": "flow", "q": [[0, 40], [1, 40], [2, 20]]}},
    "dead end": {"demand": {"kv": [[0, 0]]}},
    "vessel": {"demand": {"vessel": {"V_air": 0.5, "n": 1.2}}},
    "zone": {"demand": {"n": 0.6, "zone": {"V": 20, "beta": 6e-9}}},
    "drain": {"demand": {"drain": [[0, 0], [1, 0], [1.5, 10]]}},
    "relief": {"demand": {"relief": RELIEF}},
    "relief at the end": {"demand": {"relief": AT_END}},
    "pilot fails": {"fail": {"t0": 1, "kind": "pilot"}},
    "diaphragm fails": {"fail": {"t0": 1, "kind": "tear", "kv": 0.8}},
    "stem fails": {"fail": {"t0": 1, "kind": "stem", "T": 2.0}},
    "pilot shuts": {"fail": {"t0": 1, "kind": "pilot_closed"}},
    "limits": {"limits": {"p_max_down": 6, "p_max_up": 12, "p_max_mid": 8, "p_min": 2}},
    "numbers": {"num": {"n_short": 50, "dt_max": 0.005, "t_end": 2, "record": 5}},
}
METRICS = {
    "p_out_max", "p_out_min", "p_out_final", "t_p_out_max", "max_down", "min_down", "max_up", "min_up",
    "t_settle", "ripple", "period", "n_trips", "t_trip", "t_limit_switch", "t_closed", "max_cavity_L",
    "separation", "lift_final", "q_final", "mass_error", "ok_down", "ok_up", "p_mid_max", "ok_mid",
    "relief_lift_max", "relief_L",
}  # fmt: skip
READINGS = {
    "Q", "p_in", "p_mid", "p_out", "p_end", "p_chamber", "lift", "y", "state", "xF", "sigma", "choked",
    "incipient",
}  # fmt: skip
TEST = {"t": 10, "p1": 8, "p2": 4, "Q": 3}
NEEDLE = {
    "test": TEST,
    "then": [
        {"p1": 8, "p2": 4, "Q": 50},
        {"p1": 8, "p2": 4, "Q": 50, "held": True},
        {"station": {"prv": {"y_stuck": 1.0}, "demand": {"type": "orifice", "kv": [[0, 20]]}}},
    ],
}
SETTING = [
    {"prv_turns": 4, "demand_kv": 5, "drain_kv": 0},
    {"prv_turns": 9},
    {"demand_kv": 0, "drain_kv": 3},
    {"drain_kv": 0},
    {"osv_turns": 7},
    {"osv_turns": 12, "reset": True},
]
STEP = {"kv0": 20, "kv1": 5, "ramp": 0.5, "t_event": 0.5, "t_end": 3, "sample": [1, 2]}
BRIEF = {"t_event": 0.5, "t_end": 3, "sample": [1]}
WINDOW = {"t_close", "max_down", "max_up", "min_down", "separation", "ok"}
PIPE = {"L": 600, "D": 0.3, "a": 900, "H0": 60, "Q0": 0.05, "T": 1, "t_end": 3}
SCENARIOS: list[tuple[str, dict[str, Any], set[str]]] = [
    ("steady_curve", {"demand_kv": [0, 5, 40]}, READINGS),
    ("envelope", {"Q": [1, 20, 80], "p_in": [5, 9], "lift_min": 0.05}, {"code", "lift", "p2", "xF"}),
    ("stability", {}, {"Q", "lift", "unstable_roots", "growth", "omega", "gain_margin", "phase_margin"}),
    ("demand_step", STEP, METRICS | {"samples"}),
    ("supply_step", {"p0": 9, "p1": 7, "ramp": 0.0, **BRIEF}, METRICS),
    *(
        ("prv_fail_open", {"kind": kind, "T": 1.5, "kv": 1.0, **BRIEF}, METRICS)
        for kind in ("pilot", "tear", "stem", "pilot_closed")
    ),
    ("closing_window", {"kind": "tear", "t_close": [1, 2], "t_end": 3}, WINDOW),
    ("fast_shutoff", {"kv0": 30, "kv1": 1, "ramp": 0.2, "t_end": 3}, METRICS),
    ("startup", {"T_open": 2, "opening": 0.4, "kv": 5, "x0": 1.0, **BRIEF}, METRICS),
    ("restart_after_trip", {"p0": 1.0, "x0": 1.0, "p_mid0": 5.0, "t_end": 3}, METRICS),
    ("restart_after_trip", {"p0": 1.0, "t_end": 3}, METRICS),
    ("osv_needle", NEEDLE, {"kv_close", "t"}),
    ("osv_needle", {"then": [{"p1": 8, "p2": 4, "Q": 50}]}, {"kv_close", "t"}),
    (
        "setting_procedure",
        {"osv_turns0": 15, "p0": 0, "steps": SETTING},
        {"Q", "p_in", "p_out", "trip", "margin", "tripped", "osv_closed_switch"},
    ),
    ("pipe_closure", PIPE, {"H_max", "H_min", "max_cavity_L", "H_valve"}),
    (
        "pipe_closure",
        {**PIPE, "rough": 1e-4, "k_unsteady": "auto", "n": 50, "sample": [1.0]},
        {"H_max", "H_min", "max_cavity_L", "H_valve"},
    ),
    *(
        (
            "fault_signature",
            {"fault": fault, "demand_kv": [0, 30], "gauge_offset": 0.1, "t_end": 2},
            {"Q", "lift", "state", "p_in", "p_mid", "p_out", "would_trip", "dynamic"},
        )
        for fault in (None, *FAULTS)
    ),
]


def unfit(value: Any, where: str) -> list[str]:
    """Return what is no plain finite value, by its place."""
    if isinstance(value, dict):
        return [line for key, inner in value.items() for line in unfit(inner, f"{where}.{key}")]
    if isinstance(value, list):
        return [line for n, inner in enumerate(value) for line in unfit(inner, f"{where}[{n}]")]
    if isinstance(value, float):
        return [] if isfinite(value) else [f"{where}: {value}"]
    return [] if value is None or isinstance(value, int | str | bool) else [f"{where}: {type(value)}"]


@pytest.mark.parametrize("name", STATIONS)
def test_every_key_of_a_station_is_read_at_rest_and_in_motion(name):
    station = STATIONS[name]
    resting = run("steady_state", {"station": station})
    assert resting.keys() >= READINGS
    assert unfit(resting, name) == []
    moving = {**station, "num": {**station.get("num", {}), "t_end": 3}}
    found = run("transient", {"station": moving, "sample": [0, 1.5, 3]})
    assert found.keys() >= METRICS
    assert unfit(found, name) == []
    assert found["mass_error"] < 0.01
    assert -1.02 < found["min_down"] <= found["max_down"] < 40.0
    if name not in ("stem by table", "isolating valves"):
        assert found["samples"]["p_out"][0] == pytest.approx(resting["p_out"], abs=2e-3)


@pytest.mark.parametrize(("scenario", "args", "keys"), SCENARIOS)
def test_every_scenario_gives_all_its_keys(scenario, args, keys):
    found = run(scenario, args)
    assert found.keys() >= keys
    assert unfit(found, scenario) == []
