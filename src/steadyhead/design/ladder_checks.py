"""Findings about the ladder: limits, normal running, the trip window, alarm and reset."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from steadyhead.design import defaults as d
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.design.chain import inlet_before
from steadyhead.design.ladder import chosen
from steadyhead.design.limit_checks import limit_findings
from steadyhead.design.report import ASK, HEED, NOTE, STOP, finding, from_part, from_value, pressure
from steadyhead.design.rungs import Rungs, need_at_datum
from steadyhead.findings import Amount, Finding, Input
from steadyhead.records.design import Remedy
from steadyhead.records.ladder import Contribution, Ladder, Stacking


def ladder_findings(basis: Basis, rungs: Rungs, remedies: tuple[Remedy, ...]) -> Iterator[Finding]:
    """Yield the findings of limits, normal running, window, alarm and reset."""
    yield from limit_findings(basis, rungs)
    yield from _lockup(basis)
    yield from _normal_running(basis, rungs)
    if basis.layout.shut_off is not None:
        yield from _window(basis, rungs, remedies)
        yield from _reset(basis, rungs.ladder)
    yield from _alarm(basis, rungs.ladder)


def _lockup(basis: Basis) -> Iterator[Finding]:
    for reducer in basis.layout.reducers:
        lockup, duty = basis.twin.lockup(reducer.id), reducer.duty.pressure
        if lockup.si < duty.si:
            yield finding(
                "LAD-36",
                basis.part_place(reducer.id, "lockup"),
                ASK,
                value=pressure(lockup.si),
                limit=pressure(duty.si),
                reducer=reducer.id,
                inputs=(from_value("lockup_pressure", lockup), from_value("duty_pressure", duty)),
                upper=False,
            )


def _normal_running(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    ladder = rungs.ladder
    weakest = ladder.weakest_normal
    rising = (from_value("lockup_pressure", rungs.lockup), *map(from_part, ladder.inputs.highest_normal_adds))
    if (
        weakest is not None
        and weakest.normal_at_datum is not None
        and ladder.highest_normal > weakest.normal_at_datum
    ):
        yield finding(
            "LAD-03",
            "limits",
            STOP,
            value=pressure(ladder.highest_normal),
            limit=pressure(weakest.normal_at_datum),
            component=weakest.component,
            inputs=rising,
        )
    yield from _inlet(basis)
    falling = tuple(map(from_part, ladder.inputs.lowest_normal_takes))
    for index, need in enumerate(basis.station.needs):
        wanted = need_at_datum(basis, need)
        if ladder.lowest_normal < wanted and not basis.is_low_flow:
            yield finding(
                "LAD-23",
                basis.place("needs", index),
                ASK,
                value=pressure(ladder.lowest_normal),
                limit=pressure(wanted),
                point=need.at,
                inputs=(from_value("need", need.pressure), *falling),
                upper=False,
                case="lowest inlet pressure, peak flow",
            )
    if not basis.station.needs:
        yield finding("LAD-24", "needs", NOTE)


def _inlet(basis: Basis) -> Iterator[Finding]:
    peak = basis.station.demand.peak
    if basis.is_low_flow:
        return
    for reducer in basis.layout.reducers:
        if reducer is basis.monitor:
            continue
        arrives = inlet_before(basis, reducer, peak.si, "lowest")
        wanted = reducer.duty.pressure.si + d.MIN_DIFFERENCE.si
        if arrives < wanted:
            yield finding(
                "LAD-22",
                basis.part_place(reducer.id, "duty"),
                HEED,
                value=pressure(arrives),
                limit=pressure(wanted),
                reducer=reducer.id,
                case="lowest inlet pressure, peak flow",
                upper=False,
                inputs=(
                    from_value("supply.min", basis.station.supply.min),
                    from_value("peak flow", peak),
                    from_value("duty_pressure", reducer.duty.pressure),
                    from_value("least difference", d.MIN_DIFFERENCE.value()),
                ),
            )


def _of(what: str, part: Contribution) -> Input:
    given = from_part(part)
    return replace(given, label=f"{what}: {given.label}")


def window_inputs(basis: Basis, rungs: Rungs) -> tuple[Input, ...]:
    """Return what the window rests on, for `why`; said where that is not the chosen trip."""
    ladder, given = rungs.ladder, rungs.ladder.inputs
    rests_on = "lumped zone" if rungs.correction is None else "protection proof"
    if rungs.looked_at != rungs.worked_trip:
        rests_on += ", for a trip in the window's middle"
    found = [
        Input("highest normal", pressure(ladder.highest_normal), "lock-up and what adds to it"),
        *(_of("highest normal", part) for part in given.highest_normal_adds),
        from_value("gap", tol.gap(basis)),
    ]
    found += [_of("trip", part) for part in given.trip_tolerances]
    if given.overshoot is not None:
        found.append(Input("overshoot of the credited failure", pressure(given.overshoot), rests_on))
    if ladder.weakest_fault is not None and given.fault_limit is not None:
        found.append(
            Input("fault limit at datum", pressure(given.fault_limit), ladder.weakest_fault.component)
        )
    return tuple(found)


def _window(basis: Basis, rungs: Rungs, remedies: tuple[Remedy, ...]) -> Iterator[Finding]:
    ladder = rungs.ladder
    stacking = chosen(ladder, basis.station.stacking)
    shut_off = basis.layout.shut_off
    assert shut_off is not None
    where = basis.part_place(shut_off.id, "trip")
    grounds = window_inputs(basis, rungs)
    if stacking.verdict == "empty" and stacking.highest is not None and stacking.width is not None:
        yield finding(
            "LAD-04",
            where,
            STOP,
            lowest=pressure(stacking.lowest),
            upper_words=" and at most " if stacking.highest > 0.0 else "; no trip is low enough",
            highest=pressure(stacking.highest) if stacking.highest > 0.0 else "",
            short_by=pressure(-stacking.width),
            stacking=_capital(stacking),
            cure_words=_cures(remedies),
            inputs=grounds,
        )
    worst = ladder.worst_case
    if stacking.name != worst.name and stacking.verdict == "open" and worst.verdict == "empty":
        assert stacking.highest is not None
        assert worst.highest is not None
        yield finding(
            "LAD-05",
            "stacking",
            ASK,
            lowest=pressure(stacking.lowest),
            highest=pressure(stacking.highest),
            worst_lowest=pressure(worst.lowest),
            worst_highest=pressure(worst.highest),
            inputs=grounds,
        )
    yield from _trip(ladder, stacking, where, grounds)


def _trip(ladder: Ladder, stacking: Stacking, where: str, grounds: tuple[Input, ...]) -> Iterator[Finding]:
    trip = ladder.inputs.trip
    if trip is None:
        highest = pressure(stacking.highest) if stacking.highest is not None else "not known"
        yield finding(
            "LAD-07",
            where,
            STOP,
            lowest=pressure(stacking.lowest),
            highest=highest,
            middle=_middle(stacking),
            inputs=grounds,
        )
        return
    below = trip < stacking.lowest
    if (stacking.verdict == "open" and stacking.trip_inside is False) or (
        stacking.verdict == "not known" and below
    ):
        highest = pressure(stacking.highest) if stacking.highest is not None else "not known"
        yield finding(
            "LAD-06",
            where,
            STOP,
            value=pressure(trip),
            side="below" if below else "above",
            limit=pressure(stacking.lowest)
            if below or stacking.highest is None
            else pressure(stacking.highest),
            lowest=pressure(stacking.lowest),
            highest=highest,
            middle=_middle(stacking),
            stacking=_capital(stacking),
            inputs=grounds,
            upper=not below,
        )


def _middle(stacking: Stacking) -> Amount | str:
    if stacking.highest is None or stacking.verdict != "open":
        return "not known"
    return pressure(0.5 * (stacking.lowest + stacking.highest))


def _capital(stacking: Stacking) -> str:
    return stacking.name[0].upper() + stacking.name[1:]


def _cures(remedies: tuple[Remedy, ...]) -> str:
    if not remedies:
        return "No practical change of this file opens it, nor any two. Change the layout, or add a relief."
    head = (
        "Each of these opens it alone:"
        if len(remedies[0].kinds) == 1
        else "No single change opens it; each of these pairs does:"
    )
    return " ".join([head, *(f"{remedy.words} {remedy.caution}".rstrip() for remedy in remedies)])


def _alarm(basis: Basis, ladder: Ladder) -> Iterator[Finding]:
    given, alarm = ladder.inputs, basis.station.alarm
    if given.alarm is None or alarm is None:
        yield finding("LAD-19", "alarm", HEED)
        return
    error = from_value("alarm error", alarm.error or d.ALARM_ERROR.value())
    edge = given.alarm - given.alarm_error
    if edge <= ladder.highest_normal:
        yield finding(
            "LAD-17",
            "alarm.pressure",
            HEED,
            value=pressure(given.alarm),
            limit=pressure(ladder.highest_normal),
            edge=pressure(edge),
            inputs=(from_value("alarm", alarm.pressure), error),
            upper=False,
        )
    for stacking in (ladder.worst_case, ladder.root_sum_square):
        upper = given.alarm + given.alarm_error
        if stacking.trip_lower_edge is not None and upper >= stacking.trip_lower_edge:
            yield finding(
                "LAD-18",
                "alarm.pressure",
                HEED,
                value=pressure(upper),
                limit=pressure(stacking.trip_lower_edge),
                alarm=pressure(given.alarm),
                case=_capital(stacking),
                inputs=(from_value("alarm", alarm.pressure), error, *map(from_part, _own(basis, ladder))),
            )


def _own(basis: Basis, ladder: Ladder) -> tuple[Contribution, ...]:
    """Return what moves the chosen trip, where it lies; the ladder has that of its window."""
    shut_off, trip = basis.layout.shut_off, ladder.inputs.trip
    return () if shut_off is None or trip is None else tol.trip_tolerances(basis, shut_off, trip)


def _reset(basis: Basis, ladder: Ladder) -> Iterator[Finding]:
    shut_off = basis.layout.shut_off
    if shut_off is None or shut_off.resets != "by itself":
        return
    where = basis.part_place(shut_off.id, "dead_band")
    if shut_off.dead_band is None:
        yield finding("LAD-21", where, ASK, shut_off=shut_off.id)
    elif ladder.inputs.reset is not None and ladder.inputs.reset <= ladder.highest_normal:
        yield finding(
            "LAD-20",
            where,
            HEED,
            value=pressure(ladder.inputs.reset),
            limit=pressure(ladder.highest_normal),
            upper=False,
            inputs=(from_value("dead band", shut_off.dead_band),),
        )
