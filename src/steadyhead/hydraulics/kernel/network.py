"""A tree of branches seen as pools of connected water and the valves that hold them apart. Plain Python.

A *pool* is all water joined by elements that neither hold pressure apart nor let it pass one way only: at no
flow it has one head. A *holder* joins two pools: reducer, direct-acting reducer, check valve. A *cut* is shut
and tight: nothing joins.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Container, Iterator
from dataclasses import dataclass, field

from steadyhead.hydraulics.kernel import layout
from steadyhead.hydraulics.kernel.standing import blocks, level_change
from steadyhead.laws.compiling import Floats, FloatTable, Integers, IntegerTable

HOLDERS = (layout.REDUCER, layout.DIRECT, layout.CHECK)
UNEVEN = 1.0  # branches of a group may differ by this in level [Pa]


@dataclass(frozen=True, slots=True)
class Holder:
    """A valve that joins two pools: its row, outlet node and inlet node."""

    row: int
    low: int
    high: int


def spans_of(links: IntegerTable, row: int) -> list[tuple[int, int]]:
    """Return first row, and one past the last row, of each branch of a parallel group."""
    link = links[row]
    first = layout.SPANS
    return [
        (int(link[first + 2 * number]), int(link[first + 2 * number + 1]))
        for number in range(int(link[layout.BRANCHES]))
    ]


@dataclass(slots=True)
class Network:
    """The structure of one line in one situation: what is joined to what while nothing is known of pressures.

    Parameters
    ----------
    end, kinds, links, values, at
        As in `steadyhead.hydraulics.kernel.assembly.Line`, and the conditions of the solve.
    joint
        The one number of each node: ends of branches are the joints of their group.
    level
        What standing water has less at a node than at node 0, from level alone. [Pa]
    order
        Place of each node in the march, from the consumers upstream.
    pool
        Pool of each node.
    ending
        SOLVED, or why the tree is refused.
    """

    end: int
    kinds: Integers
    links: IntegerTable
    values: FloatTable
    at: Floats
    joint: list[int] = field(default_factory=list)
    level: list[float] = field(default_factory=list)
    order: dict[int, int] = field(default_factory=dict)
    pool: dict[int, int] = field(default_factory=dict)
    nodes_of: dict[int, list[int]] = field(default_factory=dict)
    holders: list[Holder] = field(default_factory=list)
    outlets: list[tuple[int, int]] = field(default_factory=list)
    plain: dict[int, list[int]] = field(default_factory=dict)
    ending: int = layout.SOLVED

    def __post_init__(self) -> None:
        """Read the tree."""
        count = len(self.kinds) + 1
        self.joint = list(range(count))
        self.level = [0.0] * count
        self._walk(0, self.end, 0.0, [])
        self.joint = [self._top(node) for node in range(count)]
        for row, _ in self._rows(0, self.end):
            for node in (self.joint[row], self.joint[row + 1]):
                self.order.setdefault(node, len(self.order))
                self.plain.setdefault(node, [])
        self._join()

    @property
    def supply(self) -> int:
        """Node of the supply."""
        return self.joint[self.end]

    def feeders(self, pool: int) -> list[Holder]:
        """Return the holders that let water into a pool."""
        return [holder for holder in self.holders if self.pool[holder.low] == pool]

    def emptiers(self, pool: int) -> list[Holder]:
        """Return the holders that let water out of a pool."""
        return [holder for holder in self.holders if self.pool[holder.high] == pool]

    def is_cut(self, row: int) -> bool:
        """Return whether an element is shut and tight."""
        return bool(blocks(self.kinds[row], self.values[row]))

    def nearest(self, node: int, known: Container[int]) -> int | None:
        """Return the nearest of the known nodes joined to a node by plain elements."""
        seen, queue = {node}, deque([node])
        while queue:
            here = queue.popleft()
            if here in known:
                return here
            for there in self.plain[here]:
                if there not in seen:
                    seen.add(there)
                    queue.append(there)
        return None

    def stretches(self, row: int) -> list[tuple[int, int]]:
        """Return where a row stands: first row and row, of the main line, of the branch in it, and so on."""
        return self._stretches(0, self.end, row) or []

    def _stretches(self, start: int, end: int, row: int) -> list[tuple[int, int]] | None:
        if start <= row < end:
            return [(start, row)]
        for here in range(start, end):
            if self.kinds[here] == layout.PARALLEL:
                for low, high in spans_of(self.links, here):
                    inside = self._stretches(low, high, row)
                    if inside is not None:
                        return [(start, here), *inside]
        return None

    def _top(self, node: int) -> int:
        while self.joint[node] != node:
            node = self.joint[node]
        return node

    def _walk(self, start: int, end: int, level: float, outside: list[tuple[int, int]]) -> float:
        """Number the joints of a stretch and level it; return the level at its upper end. [Pa]"""
        self.level[start] = level
        for row in range(start, end):
            if self.kinds[row] == layout.PIPE:
                level -= float(level_change(self.values[row], self.at))
            elif self.kinds[row] == layout.PARALLEL:
                spans = spans_of(self.links, row)
                if not spans:
                    self.ending = layout.REFUSED_BRANCH
                tops = []
                for low, high in spans:
                    self.joint[low] = row
                    tops.append(self._walk(low, high, level, [*outside, (start, row)]))
                    self.joint[high] = row + 1
                if tops and max(tops) - min(tops) > UNEVEN:
                    self.ending = layout.REFUSED_BRANCH
                level = tops[0] if tops else level
            elif self.kinds[row] in (layout.REDUCER, layout.DIRECT):
                self._check_tap(row, [*outside, (start, row)])
            self.level[row + 1] = level
        return level

    def _check_tap(self, row: int, allowed: list[tuple[int, int]]) -> None:
        trapped, tap = self.values[row][layout.TRAPPED], self.links[row][layout.TAP]
        if trapped == trapped:
            return
        if not any(low <= tap <= high for low, high in allowed):
            self.ending = layout.REFUSED_TAP

    def _rows(self, start: int, end: int) -> Iterator[tuple[int, int]]:
        """Yield each row in the order of the march with its kind, groups behind their branches."""
        for row in range(start, end):
            if self.kinds[row] == layout.PARALLEL:
                for low, high in spans_of(self.links, row):
                    yield from self._rows(low, high)
            yield row, int(self.kinds[row])

    def _join(self) -> None:
        """Find pools, holders and outlets."""
        for row, kind in self._rows(0, self.end):
            low, high = self.joint[row], self.joint[row + 1]
            if kind in HOLDERS:
                self.holders.append(Holder(row, low, high))
            elif kind != layout.PARALLEL and not self.is_cut(row):
                self.plain[low].append(high)
                self.plain[high].append(low)
            if kind in (layout.DRAIN, layout.RELIEF) and self.values[row][layout.FULL] > 0.0:
                self.outlets.append((row, low))
            if kind == layout.PARALLEL:
                for start, end in spans_of(self.links, row):
                    if start == end:
                        self.plain[low].append(high)
                        self.plain[high].append(low)
        for node in self.order:
            if node not in self.pool:
                self._flood(node, len(self.nodes_of))

    def _flood(self, node: int, number: int) -> None:
        self.pool[node] = number
        queue, found = deque([node]), [node]
        while queue:
            for there in self.plain[queue.popleft()]:
                if there not in self.pool:
                    self.pool[there] = number
                    queue.append(there)
                    found.append(there)
        self.nodes_of[number] = sorted(found, key=self.order.__getitem__)
