"""Heads of pools that stand: what feeds them, what was trapped in them, what empties them. Plain Python.

The same rules as in `steadyhead.hydraulics.kernel.standing`, for a tree instead of a plain line.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf, isnan, nan

from steadyhead.hydraulics.kernel import layout
from steadyhead.hydraulics.kernel.cuts import has_consumers
from steadyhead.hydraulics.kernel.network import Holder, Network
from steadyhead.hydraulics.kernel.standing import TINY, always_passes
from steadyhead.laws.compiling import Floats

ABOVE = 1.0  # what a tap stands above a closing pressure before others are said to keep it there [Pa]


@dataclass(frozen=True, slots=True)
class Offer:
    """What one holder says to the pool it feeds: heads [Pa].

    Parameters
    ----------
    own
        Where the pool would stand if this holder alone fed it; NaN where it feeds nothing.
    most
        The most it lets stand: beyond, it is pushed open backwards.
    shutting
        Where it is shut; below, it stands open.
    is_unknown
        It senses water whose pressure is not known.
    """

    own: float
    most: float = inf
    shutting: float = -inf
    is_unknown: bool = False


@dataclass(slots=True)
class Pools:
    """Heads of all pools, given the memory of what stood before.

    Parameters
    ----------
    net
        The structure.
    held
        Pressures before, at every node; NaN where not known. [Pa]
    solved
        Pressures at nodes of running water. [Pa]
    head
        Found, by pool. [Pa]
    own
        Where a fed pool would stand by its holders alone, nothing trapped in it; NaN where they feed nothing.
        [Pa]
    fed
        Pools that the supply reaches through holders in their own direction.
    backed
        Pools cut off from above, joined to a fed one by the holder below them.
    shut
        Reducers that others, or what is trapped, keep shut from beyond another holder.
    opened
        Head to which a reducer that others have opened lets a pool fall, by pool. [Pa]
    limit
        Head a relief valve lets be trapped, by pool that is not fed. [Pa]
    """

    net: Network
    held: Floats
    solved: dict[int, float] = field(default_factory=dict)
    head: dict[int, float] = field(default_factory=dict)
    own: dict[int, float] = field(default_factory=dict)
    fed: set[int] = field(default_factory=set)
    backed: set[int] = field(default_factory=set)
    shut: set[Holder] = field(default_factory=set)
    opened: dict[int, float] = field(default_factory=dict)
    limit: dict[int, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Find which pools are fed, backed, or neither."""
        self.fed = self._reached({self.net.pool[self.net.supply]}, upward=False)
        around = set(self.fed)
        while True:
            more = self._reached(self._reached(around, upward=True), upward=False)
            if more == around:
                break
            around = more
        self.backed = self._reached(self.fed, upward=True) - self.fed
        below = self._reached(self.fed | self.backed, upward=False) - self.fed - self.backed
        self.backed |= below | (around - self.fed)
        self._relieve()
        self._fill_apart()

    def _relieve(self) -> None:
        """Find what relief valves let be trapped where nothing feeds it: no more than cracks them.

        So it is behind a shut reducer that leads to one, too. What is fed runs out of them instead.
        """
        net = self.net
        for row, node in net.outlets:
            if net.pool[node] in self.fed or net.links[row][layout.CURVE_POINTS] > 0:
                continue
            if net.kinds[row] == layout.RELIEF:
                crack = float(net.values[row][layout.CLOSING]) + net.level[node]
                self.limit[net.pool[node]] = min(self.limit.get(net.pool[node], inf), crack)
        for _ in net.holders if self.limit else ():
            for holder in net.holders:
                self._pass_limit(holder)

    def _pass_limit(self, holder: Holder) -> None:
        """Limit what stands at one side of a holder by what may stand at the other."""
        net, value = self.net, self.net.values[holder.row]
        low, high = net.pool[holder.low], net.pool[holder.high]
        if net.kinds[holder.row] == layout.CHECK or low in self.fed or high in self.fed:
            return
        passes = always_passes(net.kinds[holder.row], value)
        if passes and low in self.limit:
            self.limit[high] = min(self.limit.get(high, inf), self.limit[low])
        back = 0.0 if passes else _pushed_off(net.kinds[holder.row], value)
        if high in self.limit and value[layout.LIFT] != 0.0:
            self.limit[low] = min(self.limit.get(low, inf), self.limit[high] + back)

    def pressure(self, node: int) -> float:
        """Return the pressure at a node: solved, or that of its pool; NaN if not known. [Pa]"""
        if node in self.solved:
            return self.solved[node]
        pool = self.net.pool[node]
        if self.solved:
            known = self.net.nearest(node, self.solved)
            if known is not None:
                return self.solved[known] + self.net.level[known] - self.net.level[node]
        return self.head.get(pool, nan) - self.net.level[node]

    def memory(self, pool: int) -> float:
        """Return the head trapped in a pool [Pa]; the part farthest downstream before has its say."""
        for node in self.net.nodes_of[pool]:
            if not isnan(self.held[node]):
                most = min(self.limit.get(pool, inf), self.opened.get(pool, inf))
                return min(float(self.held[node]) + self.net.level[node], most)
        return nan

    def _before(self, tap: int) -> float:
        """Return what a tap felt at the beginning [Pa]; what is joined to the supply feels it at once."""
        pool = self.net.pool[tap]
        if pool == self.net.pool[self.net.supply]:
            return self.pressure(tap)
        return min(float(self.held[tap]), self.limit.get(pool, inf) - self.net.level[tap])  # NaN stays

    def stand(self) -> None:
        """Find the heads of all pools that the supply feeds, then of those that hang behind a holder."""
        self.shut, self.opened = set(), {}
        self._stand_once()
        for _ in self.net.holders:
            told_shut = set(filter(self._is_told_shut, self.net.holders))
            opened = self._find_opened()
            if told_shut <= self.shut and opened.items() <= self.opened.items():
                return
            self.opened |= opened
            self.shut |= told_shut
            self._stand_once()

    def _find_opened(self) -> dict[int, float]:
        """Return where trapped water falls: what a reducer senses has fallen elsewhere; it stands open."""
        found: dict[int, float] = {}
        for holder in self.net.holders:
            low, high = self.net.pool[holder.low], self.net.pool[holder.high]
            tap = self.net.joint[self.net.links[holder.row][layout.TAP]]
            if low not in self.fed or high not in self.fed or self.net.pool[tap] == low:
                continue
            inlet = self.pressure(holder.high) + self.net.level[holder.high]
            if self.stands_open(holder) and self.head[low] > inlet + ABOVE:
                found[low] = min(inlet, found.get(low, inf))
        return found

    def _stand_once(self) -> None:
        net = self.net
        for pool in self.fed | self.backed:
            self.head.pop(pool, None)
        first = net.pool[net.supply]
        self.head[first] = float(net.at[layout.SUPPLY]) + net.level[net.supply]
        for pool in sorted(self.fed, key=lambda pool: -net.order[net.nodes_of[pool][-1]]):
            if pool != first:
                self._resolve(pool)
        for pool in sorted(self.fed - {first}, key=lambda pool: net.order[net.nodes_of[pool][0]]):
            for holder in net.emptiers(pool):
                self._raise_from_below(pool, holder)
        for _ in range(len(self.backed)):
            before = dict(self.head)
            for pool in sorted(self.backed, key=lambda pool: net.order[net.nodes_of[pool][0]]):
                self.head[pool] = self._backed_head(pool)
            if all(_same(self.head[pool], before.get(pool, inf)) for pool in self.backed):
                break

    def _raise_from_below(self, pool: int, holder: Holder) -> None:
        """Raise a fed pool to what water from below it pushes back through its valve.

        Above a check valve it stands no higher than below.
        """
        net, value = self.net, self.net.values[holder.row]
        kind = net.kinds[holder.row]
        below = self.pressure(holder.low) + net.level[holder.low]
        if kind == layout.CHECK:
            self.head[pool] = min(self.head[pool], below)
            return
        if self.stands_open(holder):
            own = self.own.get(pool, nan)
            self.head[pool] = max(self.head[pool] if isnan(own) else own, below)
            return
        if kind != layout.REDUCER or value[layout.LIFT] == 0.0:
            return
        back = self._pushed_back(holder, below)
        if back > self.head[pool]:
            self.head[pool] = back

    def _pushed_back(self, holder: Holder, below: float) -> float:
        """Return the head to which a shut reducer lets the water below it rise above. [Pa]

        Where it stood open at the beginning, both rose together until it shut.
        """
        value, tap = self.net.values[holder.row], self.net.joint[self.net.links[holder.row][layout.TAP]]
        back = below - _pushed_off(self.net.kinds[holder.row], value)
        if self.net.pool[tap] == self.net.pool[holder.low] and self._before(tap) < value[layout.CLOSING]:
            return max(back, min(below, float(value[layout.CLOSING]) + self.net.level[tap]))
        return back

    def _is_told_shut(self, holder: Holder) -> bool:
        """Return whether others, beyond another holder, keep what a reducer senses above its closing."""
        if self.net.kinds[holder.row] == layout.CHECK:
            return False
        value, tap = self.net.values[holder.row], self.net.joint[self.net.links[holder.row][layout.TAP]]
        if not isnan(value[layout.TRAPPED]) or self.net.pool[tap] == self.net.pool[holder.low]:
            return False
        if self._before(tap) < value[layout.CLOSING]:
            return False  # it stood open at the beginning
        return self.pressure(tap) > value[layout.CLOSING] + ABOVE

    def _resolve(self, pool: int) -> None:
        if pool in self.head:
            return
        self.head[pool] = nan  # a group of valves that sense one another in a circle knows no better
        feeders = [holder for holder in self.net.feeders(pool) if self.net.pool[holder.high] in self.fed]
        for holder in feeders:
            self._resolve(self.net.pool[holder.high])
        self.head[pool] = self._fed_head(pool, feeders)

    def _fed_head(self, pool: int, feeders: list[Holder]) -> float:
        kept = self.memory(pool)
        offers = [self.offer(holder) for holder in feeders]
        if any(offer.is_unknown for offer in offers):
            return nan
        own = max((offer.own for offer in offers if not isnan(offer.own)), default=nan)
        self.own[pool] = own
        for offer in offers:
            kept = min(kept, offer.most) if not isnan(kept) else kept
        for offer in offers:
            if offer.own < kept < offer.shutting:
                kept = offer.own
        return own if isnan(kept) or kept <= own else kept

    def offer(self, holder: Holder) -> Offer:
        """Return what a holder says to the pool it feeds."""
        net, value = self.net, self.net.values[holder.row]
        kind = net.kinds[holder.row]
        inlet = self.pressure(holder.high)
        here = net.level[holder.low]
        if isnan(inlet):
            return Offer(nan)
        if kind == layout.CHECK:
            return Offer(self._sustained(holder))
        if always_passes(kind, value):
            return Offer(self._sustained(holder), inlet + here)
        if value[layout.LIFT] == 0.0 or value[layout.STUCK] == 0.0:
            return Offer(nan)
        if holder in self.shut:
            return Offer(nan, inlet + here + _pushed_off(kind, value))
        closing, tap = float(value[layout.CLOSING]), net.joint[net.links[holder.row][layout.TAP]]
        sensed = float(value[layout.TRAPPED])
        if isnan(sensed):
            felt = self._through(net.pool[holder.low], inlet + here, net.pool[tap])
            if not isnan(felt):
                shutting = closing + net.level[tap]
                own = shutting if felt - net.level[tap] > closing else inlet + here
                return Offer(own, inlet + here + _pushed_off(kind, value), shutting)
            if self._before(tap) < closing:  # it stood open at the beginning: a pocket, soon filled
                return Offer(inlet + here, inlet + here)
            if net.pool[tap] in self.fed:
                self._resolve(net.pool[tap])
            sensed = self.pressure(tap)
            if isnan(sensed):
                return Offer(nan, is_unknown=True)
        return Offer(inlet + here, inlet + here) if sensed < closing else Offer(nan)

    def _sustained(self, holder: Holder) -> float:
        """Return the head above a holder that lasts when water leaves through it. [Pa]"""
        pool = self.net.pool[holder.high]
        runs = bool(self.solved) and self.net.nearest(holder.high, self.solved) is not None
        if runs or pool not in self.own:
            return self.pressure(holder.high) + self.net.level[holder.high]
        return self.own[pool]

    def _through(self, pool: int, head: float, target: int, behind: frozenset[int] = frozenset()) -> float:
        """Return the head that standing water at `head` in a pool gives in another below; NaN if cut off.

        `behind`: pools it came through; where streams lead back into one another it does not go round.
        """
        if pool == target:
            return head
        best, behind = nan, behind | {pool}
        for holder in self.net.emptiers(pool):
            if self.net.pool[holder.low] in behind:
                continue
            value, kind = self.net.values[holder.row], self.net.kinds[holder.row]
            passed = head
            if kind != layout.CHECK and not always_passes(kind, value):
                passed = min(head, float(value[layout.CLOSING]) + self.net.level[holder.low])
            found = self._through(self.net.pool[holder.low], passed, target, behind)
            best = found if isnan(best) else max(best, found) if not isnan(found) else best
        return best

    def stands_open(self, holder: Holder, below: float = 0.0) -> bool:
        """Return whether a reducer lets its inlet fall to its outlet pressure at no flow.

        `below` is what it must sense less than its closing pressure. [Pa]
        """
        kind, value = self.net.kinds[holder.row], self.net.values[holder.row]
        if kind == layout.CHECK:
            return False
        if always_passes(kind, value):
            return True
        if value[layout.LIFT] == 0.0 or value[layout.STUCK] == 0.0:
            return False
        sensed = float(value[layout.TRAPPED])
        if isnan(sensed):
            sensed = self.pressure(self.net.joint[self.net.links[holder.row][layout.TAP]])
        return bool(sensed < value[layout.CLOSING] - below)

    def lets_pass(self, holder: Holder, sure: float = 0.0) -> bool:
        """Return whether water would run through a holder, either way, as the pools beside it stand.

        `sure` is by how much more than rounding it would. [Pa]
        """
        kind, value = self.net.kinds[holder.row], self.net.values[holder.row]
        inlet = self.pressure(holder.high) + self.net.level[holder.high]
        outlet = self.pressure(holder.low) + self.net.level[holder.low]
        above = ABOVE + sure
        if kind == layout.CHECK or self.stands_open(holder, sure):
            return inlet > outlet + above or (kind != layout.CHECK and outlet > inlet + above)
        return value[layout.LIFT] != 0.0 and outlet > inlet + _pushed_off(kind, value) + above

    def holds_up(self, holder: Holder) -> bool:
        """Return whether what stands below a reducer would run back through it were its inlet any lower."""
        kind, value = self.net.kinds[holder.row], self.net.values[holder.row]
        if kind == layout.CHECK or value[layout.LIFT] == 0.0:
            return False
        inlet = self.pressure(holder.high) + self.net.level[holder.high]
        outlet = self.pressure(holder.low) + self.net.level[holder.low]
        back = 0.0 if self.stands_open(holder) else _pushed_off(kind, value)
        return outlet > inlet + back - ABOVE

    def _backed_head(self, pool: int) -> float:
        """Return the head of a pool that nothing feeds from above. [Pa]"""
        net = self.net
        lowest, is_fed_back = -inf, False
        kept = self.memory(pool)
        for holder in net.emptiers(pool):
            below = self.pressure(holder.low) + net.level[holder.low]
            if isnan(below):
                continue
            if self.stands_open(holder):
                kept, lowest, is_fed_back = below, max(lowest, below), True
            elif net.kinds[holder.row] == layout.CHECK:
                kept = min(kept, below) if not isnan(kept) else kept
            else:
                value = net.values[holder.row]
                back = self._pushed_back(holder, below)
                if back > -inf and value[layout.LIFT] != 0.0:
                    lowest, is_fed_back = max(lowest, back), True
        emptied = self._emptied({pool})
        if not isnan(emptied):
            return max(lowest, emptied) if is_fed_back else emptied
        if isnan(kept):
            owns = [self.offer(holder).own for holder in net.feeders(pool)]
            kept = max((own for own in owns if not isnan(own)), default=nan)
        return kept if isnan(kept) else max(kept, lowest)

    def _reached(self, start: set[int], *, upward: bool) -> set[int]:
        found, queue = set(start), list(start)
        while queue:
            pool = queue.pop()
            for holder in self.net.feeders(pool) if upward else self.net.emptiers(pool):
                there = self.net.pool[holder.high if upward else holder.low]
                if there not in found:
                    found.add(there)
                    queue.append(there)
        return found

    def _emptied(self, pools: set[int]) -> float:
        """Return the head at which the lowest open outlet has emptied some pools; NaN where none is open."""
        levels = [
            self.net.level[node]
            for row, node in self.net.outlets
            if self.net.pool[node] in pools and self.net.kinds[row] == layout.DRAIN
        ]
        if self.net.pool[self.net.joint[0]] in pools and has_consumers(self.net.at):
            levels.append(self.net.level[0])
        return min(levels, default=nan)

    def _fill_apart(self) -> None:
        """Fill pools that nothing joins to the supply: emptied where something is open, trapped otherwise."""
        net = self.net
        left = set(net.nodes_of) - self.fed - self.backed
        while left:
            group = {next(iter(left))}
            while True:
                more = self._reached(self._reached(group, upward=True), upward=False)
                if more == group:
                    break
                group = more
            left -= group
            self._fill_group(group)

    def _fill_group(self, group: set[int]) -> None:
        net = self.net
        rising = sorted(group, key=lambda pool: net.order[net.nodes_of[pool][0]])
        emptied = self._emptied(group)
        if not isnan(emptied):
            for pool in rising:
                self.head[pool] = emptied
            return
        for _ in rising:
            self._fill_from_memory(rising)
            if not self._lower_limits(rising):
                break
        for pool in reversed(rising):
            offers = [self.offer(holder).own for holder in net.feeders(pool)]
            own = max((each for each in offers if not isnan(each)), default=nan)
            if isnan(self.head[pool]):
                self.head[pool] = own

    def _fill_from_memory(self, rising: list[int]) -> None:
        net = self.net
        for pool in rising:
            self.head[pool] = self.memory(pool)
        for pool in rising:
            for holder in net.emptiers(pool):
                below = self.pressure(holder.low)
                if isnan(below):
                    continue
                below += net.level[holder.low]
                value = net.values[holder.row]
                if net.kinds[holder.row] == layout.CHECK:
                    self.head[pool] = min(self.head[pool], below)  # NaN stays
                elif self.stands_open(holder):
                    self.head[pool] = below
                elif value[layout.LIFT] != 0.0:
                    pushed = below - _pushed_off(net.kinds[holder.row], value)
                    self.head[pool] = max(self.head[pool], pushed)  # NaN stays

    def _lower_limits(self, rising: list[int]) -> bool:
        """Let water below open reducers run out of relief valves above them; return whether any does."""
        lowered = False
        for pool in rising:
            most = self.limit.get(pool, inf)
            for holder in self.net.emptiers(pool) if self.head[pool] > most else ():
                low = self.net.pool[holder.low]
                if self.stands_open(holder) and self.limit.get(low, inf) > most:
                    self.limit[low], lowered = most, True
        return lowered


def _pushed_off(kind: int, value: Floats) -> float:
    """Return what the outlet stands above the inlet of a shut reducer before its disc is pushed off. [Pa]"""
    if kind != layout.REDUCER:
        return inf
    return float(value[layout.SPRING_SHUT]) / max(1.0 - float(value[layout.SEAT_RATIO]), TINY)


def _same(one: float, other: float) -> bool:
    return one == other or (isnan(one) and isnan(other))
