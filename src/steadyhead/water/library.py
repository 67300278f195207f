"""The reference: water of the IAPWS formulations through the `iapws` library. Slow to load."""

from __future__ import annotations

import importlib

from steadyhead.water.model import WaterProperties


def properties_by_library(temperature_k: float, pressure_abs: float) -> WaterProperties:
    """Return properties of liquid water straight from the library, without range checks.

    Region 1 of IF97 (also where it is carried on below vapour pressure) and the 2008 viscosity.

    Parameters
    ----------
    temperature_k
        [K]
    pressure_abs
        [Pa abs]

    Notes
    -----
    IAPWS R7-97(2012) for volume, sound, expansion and vapour pressure; R12-08 for viscosity, critical
    enhancement 1.
    """
    if97 = importlib.import_module("iapws.iapws97")
    transport = importlib.import_module("iapws._iapws")
    state = if97._Region1(temperature_k, pressure_abs / 1e6)
    density = 1.0 / float(state["v"])
    sound = float(state["w"])
    return WaterProperties(
        density=density,
        kinematic_viscosity=float(transport._Viscosity(density, temperature_k)) / density,
        vapour_pressure_abs=float(if97._PSat_T(temperature_k)) * 1e6,
        bulk_modulus=density * sound * sound,
        speed_of_sound=sound,
        thermal_expansion=float(state["alfav"]),
    )
