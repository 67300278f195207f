"""Mains stated as several reaches: pipes and joints of the plan, with demands and the rest of the zone."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, pi

from steadyhead.errors import InputError
from steadyhead.findings import Amount, Finding, Severity
from steadyhead.hydraulics.mains import roughness_of, wave_speed_of
from steadyhead.hydraulics.solving import DEMAND_REFERENCE
from steadyhead.laws.friction import pipe_drop
from steadyhead.records.mains import Main, SupplyReach, ZoneReach, begins_after, farthest, flows_of, shares_of
from steadyhead.surge import defaults as d
from steadyhead.surge.plan import Consumers, Numbers, Pipe, Water
from steadyhead.surge.plant import STATION
from steadyhead.surge.station_rows import k_for_flow

LEAST_CELLS = 2
NEAR = 4
"""Up to one part in so many more cells than wanted, where wave speeds then fit better."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """What is drawn at the ends of reaches: in all [m³/s], more at one of them [m³/s], and n of the law."""

    flow: float
    exponent: float
    extra: float = 0.0
    place: str = ""

    def share(self, shares: dict[str, float], name: str) -> float:
        """Return what is drawn at the end of a reach. [m³/s]"""
        return shares[name] * self.flow + (self.extra if name == self.place else 0.0)


def joint_name(reach: str) -> str:
    """Return the name of the joint where a reach ends."""
    return f"end of {reach}"


def supply_pipes(
    reaches: tuple[SupplyReach, ...], first_level: float | None, datum: float, start: str, density: float
) -> tuple[tuple[Pipe, ...], tuple[Consumers, ...]]:
    """Return the reaches of the supply main and the joints between them, levels counted from the datum.

    Parameters
    ----------
    reaches
        As the water meets them.
    first_level
        Level where the first begins; None: where it ends. [m]
    datum
        [m]
    start
        Joint where the supply is held.
    density
        [kg/m³]
    """
    pipes, joints = [], []
    level = None if first_level is None else first_level - datum
    for place, reach in enumerate(reaches):
        is_last = place == len(reaches) - 1
        below = 0.0 if is_last else (reach.level.si - datum if reach.level else level or 0.0)
        level = below if level is None else level
        above_name = start if place == 0 else joint_name(reaches[place - 1].id)
        below_name = STATION if is_last else joint_name(reach.id)
        pipes.append(_pipe(reach, above_name, below_name, level, below, "supply", density))
        if not is_last:
            joints.append(Consumers(below_name, level=below))
        level = below
    return tuple(pipes), tuple(joints)


def zone_pipes(
    reaches: tuple[ZoneReach, ...], usual_level: float, datum: float, end: str, density: float
) -> tuple[Pipe, ...]:
    """Return the reaches behind the station as pipes; the joint at the farthest end is called `end`."""
    begins = begins_after(reaches)
    names = joints_of(reaches, end)
    levels = {reach.id: (reach.level.si if reach.level else usual_level) - datum for reach in reaches}
    return tuple(
        _pipe(
            reach,
            names[begins[reach.id]] if begins[reach.id] else STATION,
            names[reach.id],
            levels[begins[reach.id]] if begins[reach.id] else 0.0,
            levels[reach.id],
            "consumer",
            density,
        )
        for reach in reaches
    )


def joints_of(reaches: tuple[ZoneReach, ...], end: str) -> dict[str, str]:
    """Return the name of the joint where each reach ends."""
    last = farthest(reaches)[-1].id
    return {reach.id: end if reach.id == last else joint_name(reach.id) for reach in reaches}


def zone_joints(
    reaches: tuple[ZoneReach, ...],
    pipes: tuple[Pipe, ...],
    outlet: float,
    drawn: Drawn,
    rest: float,
    water: Water,
) -> tuple[tuple[Consumers, ...], dict[str, float]]:
    """Return the joints behind the station, each drawing its share at the pressure it has there, and these.

    Parameters
    ----------
    reaches, pipes
        One pipe a reach.
    outlet
        Pressure at the station's end of the first pipe, at its level. [Pa]
    drawn
        What is drawn.
    rest
        V β of what of the zone is in no reach; it is shared out as the demand is. [m³/Pa]
    water
        Its water.

    Raises
    ------
    InputError
        A place of demand below the pressure of the air, or a place nobody knows.
    """
    shares, through = shares_of(reaches), flows_of(reaches)
    if drawn.place and drawn.place not in shares:
        raise InputError("place", f"got {drawn.place!r}.", f"Reaches of the zone: {', '.join(shares)}.")
    on_the_way = _on_the_way(reaches, drawn.place)
    weight = water.density * water.gravity
    pressures = {STATION: outlet}
    joints = []
    for reach, pipe in zip(reaches, pipes, strict=True):
        flow = through[reach.id] * drawn.flow + (drawn.extra if reach.id in on_the_way else 0.0)
        lost = pipe_drop(flow, pipe.length, pipe.bore, pipe.roughness, water.density, water.viscosity)
        here = pressures[pipe.above] - lost - weight * (pipe.level_below - pipe.level_above)
        pressures[pipe.below] = here
        own = drawn.share(shares, reach.id)
        if own > 0.0 and here <= 0.0:
            problem = f"the pressure at the end of {reach.id} is below that of the air."
            raise InputError(f"reach {reach.id}", problem, "Check its bore, level and share.")
        k = k_for_flow(own, here, drawn.exponent, DEMAND_REFERENCE)
        elasticity = shares[reach.id] * rest
        joints.append(Consumers(pipe.below, k, drawn.exponent, level=pipe.level_below, elasticity=elasticity))
    return tuple(joints), pressures


def _on_the_way(reaches: tuple[ZoneReach, ...], place: str) -> set[str]:
    """Return the reaches through which water for a place runs."""
    begins, found = begins_after(reaches), set()
    while place:
        found.add(place)
        place = begins[place]
    return found


def _pipe(
    reach: Main, above: str, below: str, level_above: float, level_below: float, side: str, density: float
) -> Pipe:
    name = reach.id if isinstance(reach, SupplyReach | ZoneReach) else side
    speed = wave_speed_of(reach, density).si
    return Pipe(
        f"reach {name}", above, below, reach.length.si, reach.bore.si, roughness_of(reach), speed,
        level_above, level_below, side,
    )  # fmt: skip


def compliance_of(pipes: tuple[Pipe, ...], density: float) -> float:
    """Return V β of pipes. [m³/Pa]"""
    return sum(pi / 4.0 * pipe.bore**2 * pipe.length / (density * pipe.wave_speed**2) for pipe in pipes)


def volume_of(pipes: tuple[Pipe, ...]) -> float:
    """Return the water in pipes. [m³]"""
    return sum(pi / 4.0 * pipe.bore**2 * pipe.length for pipe in pipes)


def cut(pipes: tuple[Pipe, ...], step: float) -> tuple[tuple[Pipe, ...], Numbers, list[Finding]]:
    """Return pipes that fit a time step, how finely they are cut, and what had to be moved.

    A pipe too short for two cells of the finest step is run as long as they are, and that is told. Of the
    steps a little below the wanted one that is taken which moves wave speeds least; where that moves one by
    more than is told, the first of those down to half the wanted one that does not, else the best of them.

    Parameters
    ----------
    pipes
        All of a plan.
    step
        Wanted time step. [s]
    """
    least = LEAST_CELLS * d.FINEST_STEP.si
    found, fitted = [], []
    for pipe in pipes:
        travel = pipe.length / pipe.wave_speed
        if travel < least:
            longer = pipe.wave_speed * least
            params = {"is": Amount("length", pipe.length), "run": Amount("length", longer)}
            found.append(Finding("SUR-64", pipe.id, Severity.NOTE, dict(params)))
            fitted.append(replace(pipe, length=longer))
        else:
            fitted.append(pipe)
    times = [pipe.length / pipe.wave_speed for pipe in fitted]
    fewest = max(ceil(min(times) / step - 1e-9), LEAST_CELLS)
    most = max(min(2 * fewest, int(min(times) / d.FINEST_STEP.si)), fewest)
    counts, near = range(fewest, most + 1), range(fewest, min(fewest + fewest // NEAR, most) + 1)

    def moved(count: int) -> float:
        return _moved(times, min(times) / count)

    count = min(near, key=moved)
    if moved(count) > d.ADJUSTED_WAVE_SPEED.si:
        good = (n for n in counts if moved(n) <= d.ADJUSTED_WAVE_SPEED.si)
        count = next(good, None) or min(counts, key=moved)
    return tuple(fitted), Numbers(count), found


def _moved(times: list[float], step: float) -> float:
    """Return the largest change of a wave speed at a time step. [1]"""
    return max(abs(time / (max(round(time / step), LEAST_CELLS) * step) - 1.0) for time in times)
