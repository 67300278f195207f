"""Many members of one station at once: which of them hunt, and how near the others are to it.

The mains at one flow, and the algebra of the station, are taken for all members together; a coarser look
along the axis than `steadyhead.surge.stability` has, compared with it in the tests.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from math import nan
from typing import cast

import numpy as np
from numpy.typing import NDArray

from steadyhead.surge.linear import Linear, linear_of, stacked
from steadyhead.surge.lines import Complex, admittance_below, impedance_above
from steadyhead.surge.path import Path, path_of
from steadyhead.surge.plan import Consumers
from steadyhead.surge.plant import Plant
from steadyhead.surge.rest import Rest

LOWEST, BEND, MIDDLE, HIGHEST = 1e-4, 0.05, 60.0, 400.0
"""Where the look along the axis begins, changes its step twice, and ends. [1/s]"""
SLOW_LOOKS, LOOKS, FAST_LOOKS = 60, 2_500, 1_300
LINES_AT_ONCE = 16
"""Members looked at together: their numbers then stay close to the processor."""
HALVINGS = 30
ALIKE = 0.03
"""Flows that differ by less, as share, are one flow to the friction of the mains."""
NEAREST = 3
"""Crossings of each member that are found to their last digits: those that look worst."""


@dataclass(frozen=True, slots=True)
class Point:
    """One member at one flow: its plan as arrays, its steady state, the reducer judged."""

    plant: Plant
    rest: Rest
    reducer: str


@dataclass(frozen=True, slots=True)
class Flows:
    """Steady flows [m³/s] and end pressures [Pa] of several members as columns."""

    flow: NDArray[np.float64]
    outlet_flow: NDArray[np.float64]
    end_pressure: NDArray[np.float64]
    pipe_flows: Mapping[str, NDArray[np.float64]]
    joint_pressures: Mapping[str, NDArray[np.float64]]


@dataclass(frozen=True, slots=True)
class Margins:
    """Unstable roots, gain margin and phase margin [degrees] of each member, as `Stability` has them."""

    unstable_roots: NDArray[np.int64]
    gain: NDArray[np.float64]
    phase: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Stack:
    """Some members of one layout and one set of pipes."""

    linear: Linear
    flows: Flows
    path: Path
    plant: Plant

    def take(self, places: NDArray[np.int64]) -> _Stack:
        """Return a stack with one line for each of `places`."""
        return _Stack(_taken(self.linear, places), _flows_taken(self.flows, places), self.path, self.plant)

    def responses(self, s: Complex) -> tuple[Complex, Complex, Complex, Complex]:
        """Return fill [m³/s] and tap pressure [Pa] for a unit stem [m] and for a unit pilot."""
        water, weight = self.plant.plan.water, self.plant.weight
        below = admittance_below(self.plant.plan, self.path, self.flows, s) / weight
        above = impedance_above(self.path, self.flows.flow, water, s) * weight
        return self.linear.responses(s, below, above)

    def looks(self, s: Complex) -> tuple[Complex, Complex]:
        """Return (χ(s) [1/s], loop cut at the pilot)."""
        fill_x, tap_x, fill_y, tap_y = self.responses(s)
        sense = self.linear.pilot_gain / (1.0 + self.linear.lag * s)
        area = self.linear.area
        pilot = -tap_x * sense / (1.0 + tap_y * sense)
        characteristic = s + (fill_x + fill_y * pilot) / area
        cut = (tap_y - tap_x * fill_y / (s * area + fill_x)) * sense
        return characteristic, cut


def unstable_roots(points: Sequence[Point]) -> NDArray[np.int64]:
    """Return how many roots of each member grow; see `steadyhead.surge.stability.stability`.

    Members share one layout.
    """
    return _over(points, with_margins=False).unstable_roots


def margins(points: Sequence[Point]) -> Margins:
    """Return unstable roots and margins of each member."""
    return _over(points, with_margins=True)


def _over(points: Sequence[Point], *, with_margins: bool) -> Margins:
    counts = np.zeros(len(points), dtype=np.int64)
    gain, phase = np.full(len(points), np.inf), np.full(len(points), nan)
    axis = _axis()
    for places in _groups(points):
        stack = _stack([points[place] for place in places])
        characteristic, cut = stack.looks(np.asarray(1j * axis))
        turned = np.unwrap(np.angle(characteristic), axis=-1)
        counts[places] = np.rint((np.pi / 2.0 - (turned[:, -1] - turned[:, 0])) / np.pi).astype(np.int64)
        if with_margins:
            gain[places], phase[places] = _margins(stack, axis, cut)
    return Margins(counts, gain, phase)


def _axis() -> NDArray[np.float64]:
    return np.concatenate(
        [
            np.geomspace(LOWEST, BEND, SLOW_LOOKS)[:-1],
            np.linspace(BEND, MIDDLE, LOOKS)[:-1],
            np.linspace(MIDDLE, HIGHEST, FAST_LOOKS),
        ]
    )


def _groups(points: Sequence[Point]) -> list[list[int]]:
    """Return places of members of one reducer whose pipes end alike, a few at a time."""
    alike: dict[object, list[int]] = {}
    for place, point in enumerate(points):
        plan = point.plant.plan
        ends = tuple(replace(j, coefficient=0.0) for j in plan.joints if isinstance(j, Consumers))
        alike.setdefault((point.reducer, plan.pipes, ends), []).append(place)
    return [
        places[low : low + LINES_AT_ONCE]
        for places in alike.values()
        for low in range(0, len(places), LINES_AT_ONCE)
    ]


def _stack(points: Sequence[Point]) -> _Stack:
    def column(values: list[float]) -> NDArray[np.float64]:
        return np.array(values).reshape(-1, 1)

    flows = Flows(
        _shared(column([point.rest.flow for point in points])),
        _shared(column([point.rest.outlet_flow for point in points])),
        column([point.rest.end_pressure for point in points]),
        {name: column([p.rest.pipe_flows[name] for p in points]) for name in points[0].rest.pipe_flows},
        {
            name: column([p.rest.joint_pressures[name] for p in points])
            for name in points[0].rest.joint_pressures
        },
    )
    linear = stacked([linear_of(point.plant, point.rest, point.reducer) for point in points])
    return _Stack(linear, flows, path_of(points[0].plant.plan), points[0].plant)


def _shared(flows: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return flows that hardly differ as one: the mains are then worked out once for all members."""
    low, high = float(flows.min()), float(flows.max())
    return flows.mean(keepdims=True) if high - low <= ALIKE * high else flows


def _taken(linear: Linear, places: NDArray[np.int64]) -> Linear:
    def some(value: object) -> object:
        if isinstance(value, np.ndarray):
            return value[places]
        if isinstance(value, tuple):
            return tuple(some(one) for one in value)
        if is_dataclass(value) and not isinstance(value, type):
            return type(value)(*(some(getattr(value, f.name)) for f in fields(value)))
        return value

    return cast("Linear", some(linear))


def _flows_taken(flows: Flows, places: NDArray[np.int64]) -> Flows:
    return Flows(
        flows.flow if len(flows.flow) == 1 else flows.flow[places],
        flows.outlet_flow if len(flows.outlet_flow) == 1 else flows.outlet_flow[places],
        flows.end_pressure[places],
        {name: flow[places] for name, flow in flows.pipe_flows.items()},
        {name: pressure[places] for name, pressure in flows.joint_pressures.items()},
    )


def _margins(
    stack: _Stack, axis: NDArray[np.float64], cut: Complex
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return (gain, phase margin) of each member, from the crossings that look worst."""
    size = np.abs(cut)
    gain, phase = np.full(len(cut), np.inf), np.full(len(cut), nan)
    members, left = _worst(cut.imag, np.where(cut.real < 0.0, size, -np.inf))
    for member, found in zip(members, _refined(stack, axis, members, left, _imaginary), strict=True):
        if found.real < 0.0:
            gain[member] = min(gain[member], -1.0 / found.real)
    members, left = _worst(size - 1.0, -np.abs(np.angle(-cut)))
    for member, found in zip(members, _refined(stack, axis, members, left, _beyond_one), strict=True):
        phase[member] = np.fmin(phase[member], abs(np.degrees(np.angle(-found))))
    return gain, phase


def _imaginary(loop: Complex) -> NDArray[np.float64]:
    return loop.imag


def _beyond_one(loop: Complex) -> NDArray[np.float64]:
    return np.asarray(np.abs(loop) - 1.0)


def _worst(
    values: NDArray[np.float64], worth: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return (members, looks) where a line of values changes its sign, for each the few of most worth."""
    is_low = np.signbit(values)
    members, left = np.nonzero(is_low[:, 1:] != is_low[:, :-1])
    worst = np.maximum(worth[members, left], worth[members, left + 1])
    members, left = members[np.isfinite(worst)], left[np.isfinite(worst)]
    order = np.lexsort((-worst[np.isfinite(worst)], members))
    members, left = members[order], left[order]
    rank = np.arange(len(members)) - np.searchsorted(members, members)
    return members[rank < NEAREST], left[rank < NEAREST]


def _refined(
    stack: _Stack,
    axis: NDArray[np.float64],
    members: NDArray[np.int64],
    left: NDArray[np.int64],
    function: Callable[[Complex], NDArray[np.float64]],
) -> Complex:
    """Return the cut loop at crossings, each halved between two looks."""
    if not members.size:
        return np.zeros(0, dtype=np.complex128)
    some = stack.take(members)
    low, high = axis[left].reshape(-1, 1), axis[left + 1].reshape(-1, 1)
    sign = np.signbit(function(some.looks(np.asarray(1j * low))[1]))
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        same = np.signbit(function(some.looks(np.asarray(1j * middle))[1])) == sign
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return some.looks(np.asarray(1j * (0.5 * (low + high))))[1][:, 0]
