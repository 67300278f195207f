"""Turn screws, open drains, draw water, step by step: quasi-steady with memory, shut-off included.

With water running each step is the steady point. With none, what shut valves trapped stays: a raised
setting shows at once, a lowered one only after water has left. A shut-off acts when its tap reaches its
trip; it stays shut until it is reset by hand, or, self-resetting, until its tap has fallen to its reset.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import nan

from steadyhead.hydraulics.kernel.memory import TripUnit, settle
from steadyhead.hydraulics.model import Model
from steadyhead.hydraulics.solving import answer, arranged, conditions_row, refuse, remembered
from steadyhead.records.steady import Conditions, Steady


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a sequence.

    Parameters
    ----------
    conditions
        As it stands after the hand has moved.
    trip
        trip_pressure by shut-off id; a shut-off without an entry never acts. [Pa at datum]
    reset
        Ids of shut-offs that are reset before the reading.
    """

    conditions: Conditions
    trip: Mapping[str, float] = field(default_factory=dict)
    reset: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class StepReading:
    """What stands after a step: the steady answer, which shut-offs are shut, and the margin to the trip.

    margin: trip minus sensed pressure by shut-off id. [Pa]
    """

    steady: Steady
    tripped: frozenset[str]
    margin: Mapping[str, float]


def read_sequence(
    model: Model, steps: Sequence[Step], before: Steady | None = None, tripped: frozenset[str] = frozenset()
) -> tuple[StepReading, ...]:
    """Return what the gauges show after each step.

    Holds for steps slow enough that nothing surges; a fast turn overshoots and is a transient.

    Parameters
    ----------
    model
        From `steadyhead.hydraulics.build`.
    steps
        In the order in which they are made.
    before
        Situation before the first step, for trapped pressures.
    tripped
        Shut-offs found shut.

    Raises
    ------
    NotConverged, InputError
        As `steadyhead.hydraulics.solve`.
    """
    readings = []
    for step in steps:
        reading = _one(model, step, before, tripped - step.reset)
        readings.append(reading)
        before, tripped = reading.steady, reading.tripped
    return tuple(readings)


def _one(model: Model, step: Step, before: Steady | None, tripped: frozenset[str]) -> StepReading:
    valves = [valve for valve in model.shut_offs if valve.id in step.trip or valve.id in tripped]
    units = []
    for valve in valves:
        trip = step.trip.get(valve.id, float("inf"))
        self_resetting = valve.resets == "by itself" and valve.dead_band is not None
        release = trip - valve.dead_band.si if self_resetting and valve.dead_band else nan
        units.append(TripUnit(model.element[valve.id], model.tap_node[valve.senses], trip, release))
    settled = settle(
        arranged(model, step.conditions),
        conditions_row(model, step.conditions),
        units,
        [valve.id in tripped for valve in valves],
        remembered(model, before),
    )
    refuse(model, settled.solution)
    steady = answer(model, settled.solution)
    return StepReading(
        steady,
        frozenset(valve.id for valve, shut in zip(valves, settled.tripped, strict=True) if shut),
        {
            valve.id: step.trip[valve.id] - steady.taps[valve.senses]
            for valve in valves
            if valve.id in step.trip
        },
    )
