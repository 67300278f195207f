"""The march from a joint upstream: with stems that follow their pilots it is one monotone map."""

from __future__ import annotations

from math import inf, isfinite

from steadyhead.hydraulics.kernel.brackets import ask, begin, is_settled, tell
from steadyhead.hydraulics.kernel.elements import inlet_pressure, shunt_flow
from steadyhead.hydraulics.kernel.layout import (
    BRANCHES,
    DRAIN,
    PARALLEL,
    PHASE,
    RELIEF,
    SPANS,
    STUB_ABOVE,
    STUB_BELOW,
    TAKER,
    TURN,
    Elements,
)
from steadyhead.hydraulics.kernel.split import DONE, ENOUGH, WRITING, asked_flow, open_split, take_answer
from steadyhead.laws.compiling import Floats, inner_kernel

SPLIT_STEPS = 200
LEAST_STEP = 1e-6  # first step below 0 of a search [m³/s, Pa]


@inner_kernel
def march(
    start: int,
    end: int,
    line: Elements,
    conditions: Floats,
    flow: float,
    pressure: float,
    nodes: Floats,
    flows: Floats,
) -> tuple[float, float]:
    """March rows upstream and return the pressure and the flow they ask for above the last of them.

    A parallel group of two is a search of its own: the flow of the branch that carries less, at which both
    ask for the same inlet pressure; an outer march costs as many inner ones as that search has looks. Three
    and more are asked for their flows at one inlet pressure (`steadyhead.hydraulics.kernel.split`). A stub
    is the end of a branch that is cut: fed backwards from its outlet joint (the flow at which none is left
    at the cut) or from its inlet joint (the pressure at the cut that asks for the pressure of the joint).

    Parameters
    ----------
    start, end
        First row, and one past the last row.
    line, conditions
        See `steadyhead.hydraulics.kernel.layout`.
    flow
        Leaves node `start`; below 0 where water runs back into a branch. [m³/s]
    pressure
        At node `start`. [Pa]
    nodes, flows
        Written: pressure at every node, flow through every element; in row ``start - 1`` what leaves.
        [Pa], [m³/s]

    Returns
    -------
    tuple of float
        [Pa], [m³/s]; neither falls with `pressure` or `flow`; infinite where they pass all bounds. Pressure
        may fall by what a pilot circuit lets back through a reducer that is shut.
    """
    nodes[start] = pressure
    if start > 0:
        flows[start - 1] = flow
    for row in range(start, end):
        kind = line.kinds[row]
        link = line.links[row]
        if kind == DRAIN or kind == RELIEF:
            flow += shunt_flow(kind, line.values[row], link, pressure, line.xs, line.ys)
        elif kind == PARALLEL and link[BRANCHES] > 2:
            open_split(line.work, row)
            asked, drawn = pressure, 0.0
            while line.work[row][PHASE] < DONE:
                is_last = line.work[row][PHASE] == WRITING
                turn = int(line.work[row][TURN])
                first, first_end = link[SPANS + 2 * turn], link[SPANS + 2 * turn + 1]
                trial = asked_flow(line.work, link, row, flow)
                above, beside = march(first, first_end, line, conditions, trial, pressure, nodes, flows)
                take_answer(line.work, link, row, flow, above)
                if is_last:
                    drawn += beside
                    if turn == int(line.work[row][TAKER]):  # of the branch that is known best
                        asked = above
            pressure, flow = asked, drawn
        elif kind == PARALLEL or kind == STUB_BELOW or kind == STUB_ABOVE:
            work = line.work[row]
            first, second = link[SPANS], link[SPANS + 2]
            first_end, second_end = link[SPANS + 1], link[SPANS + 3]
            asked, drawn, beside = pressure, flow, 0.0
            enough = 0.0 if kind == STUB_BELOW else ENOUGH
            begin(work, 0.5 * flow if kind == PARALLEL else 0.0 if kind == STUB_BELOW else pressure)
            for look in range(SPLIT_STEPS):
                is_last = is_settled(work, enough)
                trial = work[0] if is_last else ask(work, max(0.1 * abs(flow), LEAST_STEP))
                above = pressure if kind != STUB_ABOVE else trial
                below = trial if kind != STUB_ABOVE else 0.0
                asked, drawn = march(first, first_end, line, conditions, below, above, nodes, flows)
                excess = drawn if kind == STUB_BELOW else asked - pressure
                if kind == PARALLEL:
                    other, beside = march(
                        second, second_end, line, conditions, flow - trial, pressure, nodes, flows
                    )
                    if look == 0 and asked < other:
                        first, second, first_end, second_end = second, first, second_end, first_end
                        asked, other, drawn, beside = other, asked, beside, drawn
                    excess = asked - other
                    asked = other  # of the branch that carries more: it is the better known
                if is_last:
                    break
                tell(work, trial, excess)
            if kind == PARALLEL:
                pressure, flow = asked, drawn + beside
            elif kind == STUB_BELOW:
                flow -= trial
            else:
                flow += drawn
        else:
            pressure = inlet_pressure(
                kind, line.values[row], link, flow, pressure, nodes, conditions, line.xs, line.ys
            )
        if not isfinite(pressure) or not isfinite(flow):
            return inf, flow
        flows[row] = flow
        nodes[row + 1] = pressure
    return pressure, flow
