"""A slow, clear steady solver for trees of branches, written apart from the product.

It is made from the written physics only: valve law, lift, friction, demand, pilot circuit, drain, relief,
check valve, direct-acting reducer; series and parallel by nested search from the consumer end to the supply.
For a flow and the pressures below it, the stem of a reducer is where holding and balancing pressure agree;
each branch of a group is inverted to its flow at a common inlet pressure, and the sum to the flow of the
group. Water that stands is filled in by many small exchanges between pools, from what stood there before.

Trees are lists of dictionaries from the consumers upstream (`random_trees`). Inside: Pa gauge, m³/s, m.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf, sqrt
from typing import Any

from numba import njit
from scipy.optimize import brentq

from tests.independent.slow_steady import (
    G,
    Water,
    in_series,
    lift_characteristic,
    main_head_loss,
    signed_root,
    valve_inlet,
)

Part = Mapping[str, Any]
BAR = 1e5
DEEP = -200.0 * BAR
NEARLY = 1e-12
LEAST = 1e-24
HALVINGS = 70
SHUT_SHARE = 1e-9  # what passes a valve that is shut and tight
STEPS = 400
SMALL = 100.0
SAME = 1e-3
EXCHANGES = 100
ROUNDS = 1000


class NoFullPipe(Exception):
    """The line cannot pass what is drawn with full pipes."""


def root(f: Callable[[float], float], low: float, high: float) -> float:
    """Return where a non-decreasing `f` changes sign between `low` and `high`."""
    if f(low) >= 0.0:
        return low
    if f(high) <= 0.0:
        return high
    return float(brentq(f, low, high, xtol=LEAST, rtol=NEARLY, maxiter=STEPS))


def falling(f: Callable[[float], float], start: float, step: float) -> float:
    """Return a point at or below `start` where a non-decreasing `f` is not above zero."""
    at = start
    while f(at) > 0.0:
        at -= step
        step *= 5.0
    return at


def rising(f: Callable[[float], float], start: float, step: float) -> float:
    """Return a point at or above `start` where a non-decreasing `f` is not below zero."""
    at = start
    while f(at) < 0.0:
        at += step
        step *= 5.0
    return at


@njit(error_model="numpy")
def resting_inlet(xi, flow, p2, bleed, kvs, b, leak, f_l, over):
    """Return the inlet pressure at which seat and pilot circuit together pass `flow` at a stem."""
    seat = kvs * max(xi * sqrt((1.0 + b * b) / (1.0 + b * b * xi * xi)), 1e-5) + leak
    if flow <= 0.0:
        return p2 - (flow / (seat + bleed)) ** 2
    p1 = p2 + (flow / (seat + bleed)) ** 2
    if p1 - p2 <= f_l**2 * (p1 + over):
        return p1
    low, high = max(p1, -over), max((flow / (f_l * seat)) ** 2 - over, p1)
    for _ in range(HALVINGS):  # choked
        p1 = 0.5 * (low + high)
        if f_l * seat * sqrt(p1 + over) + bleed * sqrt(p1 - p2) < flow:
            low = p1
        else:
            high = p1
    return p1


@njit(error_model="numpy")
def resting_stem(flow, p2, k_feed, k_pilot, bleed, kvs, b, leak, f_l, r0, r1, s0, s1, least, over):
    """Return where a stem rests, and the inlet pressure there: plain halving of the stroke."""
    if flow == 0.0:
        return least, p2
    low, high = least, 1.0
    for turn in range(HALVINGS + 2):
        xi = least if turn == 0 else 1.0 if turn == 1 else 0.5 * (low + high)
        p1 = resting_inlet(xi, flow, p2, bleed, kvs, b, leak, f_l, over)
        held = (k_feed**2 * p1 + k_pilot**2 * p2) / (k_feed**2 + k_pilot**2)
        closes = held - (p2 + (r0 - r1 * xi) * (p1 - p2) - (s0 + s1 * xi))
        if (turn == 0 and closes >= 0.0) or (turn == 1 and closes <= 0.0):
            return xi, p1
        if turn > 1 and closes < 0.0:
            low = xi
        elif turn > 1:
            high = xi
    return high, resting_inlet(high, flow, p2, bleed, kvs, b, leak, f_l, over)


@dataclass
class Found:
    """What the last march left behind: pressure below and above, flow and stem of each part by name."""

    below: dict[str, float] = field(default_factory=dict)
    above: dict[str, float] = field(default_factory=dict)
    flow: dict[str, float] = field(default_factory=dict)
    stem: dict[str, float] = field(default_factory=dict)
    share: dict[str, float] = field(default_factory=dict)


class SlowTree:
    """One tree in one situation."""

    def __init__(self, case: Mapping[str, Any]) -> None:
        fluid = case["fluid"]
        self.water = Water(fluid["rho"], fluid["nu"], fluid["pv"], fluid["patm"], fluid["pcrit"])
        self.case = case
        self.supply = case["supply"] * BAR
        self.k_demand = self.water.si(case["demand"])
        self.exponent = case["exponent"]
        self.line: Sequence[Part] = case["line"]
        self.found = Found()
        self.last: dict[int, float] = {}

    # One part.

    def drawn(self, pressure: float) -> float:
        if pressure <= 0.0:
            return 0.0
        return float(self.k_demand * sqrt(BAR) * (pressure / BAR) ** self.exponent)

    def shunt(self, part: Part, pressure: float) -> float:
        share = 1.0
        if part["kind"] == "relief":
            crack, full = part["crack"] * BAR, part["full"] * BAR
            share = min(max((pressure - crack) / (full - crack), 0.0), 1.0)
        return self.water.si(part["kv"]) * share * sqrt(pressure) if pressure > 0.0 else 0.0

    def k_seat(self, part: Part, xi: float) -> float:
        open_part = max(lift_characteristic(xi, part["b"]), 1e-5)
        return float(self.water.si(part["kvs"]) * open_part + self.water.si(part.get("leak", 0.0)))

    def pilot(self, part: Part, sensed: float) -> float:
        return float(min(max((part["closing"] * BAR - sensed) / (part["band"] * BAR), 0.0), 1.0))

    def stem(self, part: Part, flow: float, p2: float, sensed: float) -> tuple[float, float]:
        """Return stem and inlet pressure of a pilot-operated reducer: the sign rule of the residual."""
        si = self.water.si
        k_feed = si(part["feed"])
        k_pilot = si(part["pilot"]) * self.pilot(part, sensed) + si(part.get("tear", 0.0))
        self.found.share[part["name"]] = k_feed**2 / (k_feed**2 + k_pilot**2)
        found = resting_stem(
            flow, p2, k_feed, k_pilot, in_series(k_feed, k_pilot), si(part["kvs"]), part["b"],
            si(part.get("leak", 0.0)), part["FL"], part["r0"], part["r1"], part["s0"] * BAR, part["s1"] * BAR,
            part.get("debris", 0.0), self.water.p_a - self.water.critical_term,
        )  # fmt: skip
        return float(found[0]), float(found[1])

    def inlet(self, part: Part, flow: float, p2: float, sensed: float) -> float:
        """Return the inlet pressure a part asks for."""
        kind, si = part["kind"], self.water.si
        if kind == "loss":
            k = si(part["kv"]) * (SHUT_SHARE if part.get("shut") else 1.0)
            return float(p2 + flow * abs(flow) / k**2)
        if kind == "check":
            k = si(part["kv"]) * (1e-5 if flow < 0.0 else 1.0)
            return float(p2 + flow * abs(flow) / k**2)
        if kind == "main":
            loss = main_head_loss(part, flow, self.water)
            return float(p2 + self.water.rho * G * (part["rise"] + loss))
        if kind == "valve":
            tight = part["lift"] <= 0.0
            k = si(part["kvs"]) * (
                SHUT_SHARE if tight else max(lift_characteristic(part["lift"], part["b"]), 1e-5)
            )
            return valve_inlet(k, flow, p2, part["FL"], self.water)
        if kind == "direct":
            xi = min(max((part["closing"] * BAR - sensed) / (part["band"] * BAR), 0.0), 1.0)
            self.found.stem[part["name"]] = xi
            return valve_inlet(self.k_seat(part, xi), flow, p2, part["FL"], self.water)
        xi, p1 = self.stem(part, flow, p2, sensed)
        self.found.stem[part["name"]] = xi
        return p1

    # The tree.

    def march(self, line: Sequence[Part], flow: float, p2: float, joint: float | None) -> tuple[float, float]:
        """Return pressure and flow asked for above a line; `joint` is the outlet of the outermost group."""
        for part in line:
            kind, below = part["kind"], p2
            if kind in ("drain", "relief"):
                flow += self.shunt(part, p2)
            elif kind == "group":
                p2, flow = self.group(part, flow, p2, p2 if joint is None else joint)
            else:
                sensed = p2 if joint is None or part.get("senses") != "joint" else joint
                p2 = self.inlet(part, flow, p2, sensed)
            self.found.below[part["name"]], self.found.above[part["name"]] = below, p2
            self.found.flow[part["name"]] = flow
        return p2, flow

    def branch_flow(self, line: Sequence[Part], p1: float, p2: float, joint: float, scale: float) -> float:
        """Return the flow at the outlet of a branch between two joint pressures."""

        def excess(flow: float) -> float:
            return signed_root(self.march(line, flow, p2, joint)[0] - p1)

        last = self.last.get(id(line), 0.0)
        low, high = sorted((0.8 * last, 1.25 * last))
        if last == 0.0 or excess(low) > 0.0 or excess(high) < 0.0:
            if excess(0.0) <= 0.0:
                low, high = 0.0, rising(excess, scale, scale)
            else:
                low, high = falling(excess, -scale, scale), 0.0
        self.last[id(line)] = root(excess, low, high)
        return self.last[id(line)]

    def group(self, part: Part, flow: float, p2: float, joint: float) -> tuple[float, float]:
        branches = part["branches"]
        scale = max(abs(flow), 1e-5)
        if len(branches) == 2:
            return self.pair(branches[0], branches[1], flow, p2, joint, scale)

        def too_much(p1: float) -> float:
            passed = sum(self.branch_flow(line, p1, p2, joint, scale) for line in branches)
            return passed * abs(passed) - flow * abs(flow)  # pressures go with the square of flows

        shares = [self.march(line, flow / len(branches), p2, joint)[0] for line in branches]
        p1 = root(
            too_much, min(shares), max(min(shares), min(max(shares), rising(too_much, min(shares), 10.0)))
        )
        above = 0.0
        for line in branches:
            above += self.march(line, self.branch_flow(line, p1, p2, joint, scale), p2, joint)[1]
        return p1, above

    def pair(
        self, one: Sequence[Part], other: Sequence[Part], flow: float, p2: float, joint: float, scale: float
    ) -> tuple[float, float]:
        """Return pressure and flow above two branches: what the one does not take the other must."""

        def unlike(share: float) -> float:
            first = self.march(one, share, p2, joint)[0]
            return signed_root(first - self.march(other, flow - share, p2, joint)[0])

        last = self.last.get(id(one), 0.0)
        low, high = sorted((0.8 * last, 1.25 * last))
        if last == 0.0 or unlike(low) > 0.0 or unlike(high) < 0.0:
            low, high = falling(unlike, 0.0, scale), rising(unlike, flow, scale)
        share = self.last[id(one)] = root(unlike, min(low, high), max(low, high))
        if abs(share) > abs(flow - share):  # the smaller flow is better known on its own
            one, other, share = other, one, flow - share
            width = 1e-9 * max(abs(flow), abs(share))
            share = root(unlike, falling(unlike, share - width, width), rising(unlike, share + width, width))
        first, above = self.march(one, share, p2, joint)
        second, beside = self.march(other, flow - share, p2, joint)
        return (first if abs(share) > abs(flow - share) else second), above + beside

    def run(self) -> dict[str, Any]:
        """Return the state with water running."""

        def need(p_end: float) -> float:
            return signed_root(self.march(self.line, self.drawn(p_end), p_end, None)[0] - self.supply)

        low = 0.0
        while need(low) > 0.0:
            if low < DEEP:
                raise NoFullPipe
            low = 4.0 * low - BAR
        p_end = root(need, low, rising(need, max(self.supply, 0.0) + BAR, BAR))
        p1, flow = self.march(self.line, self.drawn(p_end), p_end, None)
        return {"p_end": p_end, "q_end": self.drawn(p_end), "q": flow, "left": p1 - self.supply}


@dataclass
class Pool:
    """Water joined by parts that hold nothing apart at no flow; head over the consumer end [Pa]."""

    head: float | None
    is_supply: bool = False


class Standing:
    """A tree in which no water runs: pools, and the valves between them, from what stood before."""

    def __init__(self, tree: SlowTree, before: float) -> None:
        self.tree = tree
        self.before = before
        self.pools: list[Pool] = []
        self.place: dict[str, tuple[int, int]] = {}
        self.merged: dict[int, int] = {}
        self.holders: list[tuple[Part, int, int, int, float]] = []
        self.lift_of: dict[str, float] = {}
        first = self._new()
        top = self._walk(tree.line, first, None, 0.0)
        self.supply = self._root(top)

    def _new(self) -> int:
        self.pools.append(Pool(None))
        number = len(self.pools) - 1
        self.merged[number] = number
        return number

    def _root(self, pool: int) -> int:
        while self.merged[pool] != pool:
            pool = self.merged[pool]
        return pool

    def _walk(self, line: Sequence[Part], pool: int, joint: int | None, lift: float) -> int:
        for part in line:
            kind, below = part["kind"], pool
            if kind == "group":
                tops = [
                    self._walk(branch, pool, pool if joint is None else joint, lift)
                    for branch in part["branches"]
                ]
                lowest = min(self._root(top) for top in tops)
                for top in tops:
                    self.merged[self._root(top)] = lowest
                pool = tops[0]
            elif kind in ("reducer", "direct", "check"):
                pool = self._new()
                sensed = below if joint is None or part.get("senses") != "joint" else joint
                self.holders.append((part, below, pool, sensed, lift))
            elif (kind == "loss" and part.get("shut")) or (kind == "valve" and part["lift"] <= 0.0):
                pool = self._new()
            elif kind == "main":
                lift -= self.tree.water.rho * G * part["rise"]
            self.place[part["name"]] = (below, pool)
            self.lift_of[part["name"]] = lift
        self.place["top"], self.lift_of["top"] = (pool, pool), lift
        return pool

    def passes(self, part: Part) -> bool:
        return bool(
            part.get("tear", 0.0) > 0.0 or part.get("leak", 0.0) > 0.0 or part.get("debris", 0.0) > 0.0
        )

    def settle(self) -> dict[int, float]:
        """Return the pressure of each pool once nothing changes it any more; all pools start alike.

        Water at the consumers or at a tap that lies elsewhere moves by small steps; before each of them all
        valves look again. Any other section is small: it follows at once.
        """
        heads = {self._root(pool): self.before for pool in self.merged}
        heads[self.supply] = self.tree.supply + self.lift_of["top"]
        slow = {self._root(self.place[self.tree.line[0]["name"]][0])}
        for _, low, _, tap, _ in self.holders:
            slow |= {self._root(tap)} - {self._root(low)}
        for _ in range(ROUNDS):
            before = dict(heads)
            for _ in range(EXCHANGES):
                self._follow(heads, slow)
                for pool, head in self._wanted(heads).items():
                    if pool in slow:
                        heads[pool] += min(max(head - heads[pool], -SMALL), SMALL)
            self._follow(heads, slow)
            if all(abs(heads[pool] - before[pool]) <= 3.0 * SMALL for pool in heads):
                break
        return heads

    def _follow(self, heads: dict[int, float], slow: set[int]) -> None:
        """Bring all small sections to where they want to be."""
        for _ in range(2 * len(self.holders)):
            moved = {
                pool: head
                for pool, head in self._wanted(heads).items()
                if pool not in slow and abs(head - heads[pool]) > 1e-6
            }
            heads.update(moved)
            if not moved:
                break

    def _wanted(self, heads: Mapping[int, float]) -> dict[int, float]:
        """Return where the pools would go as all stand now.

        First of all up, where something feeds that the supply keeps up; else down; else up again from below.
        """
        back: dict[int, float] = {}
        down: dict[int, float] = {}
        feed: dict[int, float] = {}
        kept_up, pushed = {self.supply}, []
        for part, low, high, tap, lift in reversed(self.holders):
            below, above, sensed = self._root(low), self._root(high), self._root(tap)
            here, there = heads[below], heads[above]
            closing = part.get("closing", inf) * BAR + lift
            passes = part["kind"] == "check" or self.passes(part)
            opens = passes or heads[sensed] < closing
            backs = part["kind"] != "check" and (opens or part["kind"] == "reducer")
            spring = 0.0 if opens else part.get("s0", 0.0) * BAR / (1.0 - part.get("r0", 0.0))
            if opens and there > here:
                down[above] = min(down.get(above, there), here)
            if backs and here - spring > there:
                back[above] = max(back.get(above, there), here - spring)
                pushed.append((below, above))
            if backs and here - spring > there - SAME:
                down[below] = min(down.get(below, here), there + spring)
            to = min(there, closing) if not passes and sensed == below else there
            if above in kept_up and here <= to and (opens or (sensed == below and here <= closing)):
                feed[below] = max(feed.get(below, here), to)
                kept_up.add(below)
        for below, above in pushed:
            if below in kept_up:
                feed[above] = max(feed.get(above, back[above]), back[above])
        wanted = back | down | feed
        wanted.pop(self.supply, None)
        return wanted
