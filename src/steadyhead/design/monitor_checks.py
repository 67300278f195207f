"""Findings about two reducers in series: a worker with its monitor, two stages under one shut-off."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.design import credit, limits
from steadyhead.design import defaults as d
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.design.ladder import chosen
from steadyhead.design.lasting import for_good
from steadyhead.design.overshoot import run
from steadyhead.design.report import (
    ASK,
    HEED,
    NOTE,
    STOP,
    finding,
    flow,
    from_part,
    from_value,
    pressure,
    span,
)
from steadyhead.design.rungs import Rungs, peak_answer
from steadyhead.findings import Finding
from steadyhead.records.parts import Reducer


def monitor_findings(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    """Yield the findings about a monitor and its worker; nothing where there is none."""
    monitor = basis.monitor
    if monitor is None:
        return
    yield from _joins(basis, monitor)
    yield from _reaches(basis, rungs, monitor)
    yield from _holds(basis, rungs, monitor)
    yield from _responds(basis, rungs, monitor)
    yield from _loses(basis, monitor)
    yield from _announced(basis, rungs, monitor)
    static, limit = basis.supply_at_datum("static"), rungs.ladder.inputs.fault_limit
    weakest = rungs.ladder.weakest_fault
    if basis.layout.shut_off is None and weakest is not None and limit is not None and static.si > limit:
        yield finding(
            "LAD-33",
            "line",
            HEED,
            value=pressure(static.si),
            limit=pressure(limit),
            component=weakest.component,
            inputs=(from_value("supply.static", static),),
        )


def highest_held(basis: Basis, reducer: Reducer) -> float:
    """Return what a reducer holds at most: lock-up, repeatability, drift. [Pa at datum]"""
    held = max(basis.twin.lockup(reducer.id).si, reducer.duty.pressure.si)
    return held + sum(part.size for part in tol.reducer_moves(reducer, held))


def _joins(basis: Basis, monitor: Reducer) -> Iterator[Finding]:
    """Yield where the monitor throttles in normal running."""
    worker = basis.worker
    lockup = basis.twin.lockup(worker.id)
    moves = (tol.reducer_moves(worker, lockup.si)[0], tol.reducer_moves(monitor, lockup.si)[0])
    wanted = max(lockup.si, worker.duty.pressure.si) + sum(part.size for part in moves)
    if monitor.duty.pressure.si < wanted:
        yield finding(
            "LAD-60",
            basis.part_place(monitor.id, "duty"),
            HEED,
            value=pressure(monitor.duty.pressure.si),
            limit=pressure(wanted),
            monitor=monitor.id,
            worker=worker.id,
            inputs=(from_value(f"lockup_pressure of {worker.id}", lockup), *map(from_part, moves)),
            upper=False,
        )


def _reaches(basis: Basis, rungs: Rungs, monitor: Reducer) -> Iterator[Finding]:
    """Yield where the trip or a relief valve acts although the monitor holds."""
    given, held = rungs.ladder.inputs, highest_held(basis, monitor)
    edges = {}
    trip = chosen(rungs.ladder, basis.station.stacking).trip_lower_edge
    if basis.layout.shut_off is not None and trip is not None:
        edges[f"the trip of {basis.layout.shut_off.id}"] = trip
    if given.relief_crack is not None:
        edges["the relief valve"] = given.relief_crack - given.relief_error
    for what, edge in edges.items():
        if held >= edge:
            yield finding(
                "LAD-61",
                basis.part_place(monitor.id, "duty"),
                HEED,
                value=pressure(held),
                limit=pressure(edge),
                monitor=monitor.id,
                what=what,
                inputs=(from_value("lockup_pressure", basis.twin.lockup(monitor.id)),),
            )


def _holds(basis: Basis, rungs: Rungs, monitor: Reducer) -> Iterator[Finding]:
    """Yield what the consumers see when the worker fails open."""
    weakest, held = rungs.ladder.weakest_fault, highest_held(basis, monitor)
    limit = None if weakest is None else weakest.fault_at_datum
    where = basis.part_place(basis.worker.id)
    grounds = from_value(f"lockup_pressure of {monitor.id}", basis.twin.lockup(monitor.id))
    if weakest is None or limit is None:
        return
    beyond = held > limit
    yield finding(
        "LAD-62",
        where,
        NOTE if not beyond else STOP if basis.layout.shut_off is None else HEED,
        value=pressure(held),
        limit=pressure(limit),
        worker=basis.worker.id,
        monitor=monitor.id,
        component=weakest.component,
        inputs=(grounds,),
    )
    if not beyond:
        yield from for_good(rungs.ladder, where, basis.worker.id, held, grounds)


def _responds(basis: Basis, rungs: Rungs, monitor: Reducer) -> Iterator[Finding]:
    """Yield a bound on what the outlet reaches before the monitor holds, in the credited failures."""
    weakest, limit = rungs.ladder.weakest_fault, rungs.ladder.inputs.fault_limit
    if weakest is None or limit is None:
        return
    held, response = highest_held(basis, monitor), monitor.response or d.MONITOR_RESPONSE.value()
    known, beyond = (NOTE, STOP) if monitor.response is not None else (HEED, ASK)  # measured, or a default
    for one in credit.credited(basis):
        case = credit.zone_case(
            basis, within=one.within.si, at=one.at, trip=held, closing_time=response.si, closes=monitor
        )
        if case is None:
            return
        found = run(case)
        peak = held + found.overshoot if found.trips else held
        yield finding(
            "LAD-63",
            basis.part_place(monitor.id),
            known if peak <= limit else HEED if basis.layout.shut_off else beyond,
            value=pressure(peak),
            limit=pressure(limit),
            monitor=monitor.id,
            failure=one.failure.replace("reducer", basis.worker.id),
            within=span(one.within.si),
            response=span(response.si),
            component=weakest.component,
            case=one.at,
            inputs=(from_value("time to close from wide open", response),),
        )


def _announced(basis: Basis, rungs: Rungs, monitor: Reducer) -> Iterator[Finding]:
    """Yield where the monitor holds below the alarm, so that nothing tells that the worker has failed."""
    given = rungs.ladder.inputs
    if given.alarm is None or basis.station.alarm is None:
        return
    moves = tol.reducer_moves(monitor, monitor.duty.pressure.si)
    lowest, latest = monitor.duty.pressure.si - sum(m.size for m in moves), given.alarm + given.alarm_error
    if latest >= lowest:
        yield finding(
            "LAD-78",
            "alarm.pressure",
            HEED,
            value=pressure(latest),
            limit=pressure(lowest),
            monitor=monitor.id,
            worker=basis.worker.id,
            inputs=(from_value("alarm", basis.station.alarm.pressure), *map(from_part, moves)),
        )


def _loses(basis: Basis, monitor: Reducer) -> Iterator[Finding]:
    """Yield what the monitor that stands wide open takes at peak flow."""
    steady = peak_answer(basis)
    reading = None if steady is None else steady.valves.get(monitor.id)
    if reading is None or reading.state != "wide open":
        return
    yield finding(
        "LAD-64",
        basis.part_place(monitor.id),
        NOTE,
        value=pressure(reading.inlet_pressure - reading.outlet_pressure),
        monitor=monitor.id,
        flow=flow(reading.flow),
        case="lowest inlet pressure, peak flow",
        inputs=(from_value("peak flow", basis.station.demand.peak),),
    )


def second_stage_findings(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    """Yield what two stages under one shut-off mean: the last failing, the section between them."""
    shut_off = basis.layout.shut_off
    if basis.layout.pairing != "staged" or shut_off is None:
        return
    first, last = basis.layout.reducers
    between = highest_held(basis, first)
    edge = chosen(rungs.ladder, basis.station.stacking).trip_upper_edge
    grounds = from_value(f"lockup_pressure of {first.id}", basis.twin.lockup(first.id))
    where = basis.part_place(last.id)
    if edge is not None:
        acts = between > edge
        yield finding(
            "LAD-65" if acts else "LAD-66",
            where,
            NOTE if acts else HEED,
            value=pressure(between),
            limit=pressure(edge),
            upper=False,
            reducer=last.id,
            first=first.id,
            shut_off=shut_off.id,
            inputs=(grounds,),
        )
        if not acts:
            yield from for_good(rungs.ladder, where, last.id, between, grounds)
    weakest = limits.weakest_normal(limits.component_limits(basis.station, basis.density), "between")
    if weakest is not None and weakest.normal_at_datum is not None and between > weakest.normal_at_datum:
        yield finding(
            "LAD-67",
            "limits",
            STOP,
            value=pressure(between),
            limit=pressure(weakest.normal_at_datum),
            first=first.id,
            component=weakest.component,
            inputs=(grounds,),
        )
