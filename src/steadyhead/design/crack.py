"""How high a relief valve that stands in place of a shut-off may crack."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.design import limits
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.design.patching import changed, quantity_patch
from steadyhead.design.relief import size_relief
from steadyhead.design.ways import way_in
from steadyhead.errors import InputError
from steadyhead.records.design import Patch, ReliefSizing
from steadyhead.records.parts import Relief
from steadyhead.station.mechanics import relief_full

_ROUNDS = 8
_SETTLED_PA = 50.0


def with_highest_crack(ways: tuple[Basis, ...], sized: tuple[ReliefSizing, ...]) -> tuple[ReliefSizing, ...]:
    """Return the sizings; those in place of a shut-off carry the highest crack that holds in every way."""
    return tuple(_with_highest(ways, one) for one in sized)


def _with_highest(ways: tuple[Basis, ...], sized: ReliefSizing) -> ReliefSizing:
    if sized.place != "in place of the shut-off":
        return sized
    lowest: tuple[float, float] | None = None
    for basis in ways:
        relief = next((one for one in basis.reliefs if one.id == sized.relief), None)
        weakest = limits.weakest_fault(limits.component_limits(basis.station, basis.density))
        if relief is None or weakest is None or weakest.fault_at_datum is None:
            continue
        found = highest_crack(basis, relief, weakest.fault_at_datum)
        if found is None:
            return sized
        lowest = found if lowest is None else min(lowest, found)
    return sized if lowest is None else replace(sized, highest_crack=lowest[0], its_rise=lowest[1])


def highest_crack(basis: Basis, relief: Relief, limit: float) -> tuple[float, float] | None:
    """Return the highest crack at which a relief valve holds a reducer stuck wide open, and its rise there.

    The twin is asked again with each crack; the pressure at which the valve stands wide open keeps its ratio
    to the crack. None: the twin has no answer, or no crack holds.

    Parameters
    ----------
    basis
        One way through the station.
    relief
        A relief valve on its outlet.
    limit
        Fault limit. [Pa at datum]

    Returns
    -------
    tuple of float, or None
        Crack, and from it to the pressure at which inflow, demand and relief balance. [Pa at datum]

    Notes
    -----
    crack + rise(crack) + error(crack) = limit; the rise changes little with the crack, so that the step
    crack ← crack + what is left over settles in a few rounds (own derivation).
    """
    crack, ratio = relief.crack.si, relief_full(relief).si / relief.crack.si
    for _ in range(_ROUNDS):
        found = _with_crack(basis, relief, crack, ratio)
        if found is None:
            return None
        peak, error = found
        left = limit - peak - error
        if abs(left) < _SETTLED_PA:
            return crack, peak - crack
        crack += left
        if crack <= 0.0:
            return None
    return None


def _with_crack(basis: Basis, relief: Relief, crack: float, ratio: float) -> tuple[float, float] | None:
    """Return the peak with another crack, and the error of that crack. [Pa]"""
    pressures = {"crack": crack, "full": crack * ratio}
    if relief.reseat is not None:
        pressures["reseat"] = relief.reseat.si * crack / relief.crack.si
    patches = []
    for name, si in pressures.items():
        path, text = basis.path(relief.id, name), f"{si:.6f} Pa"
        stated = getattr(relief, name) is not None
        patches.append(quantity_patch(basis.data, path, text) if stated else Patch(path, text))
    try:
        there = way_in(basis, changed(basis.data, tuple(patches)))
    except (InputError, ValueError):
        return None
    moved = next(one for one in there.reliefs if one.id == relief.id)
    sized = size_relief(there, moved)
    return None if sized is None else (sized.peak, tol.relief_error(moved).si)
