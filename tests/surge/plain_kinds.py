"""Short runs of every kind of thing the transient engine knows; printed, to be run in either engine."""

from __future__ import annotations

import sys
from dataclasses import replace
from math import nan
from typing import Any

from steadyhead import surge
from steadyhead.surge.plan import ValveBody
from tests.surge.plans import kv, reducer, shut_off, station

STEPS = 80
T2 = surge.Section("T2", 0.008)
RELIEF = surge.ReliefValve("RF", kv(25.0), 4.2e5, 5e5, 4.0e5, 0.3)
STICKS = surge.Held("RV", "stuck pilot", ((0.0, nan), (0.1, 1.0)))
DROPS = surge.Straight("zone", "demand", ((0.0, kv(30)), (0.1, kv(30)), (0.4, kv(3))))
FALLS = surge.Straight("supply", "supply pressure", ((0.0, 9e5), (0.1, 9e5), (0.8, 1e5)))


def kinds() -> dict[str, tuple[surge.Plan, surge.Schedule]]:
    """Return a plan and what happens in it, by what is looked at."""

    def made(*parts: object, events: tuple[surge.Straight | surge.Held, ...] = (DROPS,), **consumers: Any):
        return station(*parts, reaches=10, **consumers), surge.Schedule(events)

    plan, steps = made()
    rough = replace(plan, pipes=tuple(replace(pipe, unsteady=0.02) for pipe in plan.pipes))
    smooth = replace(plan, pipes=tuple(replace(pipe, has_friction=False) for pipe in plan.pipes))
    relieved = tuple(
        replace(part, relief=RELIEF) if isinstance(part, surge.Section) and part.id == "T3" else part
        for part in plan.station
    )
    return {
        "reducer and timed shut-off": made(reducer(), T2, shut_off(trip_at=0.1), events=(STICKS,)),
        "shut-off through its needle": made(
            shut_off(trip_at=0.1, is_hydraulic=True, close_needle=kv(2.0)), T2, reducer(senses="T3")
        ),
        "column parted at a shut seat": made(
            reducer(lift=1.0), T2, shut_off(trip_at=0.05, close_time=0.1), supply=3e5, demand=90.0, events=()
        ),
        "shut-off that opens again": made(
            reducer(), T2, shut_off(start_lift=1.0, trip_at=0.05, reset_at=0.6, close_time=1.0, open_time=2.0)
        ),
        "air, needle, friction, play": made(
            reducer(air=1e-5, needle=kv(0.09), friction=0.1e5, pilot_play=0.02e5, screw_play=0.3),
            T2,
            shut_off(),
        ),
        "torn diaphragm, debris, leak": made(
            reducer(body=ValveBody(kv(170), lowest=0.02, leak=kv(0.3)), tear=kv(0.5)), T2, shut_off()
        ),
        "table of lifts": made(
            reducer(body=ValveBody(kv(170), curve=((0.0, 0.0), (0.5, 0.3), (1.0, 1.0)))), T2, shut_off()
        ),
        "stem driven open": made(
            reducer(), T2, shut_off(), events=(surge.Held("RV", "runaway", ((0.0, 0.0), (0.1, 1.0))),)
        ),
        "two reducers": made(reducer(screw=12.0), T2, reducer("RV2", "T3", screw=9.0)),
        "direct-acting reducer": made(surge.DirectReducerRow("DR", ValveBody(kv(170)), "T3", 4.5e5, 0.8e5)),
        "check valve": made(
            reducer(senses="T3"), T2, surge.CheckRow("CV", kv(300), close_time=0.2), events=(FALLS,)
        ),
        "isolating valve shut": made(events=(surge.Straight("IV1", "opening", ((0.0, 1.0), (0.8, 0.0))),)),
        "drain": made(events=(surge.Straight("T3", "drain", ((0.0, 0.0), (0.4, kv(15)))),)),
        "relief valve in the station": (replace(plan, station=relieved), steps),
        "relief valve at the end": made(relief=RELIEF),
        "air vessel": made(vessel=surge.Vessel(0.2)),
        "zone": made(elasticity=1e-7, exponent=0.8),
        "zone behind an entry": made(elasticity=1e-7, entry=2e6, inertance=1e6),
        "imposed flow": made(drawn=0.01, events=()),
        "unsteady friction": (rough, steps),
        "no friction": (smooth, steps),
        "column parts": made(events=(surge.Straight("IV2", "opening", ((0.0, 1.0), (0.3, 0.0))),)),
    }


def ends() -> dict[str, str]:
    """Return the packed state after each run."""
    found = {}
    for name, (plan, schedule) in kinds().items():
        plant = surge.compile_plan(plan)
        state = surge.start(plant, schedule)
        surge.advance(plant, state, schedule, STEPS, stride=10**6)
        found[name] = state.packed()
    return found


if __name__ == "__main__":
    for text in ends().values():
        sys.stdout.write(text + "\n")
