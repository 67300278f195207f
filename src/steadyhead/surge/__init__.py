"""Transient twin of a station with its mains: compile a plan once, start it, advance it as far as you like.

The four of them carry everything: studies, ensembles, rehearsal. A state can be copied, stored and resumed.
"""

from __future__ import annotations

from steadyhead.surge.metrics import Extremes, extremes, mass_error, settling, swing
from steadyhead.surge.plan import (
    CheckRow,
    Consumers,
    DirectReducerRow,
    Group,
    LossRow,
    Numbers,
    Pipe,
    Plan,
    ReducerRow,
    ReliefValve,
    Reservoir,
    Section,
    ShutOffRow,
    Vessel,
    Water,
)
from steadyhead.surge.plant import Plant, compile_plan
from steadyhead.surge.running import Chunk, Trace, advance, run
from steadyhead.surge.schedule import Held, Schedule, Straight
from steadyhead.surge.starting import Standing, start, start_standing, steady_rest
from steadyhead.surge.state import State

__all__ = [
    "CheckRow",
    "Chunk",
    "Consumers",
    "DirectReducerRow",
    "Extremes",
    "Group",
    "Held",
    "LossRow",
    "Numbers",
    "Pipe",
    "Plan",
    "Plant",
    "ReducerRow",
    "ReliefValve",
    "Reservoir",
    "Schedule",
    "Section",
    "ShutOffRow",
    "Standing",
    "State",
    "Straight",
    "Trace",
    "Vessel",
    "Water",
    "advance",
    "compile_plan",
    "extremes",
    "mass_error",
    "run",
    "settling",
    "start",
    "start_standing",
    "steady_rest",
    "swing",
]
