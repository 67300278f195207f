"""Plans for the tests of the transient engine: one main, and a station between two mains."""

from __future__ import annotations

import random
from dataclasses import replace
from math import inf, nan, pi, sqrt

from steadyhead import surge
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.surge.plan import ValveBody

WATER = surge.Water(999.7, 1.31e-6, 1228.0, 101325.0, 221.2e5, 9.81)
WEIGHT = WATER.density * WATER.gravity


def kv(value: float) -> float:
    return k_of_kv(value, WATER.density)


def one_main(
    *,
    length: float,
    bore: float,
    wave: float,
    flow: float,
    head: float,
    roughness: float | None = None,
    reaches: int = 100,
    unsteady: float = 0.0,
) -> tuple[surge.Plant, float]:
    """Return a reservoir, a main and a valve to atmosphere, and k of the valve for the flow at rest."""
    pipe = surge.Pipe(
        "main", "R", "V", length, bore, roughness or 0.0, wave, side="supply",
        has_friction=roughness is not None, unsteady=unsteady,
    )  # fmt: skip

    def plan(consumers: surge.Consumers) -> surge.Plan:
        numbers = surge.Numbers(reaches, inf)
        return surge.Plan(WATER, (pipe,), (surge.Reservoir("R", head * WEIGHT), consumers), numbers=numbers)

    before = surge.steady_rest(surge.compile_plan(plan(surge.Consumers("V", drawn=flow))))
    k = flow / sqrt(before.end_pressure)
    return surge.compile_plan(plan(surge.Consumers("V", k))), k


def closing(k: float, seconds: float) -> surge.Schedule:
    return surge.Schedule((surge.Straight("V", "demand", ((0.0, k), (seconds, 0.0))),))


def area(bore: float) -> float:
    return pi * bore * bore / 4.0


def reducer(name: str = "RV", senses: str = "T2", **changes: object) -> surge.ReducerRow:
    body = ValveBody(kv(170.0), spring_shut=5e3, spring_rise=8e3)
    row = surge.ReducerRow(
        name, body, senses, feed=kv(0.06), pilot=kv(0.12), band=0.8e5, screw=9.0, per_turn=0.5e5
    )
    return replace(row, **changes)  # type: ignore[arg-type]


def shut_off(**changes: object) -> surge.ShutOffRow:
    body = ValveBody(kv(170.0), spring_shut=15e3, spring_rise=25e3)
    row = surge.ShutOffRow(
        "SO", body, "T3", trip=5.5e5, is_hydraulic=False, close_needle=kv(0.15), vent=kv(0.1)
    )
    return replace(row, **changes)  # type: ignore[arg-type]


def station(
    *parts: object, demand: float = 30.0, supply: float = 9e5, reaches: int = 25, **consumers: object
) -> surge.Plan:
    """Return a station between two mains of 500 and 800 m; `parts` replace what stands between T1 and T3."""
    inner = parts or (reducer(), surge.Section("T2", 0.008), shut_off())
    return surge.Plan(
        WATER,
        (
            surge.Pipe("up", "supply", "station", 500.0, 0.15, 1e-4, 1150.0, side="supply"),
            surge.Pipe("down", "station", "zone", 800.0, 0.15, 1e-4, 1150.0),
        ),
        (
            surge.Reservoir("supply", supply),
            surge.Consumers("zone", kv(demand), **consumers),  # type: ignore[arg-type]
        ),
        (
            surge.LossRow("IV1", kv(894.0)),
            surge.LossRow("ST", kv(300.0)),
            surge.Section("T1", 0.015),
            *inner,  # type: ignore[arg-type]
            surge.Section("T3", 0.015),
            surge.LossRow("IV2", kv(894.0)),
        ),
        numbers=surge.Numbers(reaches),
    )


def random_plan(rng: random.Random) -> tuple[surge.Plan, surge.Schedule]:
    """Return a station of any kind the engine knows and something that happens to it."""
    air = rng.choice((1e-5, 3e-5, 1e-4)) if rng.random() < 0.15 else 0.0
    is_first = rng.random() < 0.5
    body = replace(
        ValveBody(kv(rng.uniform(60, 400)), spring_shut=5e3, spring_rise=8e3),
        leak=kv(0.3) if rng.random() < 0.1 else 0.0,
        lowest=0.02 if rng.random() < 0.1 else 0.0,
        shape=rng.choice((0.0, 1.0, 2.0)),
    )
    first = reducer(
        body=body,
        senses=rng.choice(("T2", "T3")) if is_first else "T3",
        feed=kv(rng.choice((0.012, 0.06, 0.15))),
        pilot=kv(rng.choice((0.12, 0.3))),
        band=rng.uniform(0.3, 1.5) * 1e5,
        screw=rng.uniform(4, 12),
        screw_play=rng.choice((0.0, 0.3)),
        lag=rng.choice((0.0, 0.05, 0.5)),
        pilot_play=rng.choice((0.0, 0.03e5)),
        friction=rng.choice((0.0, 0.1e5)),
        needle=rng.choice((inf, kv(0.09))),
        air=air,
    )
    last: surge.ReducerRow | surge.DirectReducerRow | surge.ShutOffRow | surge.CheckRow
    last = shut_off(
        is_hydraulic=rng.random() < 0.4,
        close_time=rng.choice((0.5, 2.0, 8.0)),
        release=rng.choice((nan, 4.9e5)),
        trip_at=rng.choice((nan, 0.5)),
    )
    if rng.random() < 0.2:
        last = reducer("RV2", senses="T3", screw=rng.uniform(4, 12))
    elif rng.random() < 0.1:
        last = surge.DirectReducerRow("DR", ValveBody(kv(170.0)), "T3", 4e5, 1e5)
    elif rng.random() < 0.1:
        last = surge.CheckRow("CV", kv(200.0), close_time=rng.choice((0.0, 0.2)))
    middle = surge.Section("T2", 0.008)
    order = (first, middle, last) if is_first else (last, middle, first)
    plan = station(
        *order,
        demand=rng.choice((0.5, 5, 20, 60)),
        supply=rng.uniform(5, 16) * 1e5,
        reaches=rng.choice((10, 20)),
        exponent=rng.choice((0.5, 0.8)),
        elasticity=rng.choice((0.0, 1e-7)),
        vessel=rng.choice((None, None, surge.Vessel(0.2))),
    )
    mains = tuple(
        replace(
            pipe,
            length=rng.uniform(50, 2000),
            wave_speed=rng.choice((300.0, 1000.0)),
            unsteady=rng.choice((0.0, 0.02)),
            level_above=rng.uniform(-10, 10) if pipe.side == "supply" else 0.0,
            level_below=rng.uniform(-10, 10) if pipe.side == "consumer" else 0.0,
        )
        for pipe in plan.pipes
    )
    return replace(plan, pipes=mains), surge.Schedule((_event(rng, plan),))


def _event(rng: random.Random, plan: surge.Plan) -> surge.Straight | surge.Held:
    now = next(joint for joint in plan.joints if isinstance(joint, surge.Consumers)).coefficient
    kind = rng.randrange(6)
    if kind == 0:
        return surge.Straight(
            "zone", "demand", ((0.2, now), (rng.uniform(0.2, 2.0), kv(rng.choice((0, 1, 60)))))
        )
    if kind == 1:
        return surge.Held("RV", "stuck pilot", ((0.0, nan), (0.3, rng.choice((0.0, 1.0)))))
    if kind == 2:
        return surge.Straight("IV1", "opening", ((0.2, 1.0), (rng.uniform(0.5, 3.0), 0.0)))
    if kind == 3:
        return surge.Straight("IV2", "opening", ((0.2, 1.0), (rng.uniform(0.5, 3.0), 0.0)))
    if kind == 4:
        return surge.Held("RV", "tear", ((0.0, 0.0), (0.3, kv(0.5))))
    return surge.Straight("T3", "drain", ((0.2, 0.0), (0.6, kv(rng.choice((3, 15, 60))))))
