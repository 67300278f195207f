"""Cavitation of a valve: three indices in use, each under its own name."""

from __future__ import annotations

from math import inf, pow

from steadyhead.laws.compiling import kernel


@kernel
def differential_ratio(
    inlet_pressure: float, outlet_pressure: float, atmosphere_abs: float, vapour_pressure_abs: float
) -> float:
    """Return x_F, the pressure difference over what there is to lose before the water boils.

    Infinite where the inlet is at or below vapour pressure.

    Parameters
    ----------
    inlet_pressure, outlet_pressure
        Gauge at the valve. [Pa]
    atmosphere_abs, vapour_pressure_abs
        [Pa abs]

    Notes
    -----
    x_F = (p₁ − p₂)/(p₁ + p_a − p_v), IEC 60534 (from memory).
    """
    left = inlet_pressure + atmosphere_abs - vapour_pressure_abs
    if left <= 0.0:
        return inf
    return (inlet_pressure - outlet_pressure) / left


@kernel
def sigma_inlet(
    inlet_pressure: float, outlet_pressure: float, atmosphere_abs: float, vapour_pressure_abs: float
) -> float:
    """Return σ₁ = (p₁ − p_v)/(p₁ − p₂), the definition of ISA-RP75.23; 1/x_F. Infinite without difference.

    Parameters
    ----------
    inlet_pressure, outlet_pressure, atmosphere_abs, vapour_pressure_abs
        As in `differential_ratio`.
    """
    difference = inlet_pressure - outlet_pressure
    if difference <= 0.0:
        return inf
    return (inlet_pressure + atmosphere_abs - vapour_pressure_abs) / difference


@kernel
def sigma_outlet(
    inlet_pressure: float, outlet_pressure: float, atmosphere_abs: float, vapour_pressure_abs: float
) -> float:
    """Return σ₂ = (p₂ − p_v)/(p₁ − p₂), the other definition in use; σ₁ − 1. Infinite without difference.

    Parameters
    ----------
    inlet_pressure, outlet_pressure, atmosphere_abs, vapour_pressure_abs
        As in `differential_ratio`.
    """
    difference = inlet_pressure - outlet_pressure
    if difference <= 0.0:
        return inf
    return (outlet_pressure + atmosphere_abs - vapour_pressure_abs) / difference


def scaled_sigma(
    sigma: float,
    *,
    size_ratio: float,
    pressure_ratio: float,
    size_exponent: float,
    pressure_exponent: float,
) -> float:
    """Return a limit of σ₁ carried from the size and pressure it was found at to another.

    Only as good as the exponents, which belong to the kind of valve and come from its supplier.

    Parameters
    ----------
    sigma
        Limit of σ₁ as found. [1]
    size_ratio
        Size of the valve over that of the valve tested. [1]
    pressure_ratio
        p₁ − p_v over that of the test, above 0. [1]
    size_exponent, pressure_exponent
        [1]

    Notes
    -----
    σ_v = (σ_R SSE − 1) PSE + 1 with SSE = (d/d_R)^b and PSE = ((p₁ − p_v)/(p₁ − p_v)_R)^a; ISA-RP75.23, as
    quoted in a trade article (from memory).

    Examples
    --------
    >>> same = {"pressure_ratio": 1.0, "pressure_exponent": 0.1}
    >>> round(scaled_sigma(2.0, size_ratio=2.0, size_exponent=0.2, **same), 4)
    2.2974
    """
    size_scale, pressure_scale = pow(size_ratio, size_exponent), pow(pressure_ratio, pressure_exponent)
    return (sigma * size_scale - 1.0) * pressure_scale + 1.0
