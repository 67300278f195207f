"""What of a station is known only within a tolerance, and the station with each somewhere inside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, isnan, log
from typing import Literal

from steadyhead.surge.entry import with_entry
from steadyhead.surge.plan import (
    Consumers,
    DirectReducerRow,
    Part,
    Pipe,
    Plan,
    ReducerRow,
    Reservoir,
    ShutOffRow,
)
from steadyhead.surge.schedule import Held, Schedule, Straight

What = Literal[
    "trip",
    "closing needle",
    "setting",
    "valve",
    "feed",
    "demand",
    "inlet pressure",
    "wave speed",
    "zone elasticity",
    "mains behind the zone's",
]
"""What may be off: *trip*, *setting*, *inlet pressure* by an offset [Pa], *mains* are counted, the rest by a
factor [1]."""
OFFSETS = ("trip", "setting", "inlet pressure")
COUNTS = ("mains behind the zone's",)


@dataclass(frozen=True, slots=True)
class Tolerance:
    """One thing that is known only within a tolerance; even over it, in its logarithm where it is a factor.

    Parameters
    ----------
    what, of
        See `What`; of which part or pipe, empty: of the whole.
    low, high
        [Pa] or [1].
    words
        Where it comes from.
    """

    what: What
    of: str
    low: float
    high: float
    words: str

    @property
    def name(self) -> str:
        """What people call it."""
        return f"{self.what} of {self.of}" if self.of else self.what

    def at(self, share: float) -> float:
        """Return its value at a share of its band, 0 to 1; what is counted is whole."""
        if self.what in COUNTS:
            return float(min(int(self.low + share * (self.high - self.low + 1.0)), int(self.high)))
        if self.what in OFFSETS:
            return self.low + share * (self.high - self.low)
        return exp(log(self.low) + share * log(self.high / self.low))


Values = Mapping[tuple[str, str], float]
"""Value by (what, of)."""


def values_at(tolerances: Sequence[Tolerance], shares: Sequence[float]) -> dict[tuple[str, str], float]:
    """Return the values at these shares of their bands."""
    return {(one.what, one.of): one.at(float(share)) for one, share in zip(tolerances, shares, strict=True)}


def plan_with(plan: Plan, values: Values) -> Plan:
    """Return a plan with everything off by what `values` say."""
    mains = values.get(("mains behind the zone's", ""), 0.0)
    moved = replace(
        plan,
        pipes=tuple(_pipe(pipe, values) for pipe in plan.pipes),
        joints=tuple(_joint(joint, values) for joint in plan.joints),
        station=tuple(_part(part, values) for part in plan.station),
    )
    return with_entry(moved, mains) if mains > 0.0 else moved


def schedule_with(schedule: Schedule, values: Values) -> Schedule:
    """Return inputs with demand and inlet pressure off by as much."""
    return Schedule(tuple(_input(one, values) for one in schedule.inputs))


def moves_inputs(values: Values) -> bool:
    """Return whether a schedule is changed by `values`."""
    return any(what in ("demand", "inlet pressure", "setting") for what, _ in values)


def _input(one: Straight | Held, values: Values) -> Straight | Held:
    if one.what == "demand":
        factor = values.get(("demand", ""), 1.0)
        return replace(one, points=tuple((time, value * factor) for time, value in one.points))
    if one.what == "supply pressure":
        rise = values.get(("inlet pressure", ""), 0.0)
        return replace(one, points=tuple((time, value + rise) for time, value in one.points))
    if one.what == "closing pressure":
        rise = values.get(("setting", one.name), 0.0)
        return replace(one, points=tuple((time, value + rise) for time, value in one.points))
    return one


def _pipe(pipe: Pipe, values: Values) -> Pipe:
    factor = values.get(("wave speed", "supply main" if pipe.side == "supply" else "zone main"), 1.0)
    return pipe if factor == 1.0 else replace(pipe, wave_speed=pipe.wave_speed * factor)


def _joint(joint: Reservoir | Consumers, values: Values) -> Reservoir | Consumers:
    if isinstance(joint, Reservoir):
        return replace(joint, pressure=joint.pressure + values.get(("inlet pressure", ""), 0.0))
    return replace(
        joint,
        coefficient=joint.coefficient * values.get(("demand", ""), 1.0),
        elasticity=joint.elasticity * values.get(("zone elasticity", ""), 1.0),
    )


def _part(part: Part, values: Values) -> Part:
    if isinstance(part, ReducerRow | DirectReducerRow | ShutOffRow):
        factor = values.get(("valve", part.id), 1.0)
        if factor != 1.0:
            part = replace(part, body=replace(part.body, coefficient=part.body.coefficient * factor))
    if isinstance(part, ReducerRow | DirectReducerRow):
        part = replace(part, closing=part.closing + values.get(("setting", part.id), 0.0))
    if isinstance(part, ReducerRow):
        factor = values.get(("feed", part.id), 1.0)
        return replace(part, feed=part.feed * factor, pilot=part.pilot * factor)
    if isinstance(part, ShutOffRow):
        rise, factor = values.get(("trip", part.id), 0.0), values.get(("closing needle", part.id), 1.0)
        return replace(
            part,
            trip=part.trip + rise,
            release=part.release if isnan(part.release) else part.release + rise,
            close_needle=part.close_needle * factor,
            close_time=part.close_time / factor,
            open_time=part.open_time / factor,
        )
    return part
