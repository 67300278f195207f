"""Steady readings of a case the station file cannot state, asked of the transient engine's own start.

A relief valve at the outlet or at the consumer end, and isolating valves of another exponent or tightness.
No physics here beyond the product's laws of cavitation.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import isinf
from typing import Any

from steadyhead import surge
from steadyhead.hydraulics.kernel.layout import STATES as WORDS
from steadyhead.laws.cavitation import differential_ratio
from steadyhead.laws.valves import choked_differential, critical_pressure_factor
from steadyhead.surge.kernel import layout as at
from tests.independent.case_format import merged
from tests.independent.surge_plan import BAR, HOUR, full_case, plan_of, schedule_of

NAMES = {
    "shut": "closed", "holding": "regulating", "wide open": "open", "lock-up": "lock-up", "creeping": "creep",
    "ratcheting": "ratchet", "cannot shut": "regulating", "lift given": "open", "standing open": "lock-up",
    "flows back": "open",
}  # fmt: skip
PLAIN_VALVE = {"n": 1.5, "floor": 1e-5}


def is_beyond_the_file(case: Mapping[str, Any]) -> bool:
    """Return whether a case has something that no station file can state."""
    valves = (case["iso_up"], case["iso_dn"])
    odd = any(float(valve.get(key, plain)) != plain for valve in valves for key, plain in PLAIN_VALVE.items())
    return odd or case["demand"].get("relief") is not None


def readings(case: Mapping[str, Any], demand_kv: float | None = None) -> dict[str, Any]:
    """Return the steady readings of a case, with its own demand or another."""
    asked = full_case(case)
    if demand_kv is not None:
        asked = merged(asked, {"demand": {"type": "orifice", "kv": [[0.0, demand_kv]]}})
    plant = surge.compile_plan(plan_of(asked))
    schedule = schedule_of(asked)
    rest = surge.steady_rest(plant, schedule)
    state = surge.start(plant, schedule, rest)
    row = plant.rows["prv"]
    inlet, outlet = rest.nodes[row + 1], rest.nodes[row]
    water = plant.plan.water
    ratio = differential_ratio(inlet, outlet, water.atmosphere_abs, water.vapour_pressure_abs)
    factor = critical_pressure_factor(water.vapour_pressure_abs, water.critical_pressure_abs)
    most = choked_differential(
        inlet, float(asked["prv"]["FL"]), water.atmosphere_abs, factor * water.vapour_pressure_abs
    )
    at_pressure = {name: rest.nodes[plant.nodes[name]] / BAR for name in ("in", "mid", "out")}
    return {
        "Q": rest.flow * HOUR,
        **{f"p_{name}": pressure for name, pressure in at_pressure.items()},
        "p_end": rest.end_pressure / BAR,
        "p_chamber": float(state.row_state[row][at.CHAMBER]) / BAR,
        "lift": rest.lifts["prv"],
        "y": rest.pilots["prv"],
        "state": NAMES[WORDS[rest.states["prv"]]] if rest.states["prv"] >= 0 else "closed",
        "xF": ratio,
        "sigma": None if ratio <= 0.0 or isinf(ratio) else 1.0 / ratio,
        "choked": inlet - outlet >= most,
        "incipient": ratio >= asked["prv"]["xFz"],
    }
