"""Valves in flow that is not turbulent: the Reynolds factor F_R of IEC 60534-2-1. Plain functions.

Water at its usual temperatures needs it only in very small valves at a trickle. The standard gives it for
valves without fittings beside them, and not for choked flow.
"""

from __future__ import annotations

from math import inf, log10, sqrt

from steadyhead.laws.sizing import required_kv, valve_reynolds

TURBULENT_FROM = 1e4
"""Valve Reynolds number from which flow counts as turbulent (IEC 60534-2-1:2011). [1]"""
LAMINAR_BELOW = 10.0
"""Valve Reynolds number below which only the laminar form holds (IEC 60534-2-1:2011). [1]"""

# Constants of IEC 60534-2-1:2011 for C = Kv and d in mm, from memory; N₂ without the unit change.
_N2 = 1.60e-3
_N18 = 8.65e-1
_N32 = 1.40e2
_FULL_TRIM = 0.016
_MOST_RATIO = 0.04


def is_full_trim(kv: float, valve_size: float) -> bool:
    """Say whether a trim counts as full size: C/(N₁₈ d²) ≥ 0.016 (IEC 60534-2-1:2011).

    Parameters
    ----------
    kv
        Rated, fully open. [m³/h at 1 bar]
    valve_size
        [m]
    """
    return kv / (_N18 * (valve_size * 1e3) ** 2) >= _FULL_TRIM


def reynolds_factor(
    *, reynolds: float, recovery: float, kv: float, valve_size: float, full_trim: bool
) -> float:
    """Return F_R, by which flow that is not turbulent lessens what a valve passes; 1 in turbulent flow.

    For valves without fittings and without choking. C/d² above 0.04 counts as 0.04.

    Parameters
    ----------
    reynolds
        Valve Reynolds number, see `steadyhead.laws.sizing.valve_reynolds`. [1]
    recovery
        F_L. [1]
    kv
        Rated. [m³/h at 1 bar]
    valve_size
        [m]
    full_trim
        See `is_full_trim`.

    Returns
    -------
    float
        Above 0, at most 1. [1]

    Notes
    -----
    Transitional F_R = 1 + 0.33 √F_L n^(−¼) log₁₀(Re_v/10⁴), laminar F_R = (0.026/F_L) √(n Re_v), the
    lesser of the two from Re_v = 10; n = N₂ (d²/C)² in a full-size trim, 1 + N₃₂ (C/d²)^⅔ in a reduced one
    (IEC 60534-2-1:2011).
    """
    if reynolds >= TURBULENT_FROM:
        return 1.0
    ratio = kv / (valve_size * 1e3) ** 2
    n = _N2 / min(ratio, _MOST_RATIO) ** 2 if full_trim else 1.0 + _N32 * ratio ** (2.0 / 3.0)
    laminar = min(0.026 / recovery * sqrt(n * reynolds), 1.0)
    if reynolds < LAMINAR_BELOW:
        return laminar
    transitional = 1.0 + 0.33 * sqrt(recovery) / n**0.25 * log10(reynolds / TURBULENT_FROM)
    return min(laminar, transitional) if transitional > 0.0 else laminar


def required_kv_viscous(
    *,
    flow: float,
    inlet_abs: float,
    outlet_abs: float,
    density: float,
    viscosity: float,
    recovery: float,
    throat_abs: float,
    valve_size: float,
    style: float,
    rounds: int = 200,
) -> float:
    """Return the Kv a valve needs where its flow may not be turbulent; equal to `required_kv` where it is.

    Without fittings. The choked limit is kept as in turbulent flow, which the standard leaves open.

    Parameters
    ----------
    flow, inlet_abs, outlet_abs, density, recovery, throat_abs
        As in `steadyhead.laws.sizing.required_kv`.
    viscosity
        Kinematic. [m²/s]
    valve_size
        [m]
    style
        F_d, valve style modifier. [1]
    rounds
        Most repetitions.

    Returns
    -------
    float
        [m³/h at 1 bar]; infinite where no Kv was found
    """
    turbulent = required_kv(
        flow=flow,
        inlet_abs=inlet_abs,
        outlet_abs=outlet_abs,
        density=density,
        recovery=recovery,
        throat_abs=throat_abs,
    )
    kv = turbulent
    for _ in range(rounds):
        number = valve_reynolds(
            flow=flow, viscosity=viscosity, valve_size=valve_size, recovery=recovery, style=style, kv=kv
        )
        factor = reynolds_factor(
            reynolds=number,
            recovery=recovery,
            kv=kv,
            valve_size=valve_size,
            full_trim=is_full_trim(kv, valve_size),
        )
        new = turbulent / factor
        if abs(new - kv) <= 1e-10 * kv:
            return new
        kv = new
    return inf
