"""Vessels and relief valves beside the mains of a plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from steadyhead.errors import InputError
from steadyhead.hydraulics.model import LEAST_RISE, Model
from steadyhead.records.mains import AnyReach, ReachRelief, ReachVessel, SupplyReach, ZoneReach
from steadyhead.records.station import Station
from steadyhead.station import defaults as sd
from steadyhead.surge.plan import Consumers, ReliefValve, Vessel


def air_of(volume: float, precharge: float, pressure: float, atmosphere: float) -> float:
    """Return the gas a vessel holds at a pressure, at rest for long. [m³]

    Notes
    -----
    Isothermal: V (p_charge + p_a)/(p + p_a), the whole vessel below the precharge.

    Parameters
    ----------
    volume, precharge, pressure, atmosphere
        [m³], [Pa], [Pa], [Pa absolute].
    """
    return volume * min((precharge + atmosphere) / (pressure + atmosphere), 1.0)


def with_devices(
    joints: tuple[Consumers, ...],
    reaches: Mapping[str, SupplyReach | ZoneReach],
    pressures: Mapping[str, float],
    model: Model,
) -> tuple[Consumers, ...]:
    """Return joints with the vessels and relief valves of the reaches that end there.

    Parameters
    ----------
    joints
        Of the plan.
    reaches
        Reach by the joint where it ends.
    pressures
        At the start, by joint, at its own level. [Pa]
    model
        The steady twin.

    Raises
    ------
    InputError
        A relief valve that stands open at the start: the steady state does not know what it lets off.
    """
    return tuple(
        joint if joint.id not in reaches else _beside(joint, reaches[joint.id], pressures[joint.id], model)
        for joint in joints
    )


def _beside(joint: Consumers, reach: SupplyReach | ZoneReach, pressure: float, model: Model) -> Consumers:
    vessel = None if reach.vessel is None else _vessel(reach.vessel, pressure, model)
    relief = None if reach.relief is None else _relief(reach, reach.relief, pressure, model)
    return replace(joint, vessel=vessel or joint.vessel, relief=relief or joint.relief)


def _vessel(vessel: ReachVessel, pressure: float, model: Model) -> Vessel:
    return Vessel(air_of(vessel.volume.si, vessel.precharge.si, pressure, model.atmosphere))


def _relief(
    reach: SupplyReach | ZoneReach, relief: ReachRelief, pressure: float, model: Model
) -> ReliefValve:
    crack = relief.crack.si
    if pressure >= crack:
        problem = f"the relief valve at the end of {reach.id} stands open before anything happens."
        raise InputError(f"reach {reach.id}", problem, "Raise its crack, or lower what stands there.")
    full = crack * (1.0 + sd.RELIEF_RISE.si) if relief.full is None else relief.full.si
    reseat = crack * (1.0 - sd.RELIEF_BLOWDOWN.si) if relief.reseat is None else relief.reseat.si
    strokes = 0.0 if relief.strokes_in is None else relief.strokes_in.si
    wide = max(full, crack * (1.0 + LEAST_RISE))
    return ReliefValve(f"relief of {reach.id}", model.k(relief.kv.si), crack, wide, reseat, strokes)


def without_uncredited(station: Station) -> Station:
    """Return a station whose mains have no relief valve that nobody credits."""
    found = station
    supply = tuple(_kept(reach) for reach in station.supply.reaches)
    zone = tuple(_kept(reach) for reach in station.zone.reaches)
    if supply != station.supply.reaches:
        found = found.model_copy(update={"supply": station.supply.model_copy(update={"reaches": supply})})
    if zone != station.zone.reaches:
        found = found.model_copy(update={"zone": station.zone.model_copy(update={"reaches": zone})})
    return found


def _kept(reach: AnyReach) -> AnyReach:
    if reach.relief is None or reach.relief.credited:
        return reach
    return reach.model_copy(update={"relief": None})
