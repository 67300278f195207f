"""Elasticity of water in pipes: wave speed, sudden rises, slow rises, warming. Plain functions.

All formulas here are closed forms for water without free gas unless the function says otherwise; a little air
changes them by an order of magnitude.
"""

from __future__ import annotations

from math import sqrt


def anchored_factor(poisson: float) -> float:
    """Return the restraint factor c₁ of a pipe anchored against moving lengthwise throughout.

    Notes
    -----
    c₁ = 1 − ν²; 1 with expansion joints; 1 − ν/2 anchored at its upstream end only (thin walls; Wylie and
    Streeter 1993, from memory).

    Examples
    --------
    >>> round(anchored_factor(0.3), 2)
    0.91
    """
    return 1.0 - poisson * poisson


def wave_speed(
    *,
    bulk_modulus: float,
    density: float,
    diameter: float,
    wall: float,
    elasticity: float,
    restraint: float = 1.0,
) -> float:
    """Return the speed of a pressure wave in a full, thin-walled elastic pipe.

    Wall below about a tenth of the diameter; no gas. Plastics creep: use the short-term modulus.

    Parameters
    ----------
    bulk_modulus
        Of the water, K. [Pa]
    density
        [kg/m³]
    diameter, wall
        Inner diameter and wall thickness. [m]
    elasticity
        Young's modulus of the wall. [Pa]
    restraint
        c₁, see `anchored_factor`; 1 for expansion joints. [1]

    Returns
    -------
    float
        a. [m/s]

    Notes
    -----
    a = √(K/ρ)/√(1 + c₁ (K/E)(D/e)) (Wylie and Streeter 1993, from memory).

    Examples
    --------
    >>> round(wave_speed(bulk_modulus=2.06e9, density=1000, diameter=0.6, wall=0.018, elasticity=2e11), 1)
    1238.3
    """
    softening = restraint * bulk_modulus / elasticity * diameter / wall
    return sqrt(bulk_modulus / density) / sqrt(1.0 + softening)


def joukowsky_rise(*, density: float, wave_speed: float, velocity_drop: float) -> float:
    """Return the pressure rise when flow is slowed faster than the wave returns.

    Holds for a change completed within twice the length over the wave speed. A slower change gives less;
    a trapped air pocket or line packing can give more.

    Parameters
    ----------
    density
        [kg/m³]
    wave_speed
        In this pipe, not in open water. [m/s]
    velocity_drop
        Mean velocity lost; negative when the flow is speeded up. [m/s]

    Returns
    -------
    float
        Rise above the pressure just before. [Pa]

    Notes
    -----
    Δp = ρ a Δv (N. Joukowsky 1900).

    Examples
    --------
    >>> joukowsky_rise(density=1000.0, wave_speed=1200.0, velocity_drop=1.5)
    1800000.0
    """
    return density * wave_speed * velocity_drop


def wave_return_time(*, length: float, wave_speed: float) -> float:
    """Return 2 L/a [s], within which a closure counts as sudden; length [m], wave speed [m/s]."""
    return 2.0 * length / wave_speed


def effective_compressibility(
    *,
    bulk_modulus: float,
    diameter: float,
    wall: float,
    elasticity: float,
    restraint: float = 1.0,
    air_share: float = 0.0,
    pressure_abs: float = 101325.0,
) -> float:
    """Return β_eff, the share of its volume a closed full section takes in per pascal.

    Thin walls; air is taken as isothermal.

    Parameters
    ----------
    bulk_modulus
        Of the water. [Pa]
    diameter, wall, elasticity, restraint
        As in `wave_speed`.
    air_share
        Free air as share of the volume at `pressure_abs`. [1]
    pressure_abs
        Needed only with air. [Pa abs]

    Returns
    -------
    float
        [1/Pa]

    Notes
    -----
    β = 1/K + c₁ D/(e E) + x_air/p_abs; with c₁ = 1 and no air it is 1/(ρ a²) of `wave_speed`.
    """
    return 1.0 / bulk_modulus + restraint * diameter / (wall * elasticity) + air_share / pressure_abs


def rate_of_rise(*, excess_flow: float, volume: float, compressibility: float) -> float:
    """Return how fast pressure climbs in a closed section that takes in more than it gives.

    Slow against the wave time of the section.

    Parameters
    ----------
    excess_flow
        In minus out. [m³/s]
    volume
        [m³]
    compressibility
        β of `effective_compressibility`. [1/Pa]

    Returns
    -------
    float
        [Pa/s]

    Notes
    -----
    dp/dt = q/(V β).

    Examples
    --------
    >>> round(rate_of_rise(excess_flow=0.010, volume=60.0, compressibility=6.8e-10) / 1e5, 2)
    2.45
    """
    return excess_flow / (volume * compressibility)


def thermal_rise(
    *,
    water_expansion: float,
    wall_expansion: float,
    compressibility: float,
    wall_compliance: float,
) -> float:
    """Return the pressure gained per kelvin by water shut in a full pipe section; negative if it falls.

    Water and wall warm together; no air, no leak, no creep of plastics.

    Parameters
    ----------
    water_expansion
        Volumetric, at the temperature concerned. [1/K]
    wall_expansion
        Volumetric, three times the linear one. [1/K]
    compressibility
        1/K of the water. [1/Pa]
    wall_compliance
        D/(e E). [1/Pa]

    Returns
    -------
    float
        [Pa/K]

    Notes
    -----
    dp/dT = (α_w − α_wall)/(β + D/(e E)).

    Examples
    --------
    >>> rise = thermal_rise(
    ...     water_expansion=2.1e-4, wall_expansion=3.6e-5, compressibility=4e-10, wall_compliance=5e-11
    ... )
    >>> round(rise / 1e5, 3)
    3.867
    """
    return (water_expansion - wall_expansion) / (compressibility + wall_compliance)
