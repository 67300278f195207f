"""Friction of pipes: the one formula the engines use, and the older ones it is checked against."""

from __future__ import annotations

from math import log, log10, pi, pow, sqrt

from steadyhead.laws.compiling import kernel


@kernel
def power_16(value: float) -> float:
    """Return the sixteenth power by squaring, the same to the last bit compiled and plain."""
    square = value * value
    fourth = square * square
    eighth = fourth * fourth
    return eighth * eighth


@kernel
def churchill(reynolds: float, relative_roughness: float) -> float:
    """Return the Darcy friction factor in every regime: laminar, critical, turbulent.

    Smooth; Reynolds number floored at 1. Against Colebrook–White, relative roughness 10⁻⁵ to 10⁻²: within
    2.2 % above Re 10⁴, 1.6 % above 2·10⁴, 0.9 % above 10⁵. Between laminar and turbulent flow a smooth guess.

    Parameters
    ----------
    reynolds
        Re = v D/ν. [1]
    relative_roughness
        ε/D. [1]

    Notes
    -----
    f = 8 [(8/Re)¹² + (A + B)^−1.5]^(1/12), A = {2.457 ln 1/[(7/Re)^0.9 + 0.27 ε/D]}¹⁶,
    B = (37530/Re)¹⁶ (S.W. Churchill, Chem. Eng. 84(24), 1977; from memory).

    Examples
    --------
    >>> round(churchill(100.0, 0.0), 4)
    0.64
    """
    re = max(reynolds, 1.0)
    laminar = 8.0 / re
    cube = laminar * laminar * laminar
    sixth = cube * cube
    rough = pow(7.0 / re, 0.9) + 0.27 * relative_roughness
    turbulent = power_16(2.457 * log(1.0 / rough)) + power_16(37530.0 / re)
    return 8.0 * pow(sixth * sixth + 1.0 / (turbulent * sqrt(turbulent)), 1.0 / 12.0)


@kernel
def pipe_drop(
    flow: float, length: float, diameter: float, roughness: float, density: float, viscosity: float
) -> float:
    """Return the pressure lost to friction along a pipe, with the sign of the flow.

    Full pipe, fully developed flow; fittings not included.

    Parameters
    ----------
    flow
        Either way. [m³/s]
    length, diameter, roughness
        [m]
    density
        [kg/m³]
    viscosity
        Kinematic. [m²/s]

    Returns
    -------
    float
        [Pa]

    Notes
    -----
    Δp = f L/D ρ v²/2 (Darcy–Weisbach) with f of `churchill`.
    """
    speed = flow / (pi * diameter * diameter / 4.0)
    factor = churchill(abs(speed) * diameter / viscosity, roughness / diameter)
    return factor * length / diameter * density * speed * abs(speed) / 2.0


def colebrook(reynolds: float, relative_roughness: float) -> float:
    """Return the Darcy friction factor of Colebrook and White, for checking `churchill`.

    Turbulent flow, Re above about 4000.

    Parameters
    ----------
    reynolds, relative_roughness
        As in `churchill`. [1]

    Notes
    -----
    1/√f = −2 log₁₀(ε/D/3.7 + 2.51/(Re √f)) (Colebrook 1939; from memory), repeated until it stands.

    Examples
    --------
    >>> round(colebrook(1e5, 1e-4), 5)
    0.01851
    """
    root = 8.0  # 1/√f of a middling pipe
    for _ in range(60):
        new = -2.0 * log10(relative_roughness / 3.7 + 2.51 * root / reynolds)
        if abs(new - root) <= 1e-15 * root:
            break
        root = new
    return 1.0 / (root * root)


def swamee_jain(reynolds: float, relative_roughness: float) -> float:
    """Return the explicit Darcy friction factor of Swamee and Jain, for checking.

    Re 5·10³ to 10⁸, relative roughness 10⁻⁶ to 10⁻²; within about 1 to 3 % of Colebrook–White.

    Notes
    -----
    f = 0.25/[log₁₀(ε/D/3.7 + 5.74/Re^0.9)]², J. Hydraul. Div. ASCE 102(5), 1976.

    Examples
    --------
    >>> round(swamee_jain(1e5, 1e-4), 5)
    0.01845
    """
    inner = relative_roughness / 3.7 + 5.74 / reynolds**0.9
    return 0.25 / log10(inner) ** 2


def rough_limit(relative_roughness: float) -> float:
    """Return the Darcy friction factor of fully rough flow.

    Notes
    -----
    1/√f = −2 log₁₀(ε/D/3.7) (von Kármán; from memory).

    Examples
    --------
    >>> round(rough_limit(1e-3), 4)
    0.0196
    """
    return 0.25 / log10(relative_roughness / 3.7) ** 2


def hazen_williams_head_loss(flow: float, length: float, diameter: float, coefficient: float) -> float:
    """Return the head lost in a pipe by the Hazen–Williams rule.

    Water near 15 °C in pipes above about 50 mm at usual speeds; not used by the engines, kept so that a
    stated C can be judged against a roughness.

    Parameters
    ----------
    flow
        [m³/s]
    length, diameter
        [m]
    coefficient
        C. [1]

    Returns
    -------
    float
        Head. [m]

    Notes
    -----
    h = 10.67 L Q^1.852/(C^1.852 D^4.8704); the constant is 10.65 to 10.68 in the literature.

    Examples
    --------
    >>> round(hazen_williams_head_loss(0.030, 1000.0, 0.2, 130.0), 2)
    4.98
    """
    return 10.67 * length * pow(flow / coefficient, 1.852) / pow(diameter, 4.8704)


def darcy_head_loss(
    flow: float, length: float, diameter: float, roughness: float, viscosity: float, gravity: float
) -> float:
    """Return the head lost in a pipe by Darcy–Weisbach with `churchill`; the sign of the flow.

    Parameters
    ----------
    flow
        [m³/s]
    length, diameter, roughness
        [m]
    viscosity
        Kinematic. [m²/s]
    gravity
        [m/s²]

    Returns
    -------
    float
        Head. [m]
    """
    return pipe_drop(flow, length, diameter, roughness, 1.0, viscosity) / gravity


def reynolds_number(flow: float, diameter: float, viscosity: float) -> float:
    """Return Re = v D/ν of a flow [m³/s] in a bore [m] at kinematic viscosity [m²/s].

    Examples
    --------
    >>> round(reynolds_number(0.14, 0.2, 1e-5))
    89127
    """
    return 4.0 * flow / (pi * diameter * viscosity)
