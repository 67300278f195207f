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


@kernel
def relief_with_play(before: float, rising: float, falling: float) -> float:
    """Return the lift a relief valve asks for, which closes at a lower pressure than it opens. [1]

    Never falls with pressure.

    Parameters
    ----------
    before
        What it asked for before. [1]
    rising
        Share of lift on rising pressure, see `relief_opening`. [1]
    falling
        The same at the pressure plus crack minus reseat. [1]

    Notes
    -----
    d = min(max(d_old, l_up(p)), l_up(p + crack − reseat)): play in pressure (own estimate).

    Examples
    --------
    >>> relief_with_play(0.5, 0.2, 0.7), relief_with_play(0.5, 0.6, 1.0), relief_with_play(0.5, 0.0, 0.1)
    (0.5, 0.6, 0.1)
    """
    return min(max(before, rising), falling)


@kernel
def within_stroke(wanted: float, before: float, most: float) -> float:
    """Return where a disc or stem stands that is asked to move and may move by `most` at most. [1]

    Examples
    --------
    >>> within_stroke(0.9, 0.5, 0.1), within_stroke(0.45, 0.5, 0.1)
    (0.6, 0.45)
    """
    return min(max(wanted, before - most), before + most)


@kernel
def vessel_air(pressure: float, constant: float, exponent: float, atmosphere_abs: float) -> float:
    """Return the air volume in a vessel at a pressure. [m³]

    Polytropic; no exchange of air and water.

    Parameters
    ----------
    pressure
        Gauge. [Pa]
    constant
        Air volume times absolute pressure to the power 1/n at one known state. [m³·Pa^(1/n)]
    exponent
        n, 1.2 for minutes (from memory). [1]
    atmosphere_abs
        [Pa abs]

    Notes
    -----
    p_abs Vⁿ = const.
    """
    return constant * pow(pressure + atmosphere_abs, -1.0 / exponent)
