"""The design sheet: one station judged, in one call."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from steadyhead import __version__
from steadyhead.design.basis import Basis
from steadyhead.design.crack import with_highest_crack
from steadyhead.design.export import sheet_json
from steadyhead.design.failure_checks import failure_findings
from steadyhead.design.gauges import gauge_findings, size_gauges
from steadyhead.design.handovers import handovers
from steadyhead.design.ladder import chosen
from steadyhead.design.ladder_checks import ladder_findings
from steadyhead.design.layout_checks import is_covered, layout_findings, senses_well
from steadyhead.design.line_losses import losses, pipes
from steadyhead.design.proof_streams import proof_streams
from steadyhead.design.relief import relief_sizings
from steadyhead.design.remedies import remedies
from steadyhead.design.report import ASK, finding
from steadyhead.design.rungs import rungs
from steadyhead.design.sizing import design_cases, size_reducer
from steadyhead.design.sizing_checks import loss_findings, reducer_findings, spring_findings
from steadyhead.design.stream_checks import Way, narrowest, stream_findings
from steadyhead.design.stream_layout import streams_layout
from steadyhead.design.twin import SteadyTwin
from steadyhead.design.used_defaults import used_defaults
from steadyhead.design.ways import ways_of
from steadyhead.findings import Finding
from steadyhead.findings.model import in_order
from steadyhead.records.design import (
    DesignCase,
    DesignSheet,
    Handover,
    ReducerSizing,
    Remedy,
    StreamDesign,
)
from steadyhead.records.protection import ProofSheet, Protection
from steadyhead.records.station import Station
from steadyhead.station.answers import answered, unmatched
from steadyhead.station.sense import file_findings
from steadyhead.station.slips import ask


def judge(station: Station, day: date | None = None, proof: ProofSheet | None = None) -> DesignSheet:
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
    proof
        Protection proof of this very file; its overshoot and findings take the place of lumped ones. None:
        the overshoot is that of the lumped zone.

    Returns
    -------
    DesignSheet
        SI throughout; pressures gauge at datum.
    """
    ways = ways_of(station)
    whole = ways[0] if len(ways) == 1 else Basis(station, SteadyTwin(station))
    found = [*ask(station), *file_findings(station, whole.data), *_layout(whole, ways)]
    if not all(is_covered(basis) and senses_well(basis) for basis in ways):
        return _sheet(whole, found)
    judged = tuple(Way(basis, rungs(basis, proof=_proof(proof, basis))) for basis in ways)
    cases = design_cases(whole)
    sized = _sized(whole, judged, cases)
    lost, piped = losses(whole), pipes(whole)
    cures = tuple(remedies(way.basis, way.rungs) if way.basis.layout.shut_off else () for way in judged)
    handed = _handed(whole, judged)
    first = narrowest(judged)
    gauges = size_gauges(whole, first.rungs.ladder)
    found += _of_ways(judged, cures)
    found += stream_findings(judged, handed, sized)
    found += _sizing_findings(whole, judged, sized)
    found += _springs(judged, sized)
    found += loss_findings(whole, lost, piped)
    found += proof_streams(station, ways, proof)
    found += gauge_findings(first.basis, first.rungs.ladder, gauges, day)
    found += _silent_twin(whole, cases)
    return replace(
        _sheet(whole, found, judged),
        ladder=first.rungs.ladder,
        reducers=sized,
        losses=lost,
        pipes=piped,
        gauges=gauges,
        cases=cases,
        remedies=cures[judged.index(first)],
        streams=_streams(judged, cures) if len(judged) > 1 else (),
        reliefs=with_highest_crack(ways, relief_sizings(ways)),
        handovers=handed,
        protection=() if proof is None else proof.ways,
    )


def _proof(proof: ProofSheet | None, basis: Basis) -> Protection | None:
    return None if proof is None else proof.of("" if basis.view is None else basis.view.id)


def _layout(whole: Basis, ways: tuple[Basis, ...]) -> list[Finding]:
    """Return what the layout tells, that of several streams with the branches beside each other."""
    if len(ways) == 1:
        return list(layout_findings(whole))
    return [*streams_layout(whole), *_merged([(basis, list(layout_findings(basis))) for basis in ways])]


def _merged(told: list[tuple[Basis, list[Finding]]]) -> Iterator[Finding]:
    """Yield the findings of all ways, one that several ways share once, others with the way in their case."""
    if len(told) == 1:
        yield from told[0][1]
        return
    ways_of_key: dict[tuple[str, str, str], set[str]] = {}
    for basis, found in told:
        for one in found:
            ways_of_key.setdefault(_key(one), set()).add(basis.words)
    seen: set[tuple[str, str, str]] = set()
    for basis, found in told:
        for one in found:
            key = _key(one)
            if key in seen:
                continue
            seen.add(key)
            alone = basis.words and len(ways_of_key[key]) == 1
            case = ", ".join(part for part in (basis.words, one.case) if part)
            yield replace(one, case=case) if alone else one


def _key(one: Finding) -> tuple[str, str, str]:
    return one.code, one.subject, one.value_hash


def _of_ways(judged: tuple[Way, ...], cures: tuple[tuple[Remedy, ...], ...]) -> Iterator[Finding]:
    """Yield the findings of ladder and failures of each way; a shared shut-off counts at its worst."""
    told: list[tuple[Basis, list[Finding]]] = []
    for index, way in enumerate(judged):
        if any(_covers(other, way) for other in judged[:index]):
            continue
        found = [
            *ladder_findings(way.basis, way.rungs, cures[index]),
            *failure_findings(way.basis, way.rungs),
        ]
        told.append((way.basis, found))
    yield from _merged(told)


def _covers(other: Way, way: Way) -> bool:
    """Return whether another way has the same shut-off and no wider window."""
    mine, others = way.basis.layout.shut_off, other.basis.layout.shut_off
    if mine is None or others is None or mine.id != others.id:
        return False
    widths = [chosen(one.rungs.ladder, one.basis.station.stacking).width for one in (other, way)]
    return widths[0] is None or widths[1] is None or widths[0] <= widths[1]


def _sized(whole: Basis, judged: tuple[Way, ...], cases: tuple[DesignCase, ...]) -> tuple[ReducerSizing, ...]:
    """Return the sizing of every reducer once: in the whole station, of a standby stream carrying alone."""
    found: dict[str, ReducerSizing] = {}
    for way in judged:
        trip, basis = way.rungs.ladder.inputs.trip, way.basis
        for reducer in basis.layout.reducers:
            if reducer.id in found:
                continue
            if way.role == "standby" and basis.view is not None:
                alone = size_reducer(basis, reducer, design_cases(basis), trip)
                found[reducer.id] = replace(alone, stream=basis.view.id)
            else:
                found[reducer.id] = size_reducer(whole, reducer, cases, trip)
    return tuple(found.values())


_TOO_LITTLE = ("SIZ-01", "SIZ-02", "SIZ-03", "SIZ-04")
"""Findings of a reducer that stands wide open: a low-flow one does where the main one carries beside it."""


def _sizing_findings(
    whole: Basis, judged: tuple[Way, ...], sized: tuple[ReducerSizing, ...]
) -> Iterator[Finding]:
    """Yield the findings about every reducer; of a standby stream with the way in their case."""
    alone = {
        reducer.id: way.basis
        for way in reversed(judged)
        for reducer in way.basis.layout.reducers
        if way.role == "standby"
    }
    others = {r.id for way in judged if way.role != "standby" for r in way.basis.layout.reducers}
    small = {way.basis.worker.id for way in judged if way.role == "low flow"}
    for one in sized:
        basis = None if one.reducer in others else alone.get(one.reducer)
        if basis is None:
            found = reducer_findings(whole, one)
            yield from (told for told in found if one.reducer not in small or told.code not in _TOO_LITTLE)
            continue
        for told in reducer_findings(basis, one):
            words = f"{basis.words} alone"
            yield replace(told, case=f"{words}, {told.case}" if told.case else words)


def _springs(judged: tuple[Way, ...], sized: tuple[ReducerSizing, ...]) -> Iterator[Finding]:
    told = []
    for way in judged:
        ids = {reducer.id for reducer in way.basis.layout.reducers}
        own = tuple(one for one in sized if one.reducer in ids)
        told.append((way.basis, list(spring_findings(way.basis, way.rungs.ladder, own))))
    for one in _merged(told):
        yield one if len(judged) == 1 else replace(one, case="")


def _handed(whole: Basis, judged: tuple[Way, ...]) -> tuple[Handover, ...]:
    """Return the handover flows of a station with several streams."""
    if len(judged) == 1 or not isinstance(whole.twin, SteadyTwin):
        return ()
    outlet = judged[0].basis.outlet_tap
    return handovers(whole.station, whole.twin.model, (way.basis.worker.id for way in judged), outlet)


def _streams(judged: tuple[Way, ...], cures: tuple[tuple[Remedy, ...], ...]) -> tuple[StreamDesign, ...]:
    found = []
    for way, remedy in zip(judged, cures, strict=True):
        view, shut_off = way.basis.view, way.basis.layout.shut_off
        assert view is not None
        found.append(
            StreamDesign(
                stream=view.id,
                role=view.role,
                words=view.words,
                reducers=tuple(reducer.id for reducer in way.basis.layout.reducers),
                shut_off="" if shut_off is None else shut_off.id,
                ladder=way.rungs.ladder,
                remedies=remedy,
            )
        )
    return tuple(found)


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


def _sheet(whole: Basis, found: list[Finding], judged: tuple[Way, ...] = ()) -> DesignSheet:
    """Return a sheet with its findings and defaults, figures left out."""
    station = whole.station
    return DesignSheet(
        station=station.station.id,
        name=station.station.name,
        layout=whole.layout.code,
        stacking=station.stacking,
        ladder=None,
        reducers=(),
        losses=(),
        pipes=(),
        gauges=(),
        cases=(),
        remedies=(),
        findings=in_order((*answered(found, station.answers), *unmatched(found, station.answers))),
        defaults=used_defaults(whole, tuple((way.basis, way.rungs) for way in judged)),
        engine_version=__version__,
    )


def to_json(sheet: DesignSheet) -> dict[str, object]:
    """Return the sheet as plain data for JSON: names end in the unit, floats have nine significant digits."""
    return sheet_json(sheet)
