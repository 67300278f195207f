"""Small-signal stability of a reducer with its real mains: how many disturbances grow, and how fast.

Uncalibrated parameters make this a band, not a verdict; the supply and consumer mains are always in it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import NDArray

from steadyhead.surge.linear import Linear, linear_of
from steadyhead.surge.lines import Complex, admittance_below, impedance_above
from steadyhead.surge.path import path_of
from steadyhead.surge.plant import Plant
from steadyhead.surge.rest import Rest

HIGHEST = 400.0
"""Circular frequency where the look along the axis ends; above it the stem only integrates. [1/s]"""
LOWEST, BEND, MIDDLE = 1e-4, 0.05, 60.0
"""Where the look begins and where its step changes: loops of a main are narrow where they matter. [1/s]"""
SLOW_LOOKS, LOOKS, FAST_LOOKS = 200, 6_000, 6_800
TURN = 0.4
"""Two neighbours on the axis whose phase differs by more get one between them. [rad]"""
HALVINGS = 14
CROSSING_HALVINGS = 45
ROOT_STEPS = 60
STANDS = 1e-12
"""Of its size: a root that moves less in a step is found."""
SAME_ROOT = 1e-5


@dataclass(frozen=True, slots=True)
class Stability:
    """What the linearised loop says at one steady point.

    Parameters
    ----------
    unstable_roots
        How many roots grow, both of a pair counted.
    growth, omega
        Of the least stable root found: growth rate [1/s], circular frequency [1/s].
    gain_margin
        Smallest 1/|L| over all crossings of −180°, below 1 where one is past it; infinite: none.
    phase_margin
        Smallest over all crossings of |L| = 1; NaN: none. [degrees]
    """

    unstable_roots: int
    growth: float
    omega: float
    gain_margin: float
    phase_margin: float


def stability(plant: Plant, rest: Rest, reducer: str) -> Stability:
    """Return the stability of a pilot-operated reducer at rest; other stems stand still.

    Small disturbances, no air in the chamber, no friction or hysteresis; one way from a reservoir to one
    place of demand.

    Parameters
    ----------
    plant
        From `steadyhead.surge.compile_plan`.
    rest
        From `steadyhead.surge.steady_rest`; the reducer neither on a stop nor with a saturated pilot, else
        its pilot is taken as held.
    reducer
        Its id.

    Raises
    ------
    InputError
        Pipes that branch.

    Notes
    -----
    χ(s) = s + (q_f − q_d)/A_d for a unit stem, pilot closed over the mains; roots in the right half plane
    N = (π/2 − Δ arg χ)/π along the axis; loop cut at the pilot for margins.
    """
    loop = Loop(plant, rest, linear_of(plant, rest, reducer))
    axis, values = _along_axis(loop.characteristic)
    turned = float(np.unwrap(np.angle(values))[-1] - np.angle(values[0]))
    count = round((np.pi / 2.0 - turned) / np.pi)
    root = _least_stable(loop.characteristic, axis, values)
    gain, phase = (np.inf, nan) if loop.linear.pilot_gain == 0.0 else _margins(axis, loop.cut_at_pilot)
    return Stability(count, root.real, abs(root.imag), gain, phase)


def growth(plant: Plant, rest: Rest, reducer: str) -> float:
    """Return the growth rate of the least stable root, as `stability` has it, without its margins. [1/s]"""
    loop = Loop(plant, rest, linear_of(plant, rest, reducer))
    axis, values = _along_axis(loop.characteristic)
    return _least_stable(loop.characteristic, axis, values).real


class Loop:
    """χ and the cut loop of one reducer at one steady point."""

    def __init__(self, plant: Plant, rest: Rest, linear: Linear) -> None:
        self.plant = plant
        self.rest = rest
        self.linear = linear
        self.path = path_of(plant.plan)

    def responses(self, s: Complex) -> tuple[Complex, Complex, Complex, Complex]:
        """Return fill [m³/s] and tap pressure [Pa] for a unit stem [m] and for a unit pilot."""
        below, above = self._mains(s)
        return self.linear.responses(s, below, above)

    def _mains(self, s: Complex) -> tuple[Complex, Complex]:
        water, weight = self.plant.plan.water, self.plant.weight
        below = admittance_below(self.plant.plan, self.path, self.rest, s) / weight
        return below, impedance_above(self.path, self.rest.flow, water, s) * weight

    def balance_slope(self, s: Complex) -> Complex:
        """Return what the pressure that balances the stem gains with the stem, pilot held. [Pa/m]"""
        below, above = self._mains(s)
        return self.linear.chamber_slope(s, below, above)

    def characteristic(self, s: Complex) -> Complex:
        """Return χ(s). [1/s]"""
        fill_x, tap_x, fill_y, tap_y = self.responses(s)
        sense = self.linear.pilot_gain / (1.0 + self.linear.lag * s)
        pilot = -tap_x * sense / (1.0 + tap_y * sense)
        found: Complex = s + (fill_x + fill_y * pilot) / self.linear.area
        return found

    def cut_at_pilot(self, s: Complex) -> Complex:
        """Return the loop gain, positive feedback at −1."""
        fill_x, tap_x, fill_y, tap_y = self.responses(s)
        stem = -fill_y / (s * self.linear.area + fill_x)
        found: Complex = (tap_x * stem + tap_y) * self.linear.pilot_gain / (1.0 + self.linear.lag * s)
        return found


def _along_axis(function: Callable[[Complex], Complex]) -> tuple[NDArray[np.float64], Complex]:
    axis = np.concatenate(
        [
            np.geomspace(LOWEST, BEND, SLOW_LOOKS)[:-1],
            np.linspace(BEND, MIDDLE, LOOKS)[:-1],
            np.linspace(MIDDLE, HIGHEST, FAST_LOOKS),
        ]
    )
    values = function(1j * axis)
    for _ in range(HALVINGS):
        turns = np.abs(np.angle(values[1:] / values[:-1]))
        wide = np.flatnonzero(turns > TURN)
        if wide.size == 0:
            break
        middle = 0.5 * (axis[wide] + axis[wide + 1])
        axis = np.insert(axis, wide + 1, middle)
        values = np.insert(values, wide + 1, function(1j * middle))
    return axis, values


def _least_stable(
    function: Callable[[Complex], Complex], axis: NDArray[np.float64], values: Complex
) -> complex:
    """Return the root with the largest growth among those near the axis."""
    size = np.abs(values)
    low = np.flatnonzero((size[1:-1] <= size[:-2]) & (size[1:-1] <= size[2:])) + 1
    seeds = 1j * axis[low]
    seeds = np.concatenate(
        [seeds, seeds + 0.3, seeds - 0.3, np.array([0.01, 0.1, 1.0, -0.05], dtype=complex)]
    )
    roots = _newton(function, np.asarray(seeds, dtype=np.complex128))
    roots = roots[np.isfinite(roots)]
    good = roots.imag > -SAME_ROOT
    good &= np.abs(function(roots)) < 1e-6 * (1.0 + np.abs(roots))
    found = roots[good]
    return complex(found[np.argmax(found.real)]) if found.size else complex(nan, nan)


def _newton(function: Callable[[Complex], Complex], roots: Complex) -> Complex:
    """Return where Newton's steps from each seed end; a root that stands still is left."""
    roots = roots.copy()
    moving = np.arange(roots.size)
    with np.errstate(all="ignore"):
        for _ in range(ROOT_STEPS):
            at = roots[moving]
            step = 1e-6 * (1.0 + np.abs(at))
            value, after, before = np.split(function(np.concatenate([at, at + step, at - step])), 3)
            move = value * 2.0 * step / (after - before)
            size = np.abs(move)
            roots[moving] = at - move * np.minimum(1.0, 0.5 / np.maximum(size, 1e-300))
            moving = moving[~(size <= STANDS * (1.0 + np.abs(at)))]
            if moving.size == 0:
                break
    return roots


def _margins(axis: NDArray[np.float64], loop: Callable[[Complex], Complex]) -> tuple[float, float]:
    """Return (gain margin, phase margin [degrees]) over all crossings, each found to its last digits."""
    gain, phase = np.inf, nan
    real_axis = loop(_points(_crossings(axis, lambda w: loop(_points(w)).imag)))
    below = real_axis.real[real_axis.real < 0.0]
    if below.size:
        gain = float(np.min(-1.0 / below))
    unit = loop(_points(_crossings(axis, lambda w: np.abs(loop(_points(w))) - 1.0)))
    if unit.size:
        phase = float(np.min(np.abs(np.degrees(np.angle(-unit)))))
    return gain, phase


def _points(axis: NDArray[np.float64]) -> Complex:
    return np.asarray(1j * axis, dtype=np.complex128)


def _crossings(
    axis: NDArray[np.float64], function: Callable[[NDArray[np.float64]], NDArray[np.float64]]
) -> NDArray[np.float64]:
    """Return where a function of the axis changes its sign, by halving between neighbours."""
    is_low = np.signbit(function(axis))
    places = np.flatnonzero(is_low[1:] != is_low[:-1])
    left, right, sign = axis[places], axis[places + 1], is_low[places]
    for _ in range(CROSSING_HALVINGS):
        middle = 0.5 * (left + right)
        same = np.signbit(function(middle)) == sign
        left, right = np.where(same, middle, left), np.where(same, right, middle)
    return 0.5 * (left + right)
