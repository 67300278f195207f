"""What the mains of a station file are made of: wave speed of a main, elasticity of a zone."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from steadyhead.laws.waves import effective_compressibility, wave_speed
from steadyhead.records.mains import Main
from steadyhead.records.station import Zone
from steadyhead.records.values import Evidence, Origin, Value
from steadyhead.station import defaults as sd


@dataclass(frozen=True, slots=True)
class ZoneStiffness:
    """V β of the zone [m³/Pa] and how it is known; `lower_bound`: only the stated main was counted."""

    compliance: float
    volume: float
    compressibility: Value
    lower_bound: bool


def zone_stiffness(zone: Zone) -> ZoneStiffness | None:
    """Return V β of the zone; the volume of its stated main where the zone's is not known; None: neither.

    Notes
    -----
    β = 1/K + (D/e)/E (design handbook 0.4).
    """
    if zone.volume is not None:
        volume, lower_bound = zone.volume.si, False
    elif zone.main is not None:
        volume = sum(volume_of(reach) for reach in zone.reaches) or volume_of(zone.main)
        lower_bound = True
    else:
        return None
    beta = zone.elasticity or _compressibility(zone)
    if volume * beta.si <= 0.0:
        return None
    return ZoneStiffness(volume * beta.si, volume, beta, lower_bound)


def volume_of(main: Main) -> float:
    """Return the water in a main. [m³]"""
    return pi / 4.0 * main.bore.si**2 * main.length.si


def wave_speed_of(main: Main, density: float) -> Value:
    """Return the speed of a pressure wave in a main [m/s]: as stated, else from its wall and material.

    Full pipes without gas; plastics by their short-term modulus.

    Parameters
    ----------
    density
        Of the water. [kg/m³]
    """
    if main.wave_speed is not None:
        return main.wave_speed
    wall = main.wall.si if main.wall is not None else 0.0
    if wall <= 0.0:
        wall = main.bore.si / sd.BORE_OVER_WALL[main.material]
    speed = wave_speed(
        bulk_modulus=sd.BULK_MODULUS_PA,
        density=density,
        diameter=main.bore.si,
        wall=wall,
        elasticity=sd.WALL_MODULUS_GPA[main.material] * 1e9,
    )
    source = f"from wall and modulus of {main.material}"
    return Value(speed, "velocity", f"{speed:.0f} m/s", Origin.DERIVED, Evidence.ESTIMATE, source)


def roughness_of(main: Main) -> float:
    """Return the wall roughness of a main, by material where not stated. [m]"""
    return main.roughness.si if main.roughness else sd.ROUGHNESS_MM[main.material] * 1e-3


def _compressibility(zone: Zone) -> Value:
    ratio = zone.bore_over_wall
    slender = ratio.si if ratio is not None else sd.BORE_OVER_WALL[zone.material]
    modulus = sd.WALL_MODULUS_GPA[zone.material] * 1e9
    beta = effective_compressibility(
        bulk_modulus=sd.BULK_MODULUS_PA, diameter=slender, wall=1.0, elasticity=modulus
    )
    source = f"{zone.material}, bore over wall {slender:g}, wall modulus {modulus / 1e9:g} GPa"
    return Value(beta, "compressibility", f"{beta:.3g} 1/Pa", Origin.DERIVED, Evidence.ESTIMATE, source)
