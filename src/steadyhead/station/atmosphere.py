"""Atmospheric pressure at a station, for values typed as absolute."""

from __future__ import annotations

from collections.abc import Mapping

from steadyhead.units import UnitError, parse

SEA_LEVEL_PA = 101325.0
LAPSE_PER_M = 2.25577e-5
EXPONENT = 5.25588
LOWEST_M, HIGHEST_M = -5000.0, 9000.0


def standard_atmosphere(altitude_m: float) -> float:
    """Return the pressure of the standard atmosphere at an altitude.

    Holds in the troposphere, −5000 to 11 000 m.

    Parameters
    ----------
    altitude_m
        Above the sea. [m]

    Returns
    -------
    float
        Absolute pressure. [Pa]

    Notes
    -----
    p = 101325 (1 − 2.25577·10⁻⁵ z)^5.25588, ISO 2533:1975 (constants from memory).

    Examples
    --------
    >>> round(standard_atmosphere(0.0))
    101325
    """
    return SEA_LEVEL_PA * float((1.0 - LAPSE_PER_M * altitude_m) ** EXPONENT)


def at_station(data: Mapping[str, object]) -> float:
    """Return the atmospheric pressure at the altitude, else the datum, of a station's plain data. [Pa]"""
    identity = data.get("station")
    if isinstance(identity, Mapping):
        for key in ("altitude", "datum"):
            raw = identity.get(key)
            text = raw.get("value") if isinstance(raw, Mapping) else raw
            if isinstance(text, str):
                try:
                    level = parse(text, "length").si
                except UnitError:
                    continue
                if LOWEST_M <= level <= HIGHEST_M:
                    return standard_atmosphere(level)
    return SEA_LEVEL_PA
