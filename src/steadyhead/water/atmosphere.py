"""Standard atmosphere: pressure at a height."""

from __future__ import annotations

from math import pow

from steadyhead.errors import InputError

SEA_LEVEL_PRESSURE_ABS = 101325.0
"""Pressure of the standard atmosphere at sea level. [Pa abs] (ISO 2533; exact by definition)"""

# U.S. Standard Atmosphere 1976, lowest layer: 288.15 K at sea level, 6.5 K/km, g₀ M/(R L) = 5.25588.
_LAPSE_OVER_TEMPERATURE = 6.5e-3 / 288.15
_EXPONENT = 5.25588
_EARTH_RADIUS = 6_356_766.0
LOWEST_ALTITUDE = -5000.0
HIGHEST_ALTITUDE = 11000.0


def pressure_abs(altitude_m: float) -> float:
    """Return the pressure of the standard atmosphere at a height above sea level.

    Still, dry standard air; weather moves the true pressure by about 3 %.

    Parameters
    ----------
    altitude_m
        Geometric height above sea level, −5000 to 11000. [m]

    Returns
    -------
    float
        [Pa abs]

    Raises
    ------
    InputError
        When the height lies outside the layer the formula is for.

    Notes
    -----
    p = 101325 (1 − 0.0065 h/288.15)^5.25588 with the geopotential height h = r z/(r + z),
    r = 6356.766 km (U.S. Standard Atmosphere 1976, from memory; the same model as ISO 2533).

    Examples
    --------
    >>> round(pressure_abs(1000.0))
    89876
    """
    if not LOWEST_ALTITUDE <= altitude_m <= HIGHEST_ALTITUDE:
        raise InputError(
            "altitude",
            f"got {altitude_m:g} m; the standard atmosphere is used from {LOWEST_ALTITUDE:g} m to "
            f"{HIGHEST_ALTITUDE:g} m.",
            "Give the height of the station above sea level in metres.",
        )
    geopotential = _EARTH_RADIUS * altitude_m / (_EARTH_RADIUS + altitude_m)
    return SEA_LEVEL_PRESSURE_ABS * pow(1.0 - _LAPSE_OVER_TEMPERATURE * geopotential, _EXPONENT)
