"""Where the line is cut by a tight valve, and where water can run out of it."""

from __future__ import annotations

from math import inf, isnan, nan

from steadyhead.hydraulics.kernel.elements import shunt_flow
from steadyhead.hydraulics.kernel.layout import (
    CLOSING,
    CURVE_POINTS,
    DEMAND,
    DIRECT,
    DRAIN,
    DRAWN,
    FULL,
    LIFT,
    PIPE,
    REDUCER,
    RELIEF,
    STUCK,
    TAP,
    TRAPPED,
    Elements,
)
from steadyhead.hydraulics.kernel.standing import always_passes, blocks, level_change, stand, trapped_at
from steadyhead.laws.compiling import Floats, inner_kernel, kernel


@kernel
def has_consumers(conditions: Floats) -> bool:
    """Return whether anybody may draw at the end of the line."""
    if isnan(conditions[DRAWN]):
        return conditions[DEMAND] > 0.0
    return conditions[DRAWN] > 0.0


@inner_kernel
def first_outlet(bottom: int, top: int, line: Elements, conditions: Floats, nodes: Floats) -> int:
    """Return the node farthest downstream where standing water would run out, or −1 if it stands everywhere.

    Looks between nodes `bottom` and `top`. A pressure that is not known (NaN) counts as enough for consumers
    and drains, not for a relief valve. Node 0 is returned as soon as anything runs while consumers are
    connected to it: they may draw once it does.
    """
    consumers = bottom == 0 and has_consumers(conditions)
    if consumers and (conditions[DRAWN] > 0.0 or isnan(nodes[0]) or nodes[0] > 0.0):
        return 0
    for row in range(bottom, top):
        kind = line.kinds[row]
        if kind != DRAIN and kind != RELIEF:
            continue
        runs = shunt_flow(kind, line.values[row], line.links[row], nodes[row], line.xs, line.ys) > 0.0
        if isnan(nodes[row]):
            runs = kind == DRAIN and line.values[row][FULL] > 0.0
        if runs:
            return 0 if consumers else row
    return -1


@inner_kernel
def drained_pressure(bottom: int, top: int, line: Elements, conditions: Floats) -> float:
    """Return the pressure at node `top` of a cut-off section whose lowest open outlet has emptied it. [Pa]

    NaN where nothing is open. Air is not modelled: above that outlet the pressure reads below 0.
    """
    level = 0.0
    drained = inf
    for row in range(top - 1, bottom - 1, -1):
        if line.kinds[row] == DRAIN and line.values[row][FULL] > 0.0:
            drained = min(drained, level)
        if line.kinds[row] == PIPE:
            level += level_change(line.values[row], conditions)
    if bottom == 0 and has_consumers(conditions):
        drained = min(drained, level)
    return drained if drained < inf else nan


@inner_kernel
def next_cut(top: int, line: Elements) -> int:
    """Return the first row below node `top` that is shut and tight, or −1."""
    for row in range(top - 1, -1, -1):
        if blocks(line.kinds[row], line.values[row]):
            return row
    return -1


@inner_kernel
def stands_open(row: int, outlet: float, line: Elements, held: Floats) -> bool:
    """Return whether a reducer of a cut-off section lets its inlet fall to its outlet pressure [Pa]."""
    value = line.values[row]
    if always_passes(line.kinds[row], value):
        return True
    if value[LIFT] == 0.0 or value[STUCK] == 0.0:
        return False
    sensed = value[TRAPPED]
    if isnan(sensed):
        sensed = outlet if line.links[row][TAP] == row else held[line.links[row][TAP]]
    return sensed < value[CLOSING]


@inner_kernel
def share_trapped(bottom: int, top: int, line: Elements, conditions: Floats, held: Floats) -> None:
    """Bring what is trapped above an open reducer to what stands below it: little water lies above.

    Changes `held` between nodes `bottom` and `top`, both ends of a cut-off section in which nothing is open.
    """
    for row in range(bottom, top):
        if line.kinds[row] != REDUCER and line.kinds[row] != DIRECT:
            continue
        outlet = trapped_at(row, bottom, line, conditions, held)
        if not isnan(outlet) and stands_open(row, outlet, line, held):
            held[row + 1] = outlet


@inner_kernel
def relieve_trapped(bottom: int, top: int, line: Elements, conditions: Floats, held: Floats) -> None:
    """Bring what is trapped between nodes `bottom` and `top` down to what cracks a relief valve there.

    Changes `held` as far as reducers on either side. A valve given by a table is left alone.
    """
    for relief in range(bottom, top):
        value = line.values[relief]
        if line.kinds[relief] != RELIEF or value[FULL] <= 0.0 or line.links[relief][CURVE_POINTS] > 0:
            continue
        crack = value[CLOSING]
        if held[relief] > crack:
            held[relief] = crack
        for row in range(relief - 1, bottom - 1, -1):
            if line.kinds[row] == REDUCER or line.kinds[row] == DIRECT:
                break
            if line.kinds[row] == PIPE:
                crack -= level_change(line.values[row], conditions)
            if held[row] > crack:
                held[row] = crack
        crack = value[CLOSING]
        for row in range(relief, top):
            if line.kinds[row] == REDUCER or line.kinds[row] == DIRECT:
                break
            if line.kinds[row] == PIPE:
                crack += level_change(line.values[row], conditions)
            if held[row + 1] > crack:
                held[row + 1] = crack


@inner_kernel
def fill_cut_off(
    cut: int, line: Elements, conditions: Floats, held: Floats, nodes: Floats, flows: Floats
) -> None:
    """Fill everything downstream of the tight row `cut`: trapped where nothing is open, emptied otherwise.

    What is found is written to `held` too: reducers upstream may sense it.
    """
    while cut >= 0:
        top = cut
        flows[cut] = 0.0
        cut = next_cut(top, line)
        bottom = cut + 1
        relieve_trapped(bottom, top, line, conditions, held)
        share_trapped(bottom, top, line, conditions, held)
        nodes[top] = trapped_at(top, bottom, line, conditions, held)
        emptied = drained_pressure(bottom, top, line, conditions)
        if not isnan(emptied):
            nodes[top] = emptied
            for node in range(bottom, top):
                held[node] = nan
        stand(top, bottom, line, conditions, held, nodes, flows)
        for node in range(bottom, top + 1):
            held[node] = nodes[node]
