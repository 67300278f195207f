"""All stems of a station settled together in one step."""

from __future__ import annotations

from math import isnan

from steadyhead.laws.compiling import Floats, inner_kernel
from steadyhead.surge.kernel.chain import set_stem, solve_station
from steadyhead.surge.kernel.layout import (
    H_OUT,
    LIFT,
    LOWEST,
    M_MOVED,
    M_MOVED_NOW,
    M_SWEPT,
    MOST_SWEEPS,
    RUNAWAY,
    SPEED,
    SPEED_BEFORE,
    STEP,
    STROKE,
    SWEEPS,
    UNSETTLED,
    WORST_STEM,
    Chain,
    Joints,
    X,
)
from steadyhead.surge.kernel.stems import SETTLED, settle_stem

MOST_ROUNDS = 60
"""Sweeps over several stems; from the twentieth on each stem moves half the way."""
WHOLE_ROUNDS = 20
LEAPS_FROM = 5
"""Sweeps before stems leap ahead, see `leap`."""
FARTHEST_LEAP = 50.0
"""[1]"""


@inner_kernel
def given_stem(row: int, chain: Chain, step: float) -> float:
    """Return where a stem is put that does not follow its pilot [m], or NaN where it is free."""
    value = chain.values[row]
    if not isnan(value[LIFT]):
        return max(value[LIFT], value[LOWEST]) * value[STROKE]
    if value[RUNAWAY] > 0.0:
        return min(chain.state[row][X] + value[RUNAWAY] * value[STROKE] * step, value[STROKE])
    return value[LIFT]


@inner_kernel
def settle(found: Floats, chain: Chain, joints: Joints, water: Floats, run: Floats, stems: Floats) -> float:
    """Return the head of the station with all stems settled [Pa]; fills `stems` by row. [m]

    One stem after the other, each with the others where they stand, until none moves.
    """
    head = run_head(run)
    step = water[STEP]
    free = 0
    only = len(chain.kinds)
    for place in range(len(chain.stems)):
        row = chain.stems[place]
        stems[row] = given_stem(row, chain, step)
        if isnan(stems[row]):
            free += 1
            only = row
            state = chain.state[row]
            stems[row] = state[X] + step * (1.5 * state[SPEED] - 0.5 * state[SPEED_BEFORE])
            low = chain.values[row][LOWEST] * chain.values[row][STROKE]
            stems[row] = min(max(stems[row], low), chain.values[row][STROKE])
        set_stem(row, stems[row], chain)
    if free == 0:
        return solve_station(head, found, chain, joints, water, run)
    if free == 1:
        stems[only], head = settle_stem(only, stems[only], found, chain, joints, water, run, head)
        return head
    return settle_several(head, found, chain, joints, water, run, stems)


@inner_kernel
def run_head(run: Floats) -> float:
    """Return the head above vapour at chain node 0 of the last level. [Pa]"""
    return run[H_OUT]


@inner_kernel
def is_free(row: int, chain: Chain) -> bool:
    """Return whether a stem follows its pilot."""
    return isnan(chain.values[row][LIFT]) and not chain.values[row][RUNAWAY] > 0.0


@inner_kernel
def settle_several(
    head: float,
    found: Floats,
    chain: Chain,
    joints: Joints,
    water: Floats,
    run: Floats,
    stems: Floats,
) -> float:
    """Return the head of the station [Pa] after sweeps over several free stems."""
    worst = 0.0
    sweeps = 0
    for number in range(MOST_ROUNDS):
        worst = 0.0
        sweeps = number + 1
        for place in range(len(chain.stems)):
            row = chain.stems[place]
            if not is_free(row, chain):
                continue
            stem, head = settle_stem(row, stems[row], found, chain, joints, water, run, head)
            if number >= WHOLE_ROUNDS:
                stem = 0.5 * (stem + stems[row])
                set_stem(row, stem, chain)
            chain.march[row][M_MOVED_NOW] = stem - stems[row]
            worst = max(worst, abs(stem - stems[row]))
            stems[row] = stem
        if worst <= SETTLED:
            break
        leap(number >= LEAPS_FROM, chain, stems)
    run[SWEEPS] += sweeps
    run[MOST_SWEEPS] = max(run[MOST_SWEEPS], float(sweeps))
    if worst > SETTLED:
        run[UNSETTLED] += 1.0
        run[WORST_STEM] = max(run[WORST_STEM], worst)
        head = solve_station(head, found, chain, joints, water, run)
    return head


@inner_kernel
def leap(leaps: bool, chain: Chain, stems: Floats) -> None:
    """Put the stems where the last two sweeps say that no further sweep would move them; else only keep them.

    Notes
    -----
    Anderson's mixing with one step of memory: g + a (g_before − g), a = r·(r − r_before)/|r − r_before|², g
    where a sweep left the stems, r by how much it moved them. It settles what creeps along one direction.
    """
    along = 0.0
    size = 0.0
    for place in range(len(chain.stems)):
        row = chain.stems[place]
        if is_free(row, chain):
            change = chain.march[row][M_MOVED_NOW] - chain.march[row][M_MOVED]
            along += chain.march[row][M_MOVED_NOW] * change
            size += change * change
    share = 0.0
    if leaps and size > 0.0:
        share = min(max(along / size, -FARTHEST_LEAP), FARTHEST_LEAP)
    for place in range(len(chain.stems)):
        row = chain.stems[place]
        if is_free(row, chain):
            line = chain.march[row]
            before = line[M_SWEPT]
            line[M_SWEPT] = stems[row]
            line[M_MOVED] = line[M_MOVED_NOW]
            if share != 0.0:
                lowest = chain.values[row][LOWEST] * chain.values[row][STROKE]
                stem = stems[row] + share * (before - stems[row])
                stems[row] = min(max(stem, lowest), chain.values[row][STROKE])
                set_stem(row, stems[row], chain)
