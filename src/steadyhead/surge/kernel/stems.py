"""Stems that are solved together with the station: pilot-operated and direct-acting reducers."""

from __future__ import annotations

from math import isnan, pow

from steadyhead.laws.compiling import Floats, inner_kernel, kernel
from steadyhead.laws.outlets import direct_acting_opening
from steadyhead.laws.pilot import (
    balance_pressure,
    chamber_inflow,
    closing_pressure_of_turns,
    free_stem_velocity,
    holding_pressure,
    pilot_coefficient,
    pilot_opening,
    play,
    stem_chamber_pressure,
)
from steadyhead.surge.kernel.chain import node_pressure, set_stem, solve_station
from steadyhead.surge.kernel.layout import (
    AIR_CONSTANT,
    AIR_EXPONENT,
    AIR_VOLUME,
    AREA,
    ATMOSPHERE,
    BAND,
    BLEED,
    CHAMBER,
    CLOSING,
    CLOSING_NOW,
    COCK,
    DAMPING,
    DEAD_VOLUME,
    DIRECT,
    FEEDING,
    FELT,
    FLOW_FORCE,
    FRICTION,
    LAG,
    LIFT,
    LOWEST,
    NEEDLE,
    PER_TURN,
    PILOT,
    PILOT_OPEN,
    PILOT_PLAY,
    RUNAWAY,
    SCREW,
    SCREW_PLAY,
    SEAT_RATIO,
    SENSE,
    SPEED,
    SPEED_BEFORE,
    SPRING_RISE,
    SPRING_SHUT,
    STEM_SLOPE,
    STEP,
    STROKE,
    STUCK,
    TAP,
    TAP_BEFORE,
    TEAR,
    TURNS,
    TURNS_FREE,
    VAPOUR,
    WATER,
    Chain,
    Joints,
    X,
)

SETTLED = 1e-11
"""Stems are settled within this. [m]"""
TRIES = 12
"""Secant steps before the stem is bracketed."""
FAR_ENOUGH = 1e-10
"""Two stems further apart than this tell the slope of G. [m]"""
LEAST_SLOPE = 1e-3
BRACKETS = 100
SHORTEST_LAG = 0.05
"""A direct-acting stem follows no faster than this share of a step. [1]"""
LEAST_AIR = 1e-3
"""Air keeps at least this share of its volume. [1]"""


@inner_kernel
def lagged(before: float, tap_before: float, tap: float, lag: float, step: float) -> float:
    """Return the pressure behind a sensing line after a step, trapezoidal rule. [Pa]

    Notes
    -----
    τ dp'/dt = p_tap − p'.
    """
    if lag <= 0.0:
        return tap
    half = 0.5 * step / lag
    return (before * (1.0 - half) + half * (tap_before + tap)) / (1.0 + half)


@inner_kernel
def felt_pressure(row: int, tap: float, chain: Chain, step: float) -> tuple[float, float]:
    """Return (pressure behind the lag, pressure the pilot acts on) at the end of a step. [Pa]"""
    value = chain.values[row]
    state = chain.state[row]
    sense = state[SENSE]
    if value[COCK] > 0.0:
        sense = lagged(sense, state[TAP_BEFORE], tap, value[LAG], step)
    return sense, play(state[FELT], sense, value[PILOT_PLAY])


@kernel
def turn_screw(row: int, chain: Chain) -> None:
    """Let the spring follow the screw through its play, and set the closing pressure."""
    value = chain.values[row]
    state = chain.state[row]
    if isnan(value[SCREW]):
        state[CLOSING_NOW] = value[CLOSING]
        return
    state[TURNS] = play(state[TURNS], value[SCREW], 0.5 * value[SCREW_PLAY])
    state[CLOSING_NOW] = closing_pressure_of_turns(state[TURNS], value[TURNS_FREE], value[PER_TURN])


@inner_kernel
def chamber_air(row: int, stem: float, water_in: float, chain: Chain) -> float:
    """Return the air volume in a chamber, never quite none. [m³]"""
    value = chain.values[row]
    volume = value[DEAD_VOLUME] + value[AREA] * (value[STROKE] - stem) - water_in
    return max(volume, LEAST_AIR * value[AIR_VOLUME])


@inner_kernel
def air_pressure(row: int, stem: float, water_in: float, chain: Chain, water: Floats) -> float:
    """Return the pressure of a chamber with air. [Pa]"""
    volume = chamber_air(row, stem, water_in, chain)
    exponent = chain.values[row][AIR_EXPONENT]
    return chain.state[row][AIR_CONSTANT] * pow(volume, -exponent) - water[ATMOSPHERE]


@inner_kernel
def water_after(
    row: int, stem: float, inlet: float, outlet: float, drain: float, chain: Chain, water: Floats
) -> float:
    """Return the water in a chamber with air after a step, backward Euler. [m³]

    Notes
    -----
    dW/dt = q_f − q_d at the chamber pressure of W; falls in W, so one root, by halving from two sides.
    """
    state = chain.state[row]
    step = water[STEP]
    feed = state[FEEDING]
    now = air_pressure(row, stem, state[WATER], chain, water)
    most = max(abs(inlet - outlet), abs(now - inlet), abs(now - outlet))
    reach = step * (feed + drain) * pow(most + 1.0, 0.5) + 1e-12
    low = state[WATER] - reach
    high = state[WATER] + reach
    amount = state[WATER]
    for _ in range(60):
        pressure = air_pressure(row, stem, amount, chain, water)
        off = amount - state[WATER] - step * chamber_inflow(pressure, inlet, outlet, feed, drain)
        if off > 0.0:
            high = amount
        else:
            low = amount
        next_amount = 0.5 * (low + high)
        if abs(next_amount - amount) <= 1e-15:
            break
        amount = next_amount
    return amount


@kernel
def pilot_of(row: int, felt: float, chain: Chain) -> tuple[float, float]:
    """Return (opening of a pilot, k from its chamber to the outlet)."""
    value = chain.values[row]
    opening = value[STUCK]
    if isnan(opening):
        opening = pilot_opening(felt, chain.state[row][CLOSING_NOW], value[BAND])
    return opening, pilot_coefficient(opening, value[PILOT], value[NEEDLE], value[TEAR])


@inner_kernel
def stem_speed(row: int, stem: float, head: float, chain: Chain, water: Floats) -> float:
    """Return how fast a stem at `stem` wants to move with the station as just solved. [m/s]"""
    value = chain.values[row]
    state = chain.state[row]
    vapour = water[VAPOUR]
    tap = node_pressure(chain.links[row][TAP], head, chain.march, vapour)
    inlet = node_pressure(row + 1, head, chain.march, vapour)
    outlet = node_pressure(row, head, chain.march, vapour)
    if chain.kinds[row] == DIRECT:
        felt = tap if value[COCK] > 0.0 else state[SENSE]
        wanted = direct_acting_opening(felt, state[CLOSING_NOW], value[BAND]) * value[STROKE]
        return (wanted - stem) / max(value[LAG], SHORTEST_LAG * water[STEP])
    _, felt = felt_pressure(row, tap, chain, water[STEP])
    _, drain = pilot_of(row, felt, chain)
    balance = balance_pressure(
        stem / value[STROKE],
        inlet,
        outlet,
        value[SEAT_RATIO],
        value[FLOW_FORCE],
        value[SPRING_SHUT],
        value[SPRING_RISE],
    )
    if value[AIR_VOLUME] > 0.0:
        amount = water_after(row, stem, inlet, outlet, drain, chain, water)
        push = balance - air_pressure(row, stem, amount, chain, water)
        if abs(push) <= value[FRICTION]:
            return 0.0
        push -= value[FRICTION] if push > 0.0 else -value[FRICTION]
        return value[AREA] * push / value[DAMPING]
    return free_stem_velocity(inlet, outlet, balance, value[FRICTION], state[FEEDING], drain, value[AREA])


@inner_kernel
def implicit_share(row: int, chain: Chain, step: float) -> float:
    """Return θ of a stem: ½, and 1 where it rides on air or is faster than the step."""
    value = chain.values[row]
    if value[AIR_VOLUME] > 0.0:
        return 1.0
    if chain.kinds[row] == DIRECT and value[LAG] < 2.0 * step:
        return 1.0
    return 0.5


@inner_kernel
def stem_residual(
    row: int,
    stem: float,
    found: Floats,
    chain: Chain,
    joints: Joints,
    water: Floats,
    run: Floats,
    head: float,
) -> tuple[float, float]:
    """Return (G of a stem [m], head above vapour of the station solved with it there [Pa]).

    Notes
    -----
    G(x) = x − x_n − Δt [θ v(x) + (1 − θ) v_n]; θ of `implicit_share`.
    """
    state = chain.state[row]
    set_stem(row, stem, chain)
    head = solve_station(head, found, chain, joints, water, run)
    share = implicit_share(row, chain, water[STEP])
    speed = stem_speed(row, stem, head, chain, water)
    moved = water[STEP] * (share * speed + (1.0 - share) * state[SPEED])
    return stem - state[X] - moved, head


@inner_kernel
def settle_stem(
    row: int,
    stem: float,
    found: Floats,
    chain: Chain,
    joints: Joints,
    water: Floats,
    run: Floats,
    head: float,
) -> tuple[float, float]:
    """Return (stem [m], head of the station [Pa]) of one stem with the others held."""
    lowest = chain.values[row][LOWEST] * chain.values[row][STROKE]
    highest = chain.values[row][STROKE]
    stem = min(max(stem, lowest), highest)
    value, head = stem_residual(row, stem, found, chain, joints, water, run, head)
    state = chain.state[row]
    slope = state[STEM_SLOPE]
    before = stem
    value_before = value
    for _ in range(TRIES):
        if abs(value) <= SETTLED:
            return stem, head
        if (stem <= lowest and value >= 0.0) or (stem >= highest and value <= 0.0):
            return stem, head
        if abs(stem - before) > FAR_ENOUGH:
            slope = (value - value_before) / (stem - before)
            state[STEM_SLOPE] = slope
        if not slope > LEAST_SLOPE:
            slope = 1.0
        before = stem
        value_before = value
        stem = min(max(stem - value / slope, lowest), highest)
        value, head = stem_residual(row, stem, found, chain, joints, water, run, head)
    if abs(value) <= SETTLED:
        return stem, head
    return bracketed_stem(row, lowest, highest, found, chain, joints, water, run, head)


@inner_kernel
def bracketed_stem(
    row: int,
    lowest: float,
    highest: float,
    found: Floats,
    chain: Chain,
    joints: Joints,
    water: Floats,
    run: Floats,
    head: float,
) -> tuple[float, float]:
    """Return (stem [m], head of the station [Pa]) by halving between the stops; it cannot fail."""
    value, head = stem_residual(row, lowest, found, chain, joints, water, run, head)
    if value >= 0.0:
        return lowest, head
    value, head = stem_residual(row, highest, found, chain, joints, water, run, head)
    if value <= 0.0:
        return highest, head
    low = lowest
    high = highest
    stem = 0.5 * (low + high)
    for _ in range(BRACKETS):
        stem = 0.5 * (low + high)
        value, head = stem_residual(row, stem, found, chain, joints, water, run, head)
        if abs(value) <= SETTLED or high - low <= SETTLED:
            break
        if value > 0.0:
            high = stem
        else:
            low = stem
    return stem, head


@inner_kernel
def commit_stem(row: int, stem: float, head: float, chain: Chain, water: Floats) -> None:
    """Keep stem, speed, pilot and chamber of a reducer at the end of a step."""
    value = chain.values[row]
    state = chain.state[row]
    tap = node_pressure(chain.links[row][TAP], head, chain.march, water[VAPOUR])
    speed = stem_speed(row, stem, head, chain, water)
    if not isnan(value[LIFT]) or value[RUNAWAY] > 0.0:
        speed = 0.0
    lowest = value[LOWEST] * value[STROKE]
    on_stop = stem <= lowest or stem >= value[STROKE]
    state[SPEED_BEFORE] = state[SPEED]
    state[SPEED] = 0.0 if on_stop else speed
    if chain.kinds[row] == DIRECT:
        state[TAP_BEFORE] = tap
        if value[COCK] > 0.0:
            state[SENSE] = tap
        state[X] = stem
        return
    state[SENSE], state[FELT] = felt_pressure(row, tap, chain, water[STEP])
    state[TAP_BEFORE] = tap
    state[PILOT_OPEN], state[BLEED] = pilot_of(row, state[FELT], chain)
    inlet = node_pressure(row + 1, head, chain.march, water[VAPOUR])
    outlet = node_pressure(row, head, chain.march, water[VAPOUR])
    if value[AIR_VOLUME] > 0.0:
        state[WATER] = water_after(row, stem, inlet, outlet, state[BLEED], chain, water)
        state[X] = stem
        state[CHAMBER] = air_pressure(row, stem, state[WATER], chain, water)
        return
    state[X] = stem
    state[CHAMBER] = chamber_at_rest(row, inlet, outlet, chain)
    if state[SPEED] != 0.0:
        balance = balance_pressure(
            stem / value[STROKE],
            inlet,
            outlet,
            value[SEAT_RATIO],
            value[FLOW_FORCE],
            value[SPRING_SHUT],
            value[SPRING_RISE],
        )
        state[CHAMBER] = stem_chamber_pressure(state[CHAMBER], balance, value[FRICTION])


@inner_kernel
def chamber_at_rest(row: int, inlet: float, outlet: float, chain: Chain) -> float:
    """Return the chamber pressure of a stem that does not move. [Pa]"""
    state = chain.state[row]
    return holding_pressure(inlet, outlet, state[FEEDING], state[BLEED])
