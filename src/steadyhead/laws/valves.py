"""Flow through valves and other narrow places, forwards and the way round that always has an answer."""

from __future__ import annotations

from math import pow, sqrt

from steadyhead.laws.compiling import kernel


@kernel
def critical_pressure_factor(vapour_pressure_abs: float, critical_pressure_abs: float) -> float:
    """Return F_F, the liquid critical pressure ratio factor.

    For single-component liquids; evaluated at the inlet temperature.

    Parameters
    ----------
    vapour_pressure_abs
        Vapour pressure at inlet temperature. [Pa abs]
    critical_pressure_abs
        Thermodynamic critical pressure. [Pa abs]

    Notes
    -----
    F_F = 0.96 − 0.28 √(p_v/p_c), IEC 60534-2-1:2011.

    Examples
    --------
    >>> round(critical_pressure_factor(70.1e3, 22.12e6), 4)
    0.9442
    """
    return 0.96 - 0.28 * sqrt(vapour_pressure_abs / critical_pressure_abs)


@kernel
def choked_differential(
    inlet_pressure: float, recovery: float, atmosphere_abs: float, throat_pressure_abs: float
) -> float:
    """Return the pressure difference above which a valve passes no more water.

    IEC 60534-2-1 for turbulent, incompressible flow without fittings; not below 0.

    Parameters
    ----------
    inlet_pressure
        Pressure ahead of the valve, gauge at the valve. [Pa]
    recovery
        F_L, liquid pressure recovery factor. [1]
    atmosphere_abs
        Atmosphere at the valve. [Pa abs]
    throat_pressure_abs
        F_F p_v, see `critical_pressure_factor`. [Pa abs]

    Notes
    -----
    Δp_ch = F_L² (p₁ + p_a − F_F p_v).
    """
    left = inlet_pressure + atmosphere_abs - throat_pressure_abs
    return recovery * recovery * left if left > 0.0 else 0.0


@kernel
def valve_flow(
    inlet_pressure: float,
    outlet_pressure: float,
    coefficient: float,
    recovery: float,
    atmosphere_abs: float,
    throat_pressure_abs: float,
) -> float:
    """Return the flow through a valve, choked or not, either way.

    IEC 60534-2-1, incompressible, turbulent, no fittings. Reverse flow is not choked.

    Parameters
    ----------
    inlet_pressure, outlet_pressure
        Pressures at the valve, gauge. [Pa]
    coefficient
        k = Q/√Δp, see `steadyhead.laws.coefficients.k_of_kv`. [m³/(s·√Pa)]
    recovery, atmosphere_abs, throat_pressure_abs
        As in `choked_differential`.

    Returns
    -------
    float
        Flow, positive from inlet to outlet. [m³/s]
    """
    difference = inlet_pressure - outlet_pressure
    if difference <= 0.0:
        return -coefficient * sqrt(-difference)
    limit = choked_differential(inlet_pressure, recovery, atmosphere_abs, throat_pressure_abs)
    return coefficient * sqrt(min(difference, limit))


@kernel
def valve_inlet_pressure(
    flow: float,
    outlet_pressure: float,
    coefficient: float,
    recovery: float,
    atmosphere_abs: float,
    throat_pressure_abs: float,
) -> float:
    """Return the pressure ahead of a valve that drives `flow` against `outlet_pressure`.

    Exists for every flow, is continuous and never falls with flow or outlet pressure; the outlet pressure
    of a choked valve, asked the other way, would not exist. `coefficient` must be above 0.

    Parameters
    ----------
    flow
        Positive from inlet to outlet. [m³/s]
    outlet_pressure
        Gauge at the valve. [Pa]
    coefficient
        k = Q/√Δp. [m³/(s·√Pa)]
    recovery, atmosphere_abs, throat_pressure_abs
        As in `choked_differential`.

    Returns
    -------
    float
        Inlet pressure, gauge. [Pa]

    Notes
    -----
    p₁ = max(p₂ + (Q/k)², (Q/k)²/F_L² − p_a + F_F p_v) for Q > 0, p₂ − (Q/k)² otherwise;
    IEC 60534-2-1 turned round.
    """
    ratio = flow / coefficient
    drop = ratio * ratio
    if flow <= 0.0:
        return outlet_pressure - drop
    free = outlet_pressure + drop
    choked = drop / (recovery * recovery) - atmosphere_abs + throat_pressure_abs
    return max(free, choked)


@kernel
def loss_inlet_pressure(flow: float, outlet_pressure: float, coefficient: float) -> float:
    """Return the pressure ahead of a plain loss: strainer, isolating valve, orifice; never choked.

    Parameters
    ----------
    flow
        Either way. [m³/s]
    outlet_pressure
        [Pa]
    coefficient
        k = Q/√Δp, above 0. [m³/(s·√Pa)]
    """
    ratio = flow / coefficient
    return outlet_pressure + ratio * abs(ratio)


@kernel
def series(first: float, second: float) -> float:
    """Return the flow coefficient of two narrow places in series; 0 if either is shut.

    Notes
    -----
    1/k² = 1/k₁² + 1/k₂²; an absent place has an infinite coefficient.

    Examples
    --------
    >>> series(3.0, 4.0)
    2.4
    """
    if first <= 0.0 or second <= 0.0:
        return 0.0
    ratio = first / second
    return first / sqrt(1.0 + ratio * ratio)


@kernel
def signed_root(difference: float) -> float:
    """Return sign(u) √|u|, the flow through an orifice of coefficient 1 either way."""
    return sqrt(difference) if difference >= 0.0 else -sqrt(-difference)


@kernel
def coefficient_at_opening(full: float, opening: float, floor: float, leak: float) -> float:
    """Return a valve's flow coefficient: its opening, never below the numerical floor, plus a seat leak.

    Parameters
    ----------
    full
        k fully open. [m³/(s·√Pa)]
    opening
        Share of full flow coefficient from the characteristic. [1]
    floor
        Numerical tightness, above 0; a shut valve passes this share. [1]
    leak
        k of a real seat leak. [m³/(s·√Pa)]
    """
    return full * max(opening, floor) + leak


@kernel
def isolating_valve_coefficient(full: float, opening: float, exponent: float, floor: float) -> float:
    """Return the flow coefficient of a part-open isolating valve.

    Own estimate; with exponent 1.5 and a loss coefficient of 0.2 fully open it meets tabulated losses of
    gate valves (about 2 at half, about 17 at a quarter open, from memory) within 25 %.

    Parameters
    ----------
    full
        k fully open. [m³/(s·√Pa)]
    opening
        Share of full opening θ. [1]
    exponent
        1.5 for a gate valve. [1]
    floor
        Numerical tightness. [1]

    Notes
    -----
    k = k_vs max(θ^1.5, floor).
    """
    share = 0.0
    if opening > 0.0:
        share = pow(min(opening, 1.0), exponent)
    return full * max(share, floor)


@kernel
def strainer_coefficient(clean: float, clogging: float) -> float:
    """Return the flow coefficient of a strainer whose loss has grown `clogging` times.

    Notes
    -----
    ζ = c ζ_clean, so k = k_clean/√c.
    """
    return clean / sqrt(clogging)
