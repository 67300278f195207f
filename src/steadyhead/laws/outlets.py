"""Where water leaves: consumers, drains, relief valves; and the direct-acting reducer."""

from __future__ import annotations

from math import pow, sqrt

from steadyhead.laws.compiling import kernel


@kernel
def demand_flow(pressure: float, coefficient: float, exponent: float, reference: float) -> float:
    """Return the flow consumers draw at a pressure; none at or below 0, never backwards.

    Parameters
    ----------
    pressure
        Gauge at the end of the consumer main. [Pa]
    coefficient
        k, so that the flow at `reference` is the same for every exponent. [m³/(s·√Pa)]
    exponent
        n: 0.5 an orifice; a zone 0.5 to 1.0 (own estimate). [1]
    reference
        Pressure the coefficient belongs to. [Pa]

    Notes
    -----
    Q = k √p_ref (p/p_ref)^n.
    """
    if pressure <= 0.0:
        return 0.0
    if exponent == 0.5:
        return coefficient * sqrt(pressure)
    return coefficient * sqrt(reference) * pow(pressure / reference, exponent)


@kernel
def drain_flow(pressure: float, coefficient: float) -> float:
    """Return the flow [m³/s] of a drain to atmosphere: Q = k √p, none at or below 0."""
    return coefficient * sqrt(pressure) if pressure > 0.0 else 0.0


@kernel
def relief_opening(pressure: float, crack: float, full: float) -> float:
    """Return the share of lift of a relief valve on rising pressure, along a straight line.

    Parameters
    ----------
    pressure, crack, full
        At the valve; where it starts to lift; where it stands wide open. [Pa]
    """
    if pressure <= crack:
        return 0.0
    if pressure >= full:
        return 1.0
    return (pressure - crack) / (full - crack)


@kernel
def direct_acting_opening(sensed_pressure: float, closing_pressure: float, band: float) -> float:
    """Return the share of lift of a direct-acting reducer.

    Parameters
    ----------
    sensed_pressure, closing_pressure
        Outlet, and the outlet at which it is just shut. [Pa]
    band
        Fall of the outlet for full lift; 10 to 30 % of the setting (own estimate). [Pa]

    Notes
    -----
    ξ = clamp((p_close − p₂)/b_d, 0, 1).
    """
    return min(max((closing_pressure - sensed_pressure) / band, 0.0), 1.0)
