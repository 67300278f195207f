"""The table of one pilot screw from a few numbers: which springs may be fitted, where it starts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import exp, log, sqrt

from steadyhead.records.advice import Screw
from steadyhead.visits.advising import defaults as d


def seen_screw(
    valve: str,
    *,
    plate: float,
    target: float,
    limit: float,
    reading: float,
    from_lowest: bool,
    spread: float,
    tolerance: float = d.TOLERANCE_DUTY.si,
    window: float = 0.0,
) -> Screw:
    """Return the table of a screw whose turns show at a gauge.

    Parameters
    ----------
    valve
        Id of the valve.
    plate
        Pressure per turn by its plate. [Pa/turn]
    target, tolerance
        Reading it is brought to, and how near. [Pa at the tap]
    limit
        Test limit as the gauge reads it, its error taken off. [Pa at the tap]
    reading
        The most the gauge can be misread by. [Pa]
    from_lowest
        It starts at its lowest setting, where the spring may not bear yet.
    spread
        Relative spread of pressure per turn by the plate, half-width.
    window
        Within which the trip must stand; says which spring is too coarse. [Pa]
    """
    return Screw(
        valve=valve,
        sees="gauge",
        target=target,
        tolerance=tolerance,
        window=window or 2.0 * tolerance,
        limit=limit,
        springs=tuple(_springs(plate, spread, lambda _: (target, d.START_UNSEEN))),
        plate=plate,
        most=d.WRONG_MOST.si * plate,
        gaps=d.GAPS_LOWEST if from_lowest else d.GAPS_LOADED,
        grain=d.GRAIN,
        slack=from_lowest,
        reading=sqrt(d.FRICTION.si**2 + reading**2 / 3.0),
        reading_most=reading,
        friction_most=d.FRICTION_MOST.si,
        bend=d.BEND.si,
        hand=d.HAND.si,
        repeat=0.0,
        tell=0.0,
        free=0.0,
        step=0.0,
        trip=None,
        amounts=d.AMOUNTS,
        chance_most=d.CHANCE_MOST.si,
        share=d.CHANCE_SHARE.si,
    )


def unseen_screw(
    valve: str,
    *,
    plate: float,
    top: float,
    target: float,
    repeat: float,
    reading: float,
    spread: float,
    has_tell_tale: bool,
    dead_band: float,
    limit: float = 0.0,
) -> Screw:
    """Return the table of a shut-off's screw: lowered from the top of its range, nothing shows until it acts.

    Parameters
    ----------
    valve, plate, spread, reading
        As for `seen_screw`.
    top
        Top of its range by the plate, as the gauge reads it. [Pa at the tap]
    target
        Reading at which it is to act. [Pa at the tap]
    repeat
        How far one trip may lie from the next, either way. [Pa]
    has_tell_tale
        Something shows that it is about to act.
    dead_band
        Fall of the sensed pressure after which it can open again. [Pa]
    limit
        As for `seen_screw`; 0: none is known.
    """
    return Screw(
        valve=valve,
        sees="act",
        target=target,
        tolerance=repeat,
        window=repeat,
        limit=limit,
        springs=tuple(_springs(plate, spread, lambda ratio: (ratio * top, d.START_SPREAD.si * ratio * top))),
        plate=plate,
        most=d.WRONG_MOST.si * plate,
        gaps=d.GAPS_RAISED,
        grain=d.GRAIN,
        slack=False,
        reading=reading,
        reading_most=reading,
        friction_most=0.0,
        bend=d.BEND.si,
        hand=d.HAND.si,
        repeat=repeat / sqrt(3.0),
        tell=d.TELL.si if has_tell_tale else 0.0,
        free=dead_band + d.FREE.si,
        step=0.0,
        trip=None,
        amounts=d.AMOUNTS,
        chance_most=d.CHANCE_MOST.si,
        share=d.CHANCE_SHARE.si,
    )


def at(screw: Screw, target: float, *, tolerance: float | None = None, step: float = 0.0) -> Screw:
    """Return the same screw on its way to another reading, in steps where it is raised to a trip."""
    near = screw.tolerance if tolerance is None else tolerance
    return replace(screw, target=target, tolerance=near, step=step)


def _springs(
    plate: float, spread: float, starts: Callable[[float], tuple[float, float]]
) -> Iterator[tuple[float, float, float, float]]:
    right, wrong = 1.0 - d.WRONG_SHARE.si, d.WRONG_SHARE.si
    count = d.SPRINGS_RIGHT
    for index in range(count):
        ratio = 1.0 + spread * ((2 * index + 1) / count - 1.0)
        yield (ratio * plate, *starts(1.0), right / count)
    count = d.SPRINGS_WRONG
    width = log(d.WRONG_MOST.si / d.WRONG_LEAST.si)
    for index in range(count):
        ratio = d.WRONG_LEAST.si * exp(width * (index + 0.5) / count)
        yield (ratio * plate, *starts(ratio), wrong / count)
