"""Findings about sizing: capacity, travel, low flow, velocity, cavitation, springs, losses."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf

from steadyhead.design import defaults as d
from steadyhead.design.along import Along, along
from steadyhead.design.basis import Basis
from steadyhead.design.oversize import oversize_findings
from steadyhead.design.report import ASK, HEED, NOTE, STOP, finding, flow, from_value, pressure, share
from steadyhead.design.sizing import pressure_before
from steadyhead.design.tolerances import stated_or_share
from steadyhead.findings import Amount, Finding, Input
from steadyhead.hydraulics.cavitation import known_limits
from steadyhead.records.design import FlowCase, LossSizing, PipeSizing, ReducerCase, ReducerSizing
from steadyhead.records.ladder import Ladder
from steadyhead.records.parts import PilotSpring, Reducer, ShutOff, Strainer
from steadyhead.station.mechanics import pressure_per_turn, reducer_twin, shut_off_twin, strainer_kv


def reducer_findings(basis: Basis, sizing: ReducerSizing) -> Iterator[Finding]:
    """Yield the findings about one reducer, on the one way through or in a stream."""
    one = along(basis, sizing.reducer)
    reducer = one.reducer
    where = basis.part_place(reducer.id)
    monitor = one.basis.monitor
    stands_by = monitor is not None and monitor.id == reducer.id  # wide open while its worker holds
    for case in sizing.cases:
        if case.inlet_case == "lowest":
            yield from _capacity(one, sizing, case, where)
        if case.state == "wide open" and not stands_by:
            yield finding(
                "SIZ-04", where, HEED, reducer=reducer.id, travel=share(case.travel or 0.0), case=_words(case)
            )
    yield from _travel(sizing, reducer, where)
    yield from oversize_findings(sizing, reducer, where)
    yield from _low_flow(basis, sizing, where)
    yield from _cavitation(basis, reducer, sizing, where)
    yield from _velocity(basis, sizing, where)


def _words(case: ReducerCase) -> str:
    return f"{case.inlet_case} inlet pressure, {case.flow_case} flow"


def _capacity(one: Along, sizing: ReducerSizing, case: ReducerCase, where: str) -> Iterator[Finding]:
    reducer = one.reducer
    available = Amount("flow_coefficient", sizing.available_kv)
    source = "demand of the file" if one.branch is None else "its share by the twin"
    grounds = (
        Input("flow", flow(case.flow), source),
        from_value("duty_pressure", reducer.duty.pressure),
        Input("Kv fully open", available, sizing.available_kv_provenance),
        Input("F_P of the fittings beside it", Amount("ratio", case.piping_factor), "IEC 60534-2-1:2011"),
    )
    if isinf(case.required_kv):
        arrives = pressure_before(one, case.flow, case.flow_case, case.inlet_case)
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
    at_night = next((c for c in sizing.cases if (c.flow_case, c.inlet_case) == ("night", "night")), None)
    if at_night is None or (sizing.stream and at_night.state in ("shut", "lock-up")):
        return
    night = at_night.flow
    low, high = sizing.lowest_flow_band
    source = basis.station.demand.night.provenance
    quiet = sizing.quiet_band
    looked_at = () if quiet is None else (
        Input("quick check of the loop, quiet at best from", flow(quiet[0]), d.LOOP_NOTE),
        Input("quick check of the loop, quiet at worst from", flow(quiet[1]), d.LOOP_NOTE),
    )  # fmt: skip
    grounds = (
        Input("night flow", flow(night), f"{source}; its share by the twin" if sizing.stream else source),
        from_value("share of its most, good valve", d.LOWEST_FLOW_LOW.value()),
        from_value("share of its most, plain valve", d.LOWEST_FLOW_HIGH.value()),
        Input("at 3 % lift", flow(sizing.lowest_flow), d.LOWEST_LIFT.value().provenance),
        *looked_at,
    )
    case = "night inlet pressure, night flow"
    if night < low:
        yield finding(
            "SIZ-05",
            where,
            HEED,
            value=flow(night),
            limit=flow(low),
            reducer=sizing.reducer,
            case=case,
            inputs=grounds,
            upper=False,
        )
    elif night < high:
        yield finding(
            "SIZ-06",
            where,
            NOTE,
            value=flow(night),
            limit=flow(high),
            low=flow(low),
            reducer=sizing.reducer,
            at_lift=flow(sizing.lowest_flow),
            case=case,
            inputs=grounds,
            upper=False,
        )


def _cavitation(basis: Basis, reducer: Reducer, sizing: ReducerSizing, where: str) -> Iterator[Finding]:
    cases = [
        c for c in sizing.cases if _carries(c) and c.sigma_1 is not None and c.pressure_ratio is not None
    ]
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
        yield from _incipient(basis, reducer, cases, where)


def _incipient(basis: Basis, reducer: Reducer, cases: list[ReducerCase], where: str) -> Iterator[Finding]:
    """Yield where bubbles begin, in the case that lies furthest beyond its own limit."""
    limits = known_limits(reducer, reducer_twin(reducer), vapour_abs=basis.twin.water.vapour_pressure_abs)
    known = [c for c in cases if c.incipient and c.sigma_1 is not None and c.onset_sigma is not None]
    worst = min(known, key=lambda c: (c.sigma_1 or 0.0) - (c.onset_sigma or 0.0), default=None)
    if worst is None or worst.sigma_1 is None or worst.onset_sigma is None:
        return
    start = 1.0 / worst.onset_sigma
    yield finding(
        "SIZ-11",
        where,
        NOTE,
        case=_words(worst),
        ratio=f"{1.0 / worst.sigma_1:.2f}",
        limit_ratio=f"{start:.2f}",
        inputs=(*_pressures(worst), Input("x_Fz here", Amount("ratio", start), limits.sources["incipient"])),
        reducer=reducer.id,
        sigma_1=f"{worst.sigma_1:.2f}",
        sigma_2=f"{worst.sigma_1 - 1.0:.2f}",
    )


def _carries(case: ReducerCase) -> bool:
    """Return whether water passes a reducer in a case: a shut valve does not cavitate."""
    return case.state not in ("shut", "lock-up") and case.flow > 0.0


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
    part = next(part for part in basis.station.parts() if part.id == loss.part)
    if isinstance(part, Strainer):
        return from_value("Kv clean", strainer_kv(part))
    assert isinstance(part, ShutOff)
    return from_value("Kv", shut_off_twin(part).kv)


def spring_findings(basis: Basis, ladder: Ladder, sizings: tuple[ReducerSizing, ...]) -> Iterator[Finding]:
    """Yield the findings about the springs of all pilots."""
    for sizing in sizings:
        one = along(basis, sizing.reducer)
        reducer = one.reducer
        where, duty = basis.part_place(reducer.id, "pilot"), reducer.duty.pressure
        place = _place(reducer.pilot, duty.si)
        if not 0.0 <= place <= 1.0:
            yield _outside(where, duty.si, reducer.pilot, reducer.id)
        elif not d.DUTY_IN_SPRING_LOW.si <= place <= d.DUTY_IN_SPRING_HIGH.si:
            yield finding(
                "SIZ-14", where, NOTE, value=pressure(duty.si), reducer=reducer.id, place=share(place)
            )
        is_last = reducer.id == one.basis.layout.reducers[-1].id
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
