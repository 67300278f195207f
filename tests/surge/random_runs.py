"""Random stations between random mains, and random things that happen to them: one run for each number."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from math import inf, nan

from steadyhead import surge
from steadyhead.surge.plan import Part, Valve, ValveBody
from tests.surge.plans import WATER, kv, reducer, shut_off

AIR_EVERY = 7
"""One run in so many has air in a chamber."""
AIR = (1e-5, 3e-5, 1e-4, 3e-4)
SHUT_EVERY = 4
"""One run in so many with a shut-off trips it under a fast and long supply main, to part the column there."""
SECONDS, SECONDS_SHUT = 6.0, 16.0


@dataclass(frozen=True)
class RandomRun:
    """A plan, what happens, where it begins (None: at rest), and what is in it."""

    plan: surge.Plan
    schedule: surge.Schedule
    standing: surge.Standing | None
    traits: frozenset[str]
    seconds: float = SECONDS


def random_run(seed: int, number: int) -> RandomRun:
    """Return run `number` of a seed; each is made from its own stream of chance."""
    rng = random.Random(f"{seed}/{number}")
    traits: set[str] = set()
    valves = _valves(rng, traits, air=rng.choice(AIR) if number % AIR_EVERY == 0 else 0.0)
    station = _station(rng, valves, traits)
    if hasattr(surge, "Group"):
        station = _beside(random.Random(f"{seed}/{number}/streams"), station, valves, traits)
    supply = rng.uniform(4, 16) * 1e5
    pipes, joints = _mains(rng, supply, traits)
    numbers = surge.Numbers(
        rng.choice((10, 20, 40)),
        rng.choice((0.01, 0.02, 0.02, 0.02, 0.1)),
        rng.choice((1e-7, 1e-7, 1e-6)),
        rng.choice((1.0, 1.0, 1.0, 0.75)),
    )
    stiffness = rng.choice((0.6e9, 1.2e9))
    plan = surge.Plan(WATER, pipes, joints, station, stiffness=stiffness, numbers=numbers)
    standing = None
    if rng.random() < 0.12:
        traits.add("restart")
        lifts = {
            valve.id: rng.choice((0.0, 1.0)) for valve in valves if not isinstance(valve, surge.ShutOffRow)
        }
        lifts |= {valve.id: 0.0 for valve in valves if isinstance(valve, surge.ShutOffRow)}
        standing = surge.Standing(rng.uniform(0, 3) * 1e5, supply, lifts=lifts)
    events = [_event(rng, plan, valves, traits) for _ in range(rng.choice((1, 1, 2, 3)))]
    by_place = {(event.name, event.what): event for event in events}
    asked = RandomRun(plan, surge.Schedule(tuple(by_place.values())), standing, frozenset(traits))
    if number % SHUT_EVERY == 1 and any(isinstance(valve, surge.ShutOffRow) for valve in valves):
        return _shut_under_way(random.Random(f"{seed}/{number}/shut"), asked)
    return asked


def _shut_under_way(rng: random.Random, asked: RandomRun) -> RandomRun:
    """Return a run with all isolating valves open and much flow, whose shut-off is tripped by hand.

    The supply main is long, its wave fast and its pressure low: behind the shut seat its column parts.
    """
    trip_at, seconds = rng.uniform(0.3, 1.0), rng.choice((0.1, 0.3, 1.0, 3.0))

    def changed(part: Part) -> Part:
        if isinstance(part, surge.Group):
            return replace(part, branches=tuple(tuple(map(changed, one)) for one in part.branches))
        if isinstance(part, surge.LossRow):
            return replace(part, opening=0.0 if part.opening <= 0.0 else 1.0, clogging=1.0)
        if isinstance(part, surge.ShutOffRow):
            body = replace(part.body, lowest=0.0, leak=0.0)
            return replace(part, body=body, trip_at=trip_at, reset_at=nan, release=nan, close_time=seconds)
        return part

    supply = rng.uniform(3, 8) * 1e5
    plan = asked.plan
    pipes = tuple(
        replace(pipe, length=rng.uniform(300, 1500), bore=rng.choice((0.08, 0.1, 0.15)), wave_speed=1200.0)
        if pipe.side == "supply"
        else pipe
        for pipe in plan.pipes
    )
    joints = tuple(
        replace(joint, pressure=supply)
        if isinstance(joint, surge.Reservoir)
        else replace(joint, coefficient=kv(rng.choice((20, 60, 120))), vessel=None)
        if joint.id == "zone"
        else joint
        for joint in plan.joints
    )
    plan = replace(plan, pipes=pipes, joints=joints, station=tuple(map(changed, plan.station)))
    traits = (asked.traits - {"restart", "vessel"}) | {"shut under way"}
    return RandomRun(plan, _calm(asked.schedule), None, frozenset(traits), SECONDS_SHUT)


def _calm(schedule: surge.Schedule) -> surge.Schedule:
    """Return what happens to valves alone; supply, demand and isolating valves stand as they are."""
    left = ("demand", "supply pressure", "opening", "clogging", "drain")
    return surge.Schedule(tuple(one for one in schedule.inputs if one.what not in left))


def _body(rng: random.Random) -> ValveBody:
    curve = ((0.0, 0.0), (0.4, 0.2), (1.0, 1.0)) if rng.random() < 0.1 else ()
    return ValveBody(
        kv(rng.uniform(40, 400)),
        shape=rng.choice((0.0, 1.0, 2.0)),
        stroke=rng.choice((0.015, 0.025, 0.05)),
        recovery=rng.choice((0.0, 0.85)),
        leak=kv(0.3) if rng.random() < 0.1 else 0.0,
        floor=rng.choice((1e-5, 1e-4)),
        area=rng.choice((0.011, 0.01745, 0.07)),
        spring_shut=rng.uniform(0, 2e4),
        spring_rise=rng.uniform(2e3, 2.5e4),
        lowest=0.02 if rng.random() < 0.1 else 0.0,
        curve=curve,
    )


def _reducer(rng: random.Random, name: str, senses: str, *, air: float = 0.0) -> surge.ReducerRow:
    return reducer(
        name,
        senses,
        body=_body(rng),
        feed=kv(rng.choice((1e-4, 0.012, 0.06, 0.15))),
        pilot=kv(rng.choice((0.12, 0.3))),
        band=rng.uniform(0.3, 1.5) * 1e5,
        screw=rng.uniform(3, 14),
        turns_free=rng.choice((0.0, 1.0)),
        screw_play=rng.choice((0.0, 0.3)),
        lag=rng.choice((0.0, 0.05, 0.5)),
        pilot_play=rng.choice((0.0, 0.03e5)),
        friction=rng.choice((0.0, 0.1e5)),
        needle=rng.choice((inf, kv(0.09))),
        filter=rng.choice((inf, inf, kv(0.02))),
        tear=rng.choice((0.0, 0.0, 0.0, kv(0.3))),
        air=air,
    )


def _shut_off(rng: random.Random, traits: set[str]) -> surge.ShutOffRow:
    is_hydraulic = rng.random() < 0.5
    traits.add("shut-off driven by line pressure" if is_hydraulic else "shut-off by the clock")
    return shut_off(
        body=_body(rng),
        trip=rng.uniform(3.5, 8) * 1e5,
        is_hydraulic=is_hydraulic,
        close_needle=kv(rng.choice((0.05, 0.15, 0.6, 3.0))),
        close_time=rng.choice((0.2, 0.5, 2.0, 8.0)),
        open_time=rng.choice((1.0, 10.0)),
        release=rng.choice((nan, nan, 3.3e5)),
        lag=rng.choice((0.0, 0.1, 1.0)),
        trip_at=rng.choice((nan, nan, 0.5)),
        reset_at=rng.choice((nan, nan, 2.0)),
        is_cock_open=rng.random() < 0.9,
    )


def _valves(rng: random.Random, traits: set[str], *, air: float) -> list[Valve]:
    """Return one to three valves in walking order."""
    main = _reducer(rng, "RV", "T3", air=air)
    if air > 0.0:
        traits.add("air")
    kind = rng.choice(("plain", "plain", "plain", "monitor", "direct", "alone"))
    traits.add({"plain": "reducer and shut-off", "alone": "reducer alone"}.get(kind, kind))
    if kind == "alone":
        return [main]
    if kind == "direct":
        direct = surge.DirectReducerRow(
            "DR", _body(rng), "T3", rng.uniform(2e5, 6e5), rng.uniform(0.5e5, 2e5)
        )
        return [direct, _shut_off(rng, traits)] if air == 0.0 else [main, direct]
    shut = _shut_off(rng, traits)
    if kind == "monitor":
        return rng.sample([main, _reducer(rng, "MR", "T3"), shut], 3)
    return [main, shut] if rng.random() < 0.5 else [shut, main]


def _station(rng: random.Random, valves: list[Valve], traits: set[str]) -> tuple[Part, ...]:
    """Return the valves with sections, losses and what else may stand there; taps lie below each reducer."""
    parts: list[Part] = [
        surge.LossRow("IV1", kv(894.0), opening=rng.choice((1.0, 1.0, 0.05))),
        surge.LossRow("ST", kv(300.0), clogging=rng.choice((1.0, 30.0))),
        surge.Section("T1", 0.015),
    ]
    for place, valve in enumerate(valves):
        last = place == len(valves) - 1
        if isinstance(valve, surge.ReducerRow) and not last and rng.random() < 0.5:
            valve = replace(valve, senses=f"M{place}")
        parts.append(valve)
        if not last:
            parts.append(surge.Section(f"M{place}", rng.choice((0.002, 0.008, 0.05))))
    if rng.random() < 0.15:
        traits.add("check valve")
        parts += [
            surge.Section("TC", 0.004), surge.CheckRow("CV", kv(200.0), close_time=rng.choice((0.0, 0.2)))
        ]  # fmt: skip
    relief = _relief(rng) if rng.random() < 0.25 else None
    if relief is not None:
        traits.add("relief valve")
    parts.append(surge.Section("T3", 0.015, relief=relief))
    parts.append(surge.LossRow("IV2", kv(894.0), opening=rng.choice((1.0, 1.0, 0.3))))
    return tuple(parts)


def _beside(
    rng: random.Random, station: tuple[Part, ...], valves: list[Valve], traits: set[str]
) -> tuple[Part, ...]:
    """Return one station in five with one or two streams more beside its valves."""
    if rng.random() >= 0.2:
        return station
    traits.add("streams")
    names = [part.id for part in station]
    first, last = names.index(valves[0].id), names.index(valves[-1].id)
    branches: list[tuple[Part, ...]] = [
        (surge.LossRow("IVA", kv(894.0)), *station[first : last + 1], surge.LossRow("IVB", kv(894.0)))
    ]
    for number in range(rng.choice((1, 1, 2))):
        opening = rng.choice((1.0, 1.0, 0.0))
        ends = [surge.LossRow(f"IV{number}{side}", kv(300.0), opening=opening) for side in "CD"]
        kind = rng.choice(("reducer", "direct", "bypass"))
        inner: tuple[Part, ...] = ()
        if kind == "reducer":
            inner = (_reducer(rng, f"RVS{number}", "T3"),)
        elif kind == "direct":
            inner = (surge.DirectReducerRow(f"DRS{number}", _body(rng), "T3", 4.5e5, 1e5),)
        traits.add(f"{kind} beside")
        branches.append((ends[0], *inner, ends[1]))
    group: Part = surge.Group("streams", tuple(branches))
    return (*station[:first], group, *station[last + 1 :])


def _relief(rng: random.Random) -> surge.ReliefValve:
    crack = rng.uniform(3, 7) * 1e5
    return surge.ReliefValve(
        "RF", kv(rng.uniform(3, 60)), crack, crack * rng.uniform(1.05, 1.3), crack * rng.uniform(0.8, 0.98),
        rng.choice((0.0, 0.3)),
    )  # fmt: skip


def _pipe(rng: random.Random, name: str, above: str, below: str, side: str, rise: float) -> surge.Pipe:
    length, bore, rough = rng.uniform(50, 1500), rng.choice((0.1, 0.15, 0.3)), rng.choice((1e-5, 1e-4, 1e-3))
    wave, unsteady = rng.choice((300.0, 450.0, 1000.0, 1250.0)), rng.choice((0.0, 0.0, 0.02))
    return surge.Pipe(name, above, below, length, bore, rough, wave, 0.0, rise, side, unsteady)


def _mains(
    rng: random.Random, supply: float, traits: set[str]
) -> tuple[tuple[surge.Pipe, ...], tuple[surge.Reservoir | surge.Consumers, ...]]:
    """Return mains on both sides: one or two reaches above, one below, or a branch."""
    far = rng.uniform(-8, 8)
    joints: list[surge.Reservoir | surge.Consumers] = [surge.Reservoir("supply", supply)]
    pipes = [_pipe(rng, "above", "supply", "station", "supply", 0.0)]
    if rng.random() < 0.25:
        traits.add("reaches")
        pipes = [_pipe(rng, "above", "supply", "J", "supply", 0.0)]
        pipes.append(_pipe(rng, "near", "J", "station", "supply", 0.0))
        joints.append(surge.Consumers("J"))
    if rng.random() < 0.25:
        traits.add("branch")
        pipes += [
            _pipe(rng, "trunk", "station", "K", "consumer", 0.0),
            _pipe(rng, "far", "K", "zone", "consumer", far),
            _pipe(rng, "side", "K", "other", "consumer", 0.0),
        ]
        joints += [surge.Consumers("K"), surge.Consumers("other", kv(rng.choice((0.5, 10))))]
    else:
        pipes.append(_pipe(rng, "below", "station", "zone", "consumer", far))
    joints.append(_zone(rng, far, traits))
    return tuple(pipes), tuple(joints)


def _zone(rng: random.Random, level: float, traits: set[str]) -> surge.Consumers:
    vessel, elasticity, entry = None, 0.0, 0.0
    if rng.random() < 0.2:
        traits.add("vessel")
        vessel = surge.Vessel(rng.choice((0.02, 0.5)))
    if rng.random() < 0.3:
        traits.add("zone")
        elasticity, entry = rng.choice((1e-8, 1e-7)), rng.choice((0.0, 3e6))
    return surge.Consumers(
        "zone", kv(rng.choice((0.0, 0.5, 5, 20, 60))), rng.choice((0.5, 0.8, 1.0)), level=level,
        elasticity=elasticity, entry=entry, inertance=1e6 if entry else 0.0, vessel=vessel,
    )  # fmt: skip


def _event(
    rng: random.Random, plan: surge.Plan, valves: list[Valve], traits: set[str]
) -> surge.Straight | surge.Held:
    """Return one thing that happens, beginning within the first second."""
    reducers = [valve for valve in valves if isinstance(valve, surge.ReducerRow)]
    zone = next(j for j in plan.joints if isinstance(j, surge.Consumers) and j.id == "zone")
    supply = next(j for j in plan.joints if isinstance(j, surge.Reservoir)).pressure
    begins, lasts = rng.uniform(0.0, 1.0), rng.choice((0.05, 0.5, 2.0))

    def ramp(name: str, what: surge.schedule.What, first: float, then: float) -> surge.Straight:
        return surge.Straight(name, what, ((0.0, first), (begins, first), (begins + lasts, then)))

    made: list[surge.Straight | surge.Held] = [
        ramp("zone", "demand", zone.coefficient, kv(rng.choice((0.0, 1, 60, 120)))),
        ramp("supply", "supply pressure", supply, supply * rng.uniform(0.3, 1.5)),
        ramp("IV1", "opening", _opening(plan, "IV1"), rng.choice((0.0, 1.0))),
        ramp("IV2", "opening", _opening(plan, "IV2"), rng.choice((0.0, 1.0))),
        ramp("T3", "drain", 0.0, kv(rng.choice((3, 15, 60)))),
        ramp("ST", "clogging", 1.0, 100.0),
    ]
    for valve in reducers:
        made += [
            surge.Held(valve.id, "stuck pilot", ((0.0, nan), (begins, rng.choice((0.0, 0.5, 1.0))))),
            surge.Held(valve.id, "tear", ((0.0, valve.tear), (begins, kv(0.5)))),
            surge.Held(valve.id, "runaway", ((0.0, 0.0), (begins, rng.choice((0.2, 1.0))))),
            surge.Held(valve.id, "sense cock", ((0.0, 1.0), (begins, 0.0))),
            ramp(valve.id, "screw", valve.screw, rng.uniform(3, 14)),
        ]
    chosen = rng.choice(made)
    traits.add(chosen.what)
    return chosen


def _opening(plan: surge.Plan, name: str) -> float:
    return next(p.opening for p in plan.station if isinstance(p, surge.LossRow) and p.id == name)
