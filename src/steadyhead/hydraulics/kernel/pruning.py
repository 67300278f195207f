"""From a tree with cuts to the running part of it, as flat arrays for the march. Plain Python.

What carries no water is left out: branches that are cut, and what hangs behind a reducer that stands locked
up. The end of a cut branch stays as a stub where an outlet on it runs.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from steadyhead.hydraulics.kernel import layout
from steadyhead.hydraulics.kernel.elements import shunt_flow
from steadyhead.hydraulics.kernel.network import HOLDERS, Network, spans_of
from steadyhead.hydraulics.kernel.pools import Pools
from steadyhead.laws.compiling import Floats

RESISTING = (layout.LOSS, layout.PIPE, layout.VALVE, *HOLDERS, layout.PARALLEL)


@dataclass(frozen=True, slots=True)
class Item:
    """One row of the running part: an element, a group of branches, or a stub.

    Parameters
    ----------
    kind
        As in `steadyhead.hydraulics.kernel.layout`.
    row
        Row of the element, or of the group; −1 for a stub. A row of kind GAP keeps the flow that leaves a
        branch which runs alone.
    branches
        Of a group its branches, of a stub its rows.
    """

    kind: int
    row: int = -1
    branches: tuple[Branch, ...] = ()


@dataclass(frozen=True, slots=True)
class Branch:
    """Rows of a branch from its outlet upstream; `node` is where it begins, `gap` its row of kind GAP."""

    items: tuple[Item, ...]
    node: int
    gap: int = -1

    @property
    def has_outlets(self) -> bool:
        """Whether a drain or relief valve stands on it."""
        return any(
            item.kind in (layout.DRAIN, layout.RELIEF)
            or item.kind in (layout.STUB_BELOW, layout.STUB_ABOVE)
            or any(branch.has_outlets for branch in item.branches)
            for item in self.items
        )

    @property
    def resists(self) -> bool:
        """Whether a difference of pressure stands across it when water runs."""
        return any(
            all(branch.resists for branch in item.branches) for item in self.items if item.kind in RESISTING
        )


@dataclass(slots=True)
class Carrying:
    """Which pools and holders carry water.

    Parameters
    ----------
    pools
        Pools in which water may run.
    rows
        Rows of the holders it runs through.
    has_consumers
        Whether the consumers draw.
    """

    pools: set[int] = field(default_factory=set)
    rows: set[int] = field(default_factory=set)
    has_consumers: bool = False


def carrying(net: Network, pools: Pools) -> Carrying:
    """Return what carries water once everything that would run out of the standing pools does."""
    found = Carrying()
    joined = pools.fed | pools.backed
    for row, node in net.outlets:
        if net.pool[node] in joined and _runs(net, row, pools.pressure(node)):
            found.pools.add(net.pool[node])
    end, last = net.joint[0], net.pool[net.joint[0]]
    if last in pools.fed:
        drawn, demand = float(net.at[layout.DRAWN]), float(net.at[layout.DEMAND])
        imposed = drawn > 0.0
        has_consumers = imposed or (drawn != drawn and demand > 0.0)
        pressure = pools.pressure(end)
        if has_consumers and (imposed or found.pools or not pressure <= 0.0):
            found.has_consumers = True
            found.pools.add(last)
    _spread(net, pools, found)
    return found


def joins_in(net: Network, pools: Pools, carried: Carrying) -> bool:
    """Let pools carry that were taken to stand but that a holder feeds while another lets out of them.

    So water runs in a circle: out of a stream that draws, into one whose inlet others have drawn down. Or an
    outlet lets out of them: what runs elsewhere has opened a reducer above it. Return whether there are any.
    """
    standing = (pools.fed | pools.backed) - carried.pools
    more = {
        net.pool[holder.low]
        for holder in net.holders
        if net.pool[holder.low] in pools.fed - carried.pools and pools.lets_pass(holder)
    }
    for row, node in net.outlets:
        pressure = pools.pressure(node)
        if net.pool[node] in standing and pressure == pressure and _runs(net, row, pressure):
            more.add(net.pool[node])
    queue = list(more)
    while queue:  # a pool that lets out upwards is held up by those below it
        for holder in net.emptiers(queue.pop()):
            low = net.pool[holder.low]
            if low in standing - more and pools.holds_up(holder):
                more.add(low)
                queue.append(low)
    carried.pools |= more
    _spread(net, pools, carried)
    return bool(more)


def _spread(net: Network, pools: Pools, found: Carrying) -> None:
    """Let all carry from which the carrying pools draw."""
    queue = list(found.pools)
    while queue:
        pool = queue.pop()
        for holder in net.feeders(pool) if pool in pools.fed else net.emptiers(pool):
            there = net.pool[holder.high if pool in pools.fed else holder.low]
            if pool in pools.fed and there not in pools.fed:
                continue
            found.rows.add(holder.row)
            if there not in found.pools:
                found.pools.add(there)
                queue.append(there)


def _runs(net: Network, row: int, pressure: float) -> bool:
    if pressure != pressure:
        return bool(net.kinds[row] == layout.DRAIN)
    value, link = net.values[row], net.links[row]
    if link[layout.CURVE_POINTS] > 0:
        return True  # where its table says nothing, the march finds no flow
    no_table: Floats = value  # not looked at
    return bool(shunt_flow(net.kinds[row], value, link, pressure, no_table, no_table) > 0.0)


@dataclass(slots=True)
class _Cut:
    """A stretch that is cut: what hangs at its lower and at its upper end."""

    below: tuple[Item, ...]
    above: tuple[Item, ...]
    above_node: int


def running_part(net: Network, carried: Carrying) -> tuple[Branch, bool]:
    """Return the rows in which water runs, and whether they reach down to the consumers."""
    found = _prune(net, carried, 0, net.end)
    if isinstance(found, _Cut):
        return Branch(found.above, found.above_node), False
    return Branch(found, net.joint[0]), True


def _prune(net: Network, carried: Carrying, start: int, end: int) -> tuple[Item, ...] | _Cut:
    items: list[Item] = []
    below: tuple[Item, ...] | None = None
    node = net.joint[start]
    for row in range(start, end):
        kind = int(net.kinds[row])
        if kind == layout.PARALLEL:
            live, low, high = _branches(net, carried, row)
            items += low
            if not live:
                below = tuple(items) if below is None else below
                items, node = [], net.joint[row + 1]
            elif len(live) == 1:
                items += (Item(layout.GAP, live[0].gap), *live[0].items)
            else:
                items.append(Item(kind, row, tuple(live)))
            items += high
        elif net.is_cut(row) or (kind in HOLDERS and row not in carried.rows):
            below = tuple(items) if below is None else below
            items, node = [], net.joint[row + 1]
        else:
            items.append(Item(kind, row))
    return tuple(items) if below is None else _Cut(below, tuple(items), node)


def _branches(net: Network, carried: Carrying, row: int) -> tuple[list[Branch], list[Item], list[Item]]:
    live: list[Branch] = []
    low: list[Item] = []
    high: list[Item] = []
    for start, end in spans_of(net.links, row):
        found = _prune(net, carried, start, end)
        if not isinstance(found, _Cut):
            live.append(Branch(found, net.joint[start], start - 1))
            continue
        below = Branch(found.below, net.joint[start], start - 1)
        above = Branch(found.above, found.above_node)
        if below.has_outlets:
            low.append(Item(layout.STUB_BELOW, branches=(below,)))
        if above.has_outlets:
            high.append(Item(layout.STUB_ABOVE, branches=(above,)))
    return live, low, high


@dataclass(slots=True)
class Packed:
    """The running part as rows of flat arrays, with where each came from.

    Parameters
    ----------
    end
        Number of rows of its main line.
    rows
        Row of the tree, or −1, by row.
    kinds, spans
        Kind by row; branches of groups and stubs.
    nodes
        Node of the tree by node.
    gaps
        Row of the tree whose flow is what leaves a branch, by row.
    """

    end: int
    rows: list[int]
    kinds: list[int]
    spans: list[list[int]]
    nodes: list[int]
    gaps: dict[int, int]

    def first_of(self, node: int) -> int | None:
        """Return the first place of a node of the tree; the march knows it first there."""
        return self.nodes.index(node) if node in self.nodes else None


def packed(net: Network, main: Branch) -> Packed:
    """Return the running part laid out: main line first, then branch after branch."""
    found = Packed(0, [], [], [], [main.node], {})
    _lay(net, found, main)
    found.end = len(found.rows)
    waiting: deque[tuple[int, Branch]] = deque()
    _queue(waiting, 0, main.items)
    while waiting:
        owner, branch = waiting.popleft()
        if branch.gap >= 0:
            found.gaps[len(found.rows)] = branch.gap
        _row(found, Item(layout.GAP), branch.node)
        start = len(found.rows)
        _lay(net, found, branch)
        found.spans[owner] += [start, len(found.rows)]
        _queue(waiting, start, branch.items)
    return found


def _queue(waiting: deque[tuple[int, Branch]], start: int, items: Iterable[Item]) -> None:
    for number, item in enumerate(items):
        waiting.extend((start + number, branch) for branch in _folded(item))


def _folded(item: Item) -> Sequence[Branch]:
    """Return the branches of a group; where one resists nothing, as groups of two inside one another."""
    branches = list(item.branches)
    if all(branch.resists for branch in branches):
        return branches
    while len(branches) > 2:
        pairs = [branches[n : n + 2] for n in range(0, len(branches), 2)]
        branches = [
            pair[0]
            if len(pair) == 1
            else Branch((Item(layout.PARALLEL, item.row, tuple(pair)),), pair[0].node)
            for pair in pairs
        ]
    return branches


def _lay(net: Network, found: Packed, branch: Branch) -> None:
    node = branch.node
    for item in branch.items:
        if item.kind not in (layout.STUB_BELOW, layout.STUB_ABOVE):
            node = net.joint[item.row + 1]
        _row(found, item, node)


def _row(found: Packed, item: Item, node: int) -> None:
    found.rows.append(item.row if item.kind != layout.PARALLEL else -1)
    found.kinds.append(item.kind)
    found.spans.append([])
    found.nodes.append(node)
