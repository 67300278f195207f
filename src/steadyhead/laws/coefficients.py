"""Flow coefficient, loss coefficient and k of SI: the same thing said three ways. Plain functions."""

from __future__ import annotations

from math import pi, sqrt

# By definition of Kv: m³/h of water at 1000 kg/m³ and a difference of 1 bar (IEC 60534-1).
SECONDS_PER_HOUR = 3600.0
KV_DIFFERENCE = 1e5
KV_DENSITY = 1000.0


def k_of_kv(kv: float, density: float) -> float:
    """Return k = Q/√Δp of SI for a flow coefficient Kv.

    Turbulent flow.

    Parameters
    ----------
    kv
        [m³/h at 1 bar]
    density
        Of the water flowing. [kg/m³]

    Returns
    -------
    float
        [m³/(s·√Pa)]

    Notes
    -----
    k = Kv/3600/√(10⁵ ρ/1000), IEC 60534-1.

    Examples
    --------
    >>> k_of_kv(36.0, 1000.0) * 1e5**0.5
    0.01
    """
    return kv / SECONDS_PER_HOUR / sqrt(KV_DIFFERENCE * density / KV_DENSITY)


def kv_of_k(k: float, density: float) -> float:
    """Return Kv [m³/h at 1 bar] for k = Q/√Δp of SI; the inverse of `k_of_kv`."""
    return k * SECONDS_PER_HOUR * sqrt(KV_DIFFERENCE * density / KV_DENSITY)


def loss_coefficient_of_kv(kv: float, diameter: float) -> float:
    """Return ζ, referred to the velocity in `diameter`, of a place with flow coefficient Kv.

    Parameters
    ----------
    kv
        Above 0. [m³/h at 1 bar]
    diameter
        Bore that the velocity is taken in. [m]

    Notes
    -----
    ζ = 2 Δp/(ρ v²) with Q from the definition of Kv, that is π² d⁴ 3600² · 10⁵/(8 · 1000 Kv²);
    IEC 60534-2-1 prints the same as 1.6·10⁻³ d⁴/Kv² with d in mm.

    Examples
    --------
    >>> round(loss_coefficient_of_kv(2.312, 0.015), 2)
    15.14
    """
    area = pi * diameter * diameter / 4.0
    flow = kv / SECONDS_PER_HOUR
    return 2.0 * KV_DIFFERENCE * area * area / (KV_DENSITY * flow * flow)


def kv_of_loss_coefficient(loss_coefficient: float, diameter: float) -> float:
    """Return Kv [m³/h at 1 bar] of a loss coefficient ζ; the inverse of `loss_coefficient_of_kv`."""
    area = pi * diameter * diameter / 4.0
    return SECONDS_PER_HOUR * area * sqrt(2.0 * KV_DIFFERENCE / (KV_DENSITY * loss_coefficient))


def velocity(flow: float, diameter: float) -> float:
    """Return the mean velocity [m/s] of a flow [m³/s] in a bore [m]."""
    return flow / (pi * diameter * diameter / 4.0)
