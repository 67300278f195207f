"""How high a relief valve that stands in place of a shut-off may crack."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.design import limits
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.design.relief import failed_peak, upper_edge, with_crack
from steadyhead.records.design import ReliefSizing
from steadyhead.records.parts import Relief

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

    The twin is asked again with each crack at its upper edge; the pressure at which the valve stands wide
    open keeps its ratio to the crack. None: the twin has no answer, or no crack holds.

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
        Crack as set, and from its upper edge to the pressure at which inflow, demand and relief balance.
        [Pa at datum]

    Notes
    -----
    crack + error = edge; edge + rise(edge) = limit; the rise changes little with the edge, so that the step
    edge ← edge + what is left over settles in a few rounds (own derivation).
    """
    edge = upper_edge(relief)
    for _ in range(_ROUNDS):
        there = with_crack(basis, relief, edge)
        peak = None if there is None else failed_peak(there)
        if peak is None:
            return None
        left = limit - peak
        if abs(left) < _SETTLED_PA:
            return edge - tol.error_below(relief, edge), peak - edge
        edge += left
        if edge <= 0.0:
            return None
    return None
