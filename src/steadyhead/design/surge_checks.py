"""Findings about closing fast: the stroke in a failure, the supply main, the section between the valves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from steadyhead.design import defaults as d
from steadyhead.design import limits
from steadyhead.design.basis import Basis
from steadyhead.design.closing import needle_of
from steadyhead.design.credit import valve_k
from steadyhead.design.report import ASK, HEED, NOTE, finding, flow, from_value, pressure, seconds
from steadyhead.design.rungs import Rungs
from steadyhead.design.surge import SuddenFailure, SuddenStop, sudden_failure, sudden_stop
from steadyhead.findings import Amount, Finding, Input
from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.parts import ShutOff
from steadyhead.records.protection import Protection
from steadyhead.surge.proof_defaults import SUDDENLY

AHEAD = ("inlet", "between")
SLOWER = ", twice that of an even stop in the last fifth of this stroke, for stops are uneven"
CASE = "sudden failure, highest static inlet pressure"


def surge_findings(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    """Yield what the stroke of the shut-off means for the supply main and for the section between."""
    shut_off, trip = basis.layout.shut_off, rungs.worked_trip
    if shut_off is not None:
        yield from _pressures(basis, shut_off)
    if shut_off is None or trip is None:
        return
    failure = sudden_failure(basis, trip=trip, needle_k=needle_of(basis, shut_off))
    if failure is not None:
        yield from _stroke(basis, shut_off, failure, rungs.proof)
        if rungs.proof is None or not (rungs.proof.mains[0] or "supply" in rungs.proof.window.unknown):
            yield from _supply(basis, shut_off, failure)
    if rungs.proof is None and basis.layout.shut_off_place == "downstream":
        yield from _between(basis)


def _pressures(basis: Basis, shut_off: ShutOff) -> Iterator[Finding]:
    """Ask about stated pressures of a closing time that an open valve cannot have at the flow they go with.

    Notes
    -----
    p₁ − p₂ = (Q/k)², the shut-off still wide open.
    """
    closing = shut_off.closing
    if closing is None or closing.flow is None:
        return
    if closing.inlet_pressure is None or closing.outlet_pressure is None:
        return
    inlet, outlet = closing.inlet_pressure.si, closing.outlet_pressure.si
    differs = (closing.flow.si / valve_k(basis, shut_off)) ** 2
    allowed = max(d.CLOSING_DIFFERS.si, d.CLOSING_DIFFERS_SHARE.si * differs)
    if abs(inlet - outlet - differs) <= allowed:
        return
    yield finding(
        "SUR-54",
        basis.part_place(shut_off.id, "closing.outlet_pressure"),
        ASK,
        value=pressure(outlet),
        limit=pressure(inlet - differs),
        shut_off=shut_off.id,
        inlet=pressure(inlet),
        flow=flow(closing.flow.si),
        inputs=(
            from_value("inlet_pressure", closing.inlet_pressure),
            from_value("outlet_pressure", closing.outlet_pressure),
            from_value("flow", closing.flow),
        ),
    )


def _stroke(
    basis: Basis, shut_off: ShutOff, failure: SuddenFailure, proof: Protection | None
) -> Iterator[Finding]:
    """Yield what the needle that was timed at a trickle does with the reducer fully open.

    As the proof has it where it ran such a failure, else quasi-steady.
    """
    closing = shut_off.closing
    proved = None if proof is None else proved_stroke(proof)
    takes = failure.closing if proved is None else proved
    if closing is None or closing.flow is None or takes >= closing.time.si:
        return
    source = "closing integral, quasi-steady" if proved is None else "protection proof"
    yield finding(
        "LAD-35",
        basis.part_place(shut_off.id, "closing"),
        NOTE,
        value=seconds(takes),
        shut_off=shut_off.id,
        stated=seconds(closing.time.si),
        flow=flow(closing.flow.si),
        inputs=(
            from_value("closing time", closing.time),
            Input("stroke in the failure", Amount("time", takes), source),
        ),
        case=CASE,
    )


def proved_stroke(proof: Protection) -> float | None:
    """Return how long the stroke takes in a sudden failure as proved, needle as it is; None: not run. [s]

    The middle of both edges of the band, highest static inlet pressure, night flow.
    """
    found = [
        case.shut_after
        for case in proof.cases
        if case.failure.kind == "fails open"
        and (case.failure.within or 0.0) <= SUDDENLY.si
        and (case.inlet, case.flow) == ("static", "night")
        and case.shut_after is not None
    ]
    return sum(found) / len(found) if found else None


def _supply(basis: Basis, shut_off: ShutOff, failure: SuddenFailure) -> Iterator[Finding]:
    if failure.stop is None:
        yield finding("LAD-39", "supply.main", HEED, shut_off=shut_off.id, flow=flow(failure.flow))
        return
    static = basis.supply_at_datum("static")
    rise, slower = failure.stop.rise, ""
    weakest = _weakest_ahead(basis)
    bears = None if weakest is None else weakest.fault_at_datum
    if bears is not None and static.si + failure.rise_of_its_stroke <= bears < static.si + rise:
        rise, slower = failure.rise_of_its_stroke, SLOWER
    sees = static.si + rise
    yield finding(
        "LAD-38" if bears is None else "LAD-37",
        "supply.main",
        HEED if bears is None or sees > bears else NOTE,
        value=pressure(sees),
        limit=None if bears is None else pressure(bears),
        shut_off=shut_off.id,
        component="" if weakest is None else weakest.component,
        flow=flow(failure.flow),
        time=seconds(failure.closing),
        wave=seconds(failure.stop.return_time),
        static=pressure(static.si),
        surge=pressure(rise),
        slower=slower,
        inputs=(from_value("supply.static", static), _speed(failure.stop)),
        case=CASE,
    )


def _weakest_ahead(basis: Basis) -> ComponentLimit | None:
    """Return the weakest component ahead of the shut-off; None where the inlet side states no limit."""
    components = limits.component_limits(basis.station, basis.density)
    inlet = limits.weakest_fault(components, "inlet")
    if inlet is None or inlet.fault_at_datum is None or basis.layout.shut_off_place != "downstream":
        return inlet
    return limits.weakest_fault(
        (replace(one, side="inlet") for one in components if one.side in AHEAD), "inlet"
    )


def _between(basis: Basis) -> Iterator[Finding]:
    weakest = limits.weakest_fault(limits.component_limits(basis.station, basis.density), "between")
    demand, static = basis.station.demand, basis.supply_at_datum("static")
    most = max(demand.peak, demand.fire or demand.peak, key=lambda one: one.si)
    stop = sudden_stop(basis, most.si)
    if weakest is None or weakest.fault_at_datum is None or stop is None:
        return
    sees = static.si + stop.rise
    yield finding(
        "LAD-27",
        "limits",
        ASK if sees > weakest.fault_at_datum else NOTE,
        value=pressure(sees),
        limit=pressure(weakest.fault_at_datum),
        component=weakest.component,
        static=pressure(static.si),
        surge=pressure(stop.rise),
        flow=flow(most.si),
        inputs=(from_value("supply.static", static), from_value("flow", most), _speed(stop)),
    )


def _speed(stop: SuddenStop) -> Input:
    return Input("wave speed", Amount("velocity", stop.wave_speed), stop.provenance)
