"""The capacity maps of a station and what valves of other sizes would need, for papers and pictures."""

from __future__ import annotations

from steadyhead.design.basis import Basis
from steadyhead.design.capacity import capacity_map
from steadyhead.design.layout_checks import is_covered, senses_well
from steadyhead.design.required import required_kvs
from steadyhead.design.twin import SteadyTwin
from steadyhead.errors import InputError
from steadyhead.records.capacity import CapacityMap, RequiredKv
from steadyhead.records.pictures import CapacityPicture
from steadyhead.services.judging import Judged
from steadyhead.units import METRIC, UnitSet


def capacity_picture(judged: Judged, reducer: str = "", units: UnitSet = METRIC) -> CapacityPicture:
    """Return the capacity map of one reducer as a picture; the first of the main line where none is named.

    Raises
    ------
    InputError
        No such reducer, or a station whose layout or settings have no answer.
    """
    basis, twin = _grounds(judged)
    name = reducer or (basis.layout.reducers[0].id if basis.layout.reducers else "")
    return _picture(judged, capacity_map(basis, twin.model, name), units)


def capacity_pictures(judged: Judged, units: UnitSet = METRIC) -> tuple[CapacityPicture, ...]:
    """Return the maps of all reducers of the main line; none where the station has no answer."""
    try:
        basis, twin = _grounds(judged)
    except InputError:
        return ()
    return tuple(
        _picture(judged, capacity_map(basis, twin.model, r.id), units) for r in basis.layout.reducers
    )


def required_of(judged: Judged) -> tuple[RequiredKv, ...]:
    """Return the required flow coefficients of each reducer's size and its neighbours."""
    try:
        basis, _ = _grounds(judged)
    except InputError:
        return ()
    return tuple(required_kvs(basis, reducer) for reducer in basis.layout.reducers)


def _grounds(judged: Judged) -> tuple[Basis, SteadyTwin]:
    station = judged.loaded.station
    twin = SteadyTwin(station)
    basis = Basis(station, twin)
    if not is_covered(basis) or not senses_well(basis) or twin.problem:
        raise InputError("PICTURE", "this station has no capacity map yet.", "Check says what is missing.")
    return basis, twin


def _picture(judged: Judged, shown: CapacityMap, units: UnitSet) -> CapacityPicture:
    who = judged.loaded.station.station
    return CapacityPicture(who.name, who.datum.si, shown, units=units)
