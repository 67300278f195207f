"""What each valve does once pressures and flows are known: lift, chamber, indices, state."""

from __future__ import annotations

from math import isnan, nan

from steadyhead.hydraulics.kernel.elements import (
    direct_lift,
    fixed_lift,
    lift_passing,
    reducer_circuit,
    reducer_lift,
    reducer_pilot,
    sensed_pressure,
)
from steadyhead.hydraulics.kernel.layout import (
    ATMOSPHERE,
    BACKWARD,
    BLOCKED,
    CANNOT_SHUT,
    CLOSING,
    CREEPING,
    DIRECT,
    GIVEN,
    HOLDING,
    INCIPIENT,
    INCIPIENT_CURVE,
    INCIPIENT_POINTS,
    LIFT,
    LOCKED_UP,
    LOWEST,
    OUT_BLEED,
    OUT_CHAMBER,
    OUT_CHOKED,
    OUT_INCIPIENT,
    OUT_LIFT,
    OUT_PILOT,
    OUT_RATIO,
    OUT_SENSED,
    OUT_SIGMA_INLET,
    OUT_SIGMA_OUTLET,
    OUT_STATE,
    OUT_WIDTH,
    RATCHETING,
    RECOVERY,
    REDUCER,
    SHUT,
    STANDING_OPEN,
    STUCK,
    THROAT,
    TRAPPED,
    VALVE,
    VAPOUR,
    WIDE_OPEN,
    Elements,
)
from steadyhead.hydraulics.kernel.standing import always_passes
from steadyhead.laws.cavitation import differential_ratio, sigma_inlet, sigma_outlet
from steadyhead.laws.compiling import Floats, FloatTable, Integers, inner_kernel, kernel
from steadyhead.laws.lift import interpolate
from steadyhead.laws.valves import choked_differential, signed_root

PILOT_SHUT = 1e-9  # pilot opening below which it counts as shut: rounding of pressures
ON_SEAT = 1e-9  # lift above its seat below which a stem counts as seated: rounding


@inner_kernel
def flowing_state(kind: int, value: Floats, lift: float, pilot: float) -> int:
    """Return the state of a reducer that passes water, an index of STATES."""
    if kind == REDUCER and value[BLOCKED] > 0.0:
        return RATCHETING
    if not isnan(value[LIFT]):
        return GIVEN
    if lift <= value[LOWEST] + ON_SEAT:
        return SHUT
    if lift >= 1.0 or pilot >= 1.0:
        return WIDE_OPEN
    if kind == REDUCER and pilot <= PILOT_SHUT:
        return CANNOT_SHUT
    return HOLDING


@inner_kernel
def still_state(kind: int, value: Floats, pilot: float) -> int:
    """Return the state of a reducer that passes no water, an index of STATES."""
    if kind == REDUCER and value[BLOCKED] > 0.0:
        return RATCHETING
    if not isnan(value[LIFT]):
        return GIVEN
    if always_passes(kind, value):
        return CREEPING
    if not isnan(value[TRAPPED]):
        return CREEPING if value[TRAPPED] < value[CLOSING] else SHUT
    if value[STUCK] == 0.0 or isnan(pilot):
        return SHUT
    return LOCKED_UP if pilot <= PILOT_SHUT else STANDING_OPEN


@inner_kernel
def fill_indices(
    value: Floats,
    link: Integers,
    lift: float,
    inlet: float,
    outlet: float,
    conditions: Floats,
    xs: Floats,
    ys: Floats,
    outcome: Floats,
) -> None:
    """Write the cavitation indices of one valve; choked and incipient speak of the pressures alone."""
    atmosphere = conditions[ATMOSPHERE]
    vapour = conditions[VAPOUR]
    ratio = differential_ratio(inlet, outlet, atmosphere, vapour)
    onset = value[INCIPIENT]
    if link[INCIPIENT_POINTS] > 0:
        onset = interpolate(lift, xs, ys, link[INCIPIENT_CURVE], link[INCIPIENT_POINTS])
    limit = choked_differential(inlet, value[RECOVERY], atmosphere, conditions[THROAT])
    outcome[OUT_RATIO] = ratio
    outcome[OUT_SIGMA_INLET] = sigma_inlet(inlet, outlet, atmosphere, vapour)
    outcome[OUT_SIGMA_OUTLET] = sigma_outlet(inlet, outlet, atmosphere, vapour)
    outcome[OUT_CHOKED] = 1.0 if inlet > outlet and inlet - outlet >= limit else 0.0
    outcome[OUT_INCIPIENT] = 1.0 if ratio >= onset else 0.0


@inner_kernel
def fill_reducer(
    value: Floats,
    link: Integers,
    inlet: float,
    outlet: float,
    flow: float,
    nodes: Floats,
    xs: Floats,
    ys: Floats,
    outcome: Floats,
) -> None:
    """Write lift, pilot, chamber, bleed and state of one pilot-operated reducer."""
    sensed = sensed_pressure(value, link, nodes)
    pilot = reducer_pilot(value, sensed)
    share, bleed = reducer_circuit(value, pilot)
    difference = inlet - outlet
    if flow != 0.0:
        lift = reducer_lift(value, difference, share)
        if flow > 0.0:
            state = flowing_state(REDUCER, value, lift, pilot)
        else:
            state = BACKWARD
            lift = lift_passing(-flow, max(-difference, 0.0), lift, bleed, value, link, xs, ys)
        outcome[OUT_BLEED] = bleed * signed_root(difference)
    else:
        lift = fixed_lift(value)
        if isnan(lift):
            lift = value[LOWEST]
        state = still_state(REDUCER, value, pilot)
        outcome[OUT_BLEED] = 0.0
    outcome[OUT_LIFT] = lift
    outcome[OUT_PILOT] = pilot
    outcome[OUT_CHAMBER] = outlet + share * difference
    outcome[OUT_STATE] = float(state)
    outcome[OUT_SENSED] = sensed


@inner_kernel
def fill_direct(value: Floats, link: Integers, flow: float, nodes: Floats, outcome: Floats) -> None:
    """Write lift and state of one direct-acting reducer."""
    sensed = sensed_pressure(value, link, nodes)
    lift = direct_lift(value, sensed)
    if flow < 0.0:
        state = BACKWARD
    elif flow > 0.0:
        state = flowing_state(DIRECT, value, lift, lift)
    else:
        state = still_state(DIRECT, value, lift - value[LOWEST])
    outcome[OUT_LIFT] = lift
    outcome[OUT_STATE] = float(state)
    outcome[OUT_SENSED] = sensed


@kernel
def fill_outcomes(
    line: Elements, conditions: Floats, nodes: Floats, flows: Floats, outcomes: FloatTable
) -> None:
    """Write what every valve does, one row of `outcomes` per element; NaN for what does not apply.

    Parameters
    ----------
    line, conditions
        See `steadyhead.hydraulics.kernel.layout`.
    nodes, flows
        Solved. [Pa], [m³/s]
    outcomes
        Written, shape (elements, OUT_WIDTH).
    """
    for row in range(len(line.kinds)):
        outcome = outcomes[row]
        for column in range(OUT_WIDTH):
            outcome[column] = nan
        kind = line.kinds[row]
        if kind != VALVE and kind != REDUCER and kind != DIRECT:
            continue
        value = line.values[row]
        link = line.links[row]
        inlet = nodes[row + 1]
        outlet = nodes[row]
        if kind == REDUCER:
            fill_reducer(value, link, inlet, outlet, flows[row], nodes, line.xs, line.ys, outcome)
        elif kind == DIRECT:
            fill_direct(value, link, flows[row], nodes, outcome)
        else:
            outcome[OUT_LIFT] = value[LIFT]
            outcome[OUT_STATE] = float(GIVEN)
        fill_indices(value, link, outcome[OUT_LIFT], inlet, outlet, conditions, line.xs, line.ys, outcome)
