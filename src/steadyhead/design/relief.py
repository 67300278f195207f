"""A relief valve against the flow of a reducer that is stuck wide open."""

from __future__ import annotations

from math import inf, sqrt

from steadyhead.design import defaults as d
from steadyhead.design import limits
from steadyhead.design.basis import Basis
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.records.design import ReliefSizing
from steadyhead.records.parts import Relief
from steadyhead.records.values import Origin, Value
from steadyhead.station.mechanics import relief_full, relief_kv


def relief_reseat(relief: Relief) -> Value:
    """Return the falling pressure at which a relief valve is shut again. [Pa at datum]"""
    if relief.reseat is not None:
        return relief.reseat
    si = relief.crack.si * (1.0 - d.RELIEF_BLOWDOWN.si)
    rule = d.RELIEF_BLOWDOWN
    return Value(si, "pressure", f"{si / 1e5:.3g} bar", Origin.DEFAULT, rule.evidence, rule.source)


def lets_off(relief: Relief, pressure: float, density: float) -> float:
    """Return what a relief valve lets off at a pressure. [m³/s]

    Parameters
    ----------
    relief
        The part.
    pressure
        At its place. [Pa gauge]
    density
        Of the water. [kg/m³]

    Notes
    -----
    Q = k l √P, l rising straight from 0 at crack to 1 wide open; to atmosphere.
    """
    crack = relief.crack.si
    wide = max(relief_full(relief).si, crack * (1.0 + d.RELIEF_LEAST_RISE))
    lift = min(max((pressure - crack) / (wide - crack), 0.0), 1.0)
    return k_of_kv(relief_kv(relief).si, density) * lift * sqrt(max(pressure, 0.0))


def size_relief(basis: Basis, relief: Relief) -> ReliefSizing | None:
    """Return a relief valve of one way beside the flow it must let off; None: the twin has no answer.

    The worst of the reducers of the way that hold the outlet, stuck wide open at the highest static inlet and
    night demand, all reliefs of the way acting; a shut-off beside it stands open. Steady: no surge.

    Parameters
    ----------
    basis
        One way through the station.
    relief
        A relief valve on its outlet.
    """
    worker = basis.worker
    steady = basis.twin.failed_open(worker.id)
    if steady is None or basis.outlet_tap not in steady.taps:
        return None
    weakest = limits.weakest_fault(limits.component_limits(basis.station, basis.density))
    limit = None if weakest is None else weakest.fault_at_datum
    peak, kv = steady.taps[basis.outlet_tap], relief_kv(relief)
    return ReliefSizing(
        relief=relief.id,
        place="in place of the shut-off" if basis.layout.shut_off is None else "beside the shut-off",
        crack=relief.crack.si,
        full=relief_full(relief).si,
        reseat=relief_reseat(relief).si,
        kv=kv.si,
        kv_provenance=kv.provenance,
        failed_open_flow=max(steady.valves[worker.id].flow, 0.0),
        passes=None if limit is None else lets_off(relief, limit, basis.density),
        peak=peak,
        holds=None if limit is None else peak <= limit,
    )


def relief_sizings(ways: tuple[Basis, ...]) -> tuple[ReliefSizing, ...]:
    """Return every relief valve on the outlet once, in the way where the peak is highest."""
    worst: dict[str, ReliefSizing] = {}
    for basis in ways:
        for relief in basis.reliefs:
            sized = size_relief(basis, relief)
            known = worst.get(relief.id)
            if sized is not None and sized.peak > (-inf if known is None else known.peak):
                worst[relief.id] = sized
    return tuple(worst.values())
