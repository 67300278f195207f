"""What each element asks for: inlet pressure from flow and outlet pressure, p₁ = f(Q, p₂)."""

from __future__ import annotations

from math import isnan, sqrt

from steadyhead.hydraulics.kernel.layout import (
    ATMOSPHERE,
    BAND,
    BLOCKED,
    CHECK,
    CLOSING,
    CURVE,
    CURVE_POINTS,
    DENSITY,
    DIAMETER,
    DIRECT,
    DRAIN,
    FEED,
    FLOOR,
    FLOW_FORCE,
    FULL,
    GRAVITY,
    LEAK,
    LENGTH,
    LIFT,
    LOSS,
    LOWEST,
    NEEDLE,
    PILOT,
    PIPE,
    RECOVERY,
    REDUCER,
    RELIEF,
    RISE,
    ROUGHNESS,
    SEAT_RATIO,
    SHAPE,
    SPRING_RISE,
    SPRING_SHUT,
    STUCK,
    TAP,
    TEAR,
    THROAT,
    TRAPPED,
    VALVE,
    VISCOSITY,
)
from steadyhead.laws.bracket import next_share
from steadyhead.laws.compiling import Floats, Integers, inner_kernel, kernel
from steadyhead.laws.friction import pipe_drop
from steadyhead.laws.lift import characteristic, interpolate
from steadyhead.laws.outlets import direct_acting_opening, drain_flow, relief_opening
from steadyhead.laws.pilot import (
    balanced_lift,
    balanced_lift_back,
    holding_share,
    pilot_coefficient,
    pilot_opening,
)
from steadyhead.laws.valves import (
    choked_differential,
    coefficient_at_opening,
    loss_inlet_pressure,
    series,
    valve_inlet_pressure,
)

SEARCH_STEPS = 200
SAME_FLOW = 1e-9
TINY = 4.5e-16  # two units in the last place of 1


@inner_kernel
def sensed_pressure(value: Floats, link: Integers, nodes: Floats) -> float:
    """Return what a reducer's pilot feels [Pa]: its tap, or the pressure trapped in its shut line."""
    if isnan(value[TRAPPED]):
        return nodes[link[TAP]]
    return value[TRAPPED]


@inner_kernel
def reducer_pilot(value: Floats, sensed: float) -> float:
    """Return the opening of a reducer's pilot, held or free; NaN where it senses what is not known. [1]"""
    if isnan(value[STUCK]):
        if isnan(sensed):
            return sensed
        return pilot_opening(sensed, value[CLOSING], value[BAND])
    return value[STUCK]


@inner_kernel
def valve_coefficient(value: Floats, link: Integers, lift: float, xs: Floats, ys: Floats) -> float:
    """Return k of a valve at a share of lift, floor and leak included. [m³/(s·√Pa)]"""
    opening = characteristic(lift, value[SHAPE], xs, ys, link[CURVE], link[CURVE_POINTS])
    return coefficient_at_opening(value[FULL], opening, value[FLOOR], value[LEAK])


@inner_kernel
def fixed_lift(value: Floats) -> float:
    """Return the lift of a reducer whose stem does not follow its pilot, or NaN where it does. [1]"""
    if value[BLOCKED] > 0.0:
        return 1.0
    if isnan(value[LIFT]):
        return value[LIFT]
    return max(value[LIFT], value[LOWEST])


@inner_kernel
def reducer_lift(value: Floats, difference: float, share: float) -> float:
    """Return the lift of a reducer at a pressure difference: given, or where its stem balances. [1]

    A difference below 0 stands for water that runs back.
    """
    given = fixed_lift(value)
    if not isnan(given):
        return given
    if difference < 0.0:
        return balanced_lift_back(
            -difference,
            share,
            value[SEAT_RATIO],
            value[FLOW_FORCE],
            value[SPRING_SHUT],
            value[SPRING_RISE],
            value[LOWEST],
        )
    return balanced_lift(
        difference,
        share,
        value[SEAT_RATIO],
        value[FLOW_FORCE],
        value[SPRING_SHUT],
        value[SPRING_RISE],
        value[LOWEST],
    )


@inner_kernel
def reducer_flow(
    root: float,
    way: float,
    outlet: float,
    share: float,
    bleed: float,
    value: Floats,
    link: Integers,
    conditions: Floats,
    xs: Floats,
    ys: Floats,
) -> float:
    """Return the flow of a reducer whose pressure difference is `root` squared; rises with it.

    Seat and pilot circuit together, taken positive; `way` is 1 downstream and −1 back. [m³/s]
    """
    difference = root * root
    if way < 0.0:
        lift = reducer_lift(value, -difference, share)
        return (valve_coefficient(value, link, lift, xs, ys) + bleed) * root
    lift = reducer_lift(value, difference, share)
    limit = choked_differential(
        outlet + difference, value[RECOVERY], conditions[ATMOSPHERE], conditions[THROAT]
    )
    seat = valve_coefficient(value, link, lift, xs, ys) * sqrt(min(difference, limit))
    return seat + bleed * root


@inner_kernel
def reducer_root(
    flow: float,
    way: float,
    outlet: float,
    share: float,
    bleed: float,
    value: Floats,
    link: Integers,
    conditions: Floats,
    xs: Floats,
    ys: Floats,
) -> float:
    """Return √|p₁ − p₂| of a reducer passing `flow` [m³/s] > 0 with its pilot where it stands. [√Pa]"""
    low = flow / (value[FULL] + value[LEAK] + bleed)
    f_low = reducer_flow(low, way, outlet, share, bleed, value, link, conditions, xs, ys) - flow
    if f_low >= 0.0:
        return low
    high = low
    f_high = f_low
    factor = 2.0
    for _ in range(SEARCH_STEPS):
        high = low * factor
        f_high = reducer_flow(high, way, outlet, share, bleed, value, link, conditions, xs, ys) - flow
        if f_high >= 0.0:
            break
        low = high
        f_low = f_high
        factor = min(factor * factor, 1e4)
    near = high
    f_near = f_high
    far = low
    f_far = f_low
    third = far
    f_third = f_far
    step = 0.5
    if f_near != f_far:
        step = min(max(f_near / (f_near - f_far), 0.1), 0.9)
    for _ in range(SEARCH_STEPS):
        trial = near + step * (far - near)
        f_trial = reducer_flow(trial, way, outlet, share, bleed, value, link, conditions, xs, ys) - flow
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
        width = abs(far - near)
        if abs(f_near) <= TINY * flow or width <= 2.0 * TINY * abs(near):
            break
        step = next_share(near, far, third, f_near, f_far, f_third, TINY * abs(near) / width)
    return near if abs(f_near) <= abs(f_far) else far


@inner_kernel
def lift_passing(
    flow: float,
    difference: float,
    lift: float,
    bleed: float,
    value: Floats,
    link: Integers,
    xs: Floats,
    ys: Floats,
) -> float:
    """Return the lift at which a reducer passes a flow back at p₂ − p₁ = `difference`. [1]

    It is `lift`, but where its seat is just pushed off: there one difference belongs to many lifts.
    """
    root = sqrt(difference)
    low = lift
    high = 1.0
    if (valve_coefficient(value, link, low, xs, ys) + bleed) * root >= flow * (1.0 - SAME_FLOW):
        return low
    for _ in range(SEARCH_STEPS):
        middle = 0.5 * (low + high)
        if middle <= low or middle >= high:
            break
        if (valve_coefficient(value, link, middle, xs, ys) + bleed) * root < flow:
            low = middle
        else:
            high = middle
    return high


@inner_kernel
def reducer_circuit(value: Floats, pilot: float) -> tuple[float, float]:
    """Return (share of the difference standing in the chamber, k of the pilot circuit)."""
    drain = pilot_coefficient(pilot, value[PILOT], value[NEEDLE], value[TEAR])
    return holding_share(value[FEED], drain), series(value[FEED], drain)


@inner_kernel
def direct_coefficient(value: Floats, link: Integers, sensed: float, xs: Floats, ys: Floats) -> float:
    """Return k of a direct-acting reducer at a sensed pressure. [m³/(s·√Pa)]"""
    return valve_coefficient(value, link, direct_lift(value, sensed), xs, ys)


@inner_kernel
def direct_lift(value: Floats, sensed: float) -> float:
    """Return the lift of a direct-acting reducer at a sensed pressure, not below its seat. [1]"""
    if not isnan(value[LIFT]):
        return max(value[LIFT], value[LOWEST])
    if isnan(sensed):
        return value[LOWEST]
    return max(direct_acting_opening(sensed, value[CLOSING], value[BAND]), value[LOWEST])


@inner_kernel
def relief_flow(value: Floats, link: Integers, pressure: float, xs: Floats, ys: Floats) -> float:
    """Return what a relief valve lets off at a joint pressure. [m³/s]"""
    if link[CURVE_POINTS] > 0:
        opening = interpolate(pressure, xs, ys, link[CURVE], link[CURVE_POINTS])
    else:
        opening = relief_opening(pressure, value[CLOSING], value[CLOSING] + value[BAND])
    return drain_flow(pressure, value[FULL] * opening)


@kernel
def shunt_flow(kind: int, value: Floats, link: Integers, pressure: float, xs: Floats, ys: Floats) -> float:
    """Return the flow that leaves the line at a joint: drain or relief; 0 for every other kind. [m³/s]"""
    if kind == DRAIN:
        return drain_flow(pressure, value[FULL])
    if kind == RELIEF:
        return relief_flow(value, link, pressure, xs, ys)
    return 0.0


@inner_kernel
def inlet_pressure(
    kind: int,
    value: Floats,
    link: Integers,
    flow: float,
    outlet: float,
    nodes: Floats,
    conditions: Floats,
    xs: Floats,
    ys: Floats,
) -> float:
    """Return the inlet pressure [Pa] of one element; continuous, never falls with flow or outlet pressure.

    Parameters
    ----------
    kind, value, link
        The element; see `steadyhead.hydraulics.kernel.layout`.
    flow
        Through it; below 0 where water runs back. [m³/s]
    outlet
        Outlet pressure. [Pa]
    nodes
        Node pressures; all downstream of the element are known. [Pa]
    conditions, xs, ys
        Conditions of the solve; all tables end to end.
    """
    if kind == LOSS:
        return loss_inlet_pressure(flow, outlet, value[FULL])
    if kind == PIPE:
        drop = pipe_drop(
            flow,
            value[LENGTH],
            value[DIAMETER],
            value[ROUGHNESS],
            conditions[DENSITY],
            conditions[VISCOSITY],
        )
        return outlet + drop + conditions[DENSITY] * conditions[GRAVITY] * value[RISE]
    if kind == REDUCER:
        if flow == 0.0:
            return outlet
        share, bleed = reducer_circuit(value, reducer_pilot(value, sensed_pressure(value, link, nodes)))
        way = 1.0 if flow > 0.0 else -1.0
        root = reducer_root(abs(flow), way, outlet, share, bleed, value, link, conditions, xs, ys)
        return outlet + way * root * root
    if kind == CHECK:
        return loss_inlet_pressure(flow, outlet, value[FULL] * (value[FLOOR] if flow < 0.0 else 1.0))
    if kind == VALVE:
        coefficient = valve_coefficient(value, link, value[LIFT], xs, ys)
    elif kind == DIRECT:
        coefficient = direct_coefficient(value, link, sensed_pressure(value, link, nodes), xs, ys)
    else:
        return outlet
    return valve_inlet_pressure(
        flow, outlet, coefficient, value[RECOVERY], conditions[ATMOSPHERE], conditions[THROAT]
    )
