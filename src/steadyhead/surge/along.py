"""Highest and lowest pressures along the mains, by their distance from the station."""

from __future__ import annotations

from typing import Any

from steadyhead.records.surge import MainProfile
from steadyhead.surge.plan import Plan
from steadyhead.surge.plant import STATION, Grid, Plant


def kept(heads: Any) -> Any:
    """Return a copy of heads by pipe and node, of lists or arrays, that the run no longer moves."""
    return [row[:] for row in heads] if isinstance(heads, list) else heads.copy()


def profiles(plant: Plant, begun: Any, highest: Any, lowest: Any) -> tuple[MainProfile, ...]:
    """Return what each pipe saw, place by place.

    Parameters
    ----------
    plant
        Its plan counts levels from the station datum.
    begun, highest, lowest
        Heads by pipe and node before the event, and extremes since. [m]
    """
    far = distances(plant.plan)
    found = []
    for grid in plant.grids:
        count = grid.reaches + 1

        def at_datum(heads: Any, grid: Grid = grid, count: int = count) -> tuple[float, ...]:
            return tuple(float(head) * plant.weight for head in heads[grid.place][:count])

        found.append(
            MainProfile(
                pipe=grid.pipe.id,
                side=grid.pipe.side,
                distance=_distances(grid, far),
                level=tuple(float(level) for level in plant.level[grid.place][:count]),
                begun=at_datum(begun),
                highest=at_datum(highest),
                lowest=at_datum(lowest),
                weight=plant.weight,
            )
        )
    return tuple(found)


def distances(plan: Plan) -> dict[str, float]:
    """Return how far every joint lies from the station along the pipes, else from the first joint. [m]

    Examples
    --------
    >>> from steadyhead.surge.plan import Pipe, Plan, Water
    >>> water = Water(1000.0, 1.3e-6, 1200.0, 101325.0, 22.1e6, 9.81)
    >>> pipes = (Pipe("A", "supply", "station", 300.0, 0.1, 0.0, 1000.0),
    ...          Pipe("B", "station", "fork", 200.0, 0.1, 0.0, 1000.0),
    ...          Pipe("C", "fork", "end", 50.0, 0.1, 0.0, 1000.0))
    >>> distances(Plan(water, pipes, ()))
    {'station': 0.0, 'supply': 300.0, 'fork': 200.0, 'end': 250.0}
    """
    start = STATION if plan.station or any(STATION in (p.above, p.below) for p in plan.pipes) else ""
    found = {start or plan.pipes[0].above: 0.0}
    waiting = list(plan.pipes)
    while waiting:
        reached = [pipe for pipe in waiting if pipe.above in found or pipe.below in found]
        if not reached:
            return found
        for pipe in reached:
            known, other = (pipe.above, pipe.below) if pipe.above in found else (pipe.below, pipe.above)
            found.setdefault(other, found[known] + pipe.length)
            waiting.remove(pipe)
    return found


def _distances(grid: Grid, far: dict[str, float]) -> tuple[float, ...]:
    """Return the distance of every node of a pipe. [m]"""
    above, below = far.get(grid.pipe.above, 0.0), far.get(grid.pipe.below, 0.0)
    start, direction = (above, 1.0) if above <= below else (above, -1.0)
    return tuple(start + direction * grid.reach * number for number in range(grid.reaches + 1))


def largest_cavity(plant: Plant, most_gas: Any, side: str) -> float:
    """Return how far from the station the largest cavity of a side stood. [m]"""
    far = distances(plant.plan)
    places = [
        (float(gas), distance)
        for grid in plant.side(side)
        for gas, distance in zip(most_gas[grid.place][: grid.reaches + 1], _distances(grid, far), strict=True)
    ]
    return max(places)[1]
