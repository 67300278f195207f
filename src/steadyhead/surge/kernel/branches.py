"""One look at a branch of streams side by side, and searches for what it carries."""

from __future__ import annotations

from math import inf

from steadyhead.laws.compiling import Floats, inner_kernel
from steadyhead.surge.kernel.layout import (
    B_DRAWS,
    B_FLOW,
    B_PASSES,
    B_RISE,
    B_STEEP,
    B_TOP,
    B_TOP_FLOW,
    F_CHOKING,
    M_ABOVE,
    M_FLOW,
    Chain,
    Joints,
)
from steadyhead.surge.kernel.passing import BEYOND, taken_at, through_row
from steadyhead.surge.kernel.search import CLOSE, NOISE, PATIENCE, ROUNDS

FARTHEST = 8.0
"""A Newton step goes no further than this many times the flow."""
SMALL = 1e-5
"""Flow such a step may go where there is none. [m³/s]"""
LEAST_FLOW = 1e-22
"""Flows closer than this are one. [m³/s]"""
LEAST_STEEP = 1.0
"""Slopes of a branch are taken no lower; searches only. [Pa s/m³]"""


@inner_kernel
def look_at_branch(gap: int, last: int, head: float, found: Floats, chain: Chain, reliefs: Joints) -> bool:
    """March a branch upstream with the flow of its gap; False where the head outgrows all bounds.

    Leaves the head and the flow at its inlet in the gap's line, with their slopes.
    """
    kept = chain.march[gap]
    flow = kept[B_FLOW]
    kept[M_FLOW] = flow
    kept[M_ABOVE] = head
    steep = 0.0
    passes = 1.0
    rise = 1.0
    draws = 0.0
    for row in range(gap + 1, last):
        line = chain.march[row]
        line[M_FLOW] = flow
        above, by_flow, by_pressure = through_row(line, flow, head, found[F_CHOKING])
        steep = by_flow * rise + by_pressure * steep
        passes = by_flow * draws + by_pressure * passes
        head = above
        line[M_ABOVE] = head
        if not abs(head) <= BEYOND:
            kept[B_TOP] = BEYOND if head > 0.0 else -BEYOND
            return False
        taken, more = taken_at(line, head, found, reliefs, chain.xs, chain.ys)
        if taken == -inf:
            kept[B_TOP] = -BEYOND
            return False
        flow += taken
        rise += more * steep
        draws += more * passes
    kept[B_TOP] = head
    kept[B_TOP_FLOW] = flow
    kept[B_STEEP] = max(steep, LEAST_STEEP)
    kept[B_PASSES] = passes
    kept[B_RISE] = rise
    kept[B_DRAWS] = draws
    return True


@inner_kernel
def next_place(
    place: float, low: float, high: float, off: float, slope: float, number: int, far: float
) -> float:
    """Return where to look next for the root of a rising function of any sign.

    Newton where it stays inside the bracket or hardly moves, else `far` towards the open side or the middle;
    after `PATIENCE` steps the middle every other time.
    """
    if (number < PATIENCE or number % 2 == 0) and slope > 0.0:
        trial = place - off / slope
        if low < trial < high or abs(trial - place) <= NOISE * abs(place):
            return trial
    if low == -inf:
        return place - far
    if high == inf:
        return place + far
    return 0.5 * (low + high)


@inner_kernel
def carry(
    gap: int, last: int, level: float, head: float, found: Floats, chain: Chain, reliefs: Joints
) -> None:
    """Find the flow at which a branch asks `level` at its inlet; guarded Newton, it cannot fail."""
    line = chain.march[gap]
    stride = inf
    low = -inf
    high = inf
    for number in range(ROUNDS):
        is_inside = look_at_branch(gap, last, head, found, chain, reliefs)
        flow = line[B_FLOW]
        off = line[B_TOP] - level
        if off < 0.0:
            low = flow
        else:
            high = flow
        slope = line[B_STEEP] if is_inside else 0.0
        trial = next_place(flow, low, high, off, slope, number, FARTHEST * max(abs(flow), SMALL))
        before, stride = stride, abs(trial - flow)
        is_stale = stride <= NOISE * abs(flow) and stride > 0.5 * before
        if is_inside and (stride <= CLOSE * abs(flow) + LEAST_FLOW or is_stale):
            return
        line[B_FLOW] = trial
