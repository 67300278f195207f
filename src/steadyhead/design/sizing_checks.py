"""Findings about sizing: capacity, travel, low flow, velocity, cavitation, springs, losses."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.chain import inlet_before
from steadyhead.design.oversize import oversize_findings
from steadyhead.design.report import ASK, HEED, NOTE, STOP, finding, flow, from_value, pressure, share
from steadyhead.design.tolerances import stated_or_share
from steadyhead.findings import Amount, Finding, Input
from steadyhead.records.design import FlowCase, LossSizing, PipeSizing, ReducerCase, ReducerSizing
from steadyhead.records.ladder import Ladder
from steadyhead.records.parts import PilotSpring, Reducer, ShutOff, Strainer
from steadyhead.station.mechanics import pressure_per_turn, reducer_twin, shut_off_twin, strainer_kv


def reducer_findings(basis: Basis, sizing: ReducerSizing) -> Iterator[Finding]:
    """Yield the findings about one reducer."""
    reducer = next(r for r in basis.layout.reducers if r.id == sizing.reducer)
    where = basis.part_place(reducer.id)
    for case in sizing.cases:
        if case.inlet_case == "lowest":
            yield from _capacity(basis, reducer, sizing, case, where)
        if case.state == "wide open":
            yield finding(
                "SIZ-04", where, HEED, reducer=reducer.id, travel=share(case.travel or 0.0), case=_words(case)
            )
    yield from _travel(sizing, reducer, where)
    yield from oversize_findings(sizing, reducer, where)
    yield from _low_flow(basis, sizing, where)
    yield from _cavitation(reducer, sizing, where)
    yield from _velocity(basis, sizing, where)


def _words(case: ReducerCase) -> str:
    return f"{case.inlet_case} inlet pressure, {case.flow_case} flow"


def _capacity(
    basis: Basis, reducer: Reducer, sizing: ReducerSizing, case: ReducerCase, where: str
) -> Iterator[Finding]:
    available = Amount("flow_coefficient", sizing.available_kv)
    grounds = (
        Input("flow", flow(case.flow), "demand of the file"),
        from_value("duty_pressure", reducer.duty.pressure),
        Input("Kv fully open", available, sizing.available_kv_provenance),
    )
    if isinf(case.required_kv):
        arrives = inlet_before(basis, reducer, case.flow, case.inlet_case)
        yield finding(
            "SIZ-02",
            where,
            ASK,
            value=pressure(arrives),
            limit=pressure(reducer.duty.pressure.si),
            reducer=reducer.id,
            flow=flow(case.flow),
            case=_words(case),
            inputs=grounds,
            upper=False,
        )
    elif case.required_kv > sizing.available_kv:
        yield finding(
            "SIZ-01",
            where,
            ASK,
            value=Amount("flow_coefficient", case.required_kv),
            limit=available,
            reducer=reducer.id,
            flow=flow(case.flow),
            case=_words(case),
            inputs=grounds,
        )


def _travel(sizing: ReducerSizing, reducer: Reducer, where: str) -> Iterator[Finding]:
    lowest = [
        c
        for c in sizing.cases
        if c.inlet_case == "lowest" and c.state != "wide open" and c.travel is not None
    ]
    if not lowest:
        return
    most = max(lowest, key=lambda c: c.travel or 0.0)
    if most.travel is not None and most.travel > d.TRAVEL_HIGH.si:
        yield finding(
            "SIZ-03",
            where,
            HEED,
            value=share(most.travel),
            limit=share(d.TRAVEL_HIGH.si),
            reducer=reducer.id,
            case=_words(most),
            inputs=(from_value("most travel", d.TRAVEL_HIGH.value()),),
        )


def _low_flow(basis: Basis, sizing: ReducerSizing, where: str) -> Iterator[Finding]:
    demand = basis.station.demand
    low, high = sizing.lowest_flow_band
    grounds = (
        from_value("night flow", demand.night),
        from_value("share of its most, good valve", d.LOWEST_FLOW_LOW.value()),
        from_value("share of its most, plain valve", d.LOWEST_FLOW_HIGH.value()),
        Input("at 3 % lift", flow(sizing.lowest_flow), d.LOWEST_LIFT.value().provenance),
    )
    case = "night inlet pressure, night flow"
    if demand.night.si < low:
        yield finding(
            "SIZ-05",
            where,
            HEED,
            value=flow(demand.night.si),
            limit=flow(low),
            reducer=sizing.reducer,
            case=case,
            inputs=grounds,
            upper=False,
        )
    elif demand.night.si < high:
        yield finding(
            "SIZ-06",
            where,
            NOTE,
            value=flow(demand.night.si),
            limit=flow(high),
            low=flow(low),
            reducer=sizing.reducer,
            at_lift=flow(sizing.lowest_flow),
            case=case,
            inputs=grounds,
            upper=False,
        )


def _cavitation(reducer: Reducer, sizing: ReducerSizing, where: str) -> Iterator[Finding]:
    cases = [c for c in sizing.cases if c.sigma_1 is not None and c.pressure_ratio is not None]
    if not cases:
        return
    worst = min(cases, key=lambda c: c.sigma_1 or 0.0)
    assert worst.sigma_1 is not None
    assert worst.sigma_2 is not None
    assert worst.pressure_ratio is not None
    sigma_1, sigma_2 = f"{worst.sigma_1:.2f}", f"{worst.sigma_2:.2f}"
    grounds = _pressures(worst)
    ratio = f"{worst.pressure_ratio:.2f}"
    if any(c.choked for c in cases):
        yield finding(
            "SIZ-10",
            where,
            HEED,
            case=_words(worst),
            inputs=grounds,
            ratio=ratio,
            reducer=reducer.id,
            sigma_1=sigma_1,
            sigma_2=sigma_2,
        )
    damage = [(c.sigma_1 - limit, limit, c) for c in cases if (limit := _damage(reducer, c)) and c.sigma_1]
    if damage:
        room, limit, case = min(damage, key=lambda one: one[0])
        if room < 0.0:
            yield finding(
                "SIZ-09",
                where,
                ASK,
                case=_words(case),
                damage=f"{limit:.2f}",
                inputs=(*_pressures(case), _damage_input(reducer, limit)),
                reducer=reducer.id,
                sigma_1=f"{case.sigma_1:.2f}",
                sigma_2=f"{case.sigma_2:.2f}",
            )
    elif any(c.incipient for c in cases):
        start = reducer_twin(reducer).incipient_ratio
        yield finding(
            "SIZ-11",
            where,
            NOTE,
            case=_words(worst),
            ratio=ratio,
            limit_ratio=f"{start.si:.2f}",
            inputs=(*grounds, from_value("x_Fz", start)),
            reducer=reducer.id,
            sigma_1=sigma_1,
            sigma_2=sigma_2,
        )


def _pressures(case: ReducerCase) -> tuple[Input, ...]:
    return (
        Input("p1", pressure(case.inlet_pressure or 0.0), "twin"),
        Input("p2", pressure(case.outlet_pressure or 0.0), "twin"),
    )


def _damage(reducer: Reducer, case: ReducerCase) -> float | None:
    """Return σ₁ at which damage starts in a case: over lift where stated so, else the one figure stated."""
    if case.damage_sigma is not None:
        return case.damage_sigma
    return None if reducer.sigma_damage is None else reducer.sigma_damage.si


def _damage_input(reducer: Reducer, limit: float) -> Input:
    stated = reducer.cavitation
    if stated is not None and stated.table("damage"):
        return Input("damage limit σ1 at this lift", Amount("ratio", limit), stated.source)
    assert reducer.sigma_damage is not None
    return from_value("damage limit σ1", reducer.sigma_damage)


def _velocity(basis: Basis, sizing: ReducerSizing, where: str) -> Iterator[Finding]:
    for name, limit in (("peak", d.BORE_VELOCITY), ("fire", d.BORE_VELOCITY_FIRE)):
        case = next((c for c in sizing.cases if c.flow_case == name), None)
        if case is not None and case.velocity > limit.si:
            yield finding(
                "SIZ-07",
                where,
                HEED,
                value=Amount("velocity", case.velocity),
                limit=Amount("velocity", limit.si),
                reducer=sizing.reducer,
                flow=f"{name.capitalize()} flow",
                case=f"{name} flow",
                inputs=(*_demand(basis, case.flow_case), from_value("usual limit", limit.value())),
            )


def _demand(basis: Basis, flow_case: FlowCase) -> tuple[Input, ...]:
    stated = basis.flow(flow_case)
    return () if stated is None else (from_value(f"{flow_case} flow", stated),)


def loss_findings(
    basis: Basis, losses: tuple[LossSizing, ...], pipes: tuple[PipeSizing, ...]
) -> Iterator[Finding]:
    """Yield the findings about losses and velocities at peak flow, and about a flow that falls to zero."""
    demand = basis.station.demand
    if demand.zero_possible or demand.night.si <= 0.0:
        yield finding("SIZ-24", "demand.zero_possible", NOTE)
    for loss in losses:
        if loss.loss > loss.limit:
            code = "SIZ-22" if loss.kind == "strainer" else "SIZ-23"
            yield finding(
                code,
                basis.part_place(loss.part),
                HEED,
                value=pressure(loss.loss),
                limit=pressure(loss.limit),
                part=loss.part,
                case="peak flow",
                inputs=(*_demand(basis, "peak"), _kv(basis, loss)),
            )
    for pipe in pipes:
        if pipe.velocity > pipe.limit:
            yield finding(
                "SIZ-08",
                "demand.peak",
                NOTE,
                value=Amount("velocity", pipe.velocity),
                limit=Amount("velocity", pipe.limit),
                place=pipe.place,
                case="peak flow",
                inputs=(
                    *_demand(basis, "peak"),
                    Input("bore", Amount("length", pipe.bore), "stated in the file"),
                ),
            )


def _kv(basis: Basis, loss: LossSizing) -> Input:
    part = next(part for part in basis.layout.main if part.id == loss.part)
    if isinstance(part, Strainer):
        return from_value("Kv clean", strainer_kv(part))
    assert isinstance(part, ShutOff)
    return from_value("Kv", shut_off_twin(part).kv)


def spring_findings(basis: Basis, ladder: Ladder, sizings: tuple[ReducerSizing, ...]) -> Iterator[Finding]:
    """Yield the findings about the springs of all pilots."""
    for sizing in sizings:
        reducer = next(r for r in basis.layout.reducers if r.id == sizing.reducer)
        where, duty = basis.part_place(reducer.id, "pilot"), reducer.duty.pressure
        place = _place(reducer.pilot, duty.si)
        if not 0.0 <= place <= 1.0:
            yield _outside(where, duty.si, reducer.pilot, reducer.id)
        elif not d.DUTY_IN_SPRING_LOW.si <= place <= d.DUTY_IN_SPRING_HIGH.si:
            yield finding(
                "SIZ-14", where, NOTE, value=pressure(duty.si), reducer=reducer.id, place=share(place)
            )
        is_last = reducer.id == basis.layout.reducers[-1].id
        if is_last and sizing.spring_reach is not None and sizing.spring_high < sizing.spring_reach:
            yield finding(
                "SIZ-13",
                where,
                HEED,
                value=pressure(sizing.spring_high),
                limit=pressure(sizing.spring_reach),
                reducer=reducer.id,
                upper=False,
                inputs=(from_value("reach over the trip", d.SPRING_REACH.value()),),
            )
    yield from _shut_off_spring(basis, ladder)


def _shut_off_spring(basis: Basis, ladder: Ladder) -> Iterator[Finding]:
    shut_off, trip = basis.layout.shut_off, ladder.inputs.trip
    if shut_off is None or trip is None:
        return
    where = basis.part_place(shut_off.id, "pilot")
    place = _place(shut_off.pilot, trip)
    if not 0.0 <= place <= 1.0:
        yield _outside(where, trip, shut_off.pilot, shut_off.id)
    elif not d.TRIP_IN_SPRING_LOW.si <= place <= d.TRIP_IN_SPRING_HIGH.si:
        yield finding("SIZ-15", where, HEED, value=pressure(trip), shut_off=shut_off.id, place=share(place))
    rate = pressure_per_turn(shut_off.pilot)
    smallest = rate.si * d.SMALLEST_TURN.si
    repeat, source = stated_or_share(
        shut_off.repeatability, d.SHUT_OFF_REPEATABILITY, d.SHUT_OFF_REPEATABILITY_SHARE, trip
    )
    if smallest > d.COARSE_TURN_SHARE.si * repeat:
        yield finding(
            "SIZ-16",
            where,
            HEED,
            value=pressure(smallest),
            limit=pressure(d.COARSE_TURN_SHARE.si * repeat),
            shut_off=shut_off.id,
            inputs=(from_value("per turn", rate), Input("repeatability", pressure(repeat), source)),
        )


def _place(pilot: PilotSpring, setting: float) -> float:
    return (setting - pilot.spring_low.si) / (pilot.spring_high.si - pilot.spring_low.si)


def _outside(where: str, setting: float, pilot: PilotSpring, valve: str) -> Finding:
    return finding(
        "SIZ-12",
        where,
        STOP,
        value=pressure(setting),
        valve=valve,
        low=pressure(pilot.spring_low.si),
        high=pressure(pilot.spring_high.si),
        inputs=(from_value("spring low", pilot.spring_low), from_value("spring high", pilot.spring_high)),
    )
