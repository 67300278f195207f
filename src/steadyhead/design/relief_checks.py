"""Findings about relief valves: their place in the ladder, what they must let off, where the water goes."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.design import credit
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.design.ladder import chosen
from steadyhead.design.lasting import for_good
from steadyhead.design.relief import relief_reseat, size_relief
from steadyhead.design.report import HEED, NOTE, STOP, finding, flow, from_value, pressure
from steadyhead.design.rungs import Rungs
from steadyhead.findings import Amount, Finding, Input
from steadyhead.records.design import ReliefSizing
from steadyhead.records.parts import Relief
from steadyhead.station.mechanics import relief_kv


def relief_findings(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    """Yield the findings about the relief valves on the outlet of one way."""
    for relief in basis.reliefs:
        yield from _normal_running(basis, rungs, relief)
        yield from _alarm(basis, rungs, relief)
        if basis.layout.shut_off is None:
            yield from _in_place(basis, rungs, relief)
        else:
            yield from _trip(basis, rungs, relief)
            yield from _beside(basis, rungs, relief)


def relief_layout(basis: Basis) -> Iterator[Finding]:
    """Yield what the file does not say of where the water of a relief valve goes and who sees it."""
    for relief in basis.layout.reliefs:
        if not relief.runs_to.strip():
            yield finding("LAY-37", basis.part_place(relief.id, "runs_to"), HEED, relief=relief.id)
        if relief.tells != "flow switch":
            weight = HEED if relief.tells == "none" else NOTE
            yield finding("LAY-38", basis.part_place(relief.id, "tells"), weight, relief=relief.id)


def _grounds(relief: Relief) -> tuple[Input, ...]:
    return (from_value("crack", relief.crack), from_value("± of the crack", tol.relief_error(relief)))


def _normal_running(basis: Basis, rungs: Rungs, relief: Relief) -> Iterator[Finding]:
    """Yield where a relief valve lifts, or stays open, in normal running."""
    ladder = rungs.ladder
    edge = relief.crack.si - tol.relief_error(relief).si
    wanted = ladder.highest_normal + ladder.inputs.gap
    if edge < wanted:
        yield finding(
            "LAD-54",
            basis.part_place(relief.id, "crack"),
            STOP if basis.layout.shut_off is None else HEED,
            value=pressure(edge),
            limit=pressure(wanted),
            relief=relief.id,
            crack=pressure(relief.crack.si),
            inputs=(*_grounds(relief), from_value("gap", tol.gap(basis))),
            upper=False,
        )
    reseat = relief_reseat(relief)
    if reseat.si <= ladder.highest_normal:  # what heating adds is gone once it has let off: no feed
        yield finding(
            "LAD-56",
            basis.part_place(relief.id, "reseat"),
            HEED,
            value=pressure(reseat.si),
            limit=pressure(ladder.highest_normal),
            relief=relief.id,
            inputs=(from_value("reseat", reseat),),
            upper=False,
        )


def _alarm(basis: Basis, rungs: Rungs, relief: Relief) -> Iterator[Finding]:
    given = rungs.ladder.inputs
    if given.alarm is None:
        return
    upper, edge = given.alarm + given.alarm_error, relief.crack.si - tol.relief_error(relief).si
    if upper < edge:
        return
    warmed = rungs.ladder.heated
    sooner = given.alarm >= relief.crack.si or (warmed is not None and warmed >= edge)
    yield finding(
        "LAD-55",
        "alarm.pressure",
        HEED if sooner else NOTE,
        value=pressure(upper),
        limit=pressure(edge),
        relief=relief.id,
        alarm=pressure(given.alarm),
        crack=pressure(relief.crack.si),
        inputs=_grounds(relief),
    )


def _trip(basis: Basis, rungs: Rungs, relief: Relief) -> Iterator[Finding]:
    """Yield where the trip comes before the relief valve, surely or perhaps."""
    stacking, trip = chosen(rungs.ladder, basis.station.stacking), rungs.ladder.inputs.trip
    shut_off = basis.layout.shut_off
    if trip is None or shut_off is None or stacking.trip_lower_edge is None:
        return
    upper = relief.crack.si + tol.relief_error(relief).si
    where = basis.part_place(relief.id, "crack")
    if relief.crack.si >= trip:
        yield finding(
            "LAD-52",
            where,
            HEED,
            value=pressure(relief.crack.si),
            limit=pressure(trip),
            relief=relief.id,
            shut_off=shut_off.id,
            inputs=_grounds(relief),
        )
    elif upper >= stacking.trip_lower_edge:
        yield finding(
            "LAD-53",
            where,
            NOTE,
            value=pressure(upper),
            limit=pressure(stacking.trip_lower_edge),
            relief=relief.id,
            shut_off=shut_off.id,
            inputs=_grounds(relief),
        )


def _beside(basis: Basis, rungs: Rungs, relief: Relief) -> Iterator[Finding]:
    """Yield the overshoot with and without the relief valve."""
    trip, closing = rungs.looked_at, rungs.closing
    if trip is None or closing is None:
        return
    without = credit.credited_overshoot(basis, trip, closing.si, ())
    beside = credit.credited_overshoot(basis, trip, closing.si, (relief,))
    if without is None or beside is None:
        return
    yield finding(
        "LAD-57",
        basis.part_place(relief.id, "credited"),
        NOTE,
        relief=relief.id,
        counted="counted in" if relief.credited else "not counted in",
        without=pressure(without),
        beside=pressure(beside),
        inputs=(from_value("Kv wide open", relief_kv(relief)), *_grounds(relief)),
        case="credited failure, lumped zone",
    )


def _in_place(basis: Basis, rungs: Rungs, relief: Relief) -> Iterator[Finding]:
    """Yield whether a relief valve that stands in place of a shut-off holds a reducer stuck open."""
    sized, weakest = size_relief(basis, relief), rungs.ladder.weakest_fault
    if sized is None or weakest is None or sized.holds is None or weakest.fault_at_datum is None:
        return
    where = basis.part_place(relief.id)
    grounds = _sizing_grounds(basis, sized, relief)
    yield finding(
        "LAD-59" if sized.holds else "LAD-58",
        where,
        NOTE if sized.holds else STOP,
        value=pressure(sized.latest_peak),
        limit=pressure(weakest.fault_at_datum),
        relief=relief.id,
        crack=pressure(sized.crack),
        edge=pressure(sized.latest_crack),
        reducer=basis.worker.id,
        flow=flow(sized.failed_open_flow),
        component=weakest.component,
        case=basis.stuck_open_case,
        inputs=grounds,
    )
    if sized.holds:
        yield from for_good(rungs.ladder, where, basis.worker.id, sized.latest_peak, grounds[0])


def _sizing_grounds(basis: Basis, sized: ReliefSizing, relief: Relief) -> tuple[Input, ...]:
    static = from_value("supply.static", basis.supply_at_datum("static"))
    kv = Input("Kv wide open", Amount("flow_coefficient", sized.kv), sized.kv_provenance)
    return static, kv, *_grounds(relief)
