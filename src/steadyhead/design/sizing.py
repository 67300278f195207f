"""Sizing of each reducer, of strainer and shut-off, of the connected pipes."""

from __future__ import annotations

from math import inf, isfinite, isnan, sqrt

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.cavitation import known_limits
from steadyhead.design.chain import inlet_before
from steadyhead.design.closing import CRITICAL_PRESSURE_ABS
from steadyhead.design.credit import part_k, valve_k
from steadyhead.errors import InputError, NotConverged
from steadyhead.laws.coefficients import kv_of_k, velocity
from steadyhead.laws.lift import opening_of_lift
from steadyhead.laws.sizing import required_kv
from steadyhead.laws.valves import choked_differential, critical_pressure_factor
from steadyhead.records.design import (
    DesignCase,
    FlowCase,
    InletCase,
    LossSizing,
    PipeSizing,
    ReducerCase,
    ReducerSizing,
)
from steadyhead.records.parts import IsolatingValve, Reducer, ShutOff, Strainer
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


def throat_abs(basis: Basis) -> float:
    """Return F_F p_v of the water. [Pa abs]"""
    vapour = basis.twin.water.vapour_pressure_abs
    return critical_pressure_factor(vapour, CRITICAL_PRESSURE_ABS) * vapour


def size_reducer(
    basis: Basis, reducer: Reducer, cases: tuple[DesignCase, ...], trip: float | None
) -> ReducerSizing:
    """Return the sizing of one reducer.

    Parameters
    ----------
    reducer
        One of the main line.
    cases
        Answers of the twin.
    trip
        trip_pressure, for what its spring must reach; None: no shut-off or no trip. [Pa at datum]
    """
    twin = reducer_twin(reducer)
    lockup = basis.twin.lockup(reducer.id)
    at_lift, most = _low_end(basis, reducer, twin, lockup.si)
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
        cases=tuple(_reducer_case(basis, reducer, twin, case) for case in cases),
    )


def _low_end(basis: Basis, reducer: Reducer, twin: ReducerTwin, lockup: float) -> tuple[float, float]:
    """Return what passes at the lowest smooth lift, and fully open, at the night difference. [m³/s]"""
    before = inlet_before(basis, reducer, 0.0, "night")
    limit = choked_differential(
        before, twin.pressure_recovery.si, basis.twin.atmosphere_abs, throat_abs(basis)
    )
    root = sqrt(max(min(before - lockup, limit), 0.0))
    full = valve_k(basis, reducer)
    return full * opening_of_lift(d.LOWEST_LIFT.si, twin.curve_shape.si) * root, full * root


def _reducer_case(basis: Basis, reducer: Reducer, twin: ReducerTwin, case: DesignCase) -> ReducerCase:
    needed = needed_kv(basis, reducer, twin, case.flow, case.inlet_case)
    speed = velocity(case.flow, reducer.size.si)
    reading = None if case.steady is None else case.steady.valves.get(reducer.id)
    if reading is None:
        return ReducerCase(case.flow_case, case.inlet_case, case.flow, needed, speed)
    limits = known_limits(reducer, twin, vapour_abs=basis.twin.water.vapour_pressure_abs)
    inlet_abs = reading.inlet_pressure + basis.twin.atmosphere_abs
    degree = limits.reached(reading.sigma_1, reading.lift, inlet_abs)
    damage = limits.sigma("damage", reading.lift, inlet_abs) if "damage" in limits.degrees else None
    return ReducerCase(
        flow_case=case.flow_case,
        inlet_case=case.inlet_case,
        flow=case.flow,
        required_kv=needed,
        velocity=speed,
        inlet_pressure=_known(reading.inlet_pressure),
        outlet_pressure=_known(reading.outlet_pressure),
        travel=_known(reading.lift),
        state=reading.state,
        sigma_1=_known(reading.sigma_1),
        sigma_2=_known(reading.sigma_2),
        pressure_ratio=_known(reading.pressure_ratio),
        choked=reading.choked or degree == "choked",
        incipient=degree is not None,
        damage_sigma=damage,
    )


def _known(value: float) -> float | None:
    return None if isnan(value) or not isfinite(value) else value


def needed_kv(basis: Basis, reducer: Reducer, twin: ReducerTwin, flow: float, inlet_case: InletCase) -> float:
    """Return the Kv that holds duty_pressure at a flow after the losses ahead of it; inf: none can.

    Without fittings; turbulent.

    Parameters
    ----------
    flow
        [m³/s]
    inlet_case
        Which supply pressure.

    Returns
    -------
    float
        [m³/h at 1 bar]
    """
    before = inlet_before(basis, reducer, flow, inlet_case)
    if before <= reducer.duty.pressure.si:
        return inf
    if flow <= 0.0:
        return 0.0
    atmosphere = basis.twin.atmosphere_abs
    return required_kv(
        flow=flow,
        inlet_abs=before + atmosphere,
        outlet_abs=reducer.duty.pressure.si + atmosphere,
        density=basis.density,
        recovery=twin.pressure_recovery.si,
        throat_abs=throat_abs(basis),
    )


def losses(basis: Basis) -> tuple[LossSizing, ...]:
    """Return the clean losses of strainers and shut-offs at peak flow."""
    peak = basis.station.demand.peak.si
    found = []
    for part in basis.layout.main:
        if isinstance(part, Strainer):
            k, limit = part_k(basis, part), d.STRAINER_LOSS.si
            found.append(LossSizing(part.id, "strainer", kv_of_k(k, basis.density), (peak / k) ** 2, limit))
        elif isinstance(part, ShutOff):
            k, limit = valve_k(basis, part), d.SHUT_OFF_LOSS.si
            found.append(LossSizing(part.id, "shut-off", kv_of_k(k, basis.density), (peak / k) ** 2, limit))
    return tuple(found)


def pipes(basis: Basis) -> tuple[PipeSizing, ...]:
    """Return the velocities at peak flow in both mains and in the isolating valves' bores."""
    peak, limit = basis.station.demand.peak.si, d.PIPE_VELOCITY.si
    bores: list[tuple[str, float]] = []
    if basis.station.supply.main is not None:
        bores.append(("the supply main", basis.station.supply.main.bore.si))
    if basis.station.zone.main is not None:
        bores.append(("the zone's main", basis.station.zone.main.bore.si))
    bores += [(part.id, part.size.si) for part in basis.layout.main if isinstance(part, IsolatingValve)]
    return tuple(PipeSizing(place, bore, velocity(peak, bore), limit) for place, bore in bores)
