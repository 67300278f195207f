"""The way from a reservoir through the station to the consumers, and the tree of mains behind it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import isnan

from steadyhead.errors import InputError
from steadyhead.surge.plan import Consumers, Pipe, Plan, Reservoir
from steadyhead.surge.plant import STATION


@dataclass(frozen=True, slots=True)
class Path:
    """Pipes of one way, and the joints at both ends.

    Parameters
    ----------
    below
        From the farthest consumers up to the station.
    above
        Those above it, upwards.
    consumers, reservoir
        The joints at its ends.
    tree
        All pipes behind the station, each after the one it begins at, where they branch or water is drawn,
        or a vessel stands, between their ends; empty where they do not.
    vessels
        What vessels ahead of the station take up, dV/dP [m³/Pa], by their joint.
    """

    below: tuple[Pipe, ...]
    above: tuple[Pipe, ...]
    consumers: Consumers
    reservoir: Reservoir
    tree: tuple[Pipe, ...] = ()
    vessels: Mapping[str, float] = field(default_factory=dict)


def path_of(plan: Plan) -> Path:
    """Return the way through a plan; behind a station its pipes may branch.

    Ahead of it vessels and relief valves may stand, the latter shut.

    Raises
    ------
    InputError
        Pipes that make a ring, branch ahead of the station, or draw water there.
    """
    ends = [joint for joint in plan.joints if isinstance(joint, Consumers)]
    held = [joint for joint in plan.joints if isinstance(joint, Reservoir)]
    outer = [joint for joint in ends if not any(pipe.above == joint.id for pipe in plan.pipes)]
    ahead = _ahead(plan)
    drawn = [j for j in ends if j not in outer and _draws(j) and not (j.id in ahead and _is_still(j))]
    has_station = any(pipe.above == STATION for pipe in plan.pipes)
    behind = _behind(plan) if has_station else ()
    places = {pipe.below for pipe in behind}
    is_tree = has_station and (len(outer) > 1 or bool(drawn))
    if len(held) != 1 or not outer or (not is_tree and (len(outer) != 1 or drawn)):
        raise _branching()
    if is_tree and not all(joint.id in places for joint in (*outer, *drawn)):
        raise _branching()
    ways = [_way(plan, joint, held[0]) for joint in outer]
    farthest = max(ways, key=lambda way: sum(pipe.length for pipe in way.below))
    vessels = {joint.id: _gives(plan, joint, held[0]) for joint in ends if joint.id in ahead and joint.vessel}
    return replace(farthest, tree=behind if is_tree else (), vessels=vessels)


def _branching() -> InputError:
    return InputError(
        "pipes",
        "make a ring, branch ahead of the station, or draw water there.",
        "Start standing, or settle a run whose pipes branch behind the station only.",
    )


def _draws(joint: Consumers) -> bool:
    if joint.vessel is not None:
        return True
    return joint.coefficient > 0.0 or not isnan(joint.drawn) or joint.relief is not None


def _is_still(joint: Consumers) -> bool:
    """Return whether nothing is drawn at a joint at rest."""
    return joint.coefficient <= 0.0 and isnan(joint.drawn)


def _ahead(plan: Plan) -> set[str]:
    """Return the joints between the reservoir and the station."""
    found: set[str] = set()
    name = STATION
    while arriving := next((pipe for pipe in plan.pipes if pipe.below == name), None):
        name = arriving.above
        if name in found:
            break
        found.add(name)
    return found


def _gives(plan: Plan, joint: Consumers, held: Reservoir) -> float:
    """Return dV/dP of the vessel at a joint, at the pressure that stands there without flow. [m³/Pa]"""
    assert joint.vessel is not None
    weight = plan.water.density * plan.water.gravity
    pressure = held.pressure - weight * (joint.level - held.level) + plan.water.atmosphere_abs
    return joint.vessel.air / (joint.vessel.exponent * pressure)


def _behind(plan: Plan) -> tuple[Pipe, ...]:
    """Return the pipes behind the station, each after the one it begins at."""
    found: list[Pipe] = []
    reached = {STATION}
    for name in (waiting := [STATION]):
        for pipe in plan.pipes:
            if pipe.above == name:
                if pipe.below in reached:
                    raise _branching()
                found.append(pipe)
                reached.add(pipe.below)
                waiting.append(pipe.below)
    return tuple(found)


def _way(plan: Plan, end: Consumers, held: Reservoir) -> Path:
    """Return the one way from an end up to the reservoir."""
    below: list[Pipe] = []
    above: list[Pipe] = []
    name, into = end.id, below
    while name != held.id:
        arriving = [pipe for pipe in plan.pipes if pipe.below == name]
        if len(arriving) != 1:
            raise InputError("pipes", f"{len(arriving)} arrive at {name}.", "Let one arrive.")
        into.append(arriving[0])
        name = arriving[0].above
        if name == STATION:
            name, into = STATION, above
    return Path(tuple(below), tuple(above), end, held)
