"""Branches with a shut seat: what lies below it follows the outlet joint, what lies above the inlet joint."""

from __future__ import annotations

from math import inf, isnan, nan

from steadyhead.laws.compiling import Floats, inner_kernel
from steadyhead.surge.kernel.branches import FARTHEST, LEAST_FLOW, SMALL, look_at_branch, next_place
from steadyhead.surge.kernel.layout import (
    ABOVE,
    B_DRAWS,
    B_FIRST_CUT,
    B_FLOW,
    B_LAST_CUT,
    B_LOWER,
    B_RISE,
    B_TOP,
    B_TOP_FLOW,
    B_UPPER,
    B_WHOLE,
    BRANCHES,
    F_CHOKING,
    FROM_ROW,
    GAP,
    LINE_ROWS,
    M_ABOVE,
    M_CUT,
    M_FLOW,
    M_LEAK,
    OPEN_SPLITS,
    SPAN,
    SPLITS,
    TO_ROW,
    Chain,
    Joints,
)
from steadyhead.surge.kernel.passing import BEYOND, taken_at, through_row
from steadyhead.surge.kernel.search import CLOSE, NOISE, ROUNDS, next_head

STALE = 1e-9
"""Relative step below which a flow that comes no closer is the one. [1]"""


@inner_kernel
def cut_branches(row: int, chain: Chain) -> int:
    """Find the first and last shut seat of every branch of a group; return how many branches have one."""
    count = 0
    first = chain.links[row][SPAN]
    for branch in range(first, first + chain.links[row][BRANCHES]):
        gap = chain.spans[branch][FROM_ROW]
        line = chain.march[gap]
        line[B_FIRST_CUT] = 0.0
        line[B_LAST_CUT] = 0.0
        for inner in range(gap + 1, chain.spans[branch][TO_ROW]):
            if chain.march[inner][M_CUT] > 0.0:
                line[B_LAST_CUT] = float(inner)
                if line[B_FIRST_CUT] <= 0.0:
                    line[B_FIRST_CUT] = float(inner)
        if line[B_FIRST_CUT] > 0.0:
            count += 1
    chain.march[row][B_WHOLE] = float(chain.links[row][BRANCHES] - count)
    return count


@inner_kernel
def leave_branches(
    row: int, head: float, found: Floats, chain: Chain, reliefs: Joints, run: Floats
) -> tuple[float, float]:
    """Return (what the branches with a shut seat give to the outlet joint [m³/s], its slope).

    What lies below the first seat takes its share of the joint's pressure; the leak of the seat is known.
    """
    total = 0.0
    slope = 0.0
    first = chain.links[row][SPAN]
    for branch in range(first, first + chain.links[row][BRANCHES]):
        gap = chain.spans[branch][FROM_ROW]
        line = chain.march[gap]
        if line[B_FIRST_CUT] > 0.0:
            seat = int(line[B_FIRST_CUT])
            chain.march[seat][M_FLOW] = chain.march[seat][M_LEAK]
            fill_below(gap, seat, head, found, chain, reliefs, run)
            total += line[B_FLOW]
            slope += line[B_LOWER]
    return total, slope


@inner_kernel
def fill_below(
    gap: int, seat: int, head: float, found: Floats, chain: Chain, reliefs: Joints, run: Floats
) -> None:
    """Find the flow at the outlet of a branch with which just the leak arrives at its first shut seat."""
    line = chain.march[gap]
    leak = chain.march[seat][M_LEAK]
    stride = inf
    low = -inf
    high = inf
    for number in range(ROUNDS):
        run[SPLITS] += 1.0
        is_inside = look_at_branch(gap, seat, head, found, chain, reliefs)
        flow = line[B_FLOW]
        off = line[B_TOP_FLOW] - leak if is_inside else line[B_TOP]
        if off < 0.0:
            low = flow
        else:
            high = flow
        slope = line[B_RISE] if is_inside else 0.0
        trial = next_place(flow, low, high, off, slope, number, FARTHEST * max(abs(flow), SMALL))
        before, stride = stride, abs(trial - flow)
        is_stale = stride <= STALE * abs(flow) and stride > 0.5 * before
        if is_inside and (stride <= CLOSE * abs(flow) + LEAST_FLOW or is_stale):
            line[B_LOWER] = -line[B_DRAWS] / line[B_RISE]
            return
        line[B_FLOW] = trial
    run[OPEN_SPLITS] += 1.0
    line[B_LOWER] = 0.0


@inner_kernel
def enter_branches(
    row: int, level: float, found: Floats, chain: Chain, reliefs: Joints, run: Floats
) -> tuple[float, float]:
    """Return (what enters the branches with a shut seat from the inlet joint [m³/s], its slope)."""
    total = 0.0
    slope = 0.0
    first = chain.links[row][SPAN]
    for branch in range(first, first + chain.links[row][BRANCHES]):
        gap = chain.spans[branch][FROM_ROW]
        line = chain.march[gap]
        if line[B_FIRST_CUT] > 0.0:
            seat = int(line[B_LAST_CUT])
            behind = chain.spans[branch][TO_ROW]
            flow, more = fill_above(seat, behind, level, found, chain, reliefs, run)
            chain.march[behind - 1][M_ABOVE] = level
            line[B_TOP_FLOW] = flow
            line[B_UPPER] = more
            total += flow
            slope += more
    return total, slope


@inner_kernel
def fill_above(
    seat: int, end: int, level: float, found: Floats, chain: Chain, reliefs: Joints, run: Floats
) -> tuple[float, float]:
    """Return (flow at the upper end of a span above a shut seat [m³/s], its slope with the pressure there).

    The span is rows `seat` + 1 up to `end`; its upper end stands at `level`, or, where that is NaN, below the
    next shut seat, whose leak is known.
    """
    head = chain.node_state[seat + 1][ABOVE]
    if seat + 1 == end and not isnan(level):
        return chain.march[seat][M_LEAK], 0.0
    low = 0.0
    high = inf
    stride = inf
    flow = 0.0
    more = 0.0
    for number in range(ROUNDS):
        run[SPLITS] += 1.0
        top, slope, flow, rise = along(seat, end, head, found, chain, reliefs)
        left, steep = level - top, slope
        if isnan(level):
            left, steep = chain.march[end][M_LEAK] - flow, rise
        if flow == -inf:
            left, steep = inf, 0.0
        more = rise / slope if slope > 0.0 else 0.0
        if left > 0.0:
            low = head
        else:
            high = head
        trial = next_head(head, low, high, left, -steep, number)
        before = stride
        stride = abs(trial - head)
        if left < inf and (stride <= CLOSE * head or (stride <= NOISE * head and stride > 0.5 * before)):
            return flow, more
        head = trial if left < inf or stride > CLOSE * head else high
    run[OPEN_SPLITS] += 1.0
    return flow, more


@inner_kernel
def along(
    seat: int, end: int, head: float, found: Floats, chain: Chain, reliefs: Joints
) -> tuple[float, float, float, float]:
    """Return (head above vapour, its slope, flow, its slope) at the upper end of a span above a shut seat.

    For a head just above the seat [Pa]; a flow of −∞ where a pressure falls below vapour.
    """
    line = chain.march[seat]
    slope = 1.0
    line[M_FLOW] = line[M_LEAK]
    line[M_ABOVE] = head
    taken, rise = taken_at(line, head, found, reliefs, chain.xs, chain.ys)
    flow = line[M_LEAK] + taken
    for row in range(seat + 1, end):
        line = chain.march[row]
        line[M_FLOW] = flow
        above, steep, passes = through_row(line, flow, head, found[F_CHOKING])
        slope = steep * rise + passes * slope
        head = above
        line[M_ABOVE] = head
        if not abs(head) <= BEYOND:
            return head, 0.0, inf if head > 0.0 else -inf, 0.0
        taken, more = taken_at(line, head, found, reliefs, chain.xs, chain.ys)
        if taken == -inf:
            return head, 0.0, -inf, 0.0
        flow += taken
        rise += more * slope
    return head, slope, flow, rise


@inner_kernel
def fill_cut_branches(found: Floats, chain: Chain, reliefs: Joints, run: Floats) -> None:
    """Fill what lies between two shut seats of one branch; nothing outside touches it within a step."""
    rows = len(chain.kinds)
    none = min(rows, 0)  # 0 as no literal, see `solve_station`
    seat = none
    for row in range(chain.station_links[LINE_ROWS], rows):
        if chain.kinds[row] == GAP:
            seat = none
        elif chain.march[row][M_CUT] > 0.0:
            if seat > 0:
                fill_above(seat, row, nan, found, chain, reliefs, run)
            seat = row
