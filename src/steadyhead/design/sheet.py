"""The design sheet: one station judged, in one call."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from steadyhead import __version__
from steadyhead.design.basis import Basis
from steadyhead.design.export import sheet_json
from steadyhead.design.failure_checks import failure_findings
from steadyhead.design.gauges import gauge_findings, size_gauges
from steadyhead.design.ladder_checks import ladder_findings
from steadyhead.design.layout_checks import is_covered, layout_findings, senses_well
from steadyhead.design.remedies import remedies
from steadyhead.design.report import ASK, finding
from steadyhead.design.rungs import Rungs, rungs
from steadyhead.design.sizing import design_cases, losses, pipes, size_reducer
from steadyhead.design.sizing_checks import loss_findings, reducer_findings, spring_findings
from steadyhead.design.twin import SteadyTwin
from steadyhead.design.used_defaults import used_defaults
from steadyhead.findings import Finding
from steadyhead.findings.model import in_order
from steadyhead.records.design import (
    DesignCase,
    DesignSheet,
    GaugeSizing,
    LossSizing,
    PipeSizing,
    ReducerSizing,
    Remedy,
)
from steadyhead.records.station import Station
from steadyhead.station.answers import answered, unmatched
from steadyhead.station.sense import file_findings
from steadyhead.station.slips import ask


def judge(station: Station, day: date | None = None) -> DesignSheet:
    """Return the design sheet of a station: ladder, sizing, cases, findings with answers met, remedies.

    Deterministic: the same file and day give the same sheet. A layout that is not covered, or a pilot that
    senses a place the twin cannot work with, gets its layout findings and no ladder. Good for ranking and for
    the decisions of a person; not a substitute for the supplier's instructions, local code or a surge study.

    Parameters
    ----------
    station
        A checked station file.
    day
        Day on which calibrations are looked at; without one none is called overdue.

    Returns
    -------
    DesignSheet
        SI throughout; pressures gauge at datum.
    """
    basis = Basis(station, SteadyTwin(station))
    found = [*ask(station), *file_findings(station, basis.data), *layout_findings(basis)]
    if not is_covered(basis) or not senses_well(basis):
        return _sheet(basis, found)
    now = rungs(basis)
    cases = design_cases(basis)
    trip = now.ladder.inputs.trip
    sized = tuple(size_reducer(basis, reducer, cases, trip) for reducer in basis.layout.reducers)
    gauges = size_gauges(basis, now.ladder)
    lost, piped, cures = losses(basis), pipes(basis), remedies(basis, now) if basis.layout.shut_off else ()
    found += ladder_findings(basis, now, cures)
    found += failure_findings(basis, now)
    for one in sized:
        found += reducer_findings(basis, one)
    found += spring_findings(basis, now.ladder, sized)
    found += loss_findings(basis, lost, piped)
    found += gauge_findings(basis, now.ladder, gauges, day)
    found += _silent_twin(basis, cases)
    return _sheet(basis, found, now, sized, lost, piped, gauges, cases, cures)


def _silent_twin(basis: Basis, cases: tuple[DesignCase, ...]) -> Iterator[Finding]:
    twin = basis.twin
    if isinstance(twin, SteadyTwin) and twin.problem:
        yield finding("LAD-34", "line", ASK, words=twin.problem, case="duty of the reducers")
    silent: dict[str, list[str]] = {}
    for case in cases:
        if case.problem:
            silent.setdefault(case.problem, []).append(case.words)
    for problem, names in silent.items():
        yield finding("LAD-34", "line", ASK, words=problem, case="; ".join(names))


def _sheet(
    basis: Basis,
    found: list[Finding],
    now: Rungs | None = None,
    reducers: tuple[ReducerSizing, ...] = (),
    lost: tuple[LossSizing, ...] = (),
    piped: tuple[PipeSizing, ...] = (),
    gauges: tuple[GaugeSizing, ...] = (),
    cases: tuple[DesignCase, ...] = (),
    cures: tuple[Remedy, ...] = (),
) -> DesignSheet:
    station = basis.station
    return DesignSheet(
        station=station.station.id,
        name=station.station.name,
        layout=basis.layout.code,
        stacking=station.stacking,
        ladder=None if now is None else now.ladder,
        reducers=reducers,
        losses=lost,
        pipes=piped,
        gauges=gauges,
        cases=cases,
        remedies=cures,
        findings=in_order((*answered(found, station.answers), *unmatched(found, station.answers))),
        defaults=used_defaults(basis, now),
        engine_version=__version__,
    )


def to_json(sheet: DesignSheet) -> dict[str, object]:
    """Return the sheet as plain data for JSON: names end in the unit, floats have nine significant digits."""
    return sheet_json(sheet)
