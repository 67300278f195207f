"""The reference: water of the IAPWS formulations through the `CoolProp` library. Slow to load."""

from __future__ import annotations

import importlib
from typing import Any

from steadyhead.water.model import WaterProperties

BACKEND = "IF97::Water"
COLDEST = 273.15
STEP = 0.05
"""Step of the numerical derivative by temperature. [K]"""


def properties_by_library(temperature_k: float, pressure_abs: float) -> WaterProperties:
    """Return properties of liquid water straight from the library, without range checks.

    Region 1 of IF97 and the 2008 viscosity; pressure above the vapour pressure.

    Parameters
    ----------
    temperature_k
        [K]
    pressure_abs
        [Pa abs]

    Notes
    -----
    IAPWS R7-97(2012) for density, sound and vapour pressure; R12-08 for viscosity, critical enhancement 1.
    Thermal expansion from the density by a difference over 0.05 K, within 1e-9 1/K.
    """
    ask: Any = importlib.import_module("CoolProp.CoolProp").PropsSI

    def density_at(temperature: float) -> float:
        return float(ask("D", "T", temperature, "P", pressure_abs, BACKEND))

    density = density_at(temperature_k)
    sound = float(ask("A", "T", temperature_k, "P", pressure_abs, BACKEND))
    viscosity = float(ask("V", "T", temperature_k, "P", pressure_abs, BACKEND))
    if temperature_k - STEP >= COLDEST:
        slope = (density_at(temperature_k + STEP) - density_at(temperature_k - STEP)) / (2 * STEP)
    else:
        near, far = density_at(temperature_k + STEP), density_at(temperature_k + 2 * STEP)
        slope = (4 * near - far - 3 * density) / (2 * STEP)
    return WaterProperties(
        density=density,
        kinematic_viscosity=viscosity / density,
        vapour_pressure_abs=float(ask("P", "T", temperature_k, "Q", 0, BACKEND)),
        bulk_modulus=density * sound * sound,
        speed_of_sound=sound,
        thermal_expansion=-slope / density,
    )
