"""What the mains look like to a small, slow or fast, disturbance at the station: impedances of lines."""

from __future__ import annotations

from collections.abc import Mapping
from math import isnan, pi
from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

from steadyhead.errors import InputError
from steadyhead.laws.friction import churchill
from steadyhead.surge.path import Path
from steadyhead.surge.plan import Consumers, Pipe, Plan, Water
from steadyhead.surge.plant import STATION

Complex: TypeAlias = NDArray[np.complex128]
Number: TypeAlias = float | NDArray[np.float64]
"""One steady point, or a column of them, one below the other."""
NUDGE = 1e-5
"""Relative step of slopes taken by difference."""
FAR = 300.0
"""A wave damped by this exponent does not come back."""


class Flowing(Protocol):
    """What lines need of a steady point: flow into and out of the station, pressure at its demand."""

    @property
    def flow(self) -> Number:
        """[m³/s]"""
        ...

    @property
    def outlet_flow(self) -> Number:
        """[m³/s]"""
        ...

    @property
    def end_pressure(self) -> Number:
        """[Pa]"""
        ...

    @property
    def pipe_flows(self) -> Mapping[str, Number]:
        """By pipe, where mains branch behind the station. [m³/s]"""
        ...

    @property
    def joint_pressures(self) -> Mapping[str, Number]:
        """By joint, where they branch. [Pa]"""
        ...


def friction_rise(pipe: Pipe, flow: Number, water: Water) -> Number:
    """Return R' = d(friction slope)/dQ. [s/m³]"""
    if not pipe.has_friction:
        return 0.0
    if isinstance(flow, np.ndarray):
        return np.array([friction_rise(pipe, float(one), water) for one in flow.flat]).reshape(flow.shape)
    area = pi * pipe.bore**2 / 4.0

    def slope(q: float) -> float:
        factor = churchill(abs(q) * pipe.bore / (area * water.viscosity), pipe.roughness / pipe.bore)
        return factor * q * abs(q) / (2.0 * water.gravity * pipe.bore * area**2)

    size = max(abs(flow), 1e-9)
    return (slope(size * (1.0 + NUDGE)) - slope(size * (1.0 - NUDGE))) / (2.0 * NUDGE * size)


def line(pipe: Pipe, flow: Number, water: Water, s: Complex) -> tuple[Complex, Complex]:
    """Return (characteristic impedance [s/m²], tanh γL) of a pipe at complex frequencies `s` [1/s].

    Notes
    -----
    γ² = (s/(gA) + R')(gA s/a²), Z_c = √((s/gA + R')/(gA s/a²)).
    """
    area = pi * pipe.bore**2 / 4.0
    inertia = s / (water.gravity * area) + friction_rise(pipe, flow, water)
    storage = s * water.gravity * area / pipe.wave_speed**2
    gamma = np.sqrt(inertia * storage)
    gamma = np.where(gamma.real < 0.0, -gamma, gamma)
    bend = np.minimum(gamma.real * pipe.length, FAR) + 1j * gamma.imag * pipe.length
    return gamma / storage, np.tanh(bend)


def admittance_below(plan: Plan, path: Path, rest: Flowing, s: Complex) -> Complex:
    """Return δQ/δH looking into the consumer mains from the station. [m²/s]

    Notes
    -----
    At an end Y_e = n Q₀/H_end + s C ρ g, 0 + s C ρ g for an imposed flow; along a pipe
    Y = (Y_e + tanh γL/Z_c)/(1 + Y_e Z_c tanh γL); what meets at a joint adds up.
    """
    water = plan.water
    if not path.tree:
        found = end_admittance(path.consumers, rest.outlet_flow, rest.end_pressure, water, s)
        for pipe in path.below:
            found = _along(pipe, rest.outlet_flow, water, s, found)
        return found
    ends = {joint.id: joint for joint in plan.joints if isinstance(joint, Consumers)}
    at: dict[str, Complex] = {}
    for pipe in reversed(path.tree):
        leaving = [rest.pipe_flows[one.id] for one in path.tree if one.above == pipe.below]
        flow = rest.pipe_flows[pipe.id]
        drawn = np.asarray(flow) - sum(leaving)
        pressure = rest.joint_pressures[pipe.below]
        own = end_admittance(ends[pipe.below], drawn, pressure, water, s) + at.get(pipe.below, 0.0)
        at[pipe.above] = at.get(pipe.above, 0.0) + _along(pipe, flow, water, s, own)
    return at[STATION]


def _along(pipe: Pipe, flow: Number, water: Water, s: Complex, end: Complex) -> Complex:
    """Return δQ/δH at the upper end of a pipe with `end` at its lower one. [m²/s]"""
    impedance, bend = line(pipe, flow, water, s)
    found: Complex = (end + bend / impedance) / (1.0 + end * impedance * bend)
    return found


def end_admittance(end: Consumers, drawn: Number, pressure: Number, water: Water, s: Complex) -> Complex:
    """Return δQ/δH of consumers, zone and vessel. [m²/s]

    Notes
    -----
    Zone behind its entry: Y = sC/(1 + sC/(1/R + 1/(sL))).
    """
    weight = water.density * water.gravity
    found: Complex = s * end.elasticity * weight
    if end.entry > 0.0 and end.elasticity > 0.0:
        found = found / (1.0 + s * end.elasticity / (1.0 / end.entry + 1.0 / (s * end.inertance)))
    if isnan(end.drawn):
        head = np.asarray(pressure) / weight
        found = found + end.exponent * np.asarray(drawn) / np.where(head > 0.0, head, np.inf)
    if end.vessel is not None:
        above = pressure + water.atmosphere_abs
        found = found + s * weight * end.vessel.air / (end.vessel.exponent * above)
    if end.relief is not None and np.any(np.asarray(pressure) > end.relief.crack):
        raise InputError("relief", "is open at rest.", "Judge stability with it shut.")
    return found


def impedance_above(path: Path, flow: Number, water: Water, s: Complex) -> Complex:
    """Return −δH/δQ looking into the supply main from the station, a held head at its upper end. [s/m²]

    Notes
    -----
    A vessel on the way: Z/(1 + Z s ρ g dV/dP).
    """
    found = np.zeros_like(s)
    weight = water.density * water.gravity
    for pipe in reversed(path.above):
        impedance, bend = line(pipe, flow, water, s)
        found = impedance * (found + impedance * bend) / (impedance + found * bend)
        if pipe.below in path.vessels:
            found = found / (1.0 + found * s * weight * path.vessels[pipe.below])
    return found
