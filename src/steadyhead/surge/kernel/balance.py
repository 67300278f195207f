"""The station beside a cavity: all its pressures and flows at once, each with digits of its own.

A march carries one pressure from node to node. Where a node is all but empty of pressure beside one that is
not, that pressure is a difference of large numbers, and the volume of the cavity, which goes by its inverse,
is noise. Here every node keeps its own pressure and every row its own flow; a node's volume then follows from
what flows in and out of it, and a shut seat passes what it leaks and no more.
"""

from __future__ import annotations

from math import inf

from steadyhead.laws.compiling import Floats, FloatTable, inner_kernel
from steadyhead.surge.kernel.layout import (
    ABOVE,
    B_FLOW,
    BRANCHES,
    F_BM,
    F_BP,
    F_CAREFUL,
    F_CHOKING,
    F_CM,
    F_CP,
    F_IN_GAS,
    F_IN_LEVEL,
    F_IN_OLD,
    F_OUT_GAS,
    F_OUT_LEVEL,
    F_OUT_OLD,
    F_STEP,
    F_VAPOUR,
    F_WEIGHT,
    FROM_ROW,
    GROUP,
    LINE_ROWS,
    M_ABOVE,
    M_CUT,
    M_FLOW,
    M_LEAK,
    SPAN,
    SPLITS,
    TO_ROW,
    Chain,
    Joints,
)
from steadyhead.surge.kernel.passing import taken_at, through_row

THIN = 1e3
"""A head above vapour pressure below this is found here; above it a march has digits enough. [Pa]"""
STEPS = 160
CAREFUL_FROM = 8
"""Newton steps after which slopes of roots are careful, and one that turns back goes half as far."""
GUARDED_FROM = 80
"""Newton steps after which one that leaves more over is taken back by half."""
LEAST_TURN = 1.0 / 64.0
"""Least share of a step that turns back. [1]"""
LEAST_SHARE = 1.0 / 4096.0
"""[1]"""
SETTLES = 1e-13
"""Largest step, of a head or of all flows, at which the balance is found. [1]"""
SETTLES_IN_NOISE = 1e-8
"""The same where steps no longer shrink: the rest is rounding. [1]"""
FLOW_UNIT = 1e-3
"""[m³/s]"""
LEAST = 1e-9
"""Flows are compared with no less. [m³/s]"""
EMPTY = 1e-9
"""No head above vapour pressure stands lower. [Pa]"""
MOST_FLOW = 1e6
"""A flow of the march beyond this is none to begin with. [m³/s]"""


@inner_kernel
def was_thin(chain: Chain) -> bool:
    """Return whether a node of the station stood all but at vapour pressure."""
    least = chain.node_state[0][ABOVE]
    for node in range(len(chain.node_state)):
        least = min(least, chain.node_state[node][ABOVE])
    return least < THIN


@inner_kernel
def is_thin(head: float, chain: Chain) -> bool:
    """Return whether a march left a node all but at vapour pressure, or no pressure at all there."""
    if not head > THIN:
        return True
    for row in range(len(chain.kinds)):
        if chain.kinds[row] > GROUP and not chain.march[row][M_ABOVE] > THIN:
            return True
    return False


@inner_kernel
def balance_station(found: Floats, chain: Chain, reliefs: Joints, run: Floats) -> float:
    """Return the head above vapour at chain node 0 with every node of the station in balance [Pa].

    Below 0: none was found. Fills pressures and flows of every row in the march's table where it is found,
    and leaves it alone where it is not.

    Notes
    -----
    Newton for the heads of all nodes, as their logarithms, and the flows of all rows:
    h_up = φ(Q, h_down) of each row, Q = leak where it stands on its seat; Σ Q_in − Σ Q_out − stored(h) = 0 of
    each node. A head that falls is stepped in 1/h, which is the volume of its gas: neither way does a lone
    node overshoot.

    A relief valve within its play has slopes that say nothing of those beside it, and a full step from the
    one side leads past the narrow band where it closes, from the other side back. A later step that turns
    back goes half as far; where that runs in a circle, a step is taken back by half until what all equations
    leave over, by the measure they had at its beginning, is less. Each of the two settles what the other
    may not.
    """
    rows = len(chain.kinds)
    count = 2 * rows + 1
    work = chain.work
    kept = work[count]
    stride = work[count + 1]
    base = work[count + 2]
    scale = work[count + 3]
    for row in range(rows):
        flow = chain.march[row][M_FLOW]
        kept[row] = flow if abs(flow) < MOST_FLOW else 0.0
    for node in range(rows + 1):
        kept[rows + node] = max(chain.node_state[node][ABOVE], EMPTY)
    worst = inf
    before = inf
    left = inf
    share = 1.0
    for number in range(STEPS):
        run[SPLITS] += 1.0
        found[F_CAREFUL] = 1.0 if number >= CAREFUL_FROM else 0.0
        lay_out(kept, found, chain, reliefs)
        found[F_CAREFUL] = 0.0
        is_guarded = number > GUARDED_FROM and worst > SETTLES_IN_NOISE and share > LEAST_SHARE
        if is_guarded and not left_over(work, scale, count) < left:
            share *= 0.5
            go(kept, base, stride, share, rows)
            continue
        left = even_out(work, scale, count)
        if not eliminated(work, count):
            return -1.0
        most = LEAST
        for row in range(rows):
            most = max(most, abs(kept[row]))
        before = worst
        worst = 0.0
        along = 0.0
        for place in range(count):
            along += stride[place] * work[place][count]
            base[place] = kept[place]
            stride[place] = work[place][count]
            unit = FLOW_UNIT / most if place < rows else 1.0
            worst = max(worst, abs(stride[place]) * unit)
        if number <= CAREFUL_FROM or number >= GUARDED_FROM:
            share = 1.0
        else:
            share = max(0.5 * share, LEAST_TURN) if along < 0.0 else min(1.5 * share, 1.0)
        go(kept, base, stride, share, rows)
        if worst <= SETTLES or (worst <= SETTLES_IN_NOISE and worst > 0.5 * before):
            put(kept, chain)
            return kept[rows]
    return -1.0


@inner_kernel
def go(kept: Floats, base: Floats, stride: Floats, share: float, rows: int) -> None:
    """Put flows and heads a share of a step from where it begins."""
    for row in range(rows):
        kept[row] = base[row] + share * stride[row] * FLOW_UNIT
    for place in range(rows, 2 * rows + 1):
        far = share * stride[place]
        kept[place] = max(base[place] * (1.0 + far if far > 0.0 else 1.0 / (1.0 - far)), EMPTY)


@inner_kernel
def left_over(work: FloatTable, scale: Floats, count: int) -> float:
    """Return the sum of squares of what the equations leave over, each by its measure. [1]"""
    total = 0.0
    for place in range(count):
        share = work[place][count] / scale[place]
        total += share * share
    return total


@inner_kernel
def lay_out(kept: Floats, found: Floats, chain: Chain, reliefs: Joints) -> None:
    """Fill the equations of one Newton step: a row of the station, a node, one after the other."""
    rows = len(chain.kinds)
    count = 2 * rows + 1
    work = chain.work
    line_rows = chain.station_links[LINE_ROWS]
    for place in range(count):
        for column in range(count + 1):
            work[place][column] = 0.0
    for node in range(1, line_rows + 1):
        node_stores(node, kept, found, chain, reliefs)
    leaving_end(kept, found, chain)
    arriving_end(kept, found, chain)
    for row in range(line_rows):
        if chain.kinds[row] != GROUP:
            row_passes(row, row + 1, row, kept, found, chain)
            continue
        first = chain.links[row][SPAN]
        for branch in range(first, first + chain.links[row][BRANCHES]):
            gap = chain.spans[branch][FROM_ROW]
            behind = chain.spans[branch][TO_ROW]
            for inner in range(gap + 1, behind):
                up = row + 1 if inner == behind - 1 else inner + 1
                down = row if inner == gap + 1 else inner
                row_passes(inner, up, down, kept, found, chain)
                if inner < behind - 1:
                    node_stores(inner + 1, kept, found, chain, reliefs)


@inner_kernel
def even_out(work: FloatTable, scale: Floats, count: int) -> float:
    """Give each equation a largest coefficient of 1, keep what it was, and return what all leave over. [1]

    What stands for nothing stays as it is.
    """
    total = 0.0
    for place in range(count):
        equation = work[place]
        most = 0.0
        for column in range(count):
            most = max(most, abs(equation[column]))
        scale[place] = most if most > 0.0 else 1.0
        if most <= 0.0:
            equation[place] = 1.0
        for column in range(count + 1):
            equation[column] /= scale[place]
        total += equation[count] * equation[count]
    return total


@inner_kernel
def node_stores(node: int, kept: Floats, found: Floats, chain: Chain, reliefs: Joints) -> None:
    """Put what a node stores and lets off into its equation."""
    rows = len(chain.kinds)
    place = rows + node
    head = kept[place]
    taken, slope = taken_at(chain.march[node - 1], head, found, reliefs, chain.xs, chain.ys)
    equation = chain.work[place]
    equation[2 * rows + 1] += taken
    equation[place] -= slope * head


@inner_kernel
def leaving_end(kept: Floats, found: Floats, chain: Chain) -> None:
    """Put what the pipe that leaves takes, and the gas at its end, into the equation of node 0."""
    rows = len(chain.kinds)
    head = kept[rows]
    gas = found[F_OUT_GAS] / head
    level = (head + found[F_VAPOUR]) / found[F_WEIGHT] + found[F_OUT_LEVEL]
    equation = chain.work[rows]
    equation[2 * rows + 1] += (level - found[F_CM]) / found[F_BM] - (gas - found[F_OUT_OLD]) / found[F_STEP]
    equation[rows] -= head / (found[F_WEIGHT] * found[F_BM]) + gas / found[F_STEP]


@inner_kernel
def arriving_end(kept: Floats, found: Floats, chain: Chain) -> None:
    """Put what the pipe that arrives brings, and the gas at its end, into the equation of its node."""
    rows = len(chain.kinds)
    place = rows + chain.station_links[LINE_ROWS]
    head = kept[place]
    gas = found[F_IN_GAS] / head
    level = (head + found[F_VAPOUR]) / found[F_WEIGHT] + found[F_IN_LEVEL]
    equation = chain.work[place]
    equation[2 * rows + 1] -= (found[F_CP] - level) / found[F_BP] + (gas - found[F_IN_OLD]) / found[F_STEP]
    equation[place] -= head / (found[F_WEIGHT] * found[F_BP]) + gas / found[F_STEP]


@inner_kernel
def row_passes(row: int, up: int, down: int, kept: Floats, found: Floats, chain: Chain) -> None:
    """Put the law of a row into its equation, and its flow into those of its two nodes."""
    rows = len(chain.kinds)
    last = 2 * rows + 1
    flow = kept[row]
    above = rows + up
    below = rows + down
    chain.work[below][row] += FLOW_UNIT
    chain.work[below][last] -= flow
    chain.work[above][row] -= FLOW_UNIT
    chain.work[above][last] += flow
    equation = chain.work[row]
    line = chain.march[row]
    if line[M_CUT] > 0.0:
        equation[row] = FLOW_UNIT
        equation[last] = line[M_LEAK] - flow
        return
    asked, steep, passes = through_row(line, flow, kept[below], found[F_CHOKING])
    equation[row] = -steep * FLOW_UNIT
    equation[above] = kept[above]
    equation[below] = -passes * kept[below]
    equation[last] = asked - kept[above]


@inner_kernel
def eliminated(work: FloatTable, count: int) -> bool:
    """Solve the equations in place, each with its right side as last column; False where they have no answer.

    Gauss with the largest pivot of each column; what is 0 already is passed over, which is most of it.
    """
    for place in range(count):
        best = place
        for row in range(place + 1, count):
            if abs(work[row][place]) > abs(work[best][place]):
                best = row
        if not abs(work[best][place]) > 0.0:
            return False
        if best != place:
            for column in range(place, count + 1):
                held = work[place][column]
                work[place][column] = work[best][column]
                work[best][column] = held
        pivot = work[place]
        for row in range(place + 1, count):
            equation = work[row]
            if equation[place] != 0.0:
                share = equation[place] / pivot[place]
                for column in range(place, count + 1):
                    equation[column] -= share * pivot[column]
    for turn in range(count):
        place = count - 1 - turn
        equation = work[place]
        right = equation[count]
        for column in range(place + 1, count):
            right -= equation[column] * work[column][count]
        equation[count] = right / equation[place]
    return True


@inner_kernel
def put(kept: Floats, chain: Chain) -> None:
    """Put pressures and flows into the march's table."""
    rows = len(chain.kinds)
    march = chain.march
    line_rows = chain.station_links[LINE_ROWS]
    for row in range(rows):
        march[row][M_ABOVE] = kept[rows + row + 1]
        march[row][M_FLOW] = kept[row]
    for row in range(line_rows):
        if chain.kinds[row] == GROUP:
            total = 0.0
            first = chain.links[row][SPAN]
            for branch in range(first, first + chain.links[row][BRANCHES]):
                gap = chain.spans[branch][FROM_ROW]
                behind = chain.spans[branch][TO_ROW]
                march[gap][B_FLOW] = march[gap][M_FLOW] = kept[gap + 1]
                march[gap][M_ABOVE] = kept[rows + row]
                march[behind - 1][M_ABOVE] = kept[rows + row + 1]
                total += kept[gap + 1]
            march[row][M_FLOW] = total
