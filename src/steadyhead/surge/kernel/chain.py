"""The station between two pipe ends: one strictly falling equation, whatever the valves do.

The unknown is the head above vapour pressure at the start of the pipe that leaves. From there the march goes
upstream row by row; every row gives its inlet pressure from flow and outlet pressure, every node adds what it
stores and what is drawn from it. Each step is non-decreasing in the one before, so what is left over at the
pipe that arrives falls strictly: exactly one root for any valve positions.
"""

from __future__ import annotations

from math import inf, isnan, sqrt

from steadyhead.laws.compiling import Floats, FloatTable, inner_kernel
from steadyhead.laws.lift import characteristic
from steadyhead.laws.valves import (
    coefficient_at_opening,
    isolating_valve_coefficient,
    series,
    signed_root,
    strainer_coefficient,
)
from steadyhead.surge.kernel.balance import balance_station, is_thin, was_thin
from steadyhead.surge.kernel.layout import (
    ABOVE,
    B_FLOW,
    B_TOP_FLOW,
    BLEED,
    BRANCHES,
    CARRIED,
    CHAMBER,
    CHECK,
    CLOGGING,
    CLOSE_TIME,
    COMPLIANCE,
    CURVE,
    CURVE_POINTS,
    DRAIN,
    EVALUATIONS,
    F_BM,
    F_BP,
    F_CHOKING,
    F_CM,
    F_CP,
    F_IN_GAS,
    F_IN_LEVEL,
    F_IN_OLD,
    F_OUT_GAS,
    F_OUT_LEVEL,
    F_OUT_OLD,
    F_SLOPE,
    F_STEP,
    F_VAPOUR,
    F_WEIGHT,
    FEED,
    FEEDING,
    FILTER,
    FLOOR,
    FULL,
    GROUP,
    H_OUT,
    LEAK,
    LINE_ROWS,
    LOSS,
    M_ABOVE,
    M_BACK,
    M_BLEED,
    M_BLEED_AT,
    M_CHOKE,
    M_CUT,
    M_DRAIN,
    M_FEED,
    M_FEED_AT,
    M_FLOW,
    M_GAS,
    M_GAS_OLD,
    M_LEAK,
    M_LOSS,
    M_OLD,
    M_RELIEF,
    M_SHUT,
    M_STORE,
    NODE_GAS,
    NODE_RELIEF,
    OPEN_NODES,
    OPENING,
    POWER,
    RECOVERY,
    REDUCER,
    SHAPE,
    STEP,
    STROKE,
    VAPOUR,
    Chain,
    Joints,
    X,
)
from steadyhead.surge.kernel.passing import BEYOND, taken_at, through_row
from steadyhead.surge.kernel.search import CLOSE, NOISE, ROUNDS, next_head
from steadyhead.surge.kernel.seats import cut_branches, enter_branches, fill_cut_branches, leave_branches
from steadyhead.surge.kernel.sharing import share_flow, through_group


@inner_kernel
def loss_of(coefficient: float) -> float:
    """Return 1/k² of a flow coefficient above 0; 0 where it does not resist."""
    inverse = 1.0 / coefficient
    return inverse * inverse


SEATED = 1e-5
"""A valve that passes no more of its full coefficient stands on its seat. [1]"""
HELD_BACK = 1e3
"""A check valve this far held shut is on its seat. [Pa]"""


@inner_kernel
def prepare(chain: Chain, water: Floats) -> None:
    """Fill the march's table with what does not change within a step."""
    march = chain.march
    step = water[STEP]
    for row in range(len(chain.kinds)):
        value = chain.values[row]
        kind = chain.kinds[row]
        line = march[row]
        line[M_CHOKE] = 0.0
        line[M_FEED] = 0.0
        line[M_SHUT] = 0.0
        if kind < LOSS:
            line[B_FLOW] = chain.state[row][CARRIED]
        elif kind == LOSS:
            k = isolating_valve_coefficient(value[FULL], value[OPENING], value[POWER], value[FLOOR])
            line[M_LOSS] = loss_of(strainer_coefficient(k, value[CLOGGING]))
            line[M_BACK] = line[M_LOSS]
            line[M_SHUT] = 1.0 if k <= value[FULL] * max(value[FLOOR], SEATED) else 0.0
        elif kind == CHECK:
            share = 0.0
            if value[CLOSE_TIME] > 0.0:
                share = max(chain.state[row][X] - step / value[CLOSE_TIME], 0.0)
            line[M_LOSS] = loss_of(value[FULL])
            line[M_BACK] = loss_of(value[FULL] * max(share, value[FLOOR]))
            back = chain.node_state[row][ABOVE] - chain.node_state[row + 1][ABOVE]
            line[M_SHUT] = 1.0 if share <= value[FLOOR] and back > HELD_BACK else 0.0
        else:
            set_stem(row, chain.state[row][X], chain)
            if value[RECOVERY] > 0.0:
                line[M_CHOKE] = 1.0 / (value[RECOVERY] * value[RECOVERY])
            if kind == REDUCER:
                line[M_FEED] = series(value[FEED], value[FILTER])
                line[M_FEED_AT] = chain.state[row][CHAMBER] - water[VAPOUR]
                chain.state[row][FEEDING] = line[M_FEED]
    for row in range(len(chain.kinds)):
        line = march[row]
        node = row + 1
        line[M_STORE] = chain.node_values[node][COMPLIANCE] / step
        line[M_OLD] = chain.node_state[node][ABOVE]
        line[M_DRAIN] = chain.node_values[node][DRAIN]
        line[M_GAS] = chain.node_values[node][NODE_GAS]
        line[M_GAS_OLD] = 0.0
        if line[M_GAS] > 0.0:
            line[M_GAS_OLD] = line[M_GAS] / line[M_OLD]
        line[M_RELIEF] = chain.node_links[node][NODE_RELIEF]
        line[M_BLEED] = 0.0
        if node < len(chain.kinds) and chain.kinds[node] == REDUCER:
            line[M_BLEED] = chain.state[node][BLEED]
            line[M_BLEED_AT] = chain.state[node][CHAMBER] - water[VAPOUR]


@inner_kernel
def set_stem(row: int, stem: float, chain: Chain) -> None:
    """Put a stem where it stands into the march's table."""
    value = chain.values[row]
    link = chain.links[row]
    share = characteristic(
        stem / value[STROKE], value[SHAPE], chain.xs, chain.ys, link[CURVE], link[CURVE_POINTS]
    )
    line = chain.march[row]
    line[M_LOSS] = loss_of(coefficient_at_opening(value[FULL], share, value[FLOOR], value[LEAK]))
    line[M_BACK] = line[M_LOSS]
    line[M_SHUT] = 1.0 if share <= max(value[FLOOR], SEATED) and value[LEAK] <= 0.0 else 0.0


@inner_kernel
def march(
    head: float, start: int, end: int, found: Floats, chain: Chain, reliefs: Joints, run: Floats
) -> float:
    """Return what is left over at the end of a march [m³/s] for a head above vapour at its beginning [Pa].

    A march begins at the pipe that leaves (`start` 0) or above a shut seat, and ends at the pipe that arrives
    or below a shut seat (row `end`). Leaves flows and pressures of every row in the march's table, and the
    slope of the answer in `found`. Left over is infinite where a pressure would fall below vapour pressure.
    """
    slope = 1.0
    found[F_SLOPE] = 0.0
    if start == 0:
        gas = found[F_OUT_GAS] / head
        flow = ((head + found[F_VAPOUR]) / found[F_WEIGHT] + found[F_OUT_LEVEL] - found[F_CM]) / found[F_BM]
        flow -= (gas - found[F_OUT_OLD]) / found[F_STEP]
        rise = 1.0 / (found[F_WEIGHT] * found[F_BM]) + gas / (head * found[F_STEP])
    else:
        line = chain.march[start - 1]
        line[M_ABOVE] = head
        flow, rise = line[M_LEAK], 0.0
        if chain.kinds[start - 1] == GROUP:
            flow, rise = enter_branches(start - 1, head, found, chain, reliefs, run)
        taken, more = taken_at(line, head, found, reliefs, chain.xs, chain.ys)
        flow += taken
        rise += more
    for row in range(start, end):
        line = chain.march[row]
        line[M_FLOW] = flow
        if chain.kinds[row] == GROUP:
            share_flow(row, flow, head, found, chain, reliefs, run)
            above, rise, slope = through_group(row, rise, slope, chain)
            flow = line[B_TOP_FLOW]
        else:
            above, steep, passes = through_row(line, flow, head, found[F_CHOKING])
            slope = steep * rise + passes * slope
        head = above
        line[M_ABOVE] = head
        if abs(head) > BEYOND:  # behind shut valves in series squares of squares outgrow a float
            return -inf if head > 0.0 else inf
        taken, more = taken_at(line, head, found, reliefs, chain.xs, chain.ys)
        if taken == -inf:
            return inf
        flow += taken
        rise += more * slope
    return left_over(end, flow, rise, head, slope, found, chain, reliefs, run)


@inner_kernel
def left_over(
    end: int,
    flow: float,
    rise: float,
    head: float,
    slope: float,
    found: Floats,
    chain: Chain,
    reliefs: Joints,
    run: Floats,
) -> float:
    """Return what is left over where a march ends [m³/s]; its slope goes into `found`."""
    if end < chain.station_links[LINE_ROWS]:
        line = chain.march[end]
        line[M_FLOW] = line[M_LEAK]
        passing, more = line[M_LEAK], 0.0
        if chain.kinds[end] == GROUP:
            line[M_FLOW] = flow
            passing, more = leave_branches(end, head, found, chain, reliefs, run)
        found[F_SLOPE] = more * slope - rise
        return passing - flow
    if head <= 0.0:
        return inf
    gas = found[F_IN_GAS] / head
    left = (found[F_CP] - (head + found[F_VAPOUR]) / found[F_WEIGHT] - found[F_IN_LEVEL]) / found[F_BP] - flow
    left += (gas - found[F_IN_OLD]) / found[F_STEP]
    steep = slope / (found[F_WEIGHT] * found[F_BP]) + gas / (head * found[F_STEP]) * slope
    found[F_SLOPE] = -steep - rise
    return left


@inner_kernel
def mark_cuts(chain: Chain) -> None:
    """Mark every seat a valve stands on: there the march ends and begins anew, and what leaks is known.

    Taken at the new level, a shut seat would turn the last digit of a pressure below it into bars above it;
    two of them, or one with a cavity beside it, into nonsense. A leak follows the pressures of the level
    before, and never takes more than half of what would level them.
    """
    march = chain.march
    for row in range(len(chain.kinds)):
        line = march[row]
        line[M_CUT] = line[M_SHUT]
        if line[M_CUT] > 0.0:
            drop = chain.node_state[row + 1][ABOVE] - chain.node_state[row][ABOVE]
            leak = signed_root(drop) / sqrt(line[M_BACK])
            most = inf if line[M_STORE] <= 0.0 else 0.5 * line[M_STORE] * abs(drop)
            if row > 0 and march[row - 1][M_STORE] > 0.0:
                most = min(most, 0.5 * march[row - 1][M_STORE] * abs(drop))
            line[M_LEAK] = min(max(leak, -most), most)
    for row in range(chain.station_links[LINE_ROWS]):
        if chain.kinds[row] == GROUP:
            march[row][M_CUT] = 1.0 if cut_branches(row, chain) == chain.links[row][BRANCHES] else 0.0


@inner_kernel
def solve_station(
    head: float, found: Floats, chain: Chain, joints: Joints, water: Floats, run: Floats
) -> float:
    """Return the head above vapour at chain node 0 [Pa]; the march's table holds all pressures and flows.

    Beside a cavity the nodes are balanced one and all, see `steadyhead.surge.kernel.balance`; else marched.
    """
    mark_cuts(chain)
    if was_thin(chain):
        balanced = balance_station(found, chain, joints, run)
        if balanced > 0.0:
            run[H_OUT] = balanced
            return balanced
    opened = run[OPEN_NODES]
    head = march_station(head, found, chain, joints, run)
    if is_thin(head, chain):
        balanced = balance_station(found, chain, joints, run)
        if balanced > 0.0:
            run[H_OUT] = balanced
            run[OPEN_NODES] = opened
            return balanced
        run[OPEN_NODES] += 1.0
    return head


@inner_kernel
def march_station(head: float, found: Floats, chain: Chain, joints: Joints, run: Floats) -> float:
    """Return the head above vapour at chain node 0 by marches from shut seat to shut seat. [Pa]"""
    rows = chain.station_links[LINE_ROWS]
    fill_cut_branches(found, chain, joints, run)
    start = min(rows, 0)  # 0 as no literal: one would have all that is called with it compiled twice
    while start <= rows:
        end = start
        while end < rows and chain.march[end][M_CUT] <= 0.0:
            end += 1
        if start == 0:
            head = find_head(head, start, end, found, chain, joints, run)
            run[H_OUT] = head
        else:
            find_head(chain.node_state[start][ABOVE], start, end, found, chain, joints, run)
        start = end + 1
    return head


@inner_kernel
def find_head(
    head: float, start: int, end: int, found: Floats, chain: Chain, joints: Joints, run: Floats
) -> float:
    """Return the head above vapour [Pa] with which a march leaves nothing over."""
    low = 0.0
    high = inf
    stride = inf
    for number in range(ROUNDS):
        left = march(head, start, end, found, chain, joints, run)
        slope = found[F_SLOPE]
        run[EVALUATIONS] += 1.0
        if isnan(left):
            break
        if left > 0.0:
            low = head
        else:
            high = head
        trial = next_head(head, low, high, left, slope, number)
        before = stride
        stride = abs(trial - head)
        # Never where a pressure lies below vapour pressure: halving may come close to such a place.
        if left < inf and (stride <= CLOSE * head or (stride <= NOISE * head and stride > 0.5 * before)):
            return head
        head = trial if left < inf or stride > CLOSE * head else high
    run[OPEN_NODES] += 1.0
    return head


@inner_kernel
def node_pressure(node: int, head: float, march_table: FloatTable, vapour: float) -> float:
    """Return the pressure of a chain node after a solve. [Pa]"""
    if node == 0:
        return head + vapour
    return march_table[node - 1][M_ABOVE] + vapour
