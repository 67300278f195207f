"""Closing time of a shut-off driven by line pressure: it belongs to a needle and to pressures, not to one."""

from __future__ import annotations

from math import sqrt

from steadyhead.laws.compiling import Floats, kernel
from steadyhead.laws.lift import characteristic
from steadyhead.laws.valves import choked_differential, coefficient_at_opening


@kernel
def graded_lift(index: int, intervals: int) -> float:
    """Return the lift at one node of the closing integral, crowded towards shut: ξ = (i/n)⁴."""
    share = index / intervals
    square = share * share
    return square * square


@kernel
def closing_drive(
    lift: float,
    difference: float,
    seat_ratio: float,
    flow_force: float,
    spring_shut: float,
    spring_rise: float,
) -> float:
    """Return the pressure that drives water from the inlet into the chamber of a closing shut-off [Pa].

    Parameters
    ----------
    lift
        Share of full lift. [1]
    difference
        p₁ − p₂ across the shut-off at that lift. [Pa]
    seat_ratio, flow_force, spring_shut, spring_rise
        As in `steadyhead.laws.pilot.balance_pressure`.

    Notes
    -----
    p₁ − p_eq = (1 − r(ξ)) Δp + s(ξ): wide open little more than the spring, near shut nearly the whole
    difference; it starts slowly and ends fast.
    """
    ratio = seat_ratio - flow_force * lift
    return (1.0 - ratio) * difference + spring_shut + spring_rise * lift


@kernel
def closing_integral(
    differences: Floats,
    seat_ratio: float,
    flow_force: float,
    spring_shut: float,
    spring_rise: float,
    diaphragm_area: float,
    stroke: float,
) -> float:
    """Return J of a full closing stroke; closing time is J over the needle's flow coefficient.

    Quasi-steady: each lift is passed at the pressures the station would hold there. Volumes are taken from
    the shut-off's own inlet.

    Parameters
    ----------
    differences
        p₁ − p₂ across the shut-off at the lifts of `graded_lift`, shut first; an odd count. [Pa]
    seat_ratio, flow_force, spring_shut, spring_rise
        As in `closing_drive`; the spring is above 0.
    diaphragm_area
        A_d. [m²]
    stroke
        Full lift x_m. [m]

    Returns
    -------
    float
        J. [m³/√Pa]

    Notes
    -----
    J = A_d ∫₀^xm dx/√((1 − r) Δp + s), Simpson over u with ξ = u⁴; t = J/k_needle.
    """
    intervals = len(differences) - 1
    total = 0.0
    for index in range(intervals + 1):
        lift = graded_lift(index, intervals)
        drive = closing_drive(lift, differences[index], seat_ratio, flow_force, spring_shut, spring_rise)
        share = index / intervals
        weight = 4.0 if index % 2 == 1 else 2.0
        if index == 0 or index == intervals:
            weight = 1.0
        total += weight * 4.0 * share * share * share / sqrt(drive)
    return diaphragm_area * stroke * total / (3.0 * intervals)


@kernel
def difference_with_draw(
    inlet_pressure: float,
    coefficient: float,
    draw: float,
    recovery: float,
    atmosphere_abs: float,
    throat_pressure_abs: float,
) -> float:
    """Return the difference across a valve when its inlet is held and its outlet feeds a fixed draw-off.

    Parameters
    ----------
    inlet_pressure
        Held, above 0. [Pa]
    coefficient
        k of the valve. [m³/(s·√Pa)]
    draw
        k of the draw-off to atmosphere, Q/√p₂ before the stroke. [m³/(s·√Pa)]
    recovery, atmosphere_abs, throat_pressure_abs
        As in `steadyhead.laws.valves.choked_differential`.

    Returns
    -------
    float
        p₁ − p₂. [Pa]
    """
    if draw <= 0.0:
        return 0.0
    ratio = coefficient / draw
    free = inlet_pressure / (1.0 + ratio * ratio)
    limit = choked_differential(inlet_pressure, recovery, atmosphere_abs, throat_pressure_abs)
    if free <= limit:
        return free
    return inlet_pressure - ratio * ratio * limit


@kernel
def fill_differences_on_test(
    differences: Floats,
    inlet_pressure: float,
    outlet_pressure: float,
    flow: float,
    is_outlet_held: bool,
    full: float,
    shape: float,
    floor: float,
    xs: Floats,
    ys: Floats,
    start: int,
    count: int,
    recovery: float,
    atmosphere_abs: float,
    throat_pressure_abs: float,
) -> None:
    """Fill `differences` [Pa] at the lifts of `graded_lift` for a stroke timed on site.

    Parameters
    ----------
    differences
        Row to fill, shut first. [Pa]
    inlet_pressure, outlet_pressure, flow
        Read before the stroke. [Pa], [m³/s]
    is_outlet_held
        True when another feed holds the outlet pressure.
    full, shape, floor
        k fully open, characteristic and numerical tightness of the shut-off.
    xs, ys, start, count
        Table of the characteristic, see `steadyhead.laws.lift.characteristic`.
    recovery, atmosphere_abs, throat_pressure_abs
        As in `steadyhead.laws.valves.choked_differential`.
    """
    intervals = len(differences) - 1
    draw = flow / sqrt(outlet_pressure) if outlet_pressure > 0.0 else 0.0
    for index in range(intervals + 1):
        lift = graded_lift(index, intervals)
        coefficient = coefficient_at_opening(
            full, characteristic(lift, shape, xs, ys, start, count), floor, 0.0
        )
        if is_outlet_held:
            differences[index] = max(inlet_pressure - outlet_pressure, 0.0)
        else:
            differences[index] = difference_with_draw(
                inlet_pressure, coefficient, draw, recovery, atmosphere_abs, throat_pressure_abs
            )
