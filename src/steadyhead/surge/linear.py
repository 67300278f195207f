"""The station linearised about a steady point: what a unit of stem or of pilot does to chamber and tap."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from math import inf, isnan, sqrt

import numpy as np
from numpy.typing import NDArray

from steadyhead.errors import InputError
from steadyhead.laws.lift import characteristic
from steadyhead.laws.pilot import pilot_coefficient
from steadyhead.laws.valves import (
    choked_differential,
    coefficient_at_opening,
    isolating_valve_coefficient,
    series,
    strainer_coefficient,
)
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.lines import Complex, Number
from steadyhead.surge.plant import Plant
from steadyhead.surge.rest import Rest

NUDGE = 1e-6
LEAST = 1e-6
"""Pressure differences are taken no smaller in slopes of square roots. [Pa]"""


@dataclass(frozen=True, slots=True)
class Row:
    """One row: δp₁ = inverse·(δq − stem·δx) + passes·δp₂.

    inverse [Pa s/m³], stem [m²/s], passes 0 where choked, else 1.
    """

    inverse: Number
    stem: Number = 0.0
    passes: Number = 1.0


@dataclass(frozen=True, slots=True)
class Circuit:
    """Chamber of the reducer: slopes of feed and drain flow [m³/(s Pa)], of the drain with the pilot [m³/s],
    r, and e_x: fall of the balance pressure with the stem [Pa/m]."""

    feed: Number
    drain: Number
    pilot: Number
    ratio: Number
    stiffness: Number


@dataclass(frozen=True, slots=True)
class Linear:
    """The linearised station; rows and node slopes counted upstream, `place` the reducer among them.

    Numbers may be columns, one line for each of several stations of one layout (`stacked`).
    """

    rows: tuple[Row, ...]
    storage: tuple[Number, ...]
    shunts: tuple[Number, ...]
    place: int
    tap: int
    circuit: Circuit
    area: Number
    lag: Number
    pilot_gain: Number

    def responses(
        self, s: Complex, below: Complex, above: Complex
    ) -> tuple[Complex, Complex, Complex, Complex]:
        """Return (fill, tap) for a unit stem and (fill, tap) for a unit pilot. [m³/s], [Pa]

        Parameters
        ----------
        s
            Complex frequencies. [1/s]
        below, above
            δQ/δp of the consumer main and −δp/δQ of the supply main. [m³/(s Pa)], [Pa s/m³]
        """
        left, fill, tap, _ = self._walk(s, below, above)
        outlet = -left[1:] / left[0]
        fills = fill[1:] + fill[0] * outlet
        taps = tap[1:] + tap[0] * outlet
        return fills[0], taps[0], fills[1], taps[1]

    def chamber_slope(self, s: Complex, below: Complex, above: Complex) -> Complex:
        """Return what the pressure that balances the stem gains with the stem, pilot held. [Pa/m]"""
        left, _, _, chamber = self._walk(s, below, above)
        found: Complex = chamber[1] - chamber[0] * left[1] / left[0]
        return found

    def _walk(self, s: Complex, below: Complex, above: Complex) -> tuple[Complex, Complex, Complex, Complex]:
        """Return (left over, fill, tap, chamber), each over (outlet pressure, stem, pilot)."""
        shape = np.broadcast_shapes(s.shape, below.shape, np.shape(self.area))
        basis = np.zeros((3, 3, *shape), dtype=complex)  # over (outlet pressure, stem, pilot)
        one = [basis[kind] for kind in range(3)]
        for kind in range(3):
            one[kind][kind] = 1.0
        stem, pilot = one[1], one[2]
        pressure, flow = one[0].copy(), below * one[0]
        tap = fill = balance = np.zeros_like(pressure)
        for number, row in enumerate(self.rows):
            if number == self.tap:
                tap = pressure
            if number == self.place:
                inlet, seat = self._through_reducer(row, pressure, flow, stem, pilot)
                balance = self._chamber(inlet, pressure, stem)
                taken = self.circuit.feed * (inlet - balance)
                fill = taken - (flow - seat)
                pressure, flow = inlet, seat + taken
            else:
                pressure = row.inverse * (flow - row.stem * stem) + row.passes * pressure
            flow = flow + (s * self.storage[number + 1] + self.shunts[number + 1]) * pressure
        if self.tap == len(self.rows):
            tap = pressure
        left = pressure + above * flow
        return left, fill, tap, balance

    def _chamber(self, inlet: Complex, outlet: Complex, stem: Complex) -> Complex:
        ratio = self.circuit.ratio
        return ratio * inlet + (1.0 - ratio) * outlet - self.circuit.stiffness * stem

    def _through_reducer(
        self, row: Row, outlet: Complex, flow: Complex, stem: Complex, pilot: Complex
    ) -> tuple[Complex, Complex]:
        """Return (inlet pressure, flow through the seat); `flow` is seat and drain together."""
        circuit, slope = self.circuit, 1.0 / row.inverse
        drain = circuit.drain
        known = flow - row.stem * stem + slope * row.passes * outlet - circuit.pilot * pilot
        known = known + drain * (circuit.ratio * outlet + circuit.stiffness * stem)
        inlet = known / (slope + drain * circuit.ratio)
        return inlet, row.stem * stem + slope * (inlet - row.passes * outlet)


def stacked(many: Sequence[Linear]) -> Linear:
    """Return several stations of one layout as one whose numbers are columns, a line for each."""

    def column(values: Iterable[Number]) -> NDArray[np.float64]:
        return np.array(list(values), dtype=float).reshape(-1, 1)

    first = many[0]
    return Linear(
        rows=tuple(
            Row(*(column(getattr(one.rows[place], f.name) for one in many) for f in fields(Row)))
            for place in range(len(first.rows))
        ),
        storage=tuple(column(one.storage[node] for one in many) for node in range(len(first.storage))),
        shunts=tuple(column(one.shunts[node] for one in many) for node in range(len(first.shunts))),
        place=first.place,
        tap=first.tap,
        circuit=Circuit(*(column(getattr(one.circuit, f.name) for one in many) for f in fields(Circuit))),
        area=column(one.area for one in many),
        lag=column(one.lag for one in many),
        pilot_gain=column(one.pilot_gain for one in many),
    )


def linear_of(plant: Plant, rest: Rest, reducer: str) -> Linear:
    """Return the station linearised about a steady point, one reducer's stem and pilot free.

    Raises
    ------
    InputError
        `reducer` is no pilot-operated reducer of the plan.
    """
    place = plant.rows.get(reducer, -1)
    if place < 0 or plant.kinds[place] != at.REDUCER:
        raise InputError("reducer", f"got {reducer!r}.", "Name a pilot-operated reducer of the plan.")
    value = plant.row_values[place]
    flows = seat_flows(plant, rest)
    tap = int(plant.row_links[place][at.TAP])
    opening = rest.pilots[reducer]
    is_free = isnan(value[at.STUCK]) and value[at.COCK] > 0.0 and 0.0 < opening < 1.0
    return Linear(
        rows=tuple(_row(plant, rest, row, flows[row]) for row in range(len(plant.kinds))),
        storage=tuple(float(values[at.COMPLIANCE]) for values in plant.node_values),
        shunts=tuple(_shunt(plant, rest, node) for node in range(len(plant.node_values))),
        place=place,
        tap=tap,
        circuit=_circuit(plant, rest, place, reducer),
        area=float(value[at.AREA]),
        lag=float(value[at.LAG]),
        pilot_gain=1.0 / float(value[at.BAND]) if is_free else 0.0,
    )


def seat_flows(plant: Plant, rest: Rest) -> list[float]:
    """Return the flow through each row at rest, from the row's own law. [m³/s]"""
    flows = []
    for row in range(len(plant.kinds)):
        if plant.kinds[row] in (at.LOSS, at.CHECK):
            flows.append(rest.flow)
            continue
        inlet, outlet = rest.nodes[row + 1], rest.nodes[row]
        k, _ = _coefficient(plant, row, _lift(plant, rest, row))
        flows.append(k * sqrt(max(min(inlet - outlet, _choked(plant, row, inlet)), 0.0)))
    return flows


def _lift(plant: Plant, rest: Rest, row: int) -> float:
    return next(rest.lifts[name] for name, place in plant.rows.items() if place == row)


def _choked(plant: Plant, row: int, inlet: float) -> float:
    recovery = plant.row_values[row][at.RECOVERY]
    if recovery <= 0.0:
        return inf
    return choked_differential(inlet, recovery, plant.water[at.ATMOSPHERE], plant.water[at.THROAT])


def _coefficient(plant: Plant, row: int, lift: float) -> tuple[float, float]:
    """Return (k, its slope with the stem) of a valve. [m³/(s·√Pa)], [per m]"""
    value, link = plant.row_values[row], plant.row_links[row]

    def k(share: float) -> float:
        opening = characteristic(
            share, value[at.SHAPE], plant.xs, plant.ys, link[at.CURVE], link[at.CURVE_POINTS]
        )
        return coefficient_at_opening(value[at.FULL], opening, value[at.FLOOR], value[at.LEAK])

    low, high = max(lift - NUDGE, 0.0), min(lift + NUDGE, 1.0)
    return k(lift), (k(high) - k(low)) / ((high - low) * value[at.STROKE])


def _row(plant: Plant, rest: Rest, row: int, flow: float) -> Row:
    value = plant.row_values[row]
    if plant.kinds[row] in (at.LOSS, at.CHECK):
        k = value[at.FULL]
        if plant.kinds[row] == at.LOSS:
            k = isolating_valve_coefficient(k, value[at.OPENING], value[at.POWER], value[at.FLOOR])
            k = strainer_coefficient(k, value[at.CLOGGING])
        return Row(2.0 * abs(_through(plant, rest, row)) / (k * k))
    inlet, outlet = rest.nodes[row + 1], rest.nodes[row]
    k, rise = _coefficient(plant, row, _lift(plant, rest, row))
    limit = _choked(plant, row, inlet)
    difference = max(inlet - outlet, LEAST)
    if difference < limit:
        slope = k / (2.0 * sqrt(difference))
        return Row(1.0 / slope, rise * sqrt(difference))
    slope = k * value[at.RECOVERY] ** 2 / (2.0 * sqrt(limit))
    return Row(1.0 / slope, rise * sqrt(limit), passes=0.0)


def _through(plant: Plant, rest: Rest, row: int) -> float:
    """Return the flow through a plain row: out of the station below its last valve, else into it."""
    valves = [r for r in range(len(plant.kinds)) if plant.kinds[r] >= at.REDUCER]
    return rest.outlet_flow if valves and row < valves[0] else rest.flow


def _shunt(plant: Plant, rest: Rest, node: int) -> float:
    k = plant.node_values[node][at.DRAIN]
    if k <= 0.0 or rest.nodes[node] <= 0.0:
        return 0.0
    return float(k / (2.0 * sqrt(max(rest.nodes[node], LEAST))))


def _circuit(plant: Plant, rest: Rest, row: int, name: str) -> Circuit:
    value = plant.row_values[row]
    inlet, outlet = rest.nodes[row + 1], rest.nodes[row]
    difference = inlet - outlet
    lift = rest.lifts[name]
    opening = rest.pilots[name]
    feed = series(value[at.FEED], value[at.FILTER])
    drain = pilot_coefficient(opening, value[at.PILOT], value[at.NEEDLE], value[at.TEAR])
    share = feed * feed / (feed * feed + drain * drain)
    above, below = (1.0 - share) * difference, share * difference
    low, high = max(opening - NUDGE, 0.0), opening + NUDGE
    rise = pilot_coefficient(high, value[at.PILOT], value[at.NEEDLE], value[at.TEAR])
    rise -= pilot_coefficient(low, value[at.PILOT], value[at.NEEDLE], value[at.TEAR])
    return Circuit(
        feed=feed / (2.0 * sqrt(max(above, LEAST))),
        drain=drain / (2.0 * sqrt(max(below, LEAST))),
        pilot=rise / (high - low) * sqrt(max(below, LEAST)),
        ratio=value[at.SEAT_RATIO] - value[at.FLOW_FORCE] * lift,
        stiffness=(value[at.FLOW_FORCE] * difference + value[at.SPRING_RISE]) / value[at.STROKE],
    )
