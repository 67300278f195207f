"""Atmospheric pressure at a station, for values typed as absolute."""

from __future__ import annotations

from collections.abc import Mapping

from steadyhead.units import UnitError, parse
from steadyhead.water.atmosphere import (
    HIGHEST_ALTITUDE,
    LOWEST_ALTITUDE,
    SEA_LEVEL_PRESSURE_ABS,
    pressure_abs,
)


def at_station(data: Mapping[str, object]) -> float:
    """Return the pressure of the standard atmosphere at a station, from its plain data.

    The altitude counts, else the datum, else the sea.

    Parameters
    ----------
    data
        Plain data of a station file, checked or not.

    Returns
    -------
    float
        [Pa abs]
    """
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
                if LOWEST_ALTITUDE <= level <= HIGHEST_ALTITUDE:
                    return pressure_abs(level)
    return SEA_LEVEL_PRESSURE_ABS
