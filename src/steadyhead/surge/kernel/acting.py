"""Valves that act between two node solves: shut-offs with their snap pilots, check valves."""

from __future__ import annotations

from math import isnan, sqrt

from steadyhead.laws.compiling import Floats, inner_kernel
from steadyhead.laws.pilot import balance_pressure
from steadyhead.surge.kernel.chain import node_pressure
from steadyhead.surge.kernel.layout import (
    AREA,
    CHAMBER,
    CHECK,
    CLOSE_NEEDLE,
    CLOSE_TIME,
    COCK,
    FLOW_FORCE,
    HYDRAULIC,
    LAG,
    LIFT,
    LOWEST,
    M_FLOW,
    NOW,
    OPEN_TIME,
    RELEASE,
    RESET_AT,
    SEAT_RATIO,
    SENSE,
    SHUT_OFF,
    SPEED,
    SPRING_RISE,
    SPRING_SHUT,
    STROKE,
    SWITCH,
    SWITCH_BREAKS,
    SWITCH_MAKES,
    T_CLOSED,
    T_SWITCH,
    T_TRIP,
    TAP,
    TAP_BEFORE,
    TRIP,
    TRIP_AT,
    TRIPPED,
    TRIPS,
    VAPOUR,
    VENT,
    Chain,
    X,
)
from steadyhead.surge.kernel.stems import lagged

AT_ONCE = 1e-9
"""Times closer than this are the same time. [s]"""

AT_STOP = 1e-12
"""A stem this near its seat is on it. [1]"""


@inner_kernel
def shut_off_speed(row: int, chain: Chain) -> float:
    """Return how fast a shut-off moves, with pressures of the last level. [m/s]

    Notes
    -----
    Timed: −x_m/t_close tripped, +x_m/t_open released. By line pressure: −k_close √(p₁ − p_c)/A_d tripped,
    +k_vent √(p_c − p₂)/A_d released, p_c = p_eq.
    """
    value = chain.values[row]
    state = chain.state[row]
    tripped = state[TRIPPED] > 0.0
    if value[HYDRAULIC] <= 0.0:
        return -value[STROKE] / value[CLOSE_TIME] if tripped else value[STROKE] / value[OPEN_TIME]
    inlet = chain.node_state[row + 1][NOW]
    outlet = chain.node_state[row][NOW]
    chamber = balance_pressure(
        state[X] / value[STROKE],
        inlet,
        outlet,
        value[SEAT_RATIO],
        value[FLOW_FORCE],
        value[SPRING_SHUT],
        value[SPRING_RISE],
    )
    state[CHAMBER] = chamber
    if tripped:
        return -value[CLOSE_NEEDLE] * sqrt(max(inlet - chamber, 0.0)) / value[AREA]
    return value[VENT] * sqrt(max(chamber - outlet, 0.0)) / value[AREA]


@inner_kernel
def move_shut_off(row: int, chain: Chain, step: float) -> None:
    """Move a shut-off over one step: straight where timed, by the last two speeds where line pressure drives.

    Notes
    -----
    Adams–Bashforth, x + Δt (1.5 v_n − 0.5 v_{n−1}), and never against v_n: what presses it on its seat and
    then lets go does not lift it off.
    """
    value = chain.values[row]
    state = chain.state[row]
    if not isnan(value[LIFT]):
        state[X] = value[LIFT] * value[STROKE]
        return
    speed = shut_off_speed(row, chain)
    before = state[SPEED]
    if value[HYDRAULIC] <= 0.0 or isnan(before) or before * speed < 0.0:
        before = speed
    moved = step * (1.5 * speed - 0.5 * before)
    if moved * speed <= 0.0:
        moved = 0.0
    stem = state[X] + moved
    state[SPEED] = speed
    if stem < AT_STOP * value[STROKE]:
        stem = 0.0
    state[X] = min(max(stem, value[LOWEST] * value[STROKE]), value[STROKE])


@inner_kernel
def by_hand(at: float, now: float, step: float) -> bool:
    """Return whether a stated moment falls into the step that ends now."""
    return not isnan(at) and now - step + AT_ONCE < at <= now + AT_ONCE


@inner_kernel
def judge_shut_off(row: int, head: float, chain: Chain, water: Floats, now: float, step: float) -> None:
    """Advance the sensing line and the snap pilot of a shut-off, its limit switch and its clock."""
    value = chain.values[row]
    state = chain.state[row]
    tap = node_pressure(chain.links[row][TAP], head, chain.march, water[VAPOUR])
    if value[COCK] > 0.0:
        state[SENSE] = lagged(state[SENSE], state[TAP_BEFORE], tap, value[LAG], step)
    state[TAP_BEFORE] = tap
    falls = state[TRIPPED] > 0.0 and not isnan(value[RELEASE]) and state[SENSE] <= value[RELEASE]
    if falls or by_hand(value[RESET_AT], now, step):
        state[TRIPPED] = 0.0
    if state[TRIPPED] <= 0.0 and (state[SENSE] >= value[TRIP] or by_hand(value[TRIP_AT], now, step)):
        state[TRIPPED] = 1.0
        state[TRIPS] += 1.0
        if isnan(state[T_TRIP]):
            state[T_TRIP] = now
    share = state[X] / value[STROKE]
    if share <= value[SWITCH_MAKES]:
        state[SWITCH] = 1.0
    elif share >= value[SWITCH_BREAKS]:
        state[SWITCH] = 0.0
    if isnan(state[T_TRIP]):
        return
    if isnan(state[T_SWITCH]) and state[SWITCH] > 0.0:
        state[T_SWITCH] = now
    if isnan(state[T_CLOSED]) and state[X] <= 0.0:
        state[T_CLOSED] = now


@inner_kernel
def judge_check(row: int, chain: Chain, step: float) -> None:
    """Let a check valve fall towards its seat while water runs back, and open when it runs on."""
    value = chain.values[row]
    state = chain.state[row]
    if chain.march[row][M_FLOW] > 0.0:
        state[X] = 1.0
    elif value[CLOSE_TIME] > 0.0:
        state[X] = max(state[X] - step / value[CLOSE_TIME], 0.0)
    else:
        state[X] = 0.0


@inner_kernel
def move_before(chain: Chain, step: float) -> None:
    """Move what acts on its own before the node is solved."""
    for row in range(len(chain.kinds)):
        if chain.kinds[row] == SHUT_OFF:
            move_shut_off(row, chain, step)


@inner_kernel
def judge_after(head: float, chain: Chain, water: Floats, now: float, step: float) -> None:
    """Judge what acts on its own after the node is solved."""
    for row in range(len(chain.kinds)):
        if chain.kinds[row] == SHUT_OFF:
            judge_shut_off(row, head, chain, water, now, step)
        elif chain.kinds[row] == CHECK:
            judge_check(row, chain, step)
