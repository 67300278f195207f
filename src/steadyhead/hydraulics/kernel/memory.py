"""Quasi-steady steps with memory: what was trapped stays, what has tripped stays tripped. Plain Python."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan, nan

from steadyhead.hydraulics.kernel import layout
from steadyhead.hydraulics.kernel.assembly import Line, Solution, solve_line
from steadyhead.hydraulics.kernel.network import Network
from steadyhead.hydraulics.kernel.standing import always_passes
from steadyhead.laws.compiling import Floats, floats


@dataclass(frozen=True, slots=True)
class TripUnit:
    """The part of a shut-off that decides when it acts.

    Parameters
    ----------
    row
        Its element.
    tap
        Node its pilot senses.
    trip
        trip_pressure, rising, at the tap. [Pa]
    release
        Falling pressure at which a self-resetting one opens; NaN when it is reset by hand. [Pa]
    trapped
        Pressure trapped in its shut sensing line; NaN when open. [Pa]
    open_lift, shut_lift
        Where its stem stands open and tripped; equal when stuck. [1]
    """

    row: int
    tap: int
    trip: float
    release: float = nan
    trapped: float = nan
    open_lift: float = 1.0
    shut_lift: float = 0.0

    def sensed(self, nodes: Floats) -> float:
        """Return what the pilot feels [Pa]; NaN if not known."""
        return float(nodes[self.tap]) if isnan(self.trapped) else self.trapped


@dataclass(frozen=True, slots=True)
class Settled:
    """A quasi-steady step: the solution and which shut-offs stand tripped after it."""

    solution: Solution
    tripped: tuple[bool, ...]


def settle(
    line: Line,
    at: Floats,
    units: Sequence[TripUnit] = (),
    tripped: Sequence[bool] = (),
    held: Floats | None = None,
) -> Settled:
    """Return where a station comes to rest after one change, given how it stood before.

    Quasi-steady: the change is slow, no overshoot. Where water runs it is the steady point; where it stands,
    pressure is trapped, and a slow rise that trips a shut-off stops at the trip. A self-resetting shut-off is
    released at the beginning of a step, never within it.

    Parameters
    ----------
    line, at
        As in `solve_line`. The lifts of the shut-offs in `line` are set here.
    units, tripped
        The shut-offs, and whether each was tripped before.
    held
        Pressures before, at every node, NaN where not known. [Pa]
    """
    before = floats([nan] * (len(line.kinds) + 1)) if held is None else held
    state = [
        was and not (not isnan(unit.release) and unit.sensed(before) <= unit.release)
        for unit, was in zip(units, tripped or [False] * len(units), strict=True)
    ]
    solution = _solve_with(line, at, units, state, before)
    for _ in units:
        acting = [
            index
            for index, unit in enumerate(units)
            if not state[index] and unit.sensed(solution.nodes) >= unit.trip
        ]
        if not acting:
            break
        index = min(acting, key=lambda number: _share_of_rise(units[number], before, solution.nodes))
        state[index] = True
        if not solution.is_flowing:
            before = _stopped_rise(line, at, units[index], before, solution.nodes)
        solution = _solve_with(line, at, units, state, before)
    return Settled(solution, tuple(state))


def _solve_with(
    line: Line, at: Floats, units: Sequence[TripUnit], state: Sequence[bool], held: Floats
) -> Solution:
    for unit, is_tripped in zip(units, state, strict=True):
        line.values[unit.row][layout.LIFT] = unit.shut_lift if is_tripped else unit.open_lift
    return solve_line(line, at, held)


def _share_of_rise(unit: TripUnit, before: Floats, after: Floats) -> float:
    """Return how far along the change the unit trips: 0 at its beginning, 1 at its end."""
    start, finish = unit.sensed(before), unit.sensed(after)
    if isnan(start) or finish <= start:
        return 0.0 if start >= unit.trip else 1.0
    return min(max((unit.trip - start) / (finish - start), 0.0), 1.0)


def _stopped_rise(line: Line, at: Floats, unit: TripUnit, before: Floats, after: Floats) -> Floats:
    """Return standing pressures at the moment a slow rise made the shut-off act.

    Downstream of it the rise stops at the trip. Between it and its tap water stands at the tap's pressure
    wherever a reducer between is open: that section holds next to nothing.
    """
    nodes = [float(pressure) for pressure in after]
    excess = unit.sensed(after) - max(unit.trip, _known(unit.sensed(before), unit.trip))
    if excess < 0.0:
        return before
    downstream, between = _below(line, at, unit)
    for node in downstream:
        start = _known(float(before[node]), nodes[node] - excess)
        nodes[node] = max(min(start, nodes[node]), nodes[node] - excess)
    for row in between:
        kind, value = line.kinds[row], line.values[row]
        if kind in (layout.REDUCER, layout.DIRECT) and (
            always_passes(kind, value) or nodes[row] < value[layout.CLOSING]
        ):
            nodes[row + 1] = nodes[row]
    return floats(nodes)


def _below(line: Line, at: Floats, unit: TripUnit) -> tuple[list[int], list[int]]:
    """Return the nodes downstream of a shut-off, and the rows between it and what it senses."""
    if not line.is_tree:
        return list(range(unit.row + 1)), list(range(unit.tap, unit.row))
    net = Network(line.end, line.kinds, line.links, line.values, at)
    stretches = net.stretches(unit.row)
    below = {net.joint[node] for start, row in stretches for node in range(start, row + 1)}
    upstream = net.pool[net.joint[unit.row + 1]]
    pools = {net.pool[node] for node in below} - {upstream}
    below |= {node for node, pool in net.pool.items() if pool in pools}
    start = stretches[-1][0]
    downstream = [node for node in range(len(net.joint)) if net.joint[node] in below]
    return downstream, list(range(unit.tap if start <= unit.tap <= unit.row else start, unit.row))


def _known(value: float, otherwise: float) -> float:
    return otherwise if isnan(value) else value
