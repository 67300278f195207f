"""Water that is heated behind shut valves: how far the pressure rises, what a vessel takes up."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.design import defaults as d
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.hydraulics.mains import zone_stiffness
from steadyhead.records.station import HotWater
from steadyhead.water import properties

_HALVINGS = 60
_HIGHEST_PA = 400e5


@dataclass(frozen=True, slots=True)
class Heating:
    """What heating does to a closed zone.

    expands: volume the heated water gains [m³]; starts, ends: pressure before and after, nothing let off
    [Pa at datum]; per_kelvin: rise of the zone's own water in its pipes, heated by one kelvin, walls and all
    [Pa/K].
    """

    expands: float
    starts: float
    ends: float
    per_kelvin: float


def thermal_rise(
    *, fluid_expansion: float, wall_expansion: float, compressibility: float, warmer: float
) -> float:
    """Return the rise of pressure in a full, closed pipe that grows warmer. [Pa]

    No air, elastic wall, properties constant over the span.

    Parameters
    ----------
    fluid_expansion
        Volumetric, of the water. [1/K]
    wall_expansion
        Linear, of the wall. [1/K]
    compressibility
        Of water and wall together, β + (D/e)/E. [1/Pa]
    warmer
        [K]

    Notes
    -----
    Δp = (α_w − 3 α_wall) ΔT/(β + D/(e E)): an engineering forum's answer on trapped liquids, 2007, read in
    excerpt; balance of volumes.

    Examples
    --------
    >>> rise = thermal_rise(
    ...     fluid_expansion=1.51e-4, wall_expansion=12e-6, compressibility=1 / 2.2e9 + 35 / 207e9, warmer=1.0
    ... )
    >>> round(rise / 1e5, 1)
    1.8
    """
    return (fluid_expansion - 3.0 * wall_expansion) * warmer / compressibility


def expansion(hot: HotWater, cold: float, warm: float, pressure_abs: float) -> float:
    """Return the volume that heated water gains. [m³]

    Parameters
    ----------
    hot
        Its volume.
    cold, warm
        [K]
    pressure_abs
        [Pa abs]

    Notes
    -----
    ΔV = V (ρ_cold/ρ_warm − 1).
    """
    ratio = properties(cold, pressure_abs).density / properties(warm, pressure_abs).density
    return hot.volume.si * (ratio - 1.0)


def takes_up(basis: Basis, start: float, end: float) -> float:
    """Return the volume that vessels and zone take up from one pressure to another. [m³]

    Slow: the gas keeps its temperature. Vessels with volume and precharge stated; zone where it is known.

    Parameters
    ----------
    start, end
        [Pa gauge at datum]

    Notes
    -----
    Σ V₀ P₀ (1/P₁ − 1/P₂) + V β (P₂ − P₁), absolute pressures, P₁ at least the precharge P₀ (Boyle).
    """
    atmosphere = basis.twin.atmosphere_abs
    stiffness = zone_stiffness(basis.station.zone)
    found = 0.0 if stiffness is None else stiffness.compliance * (end - start)
    for vessel in basis.vessels:
        if vessel.volume is not None and vessel.precharge is not None:
            empty = vessel.precharge.si + atmosphere
            first, last = max(start + atmosphere, empty), max(end + atmosphere, empty)
            found += vessel.volume.si * empty * (1.0 / first - 1.0 / last)
    return found


def heating(basis: Basis, lockup: float) -> Heating | None:
    """Return what heating the hot water does while nothing is drawn; None: no hot water, or zone not known.

    Starts from lock-up with the reducers shut. The walls of the heater are taken as rigid, on the safe side.

    Parameters
    ----------
    basis
        The station.
    lockup
        Of the reducer that leads, nominal for what a gauge is likely to read, highest for the design.
        [Pa at datum]
    """
    hot, stiffness = basis.station.hot_water, zone_stiffness(basis.station.zone)
    if hot is None or stiffness is None:
        return None
    water = basis.station.water
    cold = (hot.cold or water.temperature).si
    warm = (hot.hot or d.HOT_WATER.value()).si
    expands = max(expansion(hot, cold, warm, lockup + basis.twin.atmosphere_abs), 0.0)
    low, high = lockup, _HIGHEST_PA
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if takes_up(basis, lockup, middle) < expands:
            low = middle
        else:
            high = middle
    own = properties(water.temperature.si, lockup + basis.twin.atmosphere_abs)
    per_kelvin = thermal_rise(
        fluid_expansion=own.thermal_expansion,
        wall_expansion=d.METAL_EXPANSION.si,
        compressibility=stiffness.compressibility.si,
        warmer=1.0,
    )
    return Heating(expands, lockup, high, per_kelvin)


def has_vessel(basis: Basis) -> bool:
    """Return whether a vessel with volume and precharge stated stands on the outlet."""
    return any(one.volume is not None and one.precharge is not None for one in basis.vessels)


def highest_heated(basis: Basis, highest_normal: float) -> float | None:
    """Return the outlet after all hot water was heated once while nobody drew. [Pa at datum]

    Starts from the highest lock-up, not the nominal one. A relief valve stops the rise at its upper edge at
    the latest; the little flow of an expansion lifts it hardly further. None: no heated water, its zone not
    known, or neither vessel nor relief valve.

    Parameters
    ----------
    basis
        One way through the station.
    highest_normal
        Lock-up and what adds to it. [Pa at datum]
    """
    found = heating(basis, highest_normal)
    lifts = min((one.crack.si + tol.relief_error(one).si for one in basis.reliefs), default=None)
    if found is None or (lifts is None and not has_vessel(basis)):
        return None
    if lifts is None:
        return found.ends
    return max(min(found.ends, lifts), highest_normal) if has_vessel(basis) else max(lifts, highest_normal)
