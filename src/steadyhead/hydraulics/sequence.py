"""Turn screws, open drains, draw water, step by step: quasi-steady with memory, shut-off included.

With water running each step is the steady point. With none, what shut valves trapped stays: a raised
setting shows at once, a lowered one only after water has left. A shut-off acts when its tap reaches its
trip and stays shut until it is reset.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from steadyhead.hydraulics.model import Model
from steadyhead.hydraulics.solving import solve
from steadyhead.records.steady import Conditions, Steady


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a sequence.

    Parameters
    ----------
    conditions
        As it stands after the hand has moved.
    trip
        trip_pressure by shut-off id. [Pa at datum]
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
        tripped = tripped - step.reset
        reading = _one(model, step, before, tripped)
        readings.append(reading)
        before, tripped = reading.steady, reading.tripped
    return tuple(readings)


def _one(model: Model, step: Step, before: Steady | None, tripped: frozenset[str]) -> StepReading:
    steady = solve(model, _with_shut(step.conditions, tripped), before)
    for valve in model.layout.shut_offs:
        trip = step.trip.get(valve.id)
        if trip is None or valve.id in tripped or steady.taps[valve.senses] < trip:
            continue
        caught = _caught(model, step, before, tripped, trip) if steady.flow <= 0.0 else steady
        tripped = tripped | {valve.id}
        steady = solve(model, _with_shut(step.conditions, tripped), caught)
    margin = {
        valve.id: step.trip[valve.id] - steady.taps[valve.senses]
        for valve in model.layout.shut_offs
        if valve.id in step.trip
    }
    return StepReading(steady, tripped, margin)


def _caught(model: Model, step: Step, before: Steady | None, tripped: frozenset[str], trip: float) -> Steady:
    """Return the standing pressures with the rise stopped at the trip."""
    limited = {name: min(step.conditions.lockup.get(name, value.si), trip) for name, value in model.lockup.items()}
    return solve(model, _with_shut(replace(step.conditions, lockup=limited), tripped), before)


def _with_shut(conditions: Conditions, tripped: frozenset[str]) -> Conditions:
    if not tripped:
        return conditions
    return replace(conditions, forced_lift={**conditions.forced_lift, **{name: 0.0 for name in tripped}})
