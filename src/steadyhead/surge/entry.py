"""What the lumped rest of a zone is entered through: mains that go on behind the end of the stated one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import pi

from steadyhead.findings.model import Amount, Parameter
from steadyhead.records.station import Zone
from steadyhead.surge import defaults as d
from steadyhead.surge.plan import Consumers, Pipe, Plan
from steadyhead.surge.plant import STATION


def entered(plan: Plan) -> Plan:
    """Return a plan whose lumped zone is entered through the most mains of the band, where nothing is chosen.

    Of the band nobody has measured that end throws most of a wave back; the other, `ends`, lets a quick rise
    through in full. A zone whose main is not stated stays as it is.
    """
    is_chosen = any(isinstance(joint, Consumers) and joint.entry > 0.0 for joint in plan.joints)
    return plan if is_chosen or _is_stub(plan) else with_entry(plan, d.ZONE_MAINS[1].si)


def ends(plan: Plan) -> tuple[int, ...]:
    """Return the ends of the band of mains a lumped zone is entered through, most first; 0: it has none.

    Neither is the worse for all that is held against a limit: many mains throw most of a slow stop back, few
    let most of a quick rise stand before them.

    Notes
    -----
    R = Z/n at the end of a main of impedance Z passes on 2R/(R + Z) = 2/(1 + n) of what arrives.
    """
    has_rest = any(isinstance(joint, Consumers) and joint.elasticity > 0.0 for joint in plan.joints)
    fewest, most = (int(one.si) for one in d.ZONE_MAINS)
    return (most, fewest) if has_rest and not _is_stub(plan) else (0,)


def _is_stub(plan: Plan) -> bool:
    """Return whether the main of the zone is not stated and a stub stands in its place."""
    behind = [pipe for pipe in plan.pipes if pipe.side == "consumer"]
    return any(pipe.above == STATION and not pipe.has_friction for pipe in behind)


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


def end_of(zone: Zone) -> str:
    """Return in words what the lumped rest of a zone begins behind."""
    return "its last reaches" if zone.reaches else "the zone's main"


def asked_of(zone: Zone, window: str) -> str:
    """Return what would settle how high a wave is that a zone throws back; reaches stated are not asked for.

    Parameters
    ----------
    zone
        As the file has it.
    window
        What to do about the closing time first, as a sentence begins; empty: nothing.
    """
    unknown = (
        "find out how the zone goes on behind its last reaches, how much of its volume and through how many "
        "pipes, and state what of it is missing"
        if zone.reaches
        else "state the reaches of the zone as they are"
    )
    log = "or log the outlet while the shut-off closes at that flow, and answer with what it showed."
    told = f"{window}; {unknown}; {log}" if window else f"{unknown}; {log}"
    return told[0].upper() + told[1:]


def stop_in(times: Iterable[float | None]) -> dict[str, Parameter]:
    """Return in which time a shut-off stops the water [s], as SUR-63 tells it: an answer holds for that one.

    times: of its strokes, the fastest counts; None: not shut.
    """
    known = [time for time in times if time is not None]
    if not known:
        return {"within": "", "stop": ""}
    return {"within": " in ", "stop": Amount("time", min(known))}


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
