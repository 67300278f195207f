"""One reducer on its own: what it does at a given flow and inlet pressure, without mains or station."""

from __future__ import annotations

from math import isnan, nan, sqrt

from steadyhead.hydraulics.kernel.elements import (
    TINY,
    reducer_circuit,
    reducer_lift,
    reducer_pilot,
    valve_coefficient,
)
from steadyhead.hydraulics.kernel.layout import (
    ATMOSPHERE,
    INCIPIENT,
    INCIPIENT_CURVE,
    INCIPIENT_POINTS,
    RECOVERY,
    STUCK,
    THROAT,
    VAPOUR,
)
from steadyhead.laws.bracket import next_share
from steadyhead.laws.cavitation import differential_ratio
from steadyhead.laws.compiling import Floats, FloatTable, Integers, inner_kernel, kernel
from steadyhead.laws.lift import interpolate
from steadyhead.laws.valves import choked_differential

# What a reducer on its own can do at a point, index and word; the first that applies from the top.
CANNOT_HOLD = 0  # as open as it can be, outlet below what the pilot asks for
CHOKED = 1
CAVITATING = 2  # x_F at or above x_Fz
LOW_FLOW = 3  # lift below the least controllable
HOLDS = 4
VERDICTS = ("cannot hold", "choked", "cavitating", "low flow", "holds")

# Columns of a point.
POINT_VERDICT = 0  # index of VERDICTS
POINT_LIFT = 1  # [1]
POINT_OUTLET = 2  # NaN where not even a boiling outlet draws that flow [Pa]
POINT_RATIO = 3  # x_F [1]
POINT_PILOT = 4  # y [1]
POINT_WIDTH = 5

SEARCH_STEPS = 200
FIRST_STEP = 1e4  # [Pa]


@inner_kernel
def seat_flow(
    outlet: float, inlet: float, value: Floats, link: Integers, conditions: Floats, xs: Floats, ys: Floats
) -> float:
    """Return the flow past the seat of a reducer that senses its own outlet; falls as the outlet rises."""
    difference = inlet - outlet
    if difference <= 0.0:
        return 0.0
    share, _ = reducer_circuit(value, reducer_pilot(value, outlet))
    lift = reducer_lift(value, difference, share)
    limit = choked_differential(inlet, value[RECOVERY], conditions[ATMOSPHERE], conditions[THROAT])
    return valve_coefficient(value, link, lift, xs, ys) * sqrt(min(difference, limit))


@inner_kernel
def outlet_of_flow(
    flow: float, inlet: float, value: Floats, link: Integers, conditions: Floats, xs: Floats, ys: Floats
) -> float:
    """Return the outlet pressure [Pa] at which `flow` [m³/s] passes the seat; NaN if none does.

    `flow` is the flow past the seat, without the little that runs through the pilot.
    """
    bottom = conditions[VAPOUR] - conditions[ATMOSPHERE]
    near = inlet
    f_near = -flow
    far = inlet
    f_far = -flow
    step = FIRST_STEP
    while f_far < 0.0:
        if far <= bottom:
            return nan
        near = far
        f_near = f_far
        far = max(far - step, bottom)
        step *= 2.0
        f_far = seat_flow(far, inlet, value, link, conditions, xs, ys) - flow
    third = far
    f_third = f_far
    share = 0.5
    for _ in range(SEARCH_STEPS):
        width = abs(far - near)
        scale = max(abs(near), abs(far))
        if f_near == 0.0 or width <= 2.0 * TINY * scale:
            break
        trial = near + share * (far - near)
        f_trial = seat_flow(trial, inlet, value, link, conditions, xs, ys) - flow
        if (f_trial >= 0.0) == (f_near >= 0.0):
            third = near
            f_third = f_near
        else:
            third = far
            f_third = f_far
            far = near
            f_far = f_near
        near = trial
        f_near = f_trial
        width = max(abs(far - near), TINY * scale)
        share = next_share(near, far, third, f_near, f_far, f_third, min(TINY * scale / width, 0.5))
    return near if abs(f_near) <= abs(f_far) else far


@inner_kernel
def fill_point(
    flow: float,
    inlet: float,
    least_lift: float,
    value: Floats,
    link: Integers,
    conditions: Floats,
    xs: Floats,
    ys: Floats,
    point: Floats,
) -> None:
    """Write what a reducer on its own does at one flow and inlet pressure.

    Parameters
    ----------
    flow
        Past the seat, above 0. [m³/s]
    inlet
        [Pa]
    least_lift
        Lift below which it is not expected to control. [1]
    value, link, conditions, xs, ys
        See `steadyhead.hydraulics.kernel.layout`; its closing pressure is felt at its own outlet.
    point
        Written, columns POINT_…
    """
    outlet = outlet_of_flow(flow, inlet, value, link, conditions, xs, ys)
    point[POINT_OUTLET] = outlet
    if isnan(outlet):
        point[POINT_VERDICT] = float(CANNOT_HOLD)
        point[POINT_LIFT] = 1.0
        point[POINT_RATIO] = nan
        point[POINT_PILOT] = 1.0 if isnan(value[STUCK]) else value[STUCK]
        return
    pilot = reducer_pilot(value, outlet)
    share, _ = reducer_circuit(value, pilot)
    difference = inlet - outlet
    lift = reducer_lift(value, difference, share)
    ratio = differential_ratio(inlet, outlet, conditions[ATMOSPHERE], conditions[VAPOUR])
    onset = value[INCIPIENT]
    if link[INCIPIENT_POINTS] > 0:
        onset = interpolate(lift, xs, ys, link[INCIPIENT_CURVE], link[INCIPIENT_POINTS])
    limit = choked_differential(inlet, value[RECOVERY], conditions[ATMOSPHERE], conditions[THROAT])
    verdict = HOLDS
    if lift >= 1.0 or pilot >= 1.0:
        verdict = CANNOT_HOLD
    elif difference >= limit:
        verdict = CHOKED
    elif ratio >= onset:
        verdict = CAVITATING
    elif lift < least_lift:
        verdict = LOW_FLOW
    point[POINT_VERDICT] = float(verdict)
    point[POINT_LIFT] = lift
    point[POINT_RATIO] = ratio
    point[POINT_PILOT] = pilot


@inner_kernel
def fill_map(
    flows: Floats,
    inlets: Floats,
    least_lift: float,
    value: Floats,
    link: Integers,
    conditions: Floats,
    xs: Floats,
    ys: Floats,
    points: FloatTable,
) -> None:
    """Write the points of a capacity map, inlet pressures outside, flows inside; see `fill_point`."""
    index = 0
    for inlet in inlets:
        for flow in flows:
            fill_point(flow, inlet, least_lift, value, link, conditions, xs, ys, points[index])
            index += 1


@kernel
def fill_pairs(
    flows: Floats,
    inlets: Floats,
    least_lift: float,
    value: Floats,
    link: Integers,
    conditions: Floats,
    xs: Floats,
    ys: Floats,
    points: FloatTable,
) -> None:
    """Write one point for each pair of flow and inlet pressure; see `fill_point`."""
    for index in range(len(flows)):
        fill_point(flows[index], inlets[index], least_lift, value, link, conditions, xs, ys, points[index])
