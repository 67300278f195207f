"""Pipes by characteristics at a Courant number of exactly 1, with a little gas at every node.

Elastic water hammer without convective terms; E.B. Wylie and V.L. Streeter, Fluid Transients in Systems,
1993 (from memory).
"""

from __future__ import annotations

from math import sqrt

from steadyhead.laws.compiling import Floats, inner_kernel
from steadyhead.laws.friction_table import OCTAVES, PARTS
from steadyhead.surge.kernel.judging import fall_in
from steadyhead.surge.kernel.layout import (
    FACTORS,
    GAS,
    IMPEDANCE,
    IS_BROKEN,
    N_BM,
    N_BP,
    N_CM,
    N_CP,
    N_DOWN,
    N_DOWN_BEFORE,
    N_GAS,
    N_HEAD,
    N_HIGHEST,
    N_LEVEL,
    N_LOWEST,
    N_MOST_GAS,
    N_UP,
    N_UP_BEFORE,
    PARTED,
    REACH,
    REACHES,
    RESISTANCE,
    REYNOLDS,
    STEP,
    UNSTEADY,
    VAPOUR_HEAD,
    WAVE,
    WEIGHTING,
    Pipes,
)

SANE = 1e5
"""No head of a run stands further from datum; what would is not taken, and the run stands still. [m]"""
TOP = 2.0 * PARTS - 1e-6
"""Place in its octave beyond which the last factor of the table stands."""
SAME = 1e-4
"""Flows on both sides of a node this close share one friction factor; it then errs by 1e-5 at most."""


@inner_kernel
def frictionless(reaches: int, impedance: float, slope_above: Floats, slope_below: Floats) -> None:
    """Fill B_p and B_m of a pipe without friction."""
    for node in range(reaches + 1):
        slope_above[node] = impedance
        slope_below[node] = impedance


@inner_kernel
def slopes(
    reaches: int,
    start: int,
    value: Floats,
    factors: Floats,
    up: Floats,
    down: Floats,
    slope_above: Floats,
    slope_below: Floats,
) -> None:
    """Fill B_p = B + R f |Q| from the node above and B_m from the node below, f from the table.

    The table is `steadyhead.laws.friction_table.factor_from_table`; its octave is followed along the pipe,
    since neighbours flow alike, instead of being looked up anew.
    """
    impedance = value[IMPEDANCE]
    resistance = value[RESISTANCE]
    lowest = float(PARTS)
    scale = value[REYNOLDS] * lowest
    octave = start
    last = start + (OCTAVES - 1) * PARTS
    for node in range(reaches + 1):
        size_down = abs(down[node])
        size_up = abs(up[node])
        place = size_down * scale
        while place >= 2.0 * lowest and octave < last:
            place *= 0.5
            scale *= 0.5
            octave += PARTS
        while place < lowest and octave > start:
            place *= 2.0
            scale *= 2.0
            octave -= PARTS
        place = place if place > lowest else lowest  # what is no number is in bounds, too
        place = place if place < TOP else TOP
        index = int(place)
        low = factors[octave + index - PARTS]
        factor = low + (place - index) * (factors[octave + index - PARTS + 1] - low)
        if node < reaches:
            slope_above[node + 1] = impedance + resistance * factor * size_down
        if abs(size_down - size_up) > SAME * (size_down + size_up):
            place = size_up * scale
            while place >= 2.0 * lowest and octave < last:
                place *= 0.5
                scale *= 0.5
                octave += PARTS
            while place < lowest and octave > start:
                place *= 2.0
                scale *= 2.0
                octave -= PARTS
            place = place if place > lowest else lowest
            place = place if place < TOP else TOP
            index = int(place)
            low = factors[octave + index - PARTS]
            factor = low + (place - index) * (factors[octave + index - PARTS + 1] - low)
        if node > 0:
            slope_below[node - 1] = impedance + resistance * factor * size_up


@inner_kernel
def both_ways(
    reaches: int,
    impedance: float,
    head: Floats,
    up: Floats,
    down: Floats,
    from_above: Floats,
    from_below: Floats,
) -> None:
    """Fill what arrives at each node of a pipe along the two characteristics.

    Notes
    -----
    H = C_p − B_p Q from the node above, C_p = H + B Q; H = C_m + B_m Q from the node below, C_m = H − B Q.
    """
    for node in range(reaches):
        from_above[node + 1] = head[node] + impedance * down[node]
    for node in range(reaches):
        from_below[node] = head[node + 1] - impedance * up[node + 1]


@inner_kernel
def add_unsteady(
    reaches: int,
    value: Floats,
    step: float,
    up: Floats,
    down: Floats,
    up_before: Floats,
    down_before: Floats,
    from_above: Floats,
    from_below: Floats,
) -> None:
    """Add unsteady friction to what arrives along the characteristics, one level behind.

    Speeds the decay of later peaks; the first peak is hardly touched.

    Notes
    -----
    Gradient k_u/(2 g) (dV/dt + a sign(V) |dV/dx|), Brunone and Vítkovský (from memory); dV/dx over one reach
    at the old level, dV/dt at the foot from the last two levels.
    """
    share = value[UNSTEADY]
    reach = value[REACH]
    wave = value[WAVE]
    for node in range(reaches):
        below = node + 1
        rate = (down[node] - down_before[node]) / step
        slope = wave * abs(up[below] - down[node]) / reach
        from_above[below] -= share * reach * (rate + (slope if down[node] >= 0.0 else -slope))
        rate = (up[below] - up_before[below]) / step
        from_below[node] += share * reach * (rate + (slope if up[below] >= 0.0 else -slope))
    for node in range(reaches + 1):
        up_before[node] = up[node]
        down_before[node] = down[node]


@inner_kernel
def inner_nodes(
    reaches: int,
    gas_mass: float,
    step: float,
    weighting: float,
    vapour_head: float,
    level: Floats,
    head: Floats,
    up: Floats,
    down: Floats,
    gas: Floats,
    most_gas: Floats,
    from_above: Floats,
    slope_above: Floats,
    from_below: Floats,
    slope_below: Floats,
    parted: float,
) -> int:
    """Advance the nodes between the ends of a pipe: head, flows on both sides, gas volume.

    Returns how many cavities fall in: hold less than `parted` and held more before. [m³]

    Notes
    -----
    As `steadyhead.laws.cavity.head_over_gas`, written out so that the compiler takes several nodes at once:
    S = Δt ψ (1/B_p + 1/B_m), T = V + Δt (1 − ψ)(Q_d − Q_u) + S (z + H_v) − Δt ψ (C_p/B_p + C_m/B_m),
    S h² + T h − M = 0, H = h + z + H_v, V = M/h.
    """
    falls = 0
    implicit = step * weighting
    explicit = step * (1.0 - weighting)
    for node in range(1, reaches):
        above = 1.0 / slope_above[node]
        below = 1.0 / slope_below[node]
        base = level[node] + vapour_head
        slope = implicit * (above + below)
        offset = gas[node] + explicit * (down[node] - up[node])
        offset += slope * base - implicit * (from_above[node] * above + from_below[node] * below)
        # Both forms of the root share |T| + √(…); which one keeps its digits depends on the sign of T.
        long = abs(offset) + sqrt(offset * offset + 4.0 * slope * gas_mass)
        over = 2.0 * gas_mass / long if offset >= 0.0 else long / (2.0 * slope)
        volume = 0.5 * long if offset >= 0.0 else 2.0 * gas_mass * slope / long
        found = over + base
        head[node] = found
        gas[node] = volume
        up[node] = (from_above[node] - found) * above
        down[node] = (found - from_below[node]) * below
        falls += 1 if most_gas[node] > parted > volume else 0
        most_gas[node] = volume if volume > most_gas[node] else most_gas[node]
    return falls


@inner_kernel
def keep_extremes(reaches: int, head: Floats, highest: Floats, lowest: Floats) -> int:
    """Keep the highest and lowest heads between the ends of a pipe; return how many no run has."""
    wild = 0
    for node in range(1, reaches):
        found = head[node]
        wild += 0 if abs(found) < SANE else 1
        highest[node] = found if SANE > found > highest[node] else highest[node]
        lowest[node] = found if -SANE < found < lowest[node] else lowest[node]
    return wild


@inner_kernel
def advance_pipes(pipes: Pipes, water: Floats) -> None:
    """Fill the characteristics of all pipes and advance their inner nodes; ends are left to their joints."""
    for pipe in range(len(pipes.links)):
        value = pipes.values[pipe]
        reaches = pipes.links[pipe][REACHES]
        start = pipes.links[pipe][FACTORS]
        nodes = pipes.nodes
        head = nodes[N_HEAD][pipe]
        up = nodes[N_UP][pipe]
        down = nodes[N_DOWN][pipe]
        from_above = nodes[N_CP][pipe]
        slope_above = nodes[N_BP][pipe]
        from_below = nodes[N_CM][pipe]
        slope_below = nodes[N_BM][pipe]
        if start >= 0:
            slopes(reaches, start, value, pipes.factors, up, down, slope_above, slope_below)
        else:
            frictionless(reaches, value[IMPEDANCE], slope_above, slope_below)
        both_ways(reaches, value[IMPEDANCE], head, up, down, from_above, from_below)
        if value[UNSTEADY] != 0.0:
            before = nodes[N_UP_BEFORE][pipe]
            down_before = nodes[N_DOWN_BEFORE][pipe]
            add_unsteady(reaches, value, water[STEP], up, down, before, down_before, from_above, from_below)
        falls = inner_nodes(
            reaches,
            value[GAS],
            water[STEP],
            water[WEIGHTING],
            water[VAPOUR_HEAD],
            nodes[N_LEVEL][pipe],
            head,
            up,
            down,
            nodes[N_GAS][pipe],
            nodes[N_MOST_GAS][pipe],
            from_above,
            slope_above,
            from_below,
            slope_below,
            water[PARTED],
        )
        if falls > 0:
            fall_in(pipe, pipes)
        if keep_extremes(reaches, head, nodes[N_HIGHEST][pipe], nodes[N_LOWEST][pipe]) > 0:
            pipes.state[pipe][IS_BROKEN] = 1.0


@inner_kernel
def end_node(
    pipe: int, node: int, head: float, up: float, down: float, gas: float, pipes: Pipes, parted: float
) -> None:
    """Put what a joint or the station found at the end of a pipe, and keep its extremes.

    A head no run has is not taken; a cavity that falls in is noted before its head is kept.
    """
    if not abs(head) < SANE:
        pipes.state[pipe][IS_BROKEN] = 1.0
        return
    nodes = pipes.nodes
    nodes[N_HEAD][pipe][node] = head
    nodes[N_UP][pipe][node] = up
    nodes[N_DOWN][pipe][node] = down
    nodes[N_GAS][pipe][node] = gas
    if nodes[N_MOST_GAS][pipe][node] > parted > gas:
        fall_in(pipe, pipes)
    if head > nodes[N_HIGHEST][pipe][node]:
        nodes[N_HIGHEST][pipe][node] = head
    if head < nodes[N_LOWEST][pipe][node]:
        nodes[N_LOWEST][pipe][node] = head
    if gas > nodes[N_MOST_GAS][pipe][node]:
        nodes[N_MOST_GAS][pipe][node] = gas
