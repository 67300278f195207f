"""Compile the march of time in a process of its own: `python -m steadyhead.surge.warming`.

The compiler holds a lock, so two threads compile no faster than one; two processes do. This one marches a
smallest station by one step, and leaves what was compiled in the folder of compiled code.
"""

from __future__ import annotations

from steadyhead.surge.plan import (
    Consumers,
    LossRow,
    Numbers,
    Pipe,
    Plan,
    ReducerRow,
    Reservoir,
    Section,
    ValveBody,
    Water,
)
from steadyhead.surge.plant import compile_plan
from steadyhead.surge.running import Runner
from steadyhead.surge.schedule import Schedule
from steadyhead.surge.starting import Standing, start_standing

PRESSURE, K = 5e5, 1e-4
WATER = Water(1e3, 1.3e-6, 1.2e3, 1e5, 2.2e7, 9.81)


def smallest() -> Plan:
    """Return a plan of one reducer between two short pipes; its numbers mean nothing."""
    body = ValveBody(K)
    valve = ReducerRow("RV", body, "T3", 1e-8, 2e-8, 1e5, closing=3e5)
    return Plan(
        WATER,
        (
            Pipe("above", "supply", "station", 10.0, 0.1, 1e-4, 1000.0, side="supply"),
            Pipe("below", "station", "zone", 10.0, 0.1, 1e-4, 1000.0),
        ),
        (Reservoir("supply", PRESSURE), Consumers("zone", K)),
        (LossRow("IV1", K), Section("T1", 0.01), valve, Section("T3", 0.01), LossRow("IV2", K)),
        numbers=Numbers(2),
    )


def main() -> None:
    """March the smallest station by one step."""
    plant, schedule = compile_plan(smallest()), Schedule()
    state = start_standing(plant, Standing(PRESSURE, PRESSURE), schedule)
    Runner(plant, state, schedule).advance(1)


if __name__ == "__main__":
    main()
