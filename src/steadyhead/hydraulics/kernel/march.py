"""The march from a joint upstream: with stems that follow their pilots it is one monotone map."""

from __future__ import annotations

from math import inf, isfinite

from steadyhead.hydraulics.kernel.elements import TINY, inlet_pressure, shunt_flow
from steadyhead.hydraulics.kernel.layout import (
    DRAIN,
    FIRST_END,
    FIRST_START,
    PARALLEL,
    RELIEF,
    SECOND_END,
    SECOND_START,
    Elements,
)
from steadyhead.laws.bracket import next_share
from steadyhead.laws.compiling import Floats, Integers, kernel

SPLIT_STEPS = 200


@kernel
def march_branch(
    start: int,
    end: int,
    line: Elements,
    conditions: Floats,
    flow: float,
    pressure: float,
    nodes: Floats,
    flows: Floats,
) -> float:
    """March one branch of a parallel group upstream and return its inlet pressure. [Pa]

    Writes the branch's node pressures and flows; a branch has no drain of its own.
    """
    nodes[start] = pressure
    for row in range(start, end):
        flows[row] = flow
        pressure = inlet_pressure(
            line.kinds[row],
            line.values[row],
            line.links[row],
            flow,
            pressure,
            nodes,
            conditions,
            line.xs,
            line.ys,
        )
        nodes[row + 1] = pressure
    return pressure


@kernel
def split_excess(
    share: float,
    link: Integers,
    line: Elements,
    conditions: Floats,
    flow: float,
    pressure: float,
    nodes: Floats,
    flows: Floats,
) -> float:
    """Return the inlet pressure of the first branch minus that of the second. [Pa]

    `share` of the flow runs in the first.
    """
    first = march_branch(
        link[FIRST_START], link[FIRST_END], line, conditions, flow * share, pressure, nodes, flows
    )
    second = march_branch(
        link[SECOND_START], link[SECOND_END], line, conditions, flow * (1.0 - share), pressure, nodes, flows
    )
    return first - second


@kernel
def parallel_inlet(
    link: Integers,
    line: Elements,
    conditions: Floats,
    flow: float,
    pressure: float,
    nodes: Floats,
    flows: Floats,
) -> float:
    """Return the inlet pressure [Pa] of two branches that share a flow; writes both branches.

    The share of the first is found so that both ask for the same inlet pressure: the excess of the first
    over the second never falls with its share.
    """
    near = 0.0
    f_near = split_excess(near, link, line, conditions, flow, pressure, nodes, flows)
    if flow <= 0.0 or f_near >= 0.0:
        return nodes[link[SECOND_END]]
    far = 1.0
    f_far = split_excess(far, link, line, conditions, flow, pressure, nodes, flows)
    if f_far <= 0.0:
        return nodes[link[FIRST_END]]
    third = far
    f_third = f_far
    step = 0.5
    for _ in range(SPLIT_STEPS):
        trial = near + step * (far - near)
        f_trial = split_excess(trial, link, line, conditions, flow, pressure, nodes, flows)
        if (f_trial >= 0.0) == (f_near >= 0.0):
            third = near
            f_third = f_near
        else:
            third = far
            f_third = f_far
            far = near
            f_far = f_near
        near = trial
        f_near = f_trial
        width = abs(far - near)
        if f_near == 0.0 or width <= 2.0 * TINY * abs(near):
            break
        step = next_share(near, far, third, f_near, f_far, f_third, TINY * abs(near) / width)
    # The branch that carries more is the better known: the flow of the other is a small difference.
    return nodes[link[FIRST_END]] if near > 0.5 else nodes[link[SECOND_END]]


@kernel
def march(
    start: int,
    end: int,
    line: Elements,
    conditions: Floats,
    flow: float,
    pressure: float,
    nodes: Floats,
    flows: Floats,
) -> float:
    """March the main line upstream and return the pressure it asks for at the supply. [Pa]

    Parameters
    ----------
    start, end
        First row, and one past the last row of the main line.
    line, conditions
        See `steadyhead.hydraulics.kernel.layout`.
    flow
        Leaves node `start` towards the consumers; not negative. [m³/s]
    pressure
        At node `start`. [Pa]
    nodes, flows
        Written: pressure at every node, flow through every element. [Pa], [m³/s]

    Returns
    -------
    float
        Never falls with `pressure` or `flow`; infinite where it passes all bounds.
    """
    nodes[start] = pressure
    for row in range(start, end):
        kind = line.kinds[row]
        if kind == DRAIN or kind == RELIEF:
            flow += shunt_flow(kind, line.values[row], line.links[row], pressure, line.xs, line.ys)
        elif kind == PARALLEL:
            pressure = parallel_inlet(line.links[row], line, conditions, flow, pressure, nodes, flows)
        else:
            pressure = inlet_pressure(
                kind, line.values[row], line.links[row], flow, pressure, nodes, conditions, line.xs, line.ys
            )
        if not isfinite(pressure) or not isfinite(flow):
            return inf
        flows[row] = flow
        nodes[row + 1] = pressure
    return pressure
