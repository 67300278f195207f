"""What the house needs to know of water at one temperature and pressure."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WaterProperties:
    """Properties of pure liquid water at one state.

    Parameters
    ----------
    density
        [kg/m³]
    kinematic_viscosity
        [m²/s]
    vapour_pressure_abs
        [Pa abs]
    bulk_modulus
        ρ c², the isentropic one that rules waves; 0.1 to 8 % above the isothermal one from 10 to 80 °C. [Pa]
    speed_of_sound
        In unconfined water. [m/s]
    thermal_expansion
        Volumetric; negative below 4 °C. [1/K]
    """

    density: float
    kinematic_viscosity: float
    vapour_pressure_abs: float
    bulk_modulus: float
    speed_of_sound: float
    thermal_expansion: float
