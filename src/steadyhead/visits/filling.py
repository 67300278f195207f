"""How fast an empty section may be filled, and the bound on the surge when the last air leaves."""

from __future__ import annotations

from steadyhead.design import limits
from steadyhead.hydraulics import Model
from steadyhead.laws.waves import joukowsky_rise, wave_speed
from steadyhead.records.station import Station
from steadyhead.station import defaults as sd
from steadyhead.visits import defaults as d


def inlet_wave_speed(station: Station, density: float) -> float:
    """Return the wave speed of the supply main: stated, by its material, else that of ductile iron. [m/s]"""
    main = station.supply.main
    if main is None:
        return d.IRON_WAVE_SPEED.si
    if main.wave_speed is not None:
        return main.wave_speed.si
    wall = main.wall.si if main.wall is not None else main.bore.si / sd.BORE_OVER_WALL[main.material]
    return wave_speed(
        bulk_modulus=sd.BULK_MODULUS_PA,
        density=density,
        diameter=main.bore.si,
        wall=wall,
        elasticity=sd.WALL_MODULUS_GPA[main.material] * 1e9,
    )


def fill_velocity(station: Station, model: Model) -> float:
    """Return the filling velocity: 0.3 m/s, or less where the bound on the surge would pass the rating. [m/s]

    Bound, air not modelled: the water column stopped dead when the last air leaves.

    Notes
    -----
    static + ρ a V ≤ weakest rating ahead of the outlet valve (design handbook C2; N. Joukowsky 1900).
    """
    usual = d.FILL_VELOCITY.si
    components = limits.component_limits(station, model.density)
    sides = [limits.weakest_normal(components, side) for side in ("inlet", "between")]
    ratings = [c.normal_at_datum for c in sides if c is not None and c.normal_at_datum is not None]
    if not ratings:
        return usual
    room = max(min(ratings) - station.supply.static.si, 0.0)
    return min(usual, room / (model.density * inlet_wave_speed(station, model.density)))


def fill_surge(station: Station, model: Model) -> float:
    """Return ρ a V of the filling velocity: a bound, air not modelled. [Pa]"""
    speed = inlet_wave_speed(station, model.density)
    return joukowsky_rise(
        density=model.density, wave_speed=speed, velocity_drop=fill_velocity(station, model)
    )
