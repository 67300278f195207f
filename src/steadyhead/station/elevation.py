"""Carry pressures between levels and the station datum."""

from __future__ import annotations

from steadyhead.station.defaults import GRAVITY


def to_datum(pressure: float, *, level: float, datum: float, density: float) -> float:
    """Return a local gauge pressure as it reads at the station datum, water at rest.

    Holds for one body of water without flow between the two levels.

    Parameters
    ----------
    pressure
        Gauge pressure at `level`. [Pa]
    level, datum
        Heights above one common zero. [m]
    density
        Water density. [kg/m³]

    Returns
    -------
    float
        Gauge pressure at the datum. [Pa]

    Notes
    -----
    p_datum = p + ρ g (level − datum): a component below the datum sees more than a gauge at it.

    Examples
    --------
    A spur that bears 8 bar at 121 m, seen from a datum at 142 m:

    >>> round(to_datum(8e5, level=121.0, datum=142.0, density=1000.0) / 1e5, 2)
    5.94
    """
    return pressure + density * GRAVITY * (level - datum)


def to_level(pressure_at_datum: float, *, level: float, datum: float, density: float) -> float:
    """Return a pressure at the datum as it reads at `level`; the inverse of `to_datum`. [Pa]"""
    return pressure_at_datum - density * GRAVITY * (level - datum)
