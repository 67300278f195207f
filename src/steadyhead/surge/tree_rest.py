"""The steady state of mains that branch behind the station, found from their far ends inwards."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from steadyhead.errors import NotConverged
from steadyhead.laws.bracket import next_share
from steadyhead.laws.compiling import FloatTable
from steadyhead.laws.friction import pipe_drop
from steadyhead.surge.kernel.shunts import consumers
from steadyhead.surge.plan import Consumers, Pipe, Plan, Water
from steadyhead.surge.plant import STATION

MOST_ROUNDS = 200
CLOSE = 1e-12
"""Of the bracket, where a search ends."""


@dataclass
class TreeFlow:
    """Flow through each pipe [m³/s] and head at each joint [m] of a tree of mains."""

    flows: dict[str, float] = field(default_factory=dict)
    heads: dict[str, float] = field(default_factory=dict)


class Tree:
    """Mains behind a station, as their joints draw.

    Parameters
    ----------
    plan
        Its pipes and joints.
    pipes
        Those behind the station, each after the one it begins at.
    values
        Joint values by place, as the run has them.
    """

    def __init__(
        self, plan: Plan, pipes: tuple[Pipe, ...], values: FloatTable, places: Mapping[str, int]
    ) -> None:
        self.water: Water = plan.water
        self.weight = plan.water.density * plan.water.gravity
        self.after: dict[str, list[Pipe]] = {}
        for pipe in pipes:
            self.after.setdefault(pipe.above, []).append(pipe)
        self.levels = {j.id: j.level for j in plan.joints if isinstance(j, Consumers)}
        self._rows = {pipe.below: values[places[pipe.below]] for pipe in pipes}
        far: dict[str, float] = {}
        for pipe in reversed(pipes):
            far[pipe.below] = max(
                (p.length + far[p.below] for p in self.after.get(pipe.below, ())), default=0.0
            )
        self._far = far
        self.lowest = min(self.levels[name] for name in self._rows) - 1.0

    def draw(self, joint: str, head: float) -> float:
        """Return what is drawn at a joint. [m³/s]"""
        pressure = (head - self.levels[joint]) * self.weight
        flow, _ = consumers(pressure, self._rows[joint], self.water.reference)
        return float(flow)

    def loss(self, pipe: Pipe, flow: float) -> float:
        """Return the head lost along a pipe. [m]"""
        if not pipe.has_friction:
            return 0.0
        water = self.water
        lost = pipe_drop(flow, pipe.length, pipe.bore, pipe.roughness, water.density, water.viscosity)
        return float(lost) / self.weight

    def from_end(self, start: str, end_head: float) -> tuple[float, float, TreeFlow]:
        """Return (head at `start`, flow into the tree there, all of it) for a head at its farthest end.

        Everything rises with that head: one root wherever one of them is known.
        """
        way = []
        name = start
        while self.after.get(name):
            pipe = max(self.after[name], key=lambda one: one.length + self._far[one.below])
            way.append(pipe)
            name = pipe.below
        found = TreeFlow()
        head, flow = end_head, self.draw(name, end_head)
        found.heads[name] = head
        for pipe in reversed(way):
            found.flows[pipe.id] = flow
            head += self.loss(pipe, flow)
            if pipe.above != STATION:
                flow += self._aside(pipe, head, found)
            found.heads[pipe.above] = head
        return head, flow, found

    def _aside(self, taken: Pipe, head: float, found: TreeFlow) -> float:
        """Return what a joint draws and its other branches take at a head. [m³/s]"""
        total = self.draw(taken.above, head)
        for pipe in self.after[taken.above]:
            if pipe is not taken:
                branch = self._branch(pipe, head)
                total += branch.flows[pipe.id]
                found.flows |= branch.flows
                found.heads |= branch.heads
        return total

    def _branch(self, pipe: Pipe, head: float) -> TreeFlow:
        """Return a branch that begins with a pipe, at a head where it begins."""

        def at(end: float) -> tuple[float, TreeFlow]:
            top, flow, inner = self.from_end(pipe.below, end)
            inner.flows[pipe.id] = flow
            return top + self.loss(pipe, flow), inner

        low = min(head, self.lowest)
        end = root(lambda end: head - at(end)[0], low, head)
        return at(end)[1]


def root(falling: Callable[[float], float], low: float, high: float) -> float:
    """Return where a falling function is nought between two ends; the end nearest to it where it is not.

    Raises
    ------
    NotConverged
        With what is left over.

    Examples
    --------
    >>> round(root(lambda x: 2.0 - x * x, 0.0, 2.0), 9)
    1.414213562
    """
    near, far = high, low
    f_near, f_far = falling(near), falling(far)
    if f_near >= 0.0:
        return near
    if f_far <= 0.0:
        return far
    third, f_third = far, f_far
    for _ in range(MOST_ROUNDS):
        least = CLOSE * max(abs(near), abs(far)) / abs(far - near) if far != near else 1.0
        if least >= 0.5:
            return near if abs(f_near) <= abs(f_far) else far
        share = next_share(near, far, third, f_near, f_far, f_third, least)
        trial = near + share * (far - near)
        value = falling(trial)
        if (value > 0.0) == (f_near > 0.0):
            third, f_third = near, f_near
        else:
            third, f_third, far, f_far = far, f_far, near, f_near
        near, f_near = trial, value
        if value == 0.0:
            return near
    raise NotConverged("flow in branching mains", f_near, "", MOST_ROUNDS)
