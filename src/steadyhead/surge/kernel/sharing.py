"""How streams side by side share a flow: all ask the same pressure where they part."""

from __future__ import annotations

from math import inf, isnan

from steadyhead.laws.compiling import Floats, inner_kernel
from steadyhead.surge.kernel.branches import FARTHEST, LEAST_FLOW, SMALL, carry, look_at_branch
from steadyhead.surge.kernel.layout import (
    B_DRAWS,
    B_FIRST_CUT,
    B_FLOW,
    B_LOWER,
    B_PASSES,
    B_RISE,
    B_STEEP,
    B_TOP,
    B_TOP_FLOW,
    B_UPPER,
    B_WHOLE,
    BRANCHES,
    FROM_ROW,
    HARD_SPLITS,
    M_ABOVE,
    OPEN_SPLITS,
    SPAN,
    SPLITS,
    TO_ROW,
    Chain,
    Joints,
)
from steadyhead.surge.kernel.passing import BEYOND
from steadyhead.surge.kernel.search import CLOSE, NOISE, ROUNDS, next_head
from steadyhead.surge.kernel.seats import enter_branches, leave_branches

NEWTON_STEPS = 40
"""Newton steps before the flow is shared by halving."""
LEAST_LEVEL = 1e-6
"""A head above vapour pressure below this is none. [Pa]"""
OUTSIDE = 10.0 * BEYOND


@inner_kernel
def share_flow(
    row: int, flow: float, head: float, found: Floats, chain: Chain, reliefs: Joints, run: Floats
) -> None:
    """Share a flow among the branches of a group so that all ask one pressure at its inlet joint.

    The pressure each asks rises with its flow, so there is one answer; Newton on all flows at once, and where
    that does not close, halving. Branches with a shut seat only fill what lies below and above it.
    """
    if isnan(flow):
        return
    below, _ = leave_branches(row, head, found, chain, reliefs, run)
    group = chain.march[row]
    if group[B_WHOLE] == 1.0:
        give_to_one(row, flow - below, head, found, chain, reliefs, run)
    elif not share_by_steps(row, flow - below, head, found, chain, reliefs, run):
        share_by_halving(row, flow - below, head, found, chain, reliefs, run)
    if not abs(group[B_TOP]) <= BEYOND:
        return
    entering, _ = enter_branches(row, group[B_TOP], found, chain, reliefs, run)
    first = chain.links[row][SPAN]
    for branch in range(first, first + chain.links[row][BRANCHES]):
        line = chain.march[chain.spans[branch][FROM_ROW]]
        if line[B_FIRST_CUT] <= 0.0:
            entering += line[B_TOP_FLOW]
            chain.march[chain.spans[branch][TO_ROW] - 1][M_ABOVE] = group[B_TOP]
    group[B_TOP_FLOW] = entering


@inner_kernel
def share_by_steps(
    row: int, flow: float, head: float, found: Floats, chain: Chain, reliefs: Joints, run: Floats
) -> bool:
    """Share a flow by Newton steps from the flows at hand; return whether they closed.

    Notes
    -----
    p = p_i + a_i δ_i for every branch, Σ (Q_i + δ_i) = Q.
    """
    first = chain.links[row][SPAN]
    behind = first + chain.links[row][BRANCHES]
    before = inf
    for _ in range(NEWTON_STEPS):
        run[SPLITS] += 1.0
        gain = 0.0
        need = flow
        origin = 0.0
        for branch in range(first, behind):
            gap = chain.spans[branch][FROM_ROW]
            if chain.march[gap][B_FIRST_CUT] > 0.0:
                continue
            if not look_at_branch(gap, chain.spans[branch][TO_ROW], head, found, chain, reliefs):
                return False
            line = chain.march[gap]
            if gain == 0.0:
                origin = line[B_TOP]
            gain += 1.0 / line[B_STEEP]
            need += (line[B_TOP] - origin) / line[B_STEEP] - line[B_FLOW]
        level = origin + need / gain
        worst = 0.0
        size = abs(flow)
        for branch in range(first, behind):
            line = chain.march[chain.spans[branch][FROM_ROW]]
            if line[B_FIRST_CUT] > 0.0:
                continue
            farthest = FARTHEST * max(abs(line[B_FLOW]), abs(flow), SMALL)
            stride = (level - line[B_TOP]) / line[B_STEEP]
            stride = min(max(stride, -farthest), farthest)
            line[B_FLOW] += stride
            line[B_TOP_FLOW] += line[B_RISE] * stride
            worst = max(worst, abs(stride))
            size = max(size, abs(line[B_FLOW]))
        chain.march[row][B_TOP] = level
        if worst <= CLOSE * size + LEAST_FLOW or (worst <= NOISE * size and worst > 0.5 * before):
            return True
        before = worst
    return False


@inner_kernel
def share_by_halving(
    row: int, flow: float, head: float, found: Floats, chain: Chain, reliefs: Joints, run: Floats
) -> None:
    """Share a flow by a search for the head of the inlet joint, asking what all branches carry there.

    Where even at vapour pressure they carry more than the flow, the head is −∞: the march began too low.
    """
    first = chain.links[row][SPAN]
    behind = first + chain.links[row][BRANCHES]
    run[HARD_SPLITS] += 1.0
    stride = inf
    low = 0.0
    high = inf
    level = max(head, LEAST_LEVEL)
    for number in range(ROUNDS):
        run[SPLITS] += 1.0
        short = flow
        gain = 0.0
        for branch in range(first, behind):
            gap = chain.spans[branch][FROM_ROW]
            if chain.march[gap][B_FIRST_CUT] > 0.0:
                continue
            carry(gap, chain.spans[branch][TO_ROW], level, head, found, chain, reliefs)
            short -= chain.march[gap][B_FLOW]
            gain += 1.0 / chain.march[gap][B_STEEP]
        chain.march[row][B_TOP] = level
        if short > 0.0:
            low = level
        else:
            high = level
        trial = next_head(level, low, high, short, -gain, number)
        before, stride = stride, abs(trial - level)
        if stride <= CLOSE * level or (stride <= NOISE * level and stride > 0.5 * before):
            return
        if high < LEAST_LEVEL:
            chain.march[row][B_TOP] = -OUTSIDE
            return
        level = trial
    run[OPEN_SPLITS] += 1.0


@inner_kernel
def give_to_one(
    row: int, flow: float, head: float, found: Floats, chain: Chain, reliefs: Joints, run: Floats
) -> None:
    """Let the one branch without a shut seat carry a flow."""
    first = chain.links[row][SPAN]
    run[SPLITS] += 1.0
    for branch in range(first, first + chain.links[row][BRANCHES]):
        gap = chain.spans[branch][FROM_ROW]
        line = chain.march[gap]
        if line[B_FIRST_CUT] <= 0.0:
            line[B_FLOW] = flow
            is_inside = look_at_branch(gap, chain.spans[branch][TO_ROW], head, found, chain, reliefs)
            chain.march[row][B_TOP] = line[B_TOP]
            if not is_inside:
                chain.march[row][B_TOP] = OUTSIDE if line[B_TOP] > 0.0 else -OUTSIDE


@inner_kernel
def through_group(row: int, rise: float, slope: float, chain: Chain) -> tuple[float, float, float]:
    """Return (pressure of the inlet joint of a group [Pa], slope of the flow that enters, its own slope).

    From the slopes of flow and pressure at its outlet joint.
    """
    first = chain.links[row][SPAN]
    behind = first + chain.links[row][BRANCHES]
    gain = 0.0
    need = rise
    for branch in range(first, behind):
        line = chain.march[chain.spans[branch][FROM_ROW]]
        if line[B_FIRST_CUT] > 0.0:
            need -= line[B_LOWER] * slope
        else:
            gain += 1.0 / line[B_STEEP]
            need += line[B_PASSES] * slope / line[B_STEEP]
    above = need / gain
    entering = 0.0
    for branch in range(first, behind):
        line = chain.march[chain.spans[branch][FROM_ROW]]
        if line[B_FIRST_CUT] > 0.0:
            entering += line[B_UPPER] * above
        else:
            more = line[B_RISE] * (above - line[B_PASSES] * slope) / line[B_STEEP]
            entering += more + line[B_DRAWS] * slope
    return chain.march[row][B_TOP], entering, above
