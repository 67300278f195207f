"""What a valve of each size must pass, side by side: required flow coefficients, no catalogue."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from steadyhead.design import defaults as d
from steadyhead.design.along import Along, along, serving
from steadyhead.design.basis import Basis
from steadyhead.design.needed import Trim, needed, pipes_beside
from steadyhead.design.sizing import pressure_before, reducer_flow
from steadyhead.laws.coefficients import velocity
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
_FLOWS: tuple[FlowCase, ...] = ("average", "peak", "fire")
_HERE = 0.06
"""A bore this near to a nominal size is that size. [1]"""


def required_kvs(basis: Basis, reducer: Reducer, sheets: Sequence[ValveSheet] = ()) -> RequiredKv:
    """Return the required flow coefficients of the fitted size, its neighbours, and of stated data sheets.

    IEC 60534-2-1 with short concentric reducers between valve and pipe. Where flow is not turbulent the
    standard's Reynolds factor is used instead, without fittings. The duty is held at every flow: droop is
    left out. In a station of several streams the flows are those this reducer takes,
    in service or, of a stream that then takes none, alone.

    Parameters
    ----------
    basis
        The station.
    reducer
        Which reducer.
    sheets
        Data sheets of reducers to compare with; those of other kinds are left out.
    """
    one = serving(along(basis, reducer.id))
    pipes = pipes_beside(one.basis, reducer)
    cases = tuple(
        RequiredCase(
            flow_case,
            inlet_case,
            flow,
            pressure_before(one, flow, flow_case, inlet_case),
            reducer.duty.pressure.si,
        )
        for flow_case, inlet_case in CASES
        if (flow := reducer_flow(one, flow_case, inlet_case)) is not None
    )
    twin = reducer_twin(reducer)
    recovery, style = twin.pressure_recovery.si, d.STYLE_MODIFIER.si
    fitted = reducer.size.si
    curve = _curve(one)
    columns = [_column(basis, cases, curve, Trim(size, recovery, style), pipes) for size in _sizes(fitted)]
    columns = [
        replace(column, name=reducer.id, available_kv=twin.kv.si, source=twin.kv.provenance)
        if column.size == fitted
        else column
        for column in columns
    ]
    columns += [
        _of_sheet(basis, cases, curve, sheet, recovery, pipes) for sheet in sheets if sheet.valve == "reducer"
    ]
    return RequiredKv(reducer.id, *pipes, cases, tuple(columns), tuple(case.flow for case in curve))


def _of_sheet(
    basis: Basis,
    cases: tuple[RequiredCase, ...],
    curve: tuple[RequiredCase, ...],
    sheet: ValveSheet,
    recovery: float,
    pipes: tuple[float, float],
) -> SizeColumn:
    """Return what a valve of a data sheet needs beside what it has; F_L and F_d as its sheet has them."""
    trim = Trim(
        sheet.size.si,
        sheet.pressure_recovery.si if sheet.pressure_recovery else recovery,
        sheet.style_modifier.si if sheet.style_modifier else d.STYLE_MODIFIER.si,
    )
    column = _column(basis, cases, curve, trim, pipes)
    return replace(column, name=sheet.name, available_kv=sheet.kv.si, source=sheet.source)


def _sizes(fitted: float) -> tuple[float, ...]:
    """Return the fitted size [m] between its nominal neighbours."""
    others = [mm / 1e3 for mm in d.NOMINAL_SIZES_MM if abs(mm / 1e3 / fitted - 1.0) > _HERE]
    below = [size for size in others if size < fitted][-d.SMALLER_SIZES :]
    above = [size for size in others if size > fitted][: d.LARGER_SIZES]
    return (*below, fitted, *above)


def _curve(one: Along) -> tuple[RequiredCase, ...]:
    """Return flows from little to the most of the design, all at the lowest inlet pressure."""
    flows = [flow for case in _FLOWS if (flow := reducer_flow(one, case, "lowest")) is not None]
    most = max(flows, default=0.0)
    if most <= 0.0:
        return ()
    duty = one.reducer.duty.pressure.si
    steps = [most * step / d.CURVE_STEPS for step in range(1, d.CURVE_STEPS + 1)]
    return tuple(
        RequiredCase("peak", "lowest", flow, pressure_before(one, flow, "peak", "lowest"), duty)
        for flow in steps
    )


def _column(
    basis: Basis,
    cases: tuple[RequiredCase, ...],
    curve: tuple[RequiredCase, ...],
    trim: Trim,
    pipes: tuple[float, float],
) -> SizeColumn:
    def kv(case: RequiredCase) -> float:
        return needed(basis, trim, pipes, flow=case.flow, before=case.before, after=case.after).kv

    return SizeColumn(
        size=trim.size,
        required_kv=tuple(kv(case) for case in cases),
        velocities=tuple(velocity(case.flow, trim.size) for case in cases),
        curve=tuple(kv(case) for case in curve),
    )
