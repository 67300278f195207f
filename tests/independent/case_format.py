"""Defaults and faults of the coupled station cases, as the format states them: data only, no physics.

Both the adapter and the slow reference program read them; the names stay in this folder. Bar gauge, m³/h, m.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from typing import Any

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


def merged(base: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    """Return `base` with `over` merged in deeply."""
    out = deepcopy(dict(base))
    for key, value in over.items():
        inner = isinstance(value, Mapping) and isinstance(out.get(key), Mapping)
        out[key] = merged(out[key], value) if inner else deepcopy(value)
    return out


def first(rows: Any) -> float:
    """Return the first value of a table, or the number itself."""
    return float(rows[0][1]) if isinstance(rows, list) else float(rows)
