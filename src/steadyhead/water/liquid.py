"""Properties of water from a table fitted to the library, quick enough for every start."""

from __future__ import annotations

from math import exp

from steadyhead.errors import InputError
from steadyhead.water import fitted
from steadyhead.water.model import WaterProperties

CRITICAL_PRESSURE_ABS = 22.064e6
"""Critical pressure of water. [Pa abs] (IAPWS R7-97(2012))"""


def properties(temperature_K: float, pressure_abs_Pa: float) -> WaterProperties:
    """Return properties of pure liquid water.

    0 to 80 °C, from vapour pressure to 200 bar absolute. A polynomial fitted to the IAPWS formulations,
    within 1e-5 of them (thermal expansion within 1e-8 1/K). Salt, gas and dirt are not in it.

    Parameters
    ----------
    temperature_K
        [K]
    pressure_abs_Pa
        [Pa abs]

    Raises
    ------
    InputError
        Outside the range, or where the water would boil.

    Examples
    --------
    >>> water = properties(283.15, 101325.0)
    >>> round(water.density, 2), round(water.vapour_pressure_abs), round(water.kinematic_viscosity * 1e6, 3)
    (999.7, 1228, 1.306)
    """
    celsius = temperature_K - 273.15
    if not fitted.LOWEST_TEMPERATURE <= temperature_K <= fitted.HIGHEST_TEMPERATURE:
        raise InputError(
            "water temperature",
            f"got {celsius:.4g} °C; liquid water from 0 to 80 °C is covered.",
            "Give the temperature of the water.",
        )
    if not 0.0 < pressure_abs_Pa <= fitted.HIGHEST_PRESSURE:
        raise InputError(
            "water pressure",
            f"got {pressure_abs_Pa / 1e5:.4g} bar absolute; above 0 and up to "
            f"{fitted.HIGHEST_PRESSURE / 1e5:.0f} bar absolute are covered.",
            "Give an absolute pressure within that range.",
        )
    warm = _scaled(temperature_K, fitted.LOWEST_TEMPERATURE, fitted.HIGHEST_TEMPERATURE)
    pressed = _scaled(pressure_abs_Pa, 0.0, fitted.HIGHEST_PRESSURE)
    vapour = _vapour_pressure(temperature_K, warm)
    if pressure_abs_Pa < vapour:
        raise InputError(
            "water pressure",
            f"got {pressure_abs_Pa / 1e5:.4g} bar absolute; water at {celsius:.4g} °C boils below "
            f"{vapour / 1e5:.4g} bar absolute.",
            "Give a pressure above that.",
        )
    density = _surface(fitted.DENSITY, warm, pressed)
    sound = _surface(fitted.SPEED_OF_SOUND, warm, pressed)
    return WaterProperties(
        density=density,
        kinematic_viscosity=1.0 / _surface(fitted.FLUIDITY, warm, pressed),
        vapour_pressure_abs=vapour,
        bulk_modulus=density * sound * sound,
        speed_of_sound=sound,
        thermal_expansion=_surface(fitted.THERMAL_EXPANSION, warm, pressed),
    )


def _scaled(value: float, low: float, high: float) -> float:
    return (2.0 * value - low - high) / (high - low)


def _vapour_pressure(temperature: float, warm: float) -> float:
    return exp(_chebyshev(fitted.LOG_VAPOUR_PRESSURE_TIMES_T, warm) / temperature)


def _surface(rows: tuple[tuple[float, ...], ...], warm: float, pressed: float) -> float:
    """Return a two-way Chebyshev sum: one row of temperature coefficients per power of pressure."""
    return _chebyshev(tuple(_chebyshev(row, warm) for row in rows), pressed)


def _chebyshev(coefficients: tuple[float, ...], x: float) -> float:
    """Return a Chebyshev sum at −1 ≤ x ≤ 1 by Clenshaw's recurrence."""
    later = latest = 0.0
    for coefficient in reversed(coefficients[1:]):
        later, latest = latest, 2.0 * x * latest - later + coefficient
    return x * latest - later + coefficients[0]
