"""Sizing of each reducer: what it needs, how it stands, how it cavitates, what that rests on."""

from __future__ import annotations

from math import isfinite, isnan, sqrt

from steadyhead.design import defaults as d
from steadyhead.design.along import Along, ahead, along, reading_of
from steadyhead.design.basis import Basis
from steadyhead.design.capacity_points import gravel
from steadyhead.design.chain import inlet_before
from steadyhead.design.credit import valve_k
from steadyhead.design.grounds import sizing_grounds
from steadyhead.design.needed import Needed, Trim, needed, pipes_beside, throat_abs
from steadyhead.design.quiet import quiet_band
from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics.cavitation import known_limits
from steadyhead.laws.coefficients import velocity
from steadyhead.laws.lift import opening_of_lift
from steadyhead.laws.valves import choked_differential
from steadyhead.records.design import DesignCase, FlowCase, InletCase, ReducerCase, ReducerSizing
from steadyhead.records.parts import Reducer
from steadyhead.station.mechanics import ReducerTwin, reducer_twin

CASES: tuple[tuple[FlowCase, InletCase], ...] = (
    ("night", "lowest"),
    ("average", "lowest"),
    ("peak", "lowest"),
    ("fire", "lowest"),
    ("average", "typical"),
    ("peak", "typical"),
    ("night", "night"),
    ("night", "static"),
)
"""Lowest inlet sizes the valve; typical and static inlet judge cavitation and the low-flow end."""


def design_cases(basis: Basis) -> tuple[DesignCase, ...]:
    """Return the twin's answers for the cases of the sheet; a case without an answer says why."""
    found = []
    for flow_case, inlet_case in CASES:
        flow = basis.flow(flow_case)
        if flow is None:
            continue
        supply = basis.supply_at_datum(inlet_case).si
        try:
            steady = basis.twin.steady(flow_case, inlet_case)
        except (NotConverged, InputError) as error:
            found.append(DesignCase(flow_case, inlet_case, flow.si, supply, None, str(error)))
            continue
        found.append(DesignCase(flow_case, inlet_case, flow.si, supply, steady))
    return tuple(found)


def reducer_flow(one: Along, flow_case: FlowCase, inlet_case: InletCase) -> float | None:
    """Return the flow a reducer takes in a case [m³/s]: the station's, or its share where there are streams.

    None: no such flow is stated, or the twin has no answer for the streams.
    """
    stated = one.basis.flow(flow_case)
    if stated is None or one.branch is None:
        return None if stated is None else stated.si
    reading = reading_of(one, flow_case, inlet_case)
    return None if reading is None else max(reading.flow, 0.0)


def pressure_before(one: Along, flow: float, flow_case: FlowCase, inlet_case: InletCase) -> float:
    """Return the pressure just before a reducer in a case. [Pa at datum]

    On the one way through a station what the supply leaves after the losses ahead, a reducer ahead at its
    duty; in a stream what the twin of the whole station finds, as other streams take their part.
    """
    if one.branch is not None:
        reading = reading_of(one, flow_case, inlet_case)
        if reading is not None:
            return reading.inlet_pressure
    return inlet_before(one.basis, one.reducer, flow, inlet_case)


def size_reducer(
    basis: Basis, reducer: Reducer, cases: tuple[DesignCase, ...], trip: float | None
) -> ReducerSizing:
    """Return the sizing of one reducer, on the one way through or in a stream.

    Parameters
    ----------
    reducer
        One of a way through the station.
    cases
        Answers of the twin of the whole station.
    trip
        trip_pressure, for what its spring must reach; None: no shut-off or no trip. [Pa at datum]
    """
    one = along(basis, reducer.id)
    twin = reducer_twin(reducer)
    lockup = basis.twin.lockup(reducer.id)
    at_lift, most = _low_end(one, twin, lockup.si)
    pipes = pipes_beside(one.basis, reducer)
    before = inlet_before(one.basis, reducer, 0.0, "night")
    return ReducerSizing(
        reducer=reducer.id,
        size=reducer.size.si,
        available_kv=twin.kv.si,
        available_kv_spread=twin.kv.spread,
        available_kv_provenance=twin.kv.provenance,
        lockup=lockup.si,
        lockup_provenance=lockup.provenance,
        lowest_flow=at_lift,
        lowest_flow_band=(d.LOWEST_FLOW_LOW.si * most, d.LOWEST_FLOW_HIGH.si * most),
        spring_low=reducer.pilot.spring_low.si,
        spring_high=reducer.pilot.spring_high.si,
        spring_reach=None if trip is None else d.SPRING_REACH.si * trip,
        cases=tuple(found for case in cases if (found := _reducer_case(one, twin, case, pipes)) is not None),
        stream=one.branch.id if one.branch else "",
        inlet_pipe=pipes[0],
        outlet_pipe=pipes[1],
        quiet_band=quiet_band(basis, reducer, before, ahead(one).resistance),
        grounds=sizing_grounds(one.basis, reducer, pipes),
    )


def _low_end(one: Along, twin: ReducerTwin, lockup: float) -> tuple[float, float]:
    """Return what passes at the lowest smooth lift, and fully open, at the night difference. [m³/s]"""
    basis = one.basis
    before = inlet_before(basis, one.reducer, 0.0, "night")
    limit = choked_differential(
        before, twin.pressure_recovery.si, basis.twin.atmosphere_abs, throat_abs(basis)
    )
    root = sqrt(max(min(before - lockup, limit), 0.0))
    full = valve_k(basis, one.reducer)
    return full * opening_of_lift(d.LOWEST_LIFT.si, twin.curve_shape.si) * root, full * root


def _reducer_case(
    one: Along, twin: ReducerTwin, case: DesignCase, pipes: tuple[float, float]
) -> ReducerCase | None:
    basis, reducer = one.basis, one.reducer
    reading = None if case.steady is None else case.steady.valves.get(reducer.id)
    if one.branch is not None and reading is None:
        return None
    flow = case.flow if one.branch is None or reading is None else max(reading.flow, 0.0)
    need = _needed(one, twin, flow, case, pipes)
    speed = velocity(flow, reducer.size.si)
    if reading is None:
        return ReducerCase(
            case.flow_case, case.inlet_case, flow, need.kv, speed,
            piping_factor=need.piping, turbulent=need.is_turbulent,
        )  # fmt: skip
    limits = known_limits(reducer, twin, vapour_abs=basis.twin.water.vapour_pressure_abs)
    inlet_abs = reading.inlet_pressure + basis.twin.atmosphere_abs
    degree = "choked" if reading.choked else limits.reached(reading.sigma_1, reading.lift, inlet_abs)
    at = {name: limits.sigma(name, reading.lift, inlet_abs) for name in limits.degrees}
    return ReducerCase(
        flow_case=case.flow_case,
        inlet_case=case.inlet_case,
        flow=flow,
        required_kv=need.kv,
        velocity=speed,
        inlet_pressure=_known(reading.inlet_pressure),
        outlet_pressure=_known(reading.outlet_pressure),
        travel=_known(reading.lift),
        state=reading.state,
        sigma_1=_known(reading.sigma_1),
        sigma_2=_known(reading.sigma_2),
        pressure_ratio=_known(reading.pressure_ratio),
        choked=degree == "choked",
        incipient=degree is not None,
        damage_sigma=at.get("damage"),
        onset_sigma=at.get("incipient"),
        degree=degree,
        gravel=gravel(degree),
        piping_factor=need.piping,
        turbulent=need.is_turbulent,
    )


def _known(value: float) -> float | None:
    return None if isnan(value) or not isfinite(value) else value


def _needed(
    one: Along, twin: ReducerTwin, flow: float, case: DesignCase, pipes: tuple[float, float]
) -> Needed:
    """Return what holds duty_pressure at a flow after the losses ahead, with the fittings beside it."""
    trim = Trim(one.reducer.size.si, twin.pressure_recovery.si, d.STYLE_MODIFIER.si)
    before = pressure_before(one, flow, case.flow_case, case.inlet_case)
    return needed(one.basis, trim, pipes, flow=flow, before=before, after=one.reducer.duty.pressure.si)
