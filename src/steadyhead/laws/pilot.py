"""Pilot circuit of a reducer: feed, chamber, pilot, screw; one chamber above the diaphragm.

Circuit: inlet → fixed feed → tee (= chamber) → pilot → outlet. Below the diaphragm the outlet pressure acts
on A_d − A_s and the inlet pressure on A_s; the spring shuts. Inertia of the stem is neglected.
Own estimate of the usual globe form; parameters calibrated on no valve until site readings override them.
"""

from __future__ import annotations

from math import inf, sqrt

from steadyhead.laws.compiling import kernel
from steadyhead.laws.valves import series, signed_root


@kernel
def balance_pressure(
    lift: float,
    inlet_pressure: float,
    outlet_pressure: float,
    seat_ratio: float,
    flow_force: float,
    spring_shut: float,
    spring_rise: float,
) -> float:
    """Return the chamber pressure at which the stem of a reducer or shut-off stands still.

    Parameters
    ----------
    lift
        Share of full lift ξ. [1]
    inlet_pressure, outlet_pressure
        Of the valve concerned. [Pa]
    seat_ratio, flow_force
        r₀ = A_s/A_d and r₁, the fall of under-disc pressure with lift. [1]
    spring_shut, spring_rise
        s₀ and s₁, spring force over A_d at the seat and its rise to full lift. [Pa]

    Returns
    -------
    float
        [Pa]

    Notes
    -----
    p_eq = p₂ + (r₀ − r₁ ξ)(p₁ − p₂) − (s₀ + s₁ ξ).
    """
    ratio = seat_ratio - flow_force * lift
    spring = spring_shut + spring_rise * lift
    return outlet_pressure + ratio * (inlet_pressure - outlet_pressure) - spring


@kernel
def pilot_coefficient(opening: float, wide_open: float, needle: float, tear: float) -> float:
    """Return the flow coefficient from the chamber to the outlet.

    Parameters
    ----------
    opening
        Pilot opening y. [1]
    wide_open
        k of the pilot wide open. [m³/(s·√Pa)]
    needle
        k of the opening-speed needle in series; infinite where there is none. [m³/(s·√Pa)]
    tear
        k of a torn diaphragm, past both. [m³/(s·√Pa)]

    Notes
    -----
    k_d = series(k_p y, k_open) + k_tear.
    """
    return series(wide_open * opening, needle) + tear


@kernel
def holding_share(feed: float, drain: float) -> float:
    """Return the share of the valve's pressure difference that stands in the chamber at rest.

    Parameters
    ----------
    feed
        k_f, inlet to chamber, filter included; above 0. [m³/(s·√Pa)]
    drain
        k_d, chamber to outlet. [m³/(s·√Pa)]

    Returns
    -------
    float
        (p_h − p₂)/(p₁ − p₂). [1]

    Notes
    -----
    Feed and drain flows are equal at p_h = (k_f² p₁ + k_d² p₂)/(k_f² + k_d²), so the share is
    1/(1 + (k_d/k_f)²).

    Examples
    --------
    >>> holding_share(0.06, 0.12)
    0.2
    """
    ratio = drain / feed
    return 1.0 / (1.0 + ratio * ratio)


@kernel
def holding_pressure(inlet_pressure: float, outlet_pressure: float, feed: float, drain: float) -> float:
    """Return the chamber pressure [Pa] at which feed and drain flows are equal; see `holding_share`."""
    return outlet_pressure + holding_share(feed, drain) * (inlet_pressure - outlet_pressure)


@kernel
def chamber_inflow(
    chamber_pressure: float, inlet_pressure: float, outlet_pressure: float, feed: float, drain: float
) -> float:
    """Return feed minus drain flow of a chamber at a given pressure [m³/s]; positive shuts the valve."""
    return feed * signed_root(inlet_pressure - chamber_pressure) - drain * signed_root(
        chamber_pressure - outlet_pressure
    )


@kernel
def pilot_opening(sensed_pressure: float, closing_pressure: float, band: float) -> float:
    """Return the opening of a reducer's pilot.

    Parameters
    ----------
    sensed_pressure
        At the pilot. [Pa]
    closing_pressure
        Sensed pressure at which the pilot is just shut: `lockup_pressure` of a sound valve. [Pa]
    band
        Sensed pressure for a full pilot stroke, above 0. [Pa]

    Returns
    -------
    float
        0 shut … 1 wide open. [1]

    Notes
    -----
    y = clamp((p_close − p_sens)/b_p, 0, 1).
    """
    return min(max((closing_pressure - sensed_pressure) / band, 0.0), 1.0)


@kernel
def play(old: float, new: float, half_width: float) -> float:
    """Return where a part driven with play comes to rest: it follows only when pushed.

    Parameters
    ----------
    old
        Where it stood.
    new
        Where it is driven to.
    half_width
        Half the play, in the same unit.

    Examples
    --------
    >>> play(5.0, 5.1, 0.15), play(5.0, 6.0, 0.15), play(5.0, 4.0, 0.15)
    (5.0, 5.85, 4.15)
    """
    return min(max(old, new - half_width), new + half_width)


@kernel
def closing_pressure_of_turns(turns: float, turns_free: float, per_turn: float) -> float:
    """Return the pressure a pilot's screw stands for.

    Parameters
    ----------
    turns
        Turns in, after play. [turn]
    turns_free
        Turns before the spring is touched. [turn]
    per_turn
        Rise per turn. [Pa/turn]

    Returns
    -------
    float
        [Pa]
    """
    return per_turn * max(turns - turns_free, 0.0)


@kernel
def stem_chamber_pressure(rest: float, balance: float, friction: float) -> float:
    """Return the chamber pressure of a stem free to move, with Coulomb friction. [Pa]

    Parameters
    ----------
    rest
        p_h of `holding_pressure`. [Pa]
    balance
        p_eq of `balance_pressure`. [Pa]
    friction
        Stem friction over A_d. [Pa]

    Notes
    -----
    A moving stem keeps p_c at p_eq ± friction; between the two it sticks and p_c = p_h. Exact.
    """
    return min(max(rest, balance - friction), balance + friction)


@kernel
def free_stem_velocity(
    inlet_pressure: float,
    outlet_pressure: float,
    balance: float,
    friction: float,
    feed: float,
    drain: float,
    diaphragm_area: float,
) -> float:
    """Return how fast a stem away from its stops moves [m/s], opening positive; exact.

    Parameters
    ----------
    inlet_pressure, outlet_pressure
        [Pa]
    balance
        p_eq of `balance_pressure`. [Pa]
    friction
        Stem friction over A_d. [Pa]
    feed, drain
        k_f and k_d. [m³/(s·√Pa)]
    diaphragm_area
        A_d. [m²]

    Notes
    -----
    A_d dx/dt = −(q_f − q_d) at the pressure of `stem_chamber_pressure`; 0 where the stem sticks.
    """
    rest = holding_pressure(inlet_pressure, outlet_pressure, feed, drain)
    chamber = stem_chamber_pressure(rest, balance, friction)
    if chamber == rest:
        return 0.0
    return -chamber_inflow(chamber, inlet_pressure, outlet_pressure, feed, drain) / diaphragm_area


@kernel
def stem_velocity(
    lift: float,
    inlet_pressure: float,
    outlet_pressure: float,
    balance: float,
    friction: float,
    feed: float,
    drain: float,
    diaphragm_area: float,
) -> float:
    """Return how fast the stem moves [m/s], opening positive; exact, with Coulomb friction.

    Parameters
    ----------
    lift
        Share of full lift; at 0 and 1 the stem does not move outwards. [1]
    inlet_pressure, outlet_pressure, balance, friction, feed, drain, diaphragm_area
        As in `free_stem_velocity`.
    """
    velocity = free_stem_velocity(
        inlet_pressure, outlet_pressure, balance, friction, feed, drain, diaphragm_area
    )
    if (lift <= 0.0 and velocity < 0.0) or (lift >= 1.0 and velocity > 0.0):
        return 0.0
    return velocity


@kernel
def balanced_lift(
    difference: float,
    share: float,
    seat_ratio: float,
    flow_force: float,
    spring_shut: float,
    spring_rise: float,
    lowest: float,
) -> float:
    """Return the lift at which a pilot-operated valve stands still, given its pressure difference.

    Never falls with the difference; clipped to its stops. `flow_force` and `spring_rise` are not both 0.

    Parameters
    ----------
    difference
        D = p₁ − p₂. [Pa]
    share
        `holding_share` of its pilot circuit. [1]
    seat_ratio, flow_force, spring_shut, spring_rise
        As in `balance_pressure`.
    lowest
        Lift on the seat, above 0 when debris holds it off. [1]

    Notes
    -----
    From p_h = p_eq: ξ = ((r₀ − ρ_h) D − s₀)/(r₁ D + s₁).
    """
    push = (seat_ratio - share) * difference - spring_shut
    if push <= 0.0:
        return lowest
    resist = flow_force * difference + spring_rise
    if push >= resist:
        return 1.0
    return max(push / resist, lowest)


@kernel
def balanced_lift_back(
    difference: float,
    share: float,
    seat_ratio: float,
    flow_force: float,
    spring_shut: float,
    spring_rise: float,
    lowest: float,
) -> float:
    """Return the lift of a pilot-operated valve through which water runs back.

    Never falls with the difference; a seat that is pushed off against a weak spring goes to its stop.
    No check function is taken into account.

    Parameters
    ----------
    difference
        p₂ − p₁, above 0. [Pa]
    share, seat_ratio, flow_force, spring_shut, spring_rise, lowest
        As in `balanced_lift`.

    Notes
    -----
    From p_h = p_eq with D = −`difference`: ξ = ((ρ_h − r₀) |D| − s₀)/(s₁ − r₁ |D|).
    """
    push = (share - seat_ratio) * difference - spring_shut
    resist = spring_rise - flow_force * difference
    if push <= resist * lowest:
        return lowest
    if push >= resist:
        return 1.0
    return max(push / resist, lowest)


@kernel
def steady_pilot_opening(
    lift: float,
    difference: float,
    feed: float,
    wide_open: float,
    seat_ratio: float,
    flow_force: float,
    spring_shut: float,
    spring_rise: float,
) -> float:
    """Return the pilot opening that holds a given lift: the droop law in closed form.

    The sensed outlet then stands `band × y` below the closing pressure. Above 1 (or infinite, where the
    difference is too small) the valve cannot hold that lift. Sound circuit without needle or tear.

    Parameters
    ----------
    lift, difference
        ξ and D = p₁ − p₂ > 0. [1], [Pa]
    feed, wide_open
        k_f, and k_p of the pilot. [m³/(s·√Pa)]
    seat_ratio, flow_force, spring_shut, spring_rise
        As in `balance_pressure`.

    Notes
    -----
    ρ = r(ξ) − s(ξ)/D; y = k_f √(1/ρ − 1)/k_p.
    """
    share = seat_ratio - flow_force * lift - (spring_shut + spring_rise * lift) / difference
    if share <= 0.0:
        return inf
    if share >= 1.0:
        return 0.0
    return feed * sqrt(1.0 / share - 1.0) / wide_open
