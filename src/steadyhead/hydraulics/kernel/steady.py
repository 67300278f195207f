"""The steady state of a whole line: water that stands, or one monotone equation for water that runs."""

from __future__ import annotations

from math import inf, isfinite, isnan, log, nan

from steadyhead.hydraulics.kernel.elements import TINY, shunt_flow
from steadyhead.hydraulics.kernel.layout import (
    BAND,
    CLOSING,
    DEMAND,
    DENSITY,
    DIRECT,
    DRAIN,
    DRAWN,
    EXPONENT,
    FULL,
    GRAVITY,
    NOT_CONVERGED,
    PIPE,
    REDUCER,
    REFERENCE,
    RELIEF,
    REPORT_ENDING,
    REPORT_EVALUATIONS,
    REPORT_FLOWING,
    REPORT_RESIDUAL,
    RISE,
    SOLVED,
    SUPPLY,
    UNKNOWN_TRAPPED,
)
from steadyhead.hydraulics.kernel.march import march
from steadyhead.hydraulics.kernel.sound import check_line
from steadyhead.hydraulics.kernel.standing import keeps_apart, level_change, stand
from steadyhead.hydraulics.kernel.states import fill_outcomes
from steadyhead.laws.bracket import next_share
from steadyhead.laws.compiling import Floats, FloatTable, Integers, IntegerTable, kernel
from steadyhead.laws.outlets import demand_flow

SEARCH_STEPS = 200
WIDEN_STEPS = 80
FIRST_STEP = 1e4  # first step down from the lowest bracket [Pa]
GOOD_ENOUGH = 1e-13  # pressure left over, as a share of the scale of pressures
ALLOWED = 1e-6  # the same, beyond which a collapsed bracket is no answer
SCALE = 1e5  # least scale of pressures [Pa]


@kernel
def end_flow(pressure: float, conditions: Floats) -> float:
    """Return what the consumers draw at the end of the line. [m³/s]"""
    if not isnan(conditions[DRAWN]):
        return conditions[DRAWN]
    return demand_flow(pressure, conditions[DEMAND], conditions[EXPONENT], conditions[REFERENCE])


@kernel
def has_consumers(conditions: Floats) -> bool:
    """Return whether anybody may draw at the end of the line."""
    if isnan(conditions[DRAWN]):
        return conditions[DEMAND] > 0.0
    return conditions[DRAWN] > 0.0


@kernel
def first_outlet(
    bottom: int,
    top: int,
    kinds: Integers,
    links: IntegerTable,
    values: FloatTable,
    xs: Floats,
    ys: Floats,
    conditions: Floats,
    nodes: Floats,
) -> int:
    """Return the node farthest downstream where standing water would run out, or −1 if it stands everywhere.

    Looks between nodes `bottom` and `top`. A pressure that is not known (NaN) counts as enough for consumers
    and drains, not for a relief valve. Node 0 is returned as soon as anything runs while consumers are
    connected to it: they may draw once it does.
    """
    consumers = bottom == 0 and has_consumers(conditions)
    if consumers and (conditions[DRAWN] > 0.0 or isnan(nodes[0]) or nodes[0] > 0.0):
        return 0
    for row in range(bottom, top):
        kind = kinds[row]
        if kind != DRAIN and kind != RELIEF:
            continue
        runs = shunt_flow(kind, values[row], links[row], nodes[row], xs, ys) > 0.0
        if isnan(nodes[row]):
            runs = kind == DRAIN and values[row][FULL] > 0.0
        if runs:
            return 0 if consumers else row
    return -1


@kernel
def drained_pressure(
    bottom: int, top: int, kinds: Integers, values: FloatTable, conditions: Floats
) -> float:
    """Return the pressure at node `top` of a cut-off section whose lowest open outlet has emptied it. [Pa]

    NaN where nothing is open. Air is not modelled: above that outlet the pressure reads below 0.
    """
    level = 0.0
    drained = inf
    for row in range(top - 1, bottom - 1, -1):
        if kinds[row] == DRAIN and values[row][FULL] > 0.0:
            drained = min(drained, level)
        if kinds[row] == PIPE:
            level += level_change(values[row], conditions)
    if bottom == 0 and has_consumers(conditions):
        drained = min(drained, level)
    return drained if drained < inf else nan


@kernel
def next_cut(
    top: int, kinds: Integers, links: IntegerTable, values: FloatTable, conditions: Floats
) -> int:
    """Return the first row below node `top` that is shut and tight, or −1."""
    for row in range(top - 1, -1, -1):
        if keeps_apart(row, kinds, links, values, conditions):
            return row
    return -1


@kernel
def fill_cut_off(
    cut: int,
    kinds: Integers,
    links: IntegerTable,
    values: FloatTable,
    conditions: Floats,
    held: Floats,
    nodes: Floats,
    flows: Floats,
) -> None:
    """Fill everything downstream of the tight row `cut`: trapped where nothing is open, emptied otherwise.

    What is found is written to `held` too: reducers upstream may sense it.
    """
    while cut >= 0:
        top = cut
        flows[cut] = 0.0
        cut = next_cut(top, kinds, links, values, conditions)
        bottom = cut + 1
        nodes[top] = held[top]
        emptied = drained_pressure(bottom, top, kinds, values, conditions)
        if not isnan(emptied):
            nodes[top] = emptied
            for node in range(bottom, top):
                held[node] = nan
        stand(top, bottom, kinds, links, values, conditions, held, nodes, flows)
        for node in range(bottom, top + 1):
            held[node] = nodes[node]


@kernel
def total_rise(start: int, end: int, kinds: Integers, values: FloatTable, conditions: Floats) -> float:
    """Return what standing water at node `end` would have more than at node `start` from level alone. [Pa]"""
    total = 0.0
    for row in range(start, end):
        if kinds[row] == PIPE:
            total += values[row][RISE]
    return total * conditions[DENSITY] * conditions[GRAVITY]


@kernel
def starting_guess(
    start: int, end: int, kinds: Integers, values: FloatTable, conditions: Floats, low: float, high: float
) -> float:
    """Return a pressure at node `start` near where reducers hold, inside the bracket. [Pa]"""
    guess = high
    lift = 0.0
    for row in range(start, end):
        if kinds[row] == PIPE:
            lift += values[row][RISE] * conditions[DENSITY] * conditions[GRAVITY]
        elif kinds[row] == REDUCER or kinds[row] == DIRECT:
            guess = min(guess, values[row][CLOSING] - 0.5 * values[row][BAND] - lift)
    if guess <= low or guess >= high:
        guess = low + 0.5 * (high - low)
    return guess


@kernel
def asked_minus_supply(
    pressure: float,
    bottom: int,
    start: int,
    end: int,
    kinds: Integers,
    links: IntegerTable,
    values: FloatTable,
    xs: Floats,
    ys: Floats,
    conditions: Floats,
    held: Floats,
    nodes: Floats,
    flows: Floats,
) -> float:
    """Return what the line asks of the supply minus what it has, for a pressure at node `start`. [Pa]

    Never falls with `pressure`. Fills nodes and flows from node `bottom` up; water stands below `start`.
    """
    flow = 0.0
    if start > 0:
        nodes[start] = pressure
        stand(start, bottom, kinds, links, values, conditions, held, nodes, flows)
    else:
        flow = end_flow(pressure, conditions)
    asked = march(
        start, end, kinds, links, values, xs, ys, conditions, flow, pressure, nodes, flows
    )
    return asked - conditions[SUPPLY]


@kernel
def squeezed(residual: float, scale: float) -> float:
    """Return the residual with its steep ends drawn in, so that a search sees a tame curve."""
    if residual > scale:
        return scale * (1.0 + log(residual / scale))
    return residual


@kernel
def run(
    bottom: int,
    start: int,
    end: int,
    kinds: Integers,
    links: IntegerTable,
    values: FloatTable,
    xs: Floats,
    ys: Floats,
    conditions: Floats,
    held: Floats,
    nodes: Floats,
    flows: Floats,
    report: Floats,
) -> None:
    """Solve for running water: find the pressure at node `start` at which the supply is just enough.

    Fills nodes, flows and the report; on `NOT_CONVERGED` nodes and flows are NaN.
    """
    supply = conditions[SUPPLY]
    scale = max(abs(supply), SCALE)
    good = GOOD_ENOUGH * scale
    high = supply - total_rise(start, end, kinds, values, conditions)
    f_high = inf
    low = min(0.0, high - FIRST_STEP)
    f_low = asked_minus_supply(
        low, bottom, start, end, kinds, links, values, xs, ys, conditions, held, nodes, flows
    )
    count = 1
    step = FIRST_STEP
    while f_low > 0.0 and count < WIDEN_STEPS:
        high = low
        f_high = f_low
        low -= step
        step *= 4.0
        f_low = asked_minus_supply(
            low, bottom, start, end, kinds, links, values, xs, ys, conditions, held, nodes, flows
        )
        count += 1
    far = high
    f_far = squeezed(f_high, scale)
    near = low
    f_near = f_low
    third = far
    f_third = f_far
    share = 0.5
    width = abs(far - near)
    if width > 0.0:
        guess = starting_guess(start, end, kinds, values, conditions, min(low, high), max(low, high))
        share = abs(guess - near) / width
    residual = f_low
    while width > 0.0 and count < SEARCH_STEPS and abs(residual) > good:
        trial = near + share * (far - near)
        residual = asked_minus_supply(
            trial, bottom, start, end, kinds, links, values, xs, ys, conditions, held, nodes, flows
        )
        count += 1
        f_trial = squeezed(residual, scale)
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
        if width <= 2.0 * TINY * max(abs(near), abs(far)):
            break
        share = next_share(near, far, third, f_near, f_far, f_third, TINY * abs(near) / width)
    if abs(f_far) < abs(f_near):
        near = far
    residual = asked_minus_supply(
        near, bottom, start, end, kinds, links, values, xs, ys, conditions, held, nodes, flows
    )
    report[REPORT_RESIDUAL] = residual
    report[REPORT_EVALUATIONS] = float(count + 1)
    report[REPORT_FLOWING] = 1.0
    report[REPORT_ENDING] = float(SOLVED)
    if not abs(residual) <= ALLOWED * scale:
        report[REPORT_ENDING] = float(NOT_CONVERGED)


@kernel
def blank(row: Floats) -> None:
    """Fill a row with NaN: no number rather than a last guess."""
    for index in range(len(row)):
        row[index] = nan


@kernel
def solve(
    end: int,
    kinds: Integers,
    links: IntegerTable,
    values: FloatTable,
    xs: Floats,
    ys: Floats,
    conditions: Floats,
    held: Floats,
    nodes: Floats,
    flows: Floats,
    outcomes: FloatTable,
    report: Floats,
) -> int:
    """Solve the steady state of a line and return how it ended, an index of ENDINGS.

    Quasi-steady with memory: where water runs it is the one steady point; where it stands, sound reducers lock
    up and what was trapped stays. A shut, tight valve cuts the line: what lies downstream is trapped, or
    emptied where something there is open.

    Parameters
    ----------
    end
        Number of elements of the main line; the supply is node `end`.
    kinds, links, values, xs, ys, conditions
        See `steadyhead.hydraulics.kernel.layout`. Shapes (n,), (n, LINK_WIDTH), (n, WIDTH), tables end to
        end, (CONDITIONS,).
    held
        Pressures before, at every node; NaN where not known; changed. [Pa], shape (n + 1,)
    nodes
        Written: pressures. [Pa], shape (n + 1,)
    flows
        Written: flow through each element. [m³/s], shape (n,)
    outcomes
        Written: what each valve does. Shape (n, OUT_WIDTH)
    report
        Written: ending, residual [Pa], evaluations, whether water runs. Shape (REPORT_WIDTH,)
    """
    blank(nodes)
    blank(flows)
    report[REPORT_RESIDUAL] = 0.0
    report[REPORT_EVALUATIONS] = 0.0
    report[REPORT_FLOWING] = 0.0
    ending = check_line(end, kinds, links, values, conditions)
    if ending == SOLVED:
        cut = next_cut(end, kinds, links, values, conditions)
        fill_cut_off(cut, kinds, links, values, conditions, held, nodes, flows)
        bottom = cut + 1
        nodes[end] = conditions[SUPPLY]
        stand(end, bottom, kinds, links, values, conditions, held, nodes, flows)
        start = first_outlet(bottom, end, kinds, links, values, xs, ys, conditions, nodes)
        if start >= 0:
            run(
                bottom, start, end, kinds, links, values, xs, ys, conditions, held, nodes, flows, report
            )
            ending = int(report[REPORT_ENDING])
            if ending == NOT_CONVERGED:
                blank(nodes)
                blank(flows)
    if ending == SOLVED:
        for node in range(end + 1):
            if not isfinite(nodes[node]):
                ending = UNKNOWN_TRAPPED
    fill_outcomes(kinds, links, values, xs, ys, conditions, nodes, flows, outcomes)
    report[REPORT_ENDING] = float(ending)
    return ending
