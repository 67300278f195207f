"""What the lumped rest of a zone is entered through: mains that go on behind the end of the stated one."""

from __future__ import annotations

from dataclasses import replace
from math import pi

from steadyhead.surge import defaults as d
from steadyhead.surge.plan import Consumers, Pipe, Plan
from steadyhead.surge.plant import STATION


def entered(plan: Plan) -> Plan:
    """Return a plan whose lumped zone is entered through the most mains of the band, where nothing is chosen.

    Of the band nobody has measured that end throws most of a wave back. A zone whose main is not stated stays
    as it is.
    """
    behind = [pipe for pipe in plan.pipes if pipe.side == "consumer"]
    is_chosen = any(isinstance(joint, Consumers) and joint.entry > 0.0 for joint in plan.joints)
    is_stub = any(pipe.above == STATION and not pipe.has_friction for pipe in behind)
    return plan if is_chosen or is_stub else with_entry(plan, d.ZONE_MAINS[1].si)


def with_entry(plan: Plan, mains: float) -> Plan:
    """Return a plan whose lumped zone is entered through `mains` pipes like the one that ends there.

    Notes
    -----
    R = ρ a/(A n); L = R 2 L_main/a: the zone is taken to reach as far again as its main, so that what lasts
    longer than a wave's way there and back finds the whole zone.
    """
    joints = tuple(
        _entered(joint, _arriving(plan, joint), _resistance(plan, joint) / mains)
        if isinstance(joint, Consumers) and joint.elasticity > 0.0
        else joint
        for joint in plan.joints
    )
    return replace(plan, joints=joints)


def mains_behind(number: int) -> str:
    """Return in words how much goes on behind the end of a zone's main.

    Examples
    --------
    >>> mains_behind(3), mains_behind(1), mains_behind(0)
    ('3 mains like it', '1 main like it', 'no mains like it')
    """
    return f"{number or 'no'} main{'s' if number != 1 else ''} like it"


def mains_of(plan: Plan) -> int:
    """Return through how many mains a plan's lumped zone is entered; 0: through none."""
    found = [
        _resistance(plan, joint) / joint.entry
        for joint in plan.joints
        if isinstance(joint, Consumers) and joint.entry > 0.0
    ]
    return round(max(found, default=0.0))


def _resistance(plan: Plan, joint: Consumers) -> float:
    """Return ρ a/A of the main that ends at a joint. [Pa s/m³]"""
    pipe = _arriving(plan, joint)
    return plan.water.density * pipe.wave_speed / (pi / 4.0 * pipe.bore**2)


def _arriving(plan: Plan, joint: Consumers) -> Pipe:
    return next(pipe for pipe in plan.pipes if pipe.below == joint.id)


def _entered(joint: Consumers, pipe: Pipe, resistance: float) -> Consumers:
    inertance = resistance * 2.0 * pipe.length / pipe.wave_speed
    return replace(joint, entry=resistance, inertance=inertance)
