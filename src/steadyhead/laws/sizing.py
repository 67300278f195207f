"""Required flow coefficient of a valve by IEC 60534-2-1, fittings included. Plain functions.

Incompressible, turbulent, single-component liquid. Numbers of the standard are said in SI here: its constants
N are nothing but units.
"""

from __future__ import annotations

from math import inf, pow, sqrt

from steadyhead.laws.coefficients import kv_of_k, loss_coefficient_of_kv

# N4 of IEC 60534-2-1:2011 for Q in m³/h, ν in m²/s, d in mm, without the unit change: the standard's
# valve Reynolds number is N4 F_d Q/(ν √(C F_L)) (F_L² C²/(N2 d⁴) + 1)^¼.
_N4 = 7.07e-2
_N2 = 1.60e-3


def inlet_fitting_loss(valve_size: float, pipe: float) -> float:
    """Return the loss coefficient of a concentric reducer into a valve: 0.5 (1 − (d/D)²)²."""
    share = 1.0 - (valve_size / pipe) ** 2
    return 0.5 * share * share


def outlet_fitting_loss(valve_size: float, pipe: float) -> float:
    """Return the loss coefficient of a concentric enlargement after a valve: (1 − (d/D)²)²."""
    share = 1.0 - (valve_size / pipe) ** 2
    return share * share


def bernoulli_factor(valve_size: float, pipe: float) -> float:
    """Return the Bernoulli coefficient of a change of bore: 1 − (d/D)⁴."""
    return 1.0 - (valve_size / pipe) ** 4


def fitting_losses(valve_size: float, inlet_pipe: float, outlet_pipe: float) -> float:
    """Return the sum of loss coefficients of the reducers beside a valve.

    Short concentric reducers, referred to the valve's bore.

    Parameters
    ----------
    valve_size, inlet_pipe, outlet_pipe
        Bores. [m]

    Notes
    -----
    ΣK = K₁ + K₂ + K_B1 − K_B2 (IEC 60534-2-1:2011).

    Examples
    --------
    >>> round(fitting_losses(0.050, 0.080, 0.100), 5)
    0.65808
    """
    bernoulli = bernoulli_factor(valve_size, inlet_pipe) - bernoulli_factor(valve_size, outlet_pipe)
    fittings = inlet_fitting_loss(valve_size, inlet_pipe) + outlet_fitting_loss(valve_size, outlet_pipe)
    return fittings + bernoulli


def piping_factor(kv: float, valve_size: float, losses: float) -> float:
    """Return F_P, by which fittings lessen a valve's flow coefficient.

    Parameters
    ----------
    kv
        Of the valve alone. [m³/h at 1 bar]
    valve_size
        [m]
    losses
        ΣK of `fitting_losses`. [1]

    Notes
    -----
    F_P = 1/√(1 + ΣK/ζ_valve), the same as 1/√(1 + ΣK (C/d²)²/N₂).
    """
    return 1.0 / sqrt(1.0 + losses / loss_coefficient_of_kv(kv, valve_size))


def recovery_with_fittings(kv: float, valve_size: float, inlet_pipe: float, recovery: float) -> float:
    """Return F_LP, the recovery factor of a valve together with the reducer ahead of it; not divided by F_P.

    Parameters
    ----------
    kv, valve_size, inlet_pipe
        As in `piping_factor` and `fitting_losses`.
    recovery
        F_L of the valve alone. [1]

    Notes
    -----
    F_LP = F_L/√(1 + F_L² (K₁ + K_B1)/ζ_valve) (IEC 60534-2-1:2011).
    """
    inlet = inlet_fitting_loss(valve_size, inlet_pipe) + bernoulli_factor(valve_size, inlet_pipe)
    return recovery / sqrt(1.0 + recovery * recovery * inlet / loss_coefficient_of_kv(kv, valve_size))


def required_kv(
    *, flow: float, inlet_abs: float, outlet_abs: float, density: float, recovery: float, throat_abs: float
) -> float:
    """Return the Kv a valve needs to pass a flow, choked or not, without fittings.

    Parameters
    ----------
    flow
        Above 0. [m³/s]
    inlet_abs, outlet_abs
        [Pa abs]
    density
        [kg/m³]
    recovery
        F_L. [1]
    throat_abs
        F_F p_v. [Pa abs]

    Returns
    -------
    float
        [m³/h at 1 bar]

    Notes
    -----
    C = Q/N₁ √(ρ/ρ₀/Δp_sizing), Δp_sizing = min(p₁ − p₂, F_L² (p₁ − F_F p_v)) (IEC 60534-2-1:2011).
    """
    sizing = min(inlet_abs - outlet_abs, recovery * recovery * (inlet_abs - throat_abs))
    return kv_of_k(flow / sqrt(sizing), density)


def required_kv_with_fittings(
    *,
    flow: float,
    inlet_abs: float,
    outlet_abs: float,
    density: float,
    recovery: float,
    throat_abs: float,
    valve_size: float,
    inlet_pipe: float,
    outlet_pipe: float,
    rounds: int = 60,
) -> float:
    """Return the Kv a valve between reducers needs to pass a flow; infinite if no valve of that bore can.

    Parameters
    ----------
    flow, inlet_abs, outlet_abs, density, recovery, throat_abs
        As in `required_kv`.
    valve_size, inlet_pipe, outlet_pipe
        As in `fitting_losses`.
    rounds
        Most repetitions; the answer stands after a few.

    Returns
    -------
    float
        [m³/h at 1 bar]
    """
    losses = fitting_losses(valve_size, inlet_pipe, outlet_pipe)
    bare = required_kv(
        flow=flow,
        inlet_abs=inlet_abs,
        outlet_abs=outlet_abs,
        density=density,
        recovery=recovery,
        throat_abs=throat_abs,
    )
    kv = bare
    for _ in range(rounds):
        factor = piping_factor(kv, valve_size, losses)
        combined = recovery_with_fittings(kv, valve_size, inlet_pipe, recovery)
        limit = (combined / factor) ** 2 * (inlet_abs - throat_abs)
        sizing = min(inlet_abs - outlet_abs, limit)
        new = kv_of_k(flow / sqrt(sizing), density) / factor
        if abs(new - kv) <= 1e-12 * kv:
            return new
        kv = new
    return inf


def valve_reynolds(
    *, flow: float, viscosity: float, valve_size: float, recovery: float, style: float, kv: float
) -> float:
    """Return the valve Reynolds number; flow through the valve is turbulent above about 10⁴.

    Parameters
    ----------
    flow
        [m³/s]
    viscosity
        Kinematic. [m²/s]
    valve_size
        [m]
    recovery
        F_L. [1]
    style
        F_d, valve style modifier. [1]
    kv
        [m³/h at 1 bar]

    Notes
    -----
    Re_v = N₄ F_d Q/(ν √(C F_L)) (F_L² C²/(N₂ d⁴) + 1)^¼ (IEC 60534-2-1:2011; N₄ and N₂ as printed there).
    """
    hourly = flow * 3600.0
    millimetres = valve_size * 1000.0
    inner = recovery**2 * kv**2 / (_N2 * millimetres**4) + 1.0
    return _N4 * style * hourly / (viscosity * sqrt(kv * recovery)) * pow(inner, 0.25)
