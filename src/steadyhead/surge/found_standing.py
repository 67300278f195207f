"""A station found standing, before it is opened or started again."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.surge.from_station import Drafted
from steadyhead.surge.plan import DirectReducerRow, Part, ReducerRow, Section, ShutOffRow
from steadyhead.surge.starting import Standing


def restarting(part: Part, has_failed: bool) -> Part:
    """Return a part as it stands before a restart: the shut-off shut, a reducer sound or failed."""
    if isinstance(part, ShutOffRow):
        return replace(part, start_lift=0.0)
    if has_failed and isinstance(part, ReducerRow):
        return replace(part, stuck_pilot=1.0)
    if has_failed and isinstance(part, DirectReducerRow):
        return replace(part, lift=1.0)
    return part


def found_standing(drafted: Drafted, *, shut: set[str], lift: float, passes: bool = True) -> Standing:
    """Return a station found standing: what stands before the first shut thing is the supply's.

    The consumer main is full and without pressure at its highest end.

    Parameters
    ----------
    drafted
        With the plan that is run, so that a setting or a supply that is off moves what stands too.
    shut
        What stands shut.
    lift
        Share at which reducers are found.
    passes
        Whether a reducer hands its inlet pressure down; else it stands at its lock-up.
    """
    plan = drafted.plan
    weight = plan.water.density * plan.water.gravity
    level = next(pipe.level_above for pipe in plan.pipes if pipe.side == "supply")
    supply = drafted.held + weight * level
    consumer = max(weight * drafted.highest_level, 0.0)
    now, sections, lifts = supply, {}, {}
    for part in plan.station:
        if isinstance(part, Section):
            sections[part.id] = now
        elif part.id in shut:
            now = consumer
        elif isinstance(part, ReducerRow | DirectReducerRow) and not passes:
            now = min(now, part.closing)
        if isinstance(part, ReducerRow | DirectReducerRow):
            lifts[part.id] = lift
        elif isinstance(part, ShutOffRow):
            lifts[part.id] = 0.0 if part.id in shut else 1.0
    return Standing(consumer, supply, sections, lifts)
