"""Quick check of a reducer's control loop: how fast it answers beside the lag of its sensing line.

Mains, stem friction and air are left out; calibrated on no valve. A sign of where swinging may begin.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf, sqrt

from steadyhead.laws.lift import opening_of_lift

STEPS = 40
_HALVINGS = 24
_SMALL = 1e-4


@dataclass(frozen=True, slots=True)
class Loop:
    """What the quick check needs of a reducer; SI.

    Parameters
    ----------
    pilot
        k of the pilot wide open. [m³/(s·√Pa)]
    band
        Proportional band. [Pa]
    lag
        Of the sensing line. [s]
    diaphragm_area, stroke
        [m²] [m]
    seat_ratio, flow_force, spring_shut, spring_rise
        As in `steadyhead.laws.pilot.balance_pressure`. [1] [1] [Pa] [Pa]
    """

    pilot: float
    band: float
    lag: float
    diaphragm_area: float
    stroke: float
    seat_ratio: float
    flow_force: float
    spring_shut: float
    spring_rise: float


def slope_share(opening: Callable[[float], float], lift: float) -> float:
    """Return dφ/dξ over φ of a lift characteristic at a lift; infinite on the seat. [1]

    Examples
    --------
    >>> round(slope_share(lambda lift: lift, 0.5), 6)
    2.0
    """
    here = opening(lift)
    if here <= 0.0:
        return inf
    step = min(_SMALL, 0.25 * lift)
    below, above = max(lift - step, 0.0), min(lift + step, 1.0)
    return (opening(above) - opening(below)) / (above - below) / here


def shaped(shape: float) -> Callable[[float], float]:
    """Return the lift characteristic of one shape b as a function of lift."""
    return lambda lift: opening_of_lift(lift, shape)


def static_gain(difference: float, outlet: float, ahead: float = 0.0) -> float:
    """Return by how much the outlet rises for a relative rise of the valve's k: dp₂/(dk/k).

    Steady, a fixed draw-off behind the valve, a fixed loss coefficient ahead of it.

    Parameters
    ----------
    difference, outlet
        p₁ − p₂ and p₂, gauge. [Pa], or any one unit of pressure or head
    ahead
        Lost ahead of it at this flow, in the same unit.

    Notes
    -----
    dp₂/(dk/k) = 2 D p₂/(D + p₂ + Δp_ahead) (own derivation from Q = k √D, Q ∝ √p₂, Δp_ahead ∝ Q²).

    Examples
    --------
    >>> round(static_gain(4e5, 4e5))
    400000
    """
    return 2.0 * difference * outlet / (difference + outlet + ahead)


def crossover(
    loop: Loop, opening: Callable[[float], float], lift: float, difference: float, outlet: float
) -> float:
    """Return how fast the loop answers: its crossover frequency [rad/s]; infinite without a band.

    Parameters
    ----------
    loop
        The reducer.
    opening
        Its lift characteristic.
    lift
        [1]
    difference, outlet
        p₁ − p₂ and p₂, gauge. [Pa]

    Notes
    -----
    ω_c = α dp₂/dx, α = k_p √(p_c − p₂)/(A_d b_p), dp₂/dx = 2 D p₂/(D + p₂) k′/k with D = p₁ − p₂ and a fixed
    draw-off behind it (own derivation; calibrated on no valve).
    """
    if difference <= 0.0 or outlet <= 0.0:
        return 0.0
    ratio = loop.seat_ratio - loop.flow_force * lift
    above = ratio * difference - (loop.spring_shut + loop.spring_rise * lift)
    if above <= 0.0:
        return 0.0
    if loop.band <= 0.0:
        return inf
    rate = loop.pilot * sqrt(above) / (loop.diaphragm_area * loop.band)
    gain = static_gain(difference, outlet) * slope_share(opening, lift) / loop.stroke
    return rate * gain


def quiet_lift(
    loop: Loop, opening: Callable[[float], float], difference: float, outlet: float, most: float
) -> float | None:
    """Return the lift from which upwards ω_c times the lag stays at or below `most`; None: nowhere.

    Examples
    --------
    >>> found = quiet_lift(
    ...     Loop(1.054e-7, 8e4, 0.05, 0.01745, 0.025, 0.45, 0.15, 5e3, 8e3), shaped(1.0), 4.7e5, 4e5, 0.5
    ... )
    >>> round(found, 2)
    0.06
    """

    def is_quiet(lift: float) -> bool:
        speed = crossover(loop, opening, lift, difference, outlet)
        return speed == 0.0 or speed * loop.lag <= most

    if not is_quiet(1.0):
        return None
    high = 1.0
    for step in range(STEPS - 1, -1, -1):
        low = max((step / STEPS) ** 2, _SMALL)  # graded towards the seat, where the slope is steep
        if not is_quiet(low):
            for _ in range(_HALVINGS):
                middle = 0.5 * (low + high)
                low, high = (low, middle) if is_quiet(middle) else (middle, high)
            return high
        high = low
    return 0.0
