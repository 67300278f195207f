"""The capacity maps of a station and what valves of other sizes would need, for papers and pictures."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from steadyhead.design.along import reducers_along
from steadyhead.design.basis import Basis
from steadyhead.design.capacity import capacity_map
from steadyhead.design.export import plain, rounded
from steadyhead.design.layout_checks import senses_well
from steadyhead.design.needed import SAME_BORE
from steadyhead.design.required import required_kvs
from steadyhead.design.twin import SteadyTwin
from steadyhead.errors import InputError
from steadyhead.records.capacity import CapacityMap, RequiredKv
from steadyhead.records.pictures import CapacityPicture
from steadyhead.services import library
from steadyhead.services.judging import Judged, sheet_data
from steadyhead.station.valve_sheets import SheetFile
from steadyhead.units import METRIC, UnitSet


def capacity_picture(judged: Judged, reducer: str = "", units: UnitSet = METRIC) -> CapacityPicture:
    """Return the capacity map of one reducer as a picture; the first of the main way if none is named.

    Raises
    ------
    InputError
        No such reducer, a direct-acting one, or a station whose layout or settings have no answer.
    """
    basis, twin = _grounds(judged)
    first = next((one.reducer.id for one in reducers_along(basis)), "")
    name = reducer or first
    return _picture(judged, capacity_map(basis, twin.model, name), units)


def capacity_pictures(judged: Judged, units: UnitSet = METRIC) -> tuple[CapacityPicture, ...]:
    """Return the maps of all pilot-operated reducers; none where the station has no answer."""
    try:
        basis, twin = _grounds(judged)
    except InputError:
        return ()
    return tuple(
        _picture(judged, capacity_map(basis, twin.model, one.reducer.id), units)
        for one in reducers_along(basis)
        if one.reducer.kind == "pilot-operated"
    )


def compared_sheets(judged: Judged) -> tuple[SheetFile, ...]:
    """Return the data sheets of reducers a station is compared with: its own, then those of the library."""
    own = {sheet.sheet.name: sheet for sheet in judged.loaded.sheets}
    kept = {sheet.sheet.name: sheet for sheet in library.sheets()}
    return tuple(sheet for sheet in {**kept, **own}.values() if sheet.sheet.valve == "reducer")


def required_of(judged: Judged, sheets: Sequence[SheetFile] = ()) -> tuple[RequiredKv, ...]:
    """Return the required flow coefficients of each reducer's size, its neighbours, and of data sheets.

    A sheet much smaller or larger than the sizes compared is left out.
    """
    try:
        basis, _ = _grounds(judged)
    except InputError:
        return ()
    found = []
    for one in reducers_along(basis):
        bare = required_kvs(basis, one.reducer)
        low, high = bare.columns[0].size * (1.0 - SAME_BORE), bare.columns[-1].size * (1.0 + SAME_BORE)
        near = [file.sheet for file in sheets if low <= file.sheet.size.si <= high]
        found.append(required_kvs(basis, one.reducer, near) if near else bare)
    return tuple(found)


def design_data(judged: Judged) -> dict[str, Any]:
    """Return a judged station as plain data with the required flow coefficients beside own data sheets."""
    sheets = compared_sheets(judged)
    return sheet_data(judged) | {
        "required": [_required_data(one) for one in required_of(judged, sheets)],
        "compared_sheets": [{"reference": file.reference, "sha256": file.sha256} for file in sheets],
    }


def _required_data(found: RequiredKv) -> dict[str, Any]:
    return {
        "reducer": found.reducer,
        "inlet_pipe_m": rounded(found.inlet_pipe),
        "outlet_pipe_m": rounded(found.outlet_pipe),
        "cases": [
            {
                "flow_case": case.flow_case,
                "inlet_case": case.inlet_case,
                "flow_m3_s": rounded(case.flow),
                "before_pa": rounded(case.before),
                "after_pa": rounded(case.after),
            }
            for case in found.cases
        ],
        "curve_flows_m3_s": [rounded(flow) for flow in found.flows],
        "sizes": [
            {
                "size_m": rounded(column.size),
                "name": column.name,
                "available_kv_m3_h_bar": plain(column.available_kv),
                "source": column.source,
                "required_kv_m3_h_bar": [rounded(kv) for kv in column.required_kv],
                "velocity_m_s": [rounded(speed) for speed in column.velocities],
                "curve_kv_m3_h_bar": [rounded(kv) for kv in column.curve],
            }
            for column in found.columns
        ],
    }


def _grounds(judged: Judged) -> tuple[Basis, SteadyTwin]:
    station = judged.loaded.station
    twin = SteadyTwin(station)
    basis = Basis(station, twin)
    if twin.problem or not all(senses_well(one.basis) for one in reducers_along(basis)):
        raise InputError("PICTURE", "this station has no capacity map yet.", "Check says what is missing.")
    return basis, twin


def _picture(judged: Judged, shown: CapacityMap, units: UnitSet) -> CapacityPicture:
    who = judged.loaded.station.station
    return CapacityPicture(who.name, who.datum.si, shown, units=units)
