"""What a valve of each size must pass, side by side: required flow coefficients, no catalogue."""

from __future__ import annotations

from collections.abc import Sequence

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.chain import inlet_before
from steadyhead.design.sizing import throat_abs
from steadyhead.laws.coefficients import velocity
from steadyhead.laws.sizing import required_kv_with_fittings, valve_reynolds
from steadyhead.laws.viscous import TURBULENT_FROM, required_kv_viscous
from steadyhead.records.capacity import RequiredCase, RequiredKv, SizeColumn
from steadyhead.records.design import FlowCase, InletCase
from steadyhead.records.parts import Reducer
from steadyhead.records.valve import ValveSheet
from steadyhead.station.mechanics import reducer_twin

CASES: tuple[tuple[FlowCase, InletCase], ...] = (
    ("night", "night"),
    ("average", "lowest"),
    ("peak", "lowest"),
    ("fire", "lowest"),
)
"""Lowest inlet sizes the valve; night inlet shows how little it needs at the other end."""
_HERE = 0.06
"""A bore this near to a nominal size is that size. [1]"""


def required_kvs(basis: Basis, reducer: Reducer, sheets: Sequence[ValveSheet] = ()) -> RequiredKv:
    """Return the required flow coefficients of the fitted size, its neighbours, and of stated data sheets.

    IEC 60534-2-1 with short concentric reducers between valve and pipe. Where flow is not turbulent the
    standard's Reynolds factor is used instead, without fittings. The duty is held at every flow: droop is
    left out.

    Parameters
    ----------
    basis
        The station.
    reducer
        Which reducer.
    sheets
        Data sheets of reducers to compare with; those of other kinds are left out.
    """
    layout, station = basis.layout, basis.station
    fallback = reducer.size.si
    inlet_main, outlet_main = station.supply.main, station.zone.main
    inlet_pipe = (
        layout.inlet_valve.size.si if layout.inlet_valve else inlet_main.bore.si if inlet_main else fallback
    )
    outlet_pipe = (
        layout.outlet_valve.size.si
        if layout.outlet_valve
        else outlet_main.bore.si
        if outlet_main
        else fallback
    )
    cases = tuple(
        RequiredCase(
            flow_case,
            inlet_case,
            flow.si,
            inlet_before(basis, reducer, flow.si, inlet_case),
            reducer.duty.pressure.si,
        )
        for flow_case, inlet_case in CASES
        if (flow := basis.flow(flow_case)) is not None
    )
    twin = reducer_twin(reducer)
    columns = []
    for size in _sizes(reducer.size.si):
        fitted = size == reducer.size.si
        columns.append(
            _column(basis, cases, size, (inlet_pipe, outlet_pipe), twin.pressure_recovery.si)
            if not fitted
            else _column(
                basis,
                cases,
                size,
                (inlet_pipe, outlet_pipe),
                twin.pressure_recovery.si,
                name=reducer.id,
                kv=twin.kv.si,
                source=twin.kv.provenance,
            )
        )
    for sheet in sheets:
        if sheet.valve != "reducer":
            continue
        recovery = sheet.pressure_recovery.si if sheet.pressure_recovery else twin.pressure_recovery.si
        style = sheet.style_modifier.si if sheet.style_modifier else d.STYLE_MODIFIER.si
        columns.append(
            _column(
                basis,
                cases,
                sheet.size.si,
                (inlet_pipe, outlet_pipe),
                recovery,
                name=sheet.name,
                kv=sheet.kv.si,
                source=sheet.source,
                style=style,
            )
        )
    return RequiredKv(reducer.id, inlet_pipe, outlet_pipe, cases, tuple(columns))


def _sizes(fitted: float) -> tuple[float, ...]:
    """Return the fitted size [m] between its nominal neighbours."""
    others = [mm / 1e3 for mm in d.NOMINAL_SIZES_MM if abs(mm / 1e3 / fitted - 1.0) > _HERE]
    below = [size for size in others if size < fitted][-d.SMALLER_SIZES :]
    above = [size for size in others if size > fitted][: d.LARGER_SIZES]
    return (*below, fitted, *above)


def _column(
    basis: Basis,
    cases: tuple[RequiredCase, ...],
    size: float,
    pipes: tuple[float, float],
    recovery: float,
    *,
    name: str = "",
    kv: float | None = None,
    source: str = "",
    style: float = d.STYLE_MODIFIER.si,
) -> SizeColumn:
    return SizeColumn(
        size=size,
        required_kv=tuple(_required(basis, case, size, pipes, recovery, style) for case in cases),
        velocities=tuple(velocity(case.flow, size) for case in cases),
        name=name,
        available_kv=kv,
        source=source,
    )


def _required(
    basis: Basis, case: RequiredCase, size: float, pipes: tuple[float, float], recovery: float, style: float
) -> float:
    if case.flow <= 0.0:
        return 0.0
    if case.before <= case.after:
        return float("inf")
    atmosphere, water = basis.twin.atmosphere_abs, basis.twin.water
    inlet_abs, outlet_abs = case.before + atmosphere, case.after + atmosphere
    with_fittings = required_kv_with_fittings(
        flow=case.flow,
        inlet_abs=inlet_abs,
        outlet_abs=outlet_abs,
        density=water.density,
        recovery=recovery,
        throat_abs=throat_abs(basis),
        valve_size=size,
        inlet_pipe=max(pipes[0], size),
        outlet_pipe=max(pipes[1], size),
    )
    if with_fittings == float("inf"):
        return with_fittings
    number = valve_reynolds(
        flow=case.flow,
        viscosity=water.kinematic_viscosity,
        valve_size=size,
        recovery=recovery,
        style=style,
        kv=with_fittings,
    )
    if number >= TURBULENT_FROM:
        return with_fittings
    return required_kv_viscous(
        flow=case.flow,
        inlet_abs=inlet_abs,
        outlet_abs=outlet_abs,
        density=water.density,
        viscosity=water.kinematic_viscosity,
        recovery=recovery,
        throat_abs=throat_abs(basis),
        valve_size=size,
        style=style,
    )
