"""Energy: what enters, less what leaves and what friction and valves take, is what the water keeps."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import nan, sqrt

import numpy as np
import pytest

from steadyhead import surge
from steadyhead.services.speed.lines import Main, root
from steadyhead.surge.kernel import layout as at
from tests.surge.plans import WATER, WEIGHT, kv, one_main, station

pytestmark = pytest.mark.by_turns(4)

GRAVITY = WATER.gravity
Powers = tuple[float, float, float]  # enters, leaves, is taken [W]


def nodes(plant: surge.Plant, state: surge.State, place: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return heads, flows on the upstream side and flows on the downstream side of one main."""
    count = plant.grids[place].reaches + 1
    return tuple(
        np.array([float(v) for v in table[place][:count]]) for table in (state.head, state.up, state.down)
    )  # type: ignore[return-value]


def kept(plant: surge.Plant, state: surge.State) -> float:
    """Return the energy of motion and pressure in mains and sections, by the trapezoidal rule. [J]"""
    total = 0.0
    for place, grid in enumerate(plant.grids):
        heads, up, down = nodes(plant, state, place)
        flows = np.append(down[:-1], up[-1])
        share = np.full(heads.size, grid.reach)
        share[[0, -1]] *= 0.5
        pressed = WEIGHT * GRAVITY * grid.area / grid.wave_speed**2 * heads**2
        total += float(0.5 * (share * (pressed + WATER.density / grid.area * flows**2)).sum())
    for node, values in zip(state.node_state, state.node_values, strict=True):
        total += 0.5 * float(values[at.COMPLIANCE]) * float(node[at.NOW]) ** 2
    return total


def rubbed(plant: surge.Plant, state: surge.State) -> float:
    """Return what friction in the mains takes; the friction law of the independent scheme. [W]"""
    total = 0.0
    for place, grid in enumerate(plant.grids):
        if grid.pipe.has_friction:
            _, up, down = nodes(plant, state, place)
            main = Main(grid.pipe.length, grid.pipe.bore, grid.wave_speed, grid.pipe.roughness)
            flows = np.append(down[:-1], up[-1])
            taken = main.slope(flows) * flows
            total += WEIGHT * grid.reach * float((0.5 * (taken[1:] + taken[:-1])).sum())
    return total


def throttled(plant: surge.Plant, state: surge.State) -> float:
    """Return what the station takes, from the laws of its valves and the pressures around them. [W]"""
    pressure = [float(node[at.NOW]) for node in state.node_state]
    total = 0.0
    for part in plant.plan.station:
        if isinstance(part, surge.Section | surge.CheckRow | surge.Group):
            continue
        row = plant.rows[part.id]
        below, above = pressure[row], pressure[row + 1]
        if isinstance(part, surge.LossRow):
            k = part.coefficient
        else:
            lift = float(state.row_state[row][at.X]) / part.body.stroke
            k = part.body.coefficient * max(lift * sqrt(2.0 / (1.0 + lift * lift)), part.body.floor)
        total += k * float(root(above - below)) * (above - below)
        if isinstance(part, surge.ReducerRow):
            chamber, opening = (float(state.row_state[row][c]) for c in (at.CHAMBER, at.PILOT_OPEN))
            total += part.feed * float(root(above - chamber)) * above
            total -= part.pilot * opening * float(root(chamber - below)) * below
    return total


def imbalance(
    plant: surge.Plant,
    schedule: surge.Schedule,
    seconds: float,
    powers: Callable[[surge.Plant, surge.State], Powers],
) -> float:
    """Return the energy not accounted for as share of what entered."""
    state = surge.start(plant, schedule)
    before = kept(plant, state)
    found = [powers(plant, state)]
    for _ in range(round(seconds / plant.step)):
        surge.advance(plant, state, schedule, 1, stride=10**6)
        found.append(powers(plant, state))
    sums = [sum(0.5 * (a[i] + b[i]) for a, b in pairwise(found)) * plant.step for i in range(3)]
    return abs(sums[0] - sums[1] - sums[2] - (kept(plant, state) - before)) / sums[0]


def of_one_main(plant: surge.Plant, state: surge.State) -> Powers:
    heads, up, down = nodes(plant, state, 0)
    return WEIGHT * heads[0] * down[0], WEIGHT * heads[-1] * up[-1], rubbed(plant, state)


def of_station(plant: surge.Plant, state: surge.State) -> Powers:
    supply, _, down = nodes(plant, state, 0)
    consumers, up, _ = nodes(plant, state, 1)
    taken = rubbed(plant, state) + throttled(plant, state)
    return WEIGHT * supply[0] * down[0], WEIGHT * consumers[-1] * up[-1], taken


def half_shut(reaches: int, rough: float | None) -> float:
    plant, k = one_main(
        length=800.0, bore=0.15, wave=1100.0, flow=0.02, head=120.0, roughness=rough, reaches=reaches
    )
    schedule = surge.Schedule((surge.Straight("V", "demand", ((0.0, k), (1.0, 0.5 * k))),))
    return imbalance(plant, schedule, 6.0, of_one_main)


@pytest.mark.source(kind="analytic", ref="first law, without friction; what is left is the trace of gas")
def test_a_main_without_friction_keeps_its_energy():
    assert half_shut(50, None) < 1e-6


@pytest.mark.source(
    kind="analytic", ref="first law; below 1e-5 of what enters at 15 ms, falling with the step"
)
def test_energy_of_a_main_is_accounted_for_and_better_with_a_finer_grid():
    coarse, fine = half_shut(25, 1e-4), half_shut(50, 1e-4)
    assert fine < 1e-5
    assert fine < 0.6 * coarse


EVENTS: dict[str, surge.Straight | surge.Held] = {
    "consumers step down": surge.Straight("zone", "demand", ((0.0, kv(30)), (0.5, kv(30)), (1.5, kv(18)))),
    "reducer fails open": surge.Held("RV", "stuck pilot", ((0.0, nan), (0.5, 1.0))),
}


@pytest.mark.source(
    kind="analytic",
    ref="first law; sections by backward Euler: first order in the step, below 1e-5 of what enters at 9 ms",
)
@pytest.mark.parametrize("event", EVENTS)
def test_energy_of_a_station_is_accounted_for_and_better_with_a_finer_grid(event):
    schedule = surge.Schedule((EVENTS[event],))
    coarse, fine = (
        imbalance(surge.compile_plan(station(reaches=reaches)), schedule, 6.0, of_station)
        for reaches in (25, 50)
    )
    assert fine < 1e-5
    assert fine < 0.6 * coarse
