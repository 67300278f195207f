"""A relief valve against the flow of a reducer that is stuck wide open."""

from __future__ import annotations

from math import inf, sqrt

from steadyhead.design import defaults as d
from steadyhead.design import limits
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.design.patching import changed, quantity_patch
from steadyhead.design.ways import way_in
from steadyhead.errors import InputError
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.records.design import Patch, ReliefSizing
from steadyhead.records.parts import Relief
from steadyhead.records.values import Origin, Value
from steadyhead.station import defaults as sd
from steadyhead.station.mechanics import relief_full, relief_kv


def relief_reseat(relief: Relief) -> Value:
    """Return the falling pressure at which a relief valve is shut again. [Pa at datum]"""
    if relief.reseat is not None:
        return relief.reseat
    si = relief.crack.si * (1.0 - sd.RELIEF_BLOWDOWN.si)
    rule = sd.RELIEF_BLOWDOWN
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
    night demand (none where demand may be zero), all reliefs of the way acting; a shut-off beside it stands
    open. Judged with the valve at the upper edge of its crack, wide open higher in the same share; drift
    between two proofs is not in it. Steady: no surge.

    Parameters
    ----------
    basis
        One way through the station.
    relief
        A relief valve on its outlet.
    """
    worker = basis.worker
    steady = basis.twin.failed_open(worker.id)
    latest = upper_edge(relief)
    late = _peak_at(basis, relief, latest)
    if steady is None or late is None or basis.outlet_tap not in steady.taps:
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
        latest_crack=latest,
        latest_peak=late,
        holds=None if limit is None else late <= limit,
    )


def upper_edge(relief: Relief) -> float:
    """Return the highest pressure at which a relief valve as set may start to lift. [Pa at datum]"""
    return relief.crack.si + tol.relief_error(relief).si


def _peak_at(basis: Basis, relief: Relief, crack: float) -> float | None:
    there = with_crack(basis, relief, crack)
    return None if there is None else failed_peak(there)


def failed_peak(basis: Basis) -> float | None:
    """Return the outlet with the worker stuck wide open; None: the twin has no answer. [Pa at datum]"""
    steady = basis.twin.failed_open(basis.worker.id)
    return None if steady is None else steady.taps.get(basis.outlet_tap)


def with_crack(basis: Basis, relief: Relief, crack: float) -> Basis | None:
    """Return the way with another crack of a relief valve; None: no such file.

    The pressures at which the valve stands wide open and shuts again keep their ratio to the crack.

    Parameters
    ----------
    basis
        One way through the station.
    relief
        A relief valve on its outlet.
    crack
        [Pa at datum]
    """
    share = crack / relief.crack.si
    pressures = {"crack": crack, "full": relief_full(relief).si * share}
    if relief.reseat is not None:
        pressures["reseat"] = relief.reseat.si * share
    patches = []
    for name, si in pressures.items():
        path, text = basis.path(relief.id, name), f"{si:.6f} Pa"
        stated = getattr(relief, name) is not None
        patches.append(quantity_patch(basis.data, path, text) if stated else Patch(path, text))
    try:
        return way_in(basis, changed(basis.data, tuple(patches)))
    except (InputError, ValueError):
        return None


def relief_sizings(ways: tuple[Basis, ...]) -> tuple[ReliefSizing, ...]:
    """Return every relief valve on the outlet once, in the way where the peak is highest."""
    worst: dict[str, ReliefSizing] = {}
    for basis in ways:
        for relief in basis.reliefs:
            sized = size_relief(basis, relief)
            known = worst.get(relief.id)
            if sized is not None and sized.latest_peak > (-inf if known is None else known.latest_peak):
                worst[relief.id] = sized
    return tuple(worst.values())
