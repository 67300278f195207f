"""Findings about failures: what is credited, how high each goes, what each section bears."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.design import credit, limits
from steadyhead.design import defaults as d
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.design.causes import duration_words
from steadyhead.design.ladder import chosen
from steadyhead.design.lasting import for_good
from steadyhead.design.monitor_checks import monitor_findings, second_stage_findings
from steadyhead.design.proof_checks import proof_findings
from steadyhead.design.relief_checks import relief_findings
from steadyhead.design.report import ASK, HEED, NOTE, STOP, finding, from_value, pressure, seconds, span
from steadyhead.design.rungs import Rungs
from steadyhead.design.surge_checks import surge_findings
from steadyhead.design.thermal_checks import thermal_findings
from steadyhead.findings import Amount, Finding, Input
from steadyhead.hydraulics.mains import zone_stiffness
from steadyhead.records.ladder import FailurePeak, Ladder
from steadyhead.records.values import Value


def failure_findings(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    """Yield the findings about failures and about the sections they reach."""
    if basis.layout.shut_off is not None:
        yield from _zone(basis)
        yield from _closing(basis, rungs)
        yield from surge_findings(basis, rungs)
        yield from proof_findings(basis, rungs)
        yield from _peaks(basis, rungs)
        yield from second_stage_findings(basis, rungs)
    else:
        yield from _without_shut_off(basis, rungs)
    yield from monitor_findings(basis, rungs)
    yield from relief_findings(basis, rungs)
    yield from thermal_findings(basis, rungs)
    yield from _sections(basis)


def _without_shut_off(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    if basis.layout.pairing == "staged":
        yield from _two_reducers(basis, rungs)
    elif basis.layout.pairing == "" and not basis.reliefs and not basis.is_low_flow:
        yield from _alone(basis, rungs.ladder)
    instead = {
        "staged": "The other stage holds what it can. ",
        "monitor": "The monitor takes over as it can. ",
    }
    acts = instead.get(basis.layout.pairing, "Relief passes what it can. " if basis.reliefs else "")
    yield finding("SUR-61", "line", NOTE if acts else HEED, reducer=basis.worker.id, acts=acts)


def _zone(basis: Basis) -> Iterator[Finding]:
    stiffness = zone_stiffness(basis.station.zone)
    if stiffness is None:
        yield finding("LAD-12", "zone.volume", STOP)
    elif stiffness.lower_bound:
        yield finding("LAD-13", "zone.volume", ASK, value=Amount("volume", stiffness.volume))
    if not basis.station.credited:
        yield finding(
            "LAD-10",
            "credited",
            ASK,
            within=span(d.CREDITED_WITHIN.si),
            inputs=(from_value("within", d.CREDITED_WITHIN.value()),),
        )


def _closing(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    shut_off, closing = basis.layout.shut_off, rungs.closing
    assert shut_off is not None
    assert closing is not None
    where = basis.part_place(shut_off.id, "closing")
    if shut_off.closing is None:
        yield finding(
            "LAD-14",
            where,
            ASK,
            value=seconds(closing.si),
            shut_off=shut_off.id,
            inputs=(from_value("closing time", closing),),
        )
    elif shut_off.closing.flow is None:
        yield finding("LAD-15", where, HEED, value=seconds(closing.si), shut_off=shut_off.id)
    room = _room(basis, rungs.ladder)
    trip = rungs.ladder.inputs.trip
    if room is None or trip is None or rungs.proof is not None:
        return
    slower = closing.si * (1.0 + d.CLOSING_SPREAD.si)
    here, then = (credit.credited_overshoot(basis, trip, time) for time in (closing.si, slower))
    if here is not None and then is not None and here <= room < then:
        longest = credit.longest_closing(basis, trip=trip, room=room, stated=closing.si)
        yield finding(
            "LAD-16",
            where,
            HEED,
            value=seconds(closing.si),
            limit=seconds(longest or closing.si),
            inputs=(
                from_value("closing time", closing),
                from_value("spread in a year", d.CLOSING_SPREAD.value()),
            ),
        )


def _room(basis: Basis, ladder: Ladder) -> float | None:
    edge = chosen(ladder, basis.station.stacking).trip_upper_edge
    limit = ladder.inputs.fault_limit
    return None if edge is None or limit is None else limit - edge


def _peaks(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    ladder, shut_off = rungs.ladder, basis.layout.shut_off
    weakest, limit = ladder.weakest_fault, ladder.inputs.fault_limit
    assert shut_off is not None
    if weakest is not None and limit is not None:
        for index, peak in enumerate(p for p in ladder.peaks if p.credited):
            if peak.covered is False and peak.peak is not None:
                yield finding(
                    "LAD-08",
                    basis.place("credited", index),
                    STOP,
                    value=pressure(peak.peak),
                    limit=pressure(limit),
                    failure=peak.label.capitalize(),
                    within=span(peak.within),
                    at=peak.at,
                    component=weakest.component,
                    case=peak.at,
                    inputs=_grounds(basis, rungs, peak),
                )
        others = [p for p in ladder.peaks if not p.credited and p.covered is False and p.peak is not None]
        if others:
            worst = max(others, key=lambda p: p.peak or 0.0)
            yield finding(
                "LAD-09",
                basis.part_place(shut_off.id),
                HEED,
                value=pressure(worst.peak or 0.0),
                limit=pressure(limit),
                words=_covers(ladder),
                how=" by the lumped zone, which the proof did not run" if ladder.is_lumped(worst) else "",
                component=weakest.component,
                case=worst.at,
                inputs=_grounds(basis, rungs, worst),
            )
    yield finding(
        "LAD-11",
        basis.part_place(shut_off.id),
        NOTE,
        not_covered="; ".join(ladder.not_covered) or "nothing that was looked at",
        common_causes="; ".join(ladder.common_causes),
    )


def _covers(ladder: Ladder) -> str:
    """Return which failures are covered: as proved, and by the lumped zone only where that fits the proof."""
    run = [peak for peak in ladder.peaks if peak.proved]
    if run:
        over = sorted({peak.within for peak in run if peak.covered is False})
        held = sorted({peak.within for peak in run if peak.covered} - set(over))
        told = [
            f"{verb} {', '.join(span(time) for time in times)}"
            for verb, times in (("covers a reducer that goes open within", held), ("not within", over))
            if times
        ]
        edge = ladder.covers_slower_than
        between = "What lies between was not run."
        if edge is not None and over and over[-1] <= edge and (not held or edge <= held[0]):
            between = f"By the lumped zone it covers those slower than {duration_words(edge)}."
        if not told:
            return "What it covers the proof leaves open: it asks."
        if told[0].startswith("not"):
            told[0] = f"does {told[0].replace('not within', 'not cover a reducer that goes open within')}"
        return f"In the proof the shut-off {', '.join(told)}. {between}"
    if ladder.covers_slower_than is None:
        return "The shut-off covers none of the failure speeds that were looked at."
    return f"The shut-off covers failures slower than {duration_words(ladder.covers_slower_than)}."


def _grounds(basis: Basis, rungs: Rungs, peak: FailurePeak) -> tuple[Input, ...]:
    """Return what a peak rests on, for `why`."""
    stiffness, closing = zone_stiffness(basis.station.zone), rungs.closing
    assert stiffness is not None
    assert closing is not None
    rests_on = "protection proof" if peak.proved else "lumped zone, no waves, no air"
    return (
        Input("overshoot", pressure(peak.overshoot), rests_on),
        from_value("closing time", closing),
        from_value("dead time", d.DEAD_TIME.value()),
        Input("zone volume", Amount("volume", stiffness.volume), _of_volume(basis)),
        from_value("elasticity", stiffness.compressibility),
        from_value(*_inlet(basis, peak)),
    )


def _inlet(basis: Basis, peak: FailurePeak) -> tuple[str, Value]:
    """Return the inlet pressure a peak begins with: of the case that decides, else by its flow."""
    supply = basis.station.supply
    if peak.inlet == "lowest":
        return "lowest inlet pressure", supply.min
    if peak.inlet == "typical":
        return "typical inlet pressure", supply.typical
    return credit.failure_inlet(basis, "night flow" if peak.inlet else peak.at)


def _of_volume(basis: Basis) -> str:
    volume = basis.station.zone.volume
    return "length and bore of the zone's main alone" if volume is None else volume.provenance


def _alone(basis: Basis, ladder: Ladder) -> Iterator[Finding]:
    weakest, limit = ladder.weakest_fault, ladder.inputs.fault_limit
    static = basis.supply_at_datum("static")
    if weakest is None or limit is None:
        return
    code, weight = ("LAD-29", STOP) if static.si > limit else ("LAD-30", NOTE)
    grounds = from_value("supply.static", static)
    yield finding(
        code,
        "line",
        weight,
        value=pressure(static.si),
        limit=pressure(limit),
        component=weakest.component,
        inputs=(grounds,),
    )
    if static.si <= limit:
        yield from for_good(ladder, "line", basis.worker.id, static.si, grounds)


def _two_reducers(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    first, second = basis.layout.reducers
    weakest, limit = rungs.ladder.weakest_fault, rungs.ladder.inputs.fault_limit
    if weakest is None or limit is None:
        return
    lockup = basis.twin.lockup(first.id)
    held = max(lockup.si, first.duty.pressure.si)
    between = held + sum(part.size for part in tol.reducer_moves(first, held))
    code, weight = ("LAD-31", STOP) if between > limit else ("LAD-32", NOTE)
    where, grounds = basis.part_place(second.id), from_value(f"lockup_pressure of {first.id}", lockup)
    yield finding(
        code,
        where,
        weight,
        value=pressure(between),
        limit=pressure(limit),
        reducer=second.id,
        component=weakest.component,
        inputs=(grounds,),
    )
    if between <= limit:
        yield from for_good(rungs.ladder, where, second.id, between, grounds)
    yield from _both(basis, weakest.component, limit)


def _both(basis: Basis, component: str, limit: float) -> Iterator[Finding]:
    static = basis.supply_at_datum("static")
    if static.si > limit:
        yield finding(
            "LAD-33",
            "line",
            HEED,
            value=pressure(static.si),
            limit=pressure(limit),
            component=component,
            inputs=(from_value("supply.static", static),),
        )


def _sections(basis: Basis) -> Iterator[Finding]:
    components = limits.component_limits(basis.station, basis.density)
    static = basis.supply_at_datum("static")
    grounds = (from_value("supply.static", static),)
    inlet = limits.weakest_normal(components, "inlet")
    if inlet is not None and inlet.normal_at_datum is not None and static.si > inlet.normal_at_datum:
        yield finding(
            "LAD-28",
            "limits",
            STOP,
            value=pressure(static.si),
            limit=pressure(inlet.normal_at_datum),
            component=inlet.component,
            inputs=grounds,
        )
    if not any(section.name.startswith("between") for section in basis.layout.sections):
        return
    always = basis.layout.shut_off_place == "upstream" and basis.layout.pairing != "staged"
    weakest = (
        limits.weakest_normal(components, "between")
        if always
        else limits.weakest_fault(components, "between")
    )
    bears = None if weakest is None else weakest.normal_at_datum if always else weakest.fault_at_datum
    if weakest is None or bears is None:
        yield finding("LAD-26", "limits", ASK, value=pressure(static.si), inputs=grounds)
        return
    if static.si > bears:
        yield finding(
            "LAD-25",
            "limits",
            STOP,
            value=pressure(static.si),
            limit=pressure(bears),
            component=weakest.component,
            inputs=grounds,
        )
