"""Water that stands in a plain line: pressures at no flow, with the memory of what was trapped."""

from __future__ import annotations

from math import isnan, nan

from steadyhead.hydraulics.kernel.layout import (
    BLOCKED,
    CLOSING,
    DENSITY,
    DIRECT,
    GRAVITY,
    LEAK,
    LIFT,
    LOSS,
    LOWEST,
    PIPE,
    REDUCER,
    RISE,
    SEAT_RATIO,
    SPRING_SHUT,
    STUCK,
    TAP,
    TEAR,
    TIGHT,
    TRAPPED,
    VALVE,
    Elements,
)
from steadyhead.laws.compiling import Floats, inner_kernel, kernel

TINY = 1e-9  # keeps a division alive where the seat is as large as the diaphragm


@kernel
def blocks(kind: int, value: Floats) -> bool:
    """Return whether an element holds pressure apart at no flow: shut and tight."""
    if kind == LOSS:
        return value[TIGHT] > 0.0
    if kind == VALVE:
        return value[TIGHT] > 0.0 and value[LIFT] <= 0.0 and value[LEAK] <= 0.0
    return False


@kernel
def always_passes(kind: int, value: Floats) -> bool:
    """Return whether a reducer lets pressure through at no flow whatever it senses."""
    if value[LEAK] > 0.0 or value[LOWEST] > 0.0 or value[LIFT] > 0.0:
        return True
    if kind == DIRECT:
        return False
    return value[BLOCKED] > 0.0 or value[TEAR] > 0.0 or value[STUCK] > 0.0


@kernel
def level_change(value: Floats, conditions: Floats) -> float:
    """Return the pressure lost by level along a main at no flow. [Pa]"""
    return conditions[DENSITY] * conditions[GRAVITY] * value[RISE]


@inner_kernel
def carry(top: int, bottom: int, pressure: float, line: Elements, conditions: Floats) -> float:
    """Return the pressure that standing water at node `top` gives at node `bottom` below; NaN if shut off.

    Reducers between are taken to sense their own outlets.
    """
    for row in range(top - 1, bottom - 1, -1):
        kind = line.kinds[row]
        if kind == PIPE:
            pressure -= level_change(line.values[row], conditions)
        elif kind == REDUCER or kind == DIRECT:
            if not always_passes(kind, line.values[row]):
                pressure = min(pressure, line.values[row][CLOSING])
        elif blocks(kind, line.values[row]):
            return nan
    return pressure


@inner_kernel
def level_between(top: int, bottom: int, line: Elements, conditions: Floats) -> float:
    """Return what standing water at node `top` has more than at node `bottom` from level alone. [Pa]"""
    total = 0.0
    for row in range(bottom, top):
        if line.kinds[row] == PIPE:
            total += level_change(line.values[row], conditions)
    return total


@inner_kernel
def trapped_at(node: int, bottom: int, line: Elements, conditions: Floats, held: Floats) -> float:
    """Return the pressure trapped at a node before; NaN if not known. [Pa]

    Where a section has been joined to another since, the part farthest downstream has its say: there lies
    most of the water. Looks no further than node `bottom`, a reducer, or a tight valve.
    """
    pressure = held[node]
    level = 0.0
    for row in range(node - 1, bottom - 1, -1):
        kind = line.kinds[row]
        if kind == REDUCER or kind == DIRECT or blocks(kind, line.values[row]):
            break
        if kind == PIPE:
            level += level_change(line.values[row], conditions)
        if not isnan(held[row]):
            pressure = held[row] + level
    return pressure


@inner_kernel
def standing_outlet(
    row: int,
    inlet: float,
    before: float,
    line: Elements,
    conditions: Floats,
    held: Floats,
) -> float:
    """Return the outlet pressure of a reducer at no flow. [Pa]

    A sound one stands at its closing pressure or at the inlet, whichever is less; what was trapped above
    stays: lowering a screw lowers nothing until water leaves. NaN where it depends on a pressure not known.

    Parameters
    ----------
    row
        The reducer.
    inlet
        [Pa]
    before
        Outlet pressure before, NaN if not known. [Pa]
    line, conditions
        See `steadyhead.hydraulics.kernel.layout`.
    held
        Pressures before, at every node; NaN where not known. [Pa]

    Notes
    -----
    Nothing holds the disc shut against its outlet beyond the spring: p₂ ≤ p₁ + s₀/(1 − r₀).
    """
    kind = line.kinds[row]
    value = line.values[row]
    if isnan(inlet):
        return before
    if always_passes(kind, value):
        return inlet
    if value[LIFT] == 0.0 or value[STUCK] == 0.0:
        return before
    closing = value[CLOSING]
    if isnan(value[TRAPPED]):
        tap = line.links[row][TAP]
        sensed = carry(row, tap, inlet, line, conditions)  # if it stood open
        if not isnan(sensed):
            shutting = closing + level_between(row, tap, line, conditions)
            outlet = shutting if sensed > closing else inlet
            return remembered(kind, value, inlet, outlet, before, shutting)
        sensed = held[line.links[row][TAP]]
        if isnan(sensed):
            return nan
    else:
        sensed = value[TRAPPED]
    return inlet if sensed < closing else before


@inner_kernel
def remembered(
    kind: int, value: Floats, inlet: float, outlet: float, before: float, shutting: float
) -> float:
    """Return the outlet of a sound reducer at no flow, given what stood there before. [Pa]

    `outlet` is where it would stand on its own, `shutting` the outlet at which its pilot is shut.
    """
    if isnan(before) or before <= outlet:
        return outlet
    kept = before
    if kind == REDUCER:
        kept = min(before, inlet + value[SPRING_SHUT] / max(1.0 - value[SEAT_RATIO], TINY))
    return kept if kept >= shutting and kept > outlet else outlet


@inner_kernel
def stand(
    top: int, bottom: int, line: Elements, conditions: Floats, held: Floats, nodes: Floats, flows: Floats
) -> None:
    """Fill all nodes below `top` down to `bottom` with standing pressures and set their flows to 0.

    Parameters
    ----------
    top
        Node whose pressure is known; it stands in `nodes`.
    bottom
        Last node to fill.
    line, conditions
        See `steadyhead.hydraulics.kernel.layout`; no parallel groups.
    held
        Pressures before, NaN where not known; what shut valves trap. [Pa]
    nodes, flows
        Written. [Pa], [m³/s]
    """
    for row in range(top - 1, bottom - 1, -1):
        flows[row] = 0.0
        kind = line.kinds[row]
        inlet = nodes[row + 1]
        if kind == PIPE:
            nodes[row] = inlet - level_change(line.values[row], conditions)
        elif kind == REDUCER or kind == DIRECT:
            before = trapped_at(row, bottom, line, conditions, held)
            nodes[row] = standing_outlet(row, inlet, before, line, conditions, held)
        elif blocks(kind, line.values[row]):
            nodes[row] = held[row]
        else:
            nodes[row] = inlet
