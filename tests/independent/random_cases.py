"""Random stations in the case format, each with one trait that leads it away from the ordinary."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from tests.independent.case_format import FAULTS, merged

Station = dict[str, Any]
COLUMNS = ("kvs", "stroke", "A_d", "feed", "pilot", "strainer", "iso", "main")
SIZES = {
    size: dict(zip(COLUMNS, row, strict=True))
    for size, row in {
        80: (109.0, 0.020, 0.01117, 0.05, 0.10, 190.0, 572.0, 0.10),
        100: (170.0, 0.025, 0.01745, 0.06, 0.12, 300.0, 894.0, 0.15),
        150: (384.0, 0.038, 0.0393, 0.15, 0.30, 680.0, 2012.0, 0.20),
        200: (682.0, 0.050, 0.0698, 0.30, 0.60, 1200.0, 3577.0, 0.30),
    }.items()
}


def _set(station: Station, **parts: Station) -> Station:
    return merged(station, parts)


def _kvs(station: Station) -> float:
    return float(station["prv"]["kvs"])


def _demand(station: Station, kv: float) -> Station:
    return _set(station, demand={"type": "orifice", "kv": [[0, kv]]})


def _imposed(rng: random.Random, station: Station) -> Station:
    flow = _kvs(station) * rng.choice((0.005, 0.05, 0.2, 0.5)) * rng.uniform(0.7, 1.3)
    return _set(station, demand={"type": "flow", "q": [[0, flow]]})


def _drain(rng: random.Random, station: Station) -> Station:
    kv = rng.choice((0.5, 3.0, 15.0)) * rng.uniform(0.7, 1.3)
    return _set(station, demand={"drain": [[0, kv]], "kv": [[0, rng.choice((0.0, 5.0, 30.0))]]})


def _part_open(rng: random.Random, station: Station) -> Station:
    which = rng.choice(("iso_up", "iso_dn"))
    return _set(station, **{which: {"open": [[0, rng.choice((0.02, 0.03, 0.05, 0.1, 0.3, 0.6))]]}})


def _starved(rng: random.Random, station: Station) -> Station:
    return _set(station, supply={"p": [[0, rng.uniform(0.5, 4.5)]]})


def _wide_open(rng: random.Random, station: Station) -> Station:
    return _set(station, prv={"screw": [[0, rng.uniform(20, 40)]]})


def _choked(rng: random.Random, station: Station) -> Station:
    station = _set(
        station, supply={"p": [[0, rng.uniform(12, 22)]]}, prv={"screw": [[0, rng.uniform(0.5, 3)]]}
    )
    return _demand(station, _kvs(station) * rng.uniform(0.2, 0.8))


def _stuck_shut_off(rng: random.Random, station: Station) -> Station:
    return _set(station, osv={"stuck": rng.choice((0.03, 0.08, 0.15, 0.4, 0.8))})


def _pilot_stuck(rng: random.Random, station: Station) -> Station:
    return _set(station, prv={"y_stuck": rng.choice((0.0, 0.2, 0.5, 1.0))})


def _forced(rng: random.Random, station: Station) -> Station:
    return _set(station, prv={"mode": "table", "x_table": [[0, rng.choice((0.02, 0.2, 0.7, 1.0))]]})


def _beyond(rng: random.Random, station: Station) -> Station:
    return merged(
        station, {"order": "prv_osv", "prv": {"sense": "out"}, "osv": {"x0": rng.uniform(0.1, 1.0)}}
    )


def _no_demand(rng: random.Random, station: Station) -> Station:
    change = rng.choice(
        (
            {},
            {"prv": {"leak": 0.3}},
            {"prv": {"x_min": 0.02}},
            {"prv": {"tear": 0.4}},
            {"prv": {"sense_open": False, "p_trapped": 0.5}},
            {"prv": {"kv_feed": 1e-6}},
            {"supply": {"p": [[0, 1.5]]}},
        )
    )
    return _demand(merged(station, change), 0.0)


def _drained_with_fault(rng: random.Random, station: Station) -> Station:
    change = rng.choice(
        (
            {"leak": 0.3},
            {"x_min": 0.02},
            {"tear": 0.4},
            {"sense_open": False, "p_trapped": 0.5},
            {"y_stuck": 0.6},
        )
    )
    station = _set(station, demand={"drain": [[0, rng.choice((0.2, 2.0))]]}, prv=change)
    return _demand(station, 0.0)


def _needle(rng: random.Random, station: Station) -> Station:
    feed = float(station["prv"]["kv_feed"])
    return _set(station, prv={"kv_open": feed * rng.uniform(0.2, 2.5)})


def _filter(rng: random.Random, station: Station) -> Station:
    return _set(station, prv={"filter": float(station["prv"]["kv_feed"]) * rng.uniform(0.1, 2.0)})


def _high_zone(rng: random.Random, station: Station) -> Station:
    return _set(station, down={"z": [40.0, rng.uniform(50.0, 110.0)]}, up={"z": [60.0, 40.0]})


def _two_faults(rng: random.Random, station: Station) -> Station:
    for name in rng.sample(sorted(FAULTS), 2):
        station = merged(station, FAULTS[name])
    return station


def _with_fault(change: Station) -> Callable[[random.Random, Station], Station]:
    return lambda rng, station: merged(station, change)


TRAITS: dict[str, Callable[[random.Random, Station], Station]] = {
    "ordinary": lambda rng, station: station,
    "imposed": _imposed,
    "drain": _drain,
    "part open": _part_open,
    "starved": _starved,
    "wide open": _wide_open,
    "choked": _choked,
    "stuck shut-off": _stuck_shut_off,
    "pilot stuck": _pilot_stuck,
    "forced": _forced,
    "senses beyond": _beyond,
    "no demand": _no_demand,
    "drained with fault": _drained_with_fault,
    "needle": _needle,
    "filter": _filter,
    "high zone": _high_zone,
    "two faults": _two_faults,
} | {f"fault {name}": _with_fault(change) for name, change in FAULTS.items()}


def base_station(rng: random.Random) -> Station:
    """Return a station that differs from the defaults in everything a real one may differ in."""
    size = SIZES[rng.choice(tuple(SIZES))]
    z = [rng.uniform(-20.0, 60.0) for _ in range(3)] if rng.random() < 0.6 else [0.0] * 3
    return {
        "order": rng.choice(("prv_osv", "osv_prv")),
        "supply": {"p": [[0, rng.uniform(5.0, 14.0)]]},
        "up": _main(rng, size["main"], z[:2]),
        "down": _main(rng, size["main"], z[1:]),
        "iso_up": {"kvs": size["iso"]},
        "iso_dn": {"kvs": size["iso"]},
        "strainer": {"kv": size["strainer"], "clog": rng.choice((1.0, 1.0, 4.0))},
        "prv": _reducer(rng, size),
        "osv": {"kvs": size["kvs"], "b": rng.choice((0.0, 1.0)), "FL": rng.uniform(0.75, 0.95)},
        "demand": {
            "type": "orifice",
            "kv": [[0, size["kvs"] * rng.choice((0.003, 0.03, 0.15, 0.4)) * rng.uniform(0.6, 1.6)]],
            "n": rng.choice((0.5, rng.uniform(0.5, 1.0), 1.0)),
        },
    }


def _near(rng: random.Random, value: float, share: float = 0.2) -> float:
    return value * rng.uniform(1.0 - share, 1.0 + share)


def _main(rng: random.Random, bore: float, z: list[float]) -> Station:
    return {
        "L": rng.uniform(20, 2000),
        "D": _near(rng, bore),
        "rough": rng.choice((1e-5, 1e-4, 5e-4)),
        "z": z,
    }


def _reducer(rng: random.Random, size: dict[str, float]) -> Station:
    return {
        "kvs": size["kvs"],
        "stroke": size["stroke"],
        "A_d": size["A_d"],
        "b": rng.choice((0.0, 0.5, 1.0, 2.0)),
        "FL": rng.uniform(0.75, 0.95),
        "r0": _near(rng, 0.45, 0.1),
        "r1": _near(rng, 0.15),
        "s0": _near(rng, 0.05),
        "s1": _near(rng, 0.08),
        "kv_feed": _near(rng, size["feed"]),
        "kv_pilot": _near(rng, size["pilot"]),
        "band": rng.uniform(0.3, 1.5),
        "screw": [[0, 2.0 * rng.uniform(1.0, 5.0)]],
    }


def random_case(rng: random.Random, number: int) -> tuple[str, Station]:
    """Return the trait and the station overrides of case `number`; the traits take turns."""
    names = tuple(TRAITS)
    name = names[number % len(names)]
    return name, TRAITS[name](rng, base_station(rng))
