"""Cavitation of a valve: three indices in use, each under its own name."""

from __future__ import annotations

from math import inf

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
