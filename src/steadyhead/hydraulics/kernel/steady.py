"""The steady state of a whole line: water that stands, or one monotone equation for water that runs."""

from __future__ import annotations

from math import inf, isfinite, isnan, log, nan

from steadyhead.hydraulics.kernel.cuts import fill_cut_off, first_outlet, next_cut
from steadyhead.hydraulics.kernel.elements import TINY
from steadyhead.hydraulics.kernel.layout import (
    ATMOSPHERE,
    BAND,
    CLOSING,
    DEMAND,
    DENSITY,
    DIRECT,
    DRAWN,
    EXPONENT,
    GRAVITY,
    NOT_CONVERGED,
    PARTED,
    PIPE,
    REDUCER,
    REFERENCE,
    REPORT_BOILS,
    REPORT_ENDING,
    REPORT_EVALUATIONS,
    REPORT_FLOWING,
    REPORT_RESIDUAL,
    RISE,
    SOLVED,
    STUCK,
    SUPPLY,
    TAP,
    TRAPPED,
    UNKNOWN_TRAPPED,
    VAPOUR,
    Elements,
)
from steadyhead.hydraulics.kernel.march import march
from steadyhead.hydraulics.kernel.sound import check_line
from steadyhead.hydraulics.kernel.standing import level_between, stand
from steadyhead.hydraulics.kernel.states import fill_outcomes
from steadyhead.laws.bracket import next_share
from steadyhead.laws.compiling import Floats, FloatTable, array_kernel, inner_kernel, kernel
from steadyhead.laws.outlets import demand_flow

SEARCH_STEPS = 200
WIDEN_STEPS = 24
FIRST_STEP = 1e4  # first step down from the lowest bracket [Pa]
GOOD_ENOUGH = 1e-13  # pressure left over, as a share of the scale of pressures
ALLOWED = 1e-6  # the same, beyond which a collapsed bracket is no answer
SEARCHES = 3  # of which the second begins where the first collapsed without an answer
NEIGHBOURS = 8  # numbers away from where a bracket collapsed that its other end is looked for
SURE = 1e-3  # between such ends pressures may differ by this share of the scale: then the answer lies between
SURE_FLOW = 1e-9  # the same of flows [m³/s]
SCALE = 1e5  # least scale of pressures [Pa]


@inner_kernel
def end_flow(pressure: float, conditions: Floats) -> float:
    """Return what the consumers draw at the end of the line. [m³/s]"""
    if not isnan(conditions[DRAWN]):
        return conditions[DRAWN]
    return demand_flow(pressure, conditions[DEMAND], conditions[EXPONENT], conditions[REFERENCE])


@inner_kernel
def starting_guess(
    start: int, end: int, line: Elements, conditions: Floats, low: float, high: float
) -> float:
    """Return a pressure at node `start` near where reducers hold, inside the bracket. [Pa]"""
    guess = high
    lift = 0.0
    for row in range(start, end):
        if line.kinds[row] == PIPE:
            lift += line.values[row][RISE] * conditions[DENSITY] * conditions[GRAVITY]
        elif line.kinds[row] == REDUCER or line.kinds[row] == DIRECT:
            guess = min(guess, line.values[row][CLOSING] - 0.5 * line.values[row][BAND] - lift)
    for row in range(end, len(line.kinds)):  # branches of a tree
        if line.kinds[row] == REDUCER or line.kinds[row] == DIRECT:
            guess = min(guess, line.values[row][CLOSING] - 0.5 * line.values[row][BAND] - lift)
    if guess <= low or guess >= high:
        guess = low + 0.5 * (high - low)
    return guess


@inner_kernel
def asked_minus_supply(
    pressure: float,
    bottom: int,
    start: int,
    end: int,
    line: Elements,
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
        stand(start, bottom, line, conditions, held, nodes, flows)
    else:
        flow = end_flow(pressure, conditions)
    asked, _ = march(start, end, line, conditions, flow, pressure, nodes, flows)
    return asked - conditions[SUPPLY]


@inner_kernel
def squeezed(residual: float, scale: float) -> float:
    """Return the residual with its steep ends drawn in, so that a search sees a tame curve."""
    if residual > scale:
        return scale * (1.0 + log(residual / scale))
    return residual


@inner_kernel
def senses_unknown(start: int, line: Elements, nodes: Floats) -> bool:
    """Return whether a reducer senses water below node `start` whose pressure is not known."""
    for row in range(len(line.kinds)):
        if line.kinds[row] != REDUCER and line.kinds[row] != DIRECT:
            continue
        tap = line.links[row][TAP]
        if tap < start <= row and isnan(nodes[tap]) and isnan(line.values[row][TRAPPED]):
            if isnan(line.values[row][STUCK]):
                return True
    return False


@kernel
def some_boils(start: int, end: int, conditions: Floats, nodes: Floats) -> bool:
    """Return whether a pressure between two nodes stands below vapour pressure."""
    for node in range(start, end + 1):  # noqa: SIM110 (kernels know no generators)
        if nodes[node] + conditions[ATMOSPHERE] < conditions[VAPOUR]:
            return True
    return False


@inner_kernel
def search(
    low: float,
    high: float,
    f_low: float,
    f_high: float,
    bottom: int,
    start: int,
    end: int,
    line: Elements,
    conditions: Floats,
    held: Floats,
    nodes: Floats,
    flows: Floats,
) -> tuple[float, int]:
    """Return the pressure [Pa] between `low` and `high` at which the supply is just enough, and evaluations.

    `f_low` is what the line asks too much at `low`, not above 0; `f_high` the same at `high`, not below 0.
    """
    scale = max(abs(conditions[SUPPLY]), SCALE)
    far, near = high, low
    f_far, f_near = squeezed(f_high, scale), f_low
    third, f_third = far, f_far
    width = abs(far - near)
    count = 0
    if width <= 0.0 or abs(f_low) <= GOOD_ENOUGH * scale:
        return near, count
    share = abs(starting_guess(start, end, line, conditions, low, high) - near) / width
    while count < SEARCH_STEPS:
        trial = near + share * (far - near)
        residual = asked_minus_supply(trial, bottom, start, end, line, conditions, held, nodes, flows)
        count += 1
        f_trial = squeezed(residual, scale)
        if (f_trial >= 0.0) == (f_near >= 0.0):
            third, f_third = near, f_near
        else:
            third, f_third = far, f_far
            far, f_far = near, f_near
        near, f_near = trial, f_trial
        width = abs(far - near)
        if abs(residual) <= GOOD_ENOUGH * scale or width <= 2.0 * TINY * max(abs(near), abs(far)):
            break
        share = next_share(near, far, third, f_near, f_far, f_third, TINY * abs(near) / width)
    return (far if abs(f_far) < abs(f_near) else near), count


@array_kernel
def settle_between(
    found: float,
    residual: float,
    bottom: int,
    start: int,
    end: int,
    line: Elements,
    conditions: Floats,
    held: Floats,
    nodes: Floats,
    flows: Floats,
) -> bool:
    """Fill in the answer between two neighbouring numbers, and return whether it is sure there.

    Where shut valves leak one behind the other, one digit of the pressure below is worth many pascals above:
    no number leaves nothing over, yet the two on either side of the answer give it. `nodes` and `flows` hold
    what was found at `found`; see `asked_minus_supply` for the rest.
    """
    scale = max(abs(conditions[SUPPLY]), SCALE)
    near_nodes, near_flows = nodes.copy(), flows.copy()
    step = TINY * max(abs(found), 1.0)
    other, left = found, residual
    for _ in range(NEIGHBOURS):
        other -= step if residual > 0.0 else -step
        left = asked_minus_supply(other, bottom, start, end, line, conditions, held, nodes, flows)
        if (left > 0.0) != (residual > 0.0):
            break
    if (left > 0.0) == (residual > 0.0):
        return False
    share = residual / (residual - left)
    for node in range(len(nodes)):
        apart = nodes[node] - near_nodes[node]
        if abs(apart) > SURE * scale:
            return False
        nodes[node] = near_nodes[node] + share * apart
    for row in range(len(flows)):
        apart = flows[row] - near_flows[row]
        if abs(apart) > SURE_FLOW:
            return False
        flows[row] = near_flows[row] + share * apart
    return True


@kernel
def run(
    bottom: int,
    start: int,
    end: int,
    line: Elements,
    conditions: Floats,
    held: Floats,
    nodes: Floats,
    flows: Floats,
    report: Floats,
) -> int:
    """Solve for running water and return how it ended, an index of ENDINGS.

    Finds the pressure at node `start` at which the supply is just enough. Fills nodes, flows and the report.
    `PARTED` where no full pipe could do it: an imposed flow too large, a level too high.
    """
    high = conditions[SUPPLY] - level_between(end, start, line, conditions)
    f_high = inf
    low = min(0.0, high - FIRST_STEP)
    f_low = asked_minus_supply(low, bottom, start, end, line, conditions, held, nodes, flows)
    if senses_unknown(start, line, nodes):
        return UNKNOWN_TRAPPED
    widened = 0
    step = FIRST_STEP
    while f_low > 0.0 and widened < WIDEN_STEPS:
        high, f_high = low, f_low
        low -= step
        step *= 4.0
        f_low = asked_minus_supply(low, bottom, start, end, line, conditions, held, nodes, flows)
        widened += 1
    count = widened + 1
    for _ in range(SEARCHES if f_low <= 0.0 else 1):
        found, looks = search(
            low, high, f_low, f_high, bottom, start, end, line, conditions, held, nodes, flows
        )
        residual = asked_minus_supply(found, bottom, start, end, line, conditions, held, nodes, flows)
        count += looks + 1
        report[REPORT_RESIDUAL] = residual
        report[REPORT_EVALUATIONS] = float(count)
        report[REPORT_FLOWING] = 1.0
        if abs(residual) <= ALLOWED * max(abs(conditions[SUPPLY]), SCALE):
            return SOLVED
        if settle_between(found, residual, bottom, start, end, line, conditions, held, nodes, flows):
            report[REPORT_RESIDUAL] = 0.0
            return SOLVED
        if residual < 0.0:  # one look of the other sign was wrong: a split that lost its digits
            low, f_low = found, residual
        else:
            high, f_high = found, residual
    return PARTED if some_boils(start, end, conditions, nodes) else NOT_CONVERGED


@kernel
def blank(row: Floats) -> None:
    """Fill a row with NaN: no number rather than a last guess."""
    for index in range(len(row)):
        row[index] = nan


@kernel
def solve(
    end: int,
    line: Elements,
    conditions: Floats,
    held: Floats,
    nodes: Floats,
    flows: Floats,
    outcomes: FloatTable,
    report: Floats,
) -> int:
    """Solve the steady state of a line and return how it ended, an index of ENDINGS.

    Quasi-steady with memory: where water runs it is the one steady point; where it stands, sound reducers
    lock up and what was trapped stays. A shut, tight valve cuts the line: what lies downstream is trapped,
    or emptied where something there is open.

    Parameters
    ----------
    end
        Number of elements of the main line; the supply is node `end`.
    line, conditions
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
        Written, columns REPORT_…: ending, residual [Pa], evaluations, whether water runs, whether it would
        boil. Shape (REPORT_WIDTH,)
    """
    blank(nodes)
    blank(flows)
    report[REPORT_RESIDUAL] = 0.0
    report[REPORT_EVALUATIONS] = 0.0
    report[REPORT_FLOWING] = 0.0
    report[REPORT_BOILS] = 0.0
    ending = check_line(end, line, conditions)
    if ending == SOLVED:
        cut = next_cut(end, line)
        fill_cut_off(cut, line, conditions, held, nodes, flows)
        bottom = cut + 1
        nodes[end] = conditions[SUPPLY]
        stand(end, bottom, line, conditions, held, nodes, flows)
        start = first_outlet(bottom, end, line, conditions, nodes)
        if start >= 0:
            ending = run(bottom, start, end, line, conditions, held, nodes, flows, report)
            if ending == UNKNOWN_TRAPPED:
                blank(nodes)
                blank(flows)
    if ending == SOLVED:
        for node in range(end + 1):
            if not isfinite(nodes[node]):
                ending = UNKNOWN_TRAPPED
    report[REPORT_ENDING] = float(ending)
    if ending == SOLVED or ending == UNKNOWN_TRAPPED:
        report[REPORT_BOILS] = 1.0 if some_boils(0, end, conditions, nodes) else 0.0
        fill_outcomes(line, conditions, nodes, flows, outcomes)
        return ending
    blank(nodes)
    blank(flows)
    for row in range(len(outcomes)):
        blank(outcomes[row])
    return ending
