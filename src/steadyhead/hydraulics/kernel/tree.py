"""The steady state of any series–parallel tree: standing pools, and one monotone equation for what runs.

Plain Python around the compiled march: what stands is found by rules, what runs by the search of
`steadyhead.hydraulics.kernel.steady` over the running part alone. A reducer that senses standing water is
told its pressure and the search repeated until nothing changes.
"""

from __future__ import annotations

from math import isnan, nan

from steadyhead.hydraulics.kernel import layout
from steadyhead.hydraulics.kernel.balance import SENSED, Balance
from steadyhead.hydraulics.kernel.network import Network, spans_of
from steadyhead.hydraulics.kernel.pools import Pools
from steadyhead.hydraulics.kernel.pruning import (
    Carrying,
    Packed,
    carrying,
    joins_in,
    packed,
    running_part,
)
from steadyhead.hydraulics.kernel.sound import values_are_usable
from steadyhead.hydraulics.kernel.states import fill_outcomes
from steadyhead.hydraulics.kernel.steady import blank, run, some_boils
from steadyhead.laws.compiling import Floats, FloatTable, floats, integer_table, integers, table

ROUNDS = 100
AT_REST = 2.0  # what standing water may stand apart where nothing holds it [Pa]
MISFIT = 200.0  # what branches may ask for apart at the joint they share, beyond which it is no answer [Pa]
SETTLED = 1e-3  # standing pressures that reducers sense are told once they move by less [Pa]


def solve_tree(
    end: int,
    line: layout.Elements,
    at: Floats,
    held: Floats,
    nodes: Floats,
    flows: Floats,
    outcomes: FloatTable,
    report: Floats,
) -> int:
    """Solve the steady state of a tree and return how it ended, an index of ENDINGS.

    Quasi-steady with memory, as `steadyhead.hydraulics.kernel.steady.solve`; parameters as there. A drain on
    a branch is fed from whichever side water reaches it. Reverse flow through a reducer knows no check
    function.
    """
    for row in (nodes, flows, *outcomes, report):
        blank(row)
    for column in (layout.REPORT_RESIDUAL, layout.REPORT_EVALUATIONS, layout.REPORT_FLOWING):
        report[column] = 0.0
    report[layout.REPORT_BOILS] = 0.0
    ending = _solve(end, line, at, held, nodes, flows, report)
    report[layout.REPORT_ENDING] = float(ending)
    if ending in (layout.SOLVED, layout.UNKNOWN_TRAPPED):
        report[layout.REPORT_BOILS] = float(some_boils(0, len(nodes) - 1, at, nodes))
        fill_outcomes(line, at, nodes, flows, outcomes)
        return ending
    for row in (nodes, flows):
        blank(row)
    return ending


def _solve(
    end: int, line: layout.Elements, at: Floats, held: Floats, nodes: Floats, flows: Floats, report: Floats
) -> int:
    if not values_are_usable(line, at):
        return layout.REFUSED_VALUE
    net = Network(end, line.kinds, line.links, line.values, at)
    if net.ending != layout.SOLVED:
        return net.ending
    pools = Pools(net, held)
    pools.stand()
    carried = carrying(net, pools)
    for row in range(len(flows)):
        flows[row] = 0.0
    ending = layout.SOLVED
    if carried.pools:
        ending = _run(net, line, pools, carried, flows, report)
        if ending == layout.UNKNOWN_TRAPPED:
            blank(flows)
            return ending
    if ending != layout.SOLVED:
        return ending
    for node in range(len(nodes)):
        nodes[node] = pools.pressure(net.joint[node]) if net.joint[node] in net.order else nan
    unrest = _unrest(net, pools, flows)
    if unrest > 0.0:
        report[layout.REPORT_RESIDUAL] = unrest
        return layout.NOT_CONVERGED
    _sum_groups(net, 0, end, flows)
    known = all(not isnan(pools.pressure(node)) for node in net.order)
    return layout.SOLVED if known else layout.UNKNOWN_TRAPPED


def _unrest(net: Network, pools: Pools, flows: Floats) -> float:
    """Return what stands apart at a holder that passes nothing though it would let it pass; 0 for none. [Pa]

    So rules for standing water that do not agree end as no answer. Below atmosphere beside an open drain air
    would come in, which is not modelled.
    """
    is_drained = any(net.kinds[row] == layout.DRAIN for row, _ in net.outlets)
    for holder in net.holders:
        low, high = pools.pressure(holder.low), pools.pressure(holder.high)
        if flows[holder.row] != 0.0 or (is_drained and min(low, high) < 0.0):
            continue
        if pools.lets_pass(holder, AT_REST):
            return abs(high + net.level[holder.high] - low - net.level[holder.low])
    return 0.0


def _run(
    net: Network, line: layout.Elements, pools: Pools, carried: Carrying, flows: Floats, report: Floats
) -> int:
    """Solve the running part, with what reducers sense in standing pools, until that no longer moves."""
    rows, at = _rows_and_conditions(net, carried)
    evaluations, moved = 0.0, 0.0
    balance, told = Balance(), _told(net, pools, rows)
    for _ in range(ROUNDS):
        if told is None:
            return layout.UNKNOWN_TRAPPED
        part = _arrays(net, line, rows, told)
        count = len(rows.rows)
        found, through = floats([nan] * (count + 1)), floats([nan] * count)
        ending = run(0, 0, rows.end, part, at, floats([nan] * (count + 1)), found, through, report)
        evaluations += float(report[layout.REPORT_EVALUATIONS])
        report[layout.REPORT_EVALUATIONS] = evaluations
        misfit = _misfit(part, found)
        if ending == layout.SOLVED and misfit > abs(report[layout.REPORT_RESIDUAL]):
            report[layout.REPORT_RESIDUAL] = misfit
            ending = layout.NOT_CONVERGED if misfit > MISFIT else ending
        if ending != layout.SOLVED:
            return ending
        _take(rows, found, through, pools, flows)
        pools.stand()
        after = _told(net, pools, rows)
        if after is None:
            return layout.UNKNOWN_TRAPPED
        moved = max((_change(after[row][1], told[row][1]) for row in told), default=0.0)
        if moved > SETTLED:
            told = balance.next(told, after)
            continue
        if not joins_in(net, pools, carried):
            return layout.SOLVED
        rows, at = _rows_and_conditions(net, carried)
        balance, told = Balance(), _told(net, pools, rows)
    report[layout.REPORT_RESIDUAL] = moved
    return layout.NOT_CONVERGED


def _rows_and_conditions(net: Network, carried: Carrying) -> tuple[Packed, Floats]:
    """Return the running part, and its conditions: where consumers are not in it, nobody draws."""
    main, has_end = running_part(net, carried)
    at = floats(list(net.at))
    if not (has_end and carried.has_consumers):
        at[layout.DEMAND], at[layout.DRAWN] = 0.0, nan
    return packed(net, main), at


def _told(net: Network, pools: Pools, rows: Packed) -> dict[int, tuple[int, float]] | None:
    """Return what each reducer of the running part senses: a node of that part with a shift, or −1 with a
    pressure [Pa]; None where one senses water whose pressure is not known.
    """
    first: dict[int, int] = {}
    for place, node in enumerate(rows.nodes):
        first.setdefault(node, place)
    told = {}
    for place, row in enumerate(rows.rows):
        if rows.kinds[place] not in (layout.REDUCER, layout.DIRECT):
            continue
        tap = net.joint[net.links[row][layout.TAP]]
        near = net.nearest(tap, first)
        if near is not None:
            told[place] = (first[near], net.level[tap] - net.level[near])
            continue
        sensed = pools.pressure(tap)
        value = net.values[row]
        if isnan(sensed) and isnan(value[layout.TRAPPED]) and isnan(value[layout.STUCK]):
            return None
        told[place] = (SENSED, sensed)
    return told


def _arrays(
    net: Network, line: layout.Elements, rows: Packed, told: dict[int, tuple[int, float]]
) -> layout.Elements:
    links, values = [], []
    for place, row in enumerate(rows.rows):
        link = [int(number) for number in net.links[row]] if row >= 0 else [0] * layout.LINK_WIDTH
        value = list(net.values[row]) if row >= 0 else [0.0] * layout.WIDTH
        if rows.spans[place]:
            spans = rows.spans[place]
            link[layout.SPANS : layout.SPANS + len(spans)] = spans
            link[layout.BRANCHES] = len(spans) // 2
        if place in told:
            node, number = told[place]
            if node >= 0:
                link[layout.TAP] = node
                value[layout.CLOSING] += number
            else:
                link[layout.TAP] = 0  # not looked at
                if isnan(value[layout.TRAPPED]):
                    value[layout.TRAPPED] = number
        links.append(link)
        values.append(value)
    work = [[0.0] * layout.WORK_WIDTH for _ in rows.rows]
    return layout.Elements(
        integers(rows.kinds),
        integer_table(links, layout.LINK_WIDTH),
        table(values, layout.WIDTH),
        line.xs,
        line.ys,
        table(work, layout.WORK_WIDTH),
    )


def _misfit(part: layout.Elements, found: Floats) -> float:
    """Return the most a branch asks for apart from the joint it shares with others. [Pa]

    Where shut valves leak against one another, water of litres an hour, one digit of a flow is pascals.
    """
    most = 0.0
    for row, kind in enumerate(part.kinds):
        if kind == layout.PARALLEL:
            for _, top in spans_of(part.links, row):
                most = max(most, abs(float(found[top]) - float(found[row + 1])))
    return most


def _change(after: float, before: float) -> float:
    return 0.0 if isnan(after) and isnan(before) else abs(after - before)


def _take(rows: Packed, found: Floats, through: Floats, pools: Pools, flows: Floats) -> None:
    """Put what was found at its place in the tree; joints as the outermost line has them."""
    pools.solved = {}
    for place in range(len(rows.nodes) - 1, -1, -1):
        if not isnan(found[place]):
            pools.solved[rows.nodes[place]] = float(found[place])
    for place, row in enumerate(rows.rows):
        if row >= 0:
            flows[row] = float(through[place])
    for place, row in rows.gaps.items():
        flows[row] = float(through[place])


def _sum_groups(net: Network, start: int, end: int, flows: Floats) -> float:
    """Give each group the flow that enters it and return what enters the stretch above `start`. [m³/s]"""
    for row in range(start, end):
        if net.kinds[row] == layout.PARALLEL:
            flows[row] = sum(_sum_groups(net, low, high, flows) for low, high in spans_of(net.links, row))
    if end > start:
        return float(flows[end - 1])
    return float(flows[start - 1])
