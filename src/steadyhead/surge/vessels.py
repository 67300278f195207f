"""Vessels of a station: teed into the main beside it, as near as the time step lets them stand."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from steadyhead.surge.plan import Consumers, Pipe, Plan, Vessel
from steadyhead.surge.plant import STATION

Side = Literal["supply", "consumer"]
NAMES: dict[Side, str] = {"supply": "vessel ahead", "consumer": "vessel"}
"""Names of the joints where they stand."""
REACHES = 2
"""Cells between the station and a vessel."""


def teed(
    pipes: tuple[Pipe, ...], vessel: Vessel, step: float, side: Side = "consumer"
) -> tuple[tuple[Pipe, ...], Consumers]:
    """Return pipes with a vessel in the one beside the station, and its joint.

    It stands `REACHES` steps of a wave along that pipe, at most in its middle; what lies between counts as
    pipework of the station. Its own pipe has no friction and no water.

    Parameters
    ----------
    pipes
        Of a plan.
    vessel
        Its gas at the pressure the run starts with there.
    step
        Time step the plan is to have. [s]
    side
        Ahead of the station or behind it.
    """
    is_behind = side == "consumer"
    beside = next(pipe for pipe in pipes if (pipe.above if is_behind else pipe.below) == STATION)
    length = min(REACHES * beside.wave_speed * step, 0.5 * beside.length)
    share = length / beside.length if is_behind else 1.0 - length / beside.length
    level = beside.level_above + share * (beside.level_below - beside.level_above)
    near = replace(beside, id=f"{beside.id} up to the vessel", length=length, is_station=True)
    far = replace(beside, length=beside.length - length)
    name = NAMES[side]
    if is_behind:
        near, far = replace(near, below=name, level_below=level), replace(far, above=name, level_above=level)
    else:
        near, far = replace(near, above=name, level_above=level), replace(far, below=name, level_below=level)
    found: list[Pipe] = []
    for pipe in pipes:
        found += [pipe] if pipe is not beside else [near, far] if is_behind else [far, near]
    return tuple(found), Consumers(name, level=level, vessel=vessel)


def with_vessel(plan: Plan, vessel: Vessel, step: float, side: Side) -> Plan:
    """Return a plan with a vessel beside the station, its time step kept.

    Parameters
    ----------
    plan, vessel, side
        See `teed`.
    step
        Of the plan as it is. [s]
    """
    if any(joint.id == NAMES[side] for joint in plan.joints):
        return plan
    pipes, joint = teed(plan.pipes, vessel, step, side)
    numbers = replace(plan.numbers, reaches=REACHES, longest_step=step)
    return replace(plan, pipes=pipes, joints=(*plan.joints, joint), numbers=numbers)
