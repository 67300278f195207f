"""The one bound on surge this room knows: a sudden stop in the supply main. The surge engine comes later."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.design.basis import Basis
from steadyhead.laws.coefficients import velocity
from steadyhead.laws.waves import joukowsky_rise, wave_return_time, wave_speed
from steadyhead.station import defaults as sd


@dataclass(frozen=True, slots=True)
class SuddenStop:
    """Rise [Pa] if a flow stops at once, wave speed [m/s] with its provenance, and 2 L/a [s]."""

    rise: float
    wave_speed: float
    provenance: str
    return_time: float


def sudden_stop(basis: Basis, flow: float) -> SuddenStop | None:
    """Return the bound on the surge in the supply main when `flow` [m³/s] stops; None: no main is stated.

    An upper bound: a stop slower than 2 L/a gives less. A wave that meets a shut end doubles there.

    Notes
    -----
    Δp = ρ a Δv (N. Joukowsky 1900).
    """
    main = basis.station.supply.main
    if main is None:
        return None
    if main.wave_speed is not None:
        speed, provenance = main.wave_speed.si, main.wave_speed.provenance
    else:
        wall = main.wall.si if main.wall is not None else 0.0
        if wall <= 0.0:
            wall = main.bore.si / sd.BORE_OVER_WALL[main.material]
        speed = wave_speed(
            bulk_modulus=sd.BULK_MODULUS_PA,
            density=basis.density,
            diameter=main.bore.si,
            wall=wall,
            elasticity=sd.WALL_MODULUS_GPA[main.material] * 1e9,
        )
        provenance = f"from wall and modulus of {main.material}"
    rise = joukowsky_rise(density=basis.density, wave_speed=speed, velocity_drop=velocity(flow, main.bore.si))
    return SuddenStop(rise, speed, provenance, wave_return_time(length=main.length.si, wave_speed=speed))
