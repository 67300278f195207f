"""A judged station as text for a terminal: verdict first, then the ladder, then the findings."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.cli.showing import finding_lines, paragraph
from steadyhead.cli.streams_text import (
    before_heating,
    ladder_title,
    monitor_rungs,
    relief_rungs,
    streams_lines,
)
from steadyhead.findings import Severity, what_forbids
from steadyhead.records.design import DesignSheet, ReducerCase, ReducerSizing
from steadyhead.records.ladder import FailurePeak, Ladder, Stacking
from steadyhead.records.station import Station
from steadyhead.services.judging import Judged
from steadyhead.services.taken import taken_by_default
from steadyhead.units import UnitSet, bare, say, say_apart, say_size, say_typed, say_window


def check_text(judged: Judged, units: UnitSet) -> str:
    """Return the whole result of `check` as text."""
    sheet, station = judged.sheet, judged.loaded.station
    datum = station.station.datum
    lines = [
        f"{station.station.name} ({station.station.id}), {sheet.layout}",
        f"Datum {say_typed(datum.si, datum.text, 'length', units)}; pressures are gauge, at datum.",
        "",
        paragraph(verdict(sheet)),
    ]
    if sheet.ladder is not None:
        lines += ["", *_ladder(station, sheet, sheet.ladder, units)]
    lines += streams_lines(sheet, units)
    for reducer in sheet.reducers:
        lines += ["", *_reducer(reducer, units)]
    lines += ["", *_findings(sheet, units)]
    if sheet.defaults:
        lines += ["", *_taken(sheet, units)]
    lines += [
        "",
        paragraph(
            "Results of the values entered and of defaults marked as such. They support a decision and "
            "authorise nothing; codes, the supplier's instructions and licensed practice take precedence."
        ),
    ]
    return "\n".join(lines)


def verdict(sheet: DesignSheet) -> str:
    """Return in one sentence whether anything forbids a release."""
    stops = sum(f.severity is Severity.STOP for f in sheet.findings)
    asks = sum(f.severity is Severity.ASK for f in sheet.findings)
    if not stops and not asks:
        is_at_rest = any(finding.code == "SUR-61" for finding in sheet.findings)
        unseen = " What happens in time is not looked at: run steadyhead surge." if is_at_rest else ""
        return f"Nothing forbids a release of this design.{unseen}"
    return f"Not releasable: {what_forbids(stops, asks)}."


def _ladder(station: Station, sheet: DesignSheet, ladder: Ladder, units: UnitSet) -> Iterator[str]:
    yield ladder_title(sheet, ladder)
    i = ladder.inputs
    fault = ladder.weakest_fault.component if ladder.weakest_fault else ""
    normal = ladder.weakest_normal.component if ladder.weakest_normal else ""
    chosen = ladder.worst_case if sheet.stacking == "worst case" else ladder.root_sum_square
    rows = [
        (i.fault_limit, f"fault limit: {fault}"),
        (i.normal_limit, f"normal limit: {normal}"),
        (chosen.peak, f"{_peak_rung(chosen)}, credited failure"),
        (i.trip, "trip"),
        (i.relief_crack, "relief valve cracks"),
        (i.alarm, "high alarm"),
        (i.reset, "reset"),
        (ladder.heated, "highest normal and one full heating"),
        (ladder.highest_normal, f"highest normal{before_heating(station)}"),
        (i.lockup, "lock-up"),
        (i.duty, "duty"),
        (ladder.lowest_normal, "lowest normal"),
        (i.needed, "needed at the critical point"),
        *relief_rungs(sheet),
        *monitor_rungs(sheet, ladder, station),
    ]
    known = [(pressure, words) for pressure, words in rows if pressure is not None]
    close = {one for one in (i.fault_limit, chosen.peak) if one is not None}
    told = [
        (_rung(pressure, close if pressure in close else set(), units), words)
        for pressure, words in sorted(known, key=lambda row: -row[0])
    ]
    wide = max(11, *(len(figure) for figure, _ in told))
    for figure, words in told:
        yield f"  {figure:>{wide}}  {words}"
    for stacking in (ladder.worst_case, ladder.root_sum_square):
        yield paragraph(_window(stacking, units, chosen=stacking is chosen), indent=2)
    for peak in ladder.peaks:
        yield paragraph(_peak(ladder, peak, units), indent=2)
    if ladder.not_covered:
        yield paragraph(f"Not covered: {'; '.join(ladder.not_covered)}.", indent=2)
    if ladder.common_causes:
        yield paragraph(f"Common causes: {'; '.join(ladder.common_causes)}.", indent=2)
    for remedy in sheet.remedies:
        yield paragraph(f"Would open it: {remedy.words} {remedy.caution}".rstrip(), indent=2)


def _peak_rung(chosen: Stacking) -> str:
    """Return what the peak of the credited failure is: after a trip, or below where that surely comes."""
    return f"peak after a trip, {chosen.name}" if chosen.passes_trip else "peak, below the trip's upper edge"


def _rung(pressure: float, close: set[float], units: UnitSet) -> str:
    """Return a rung, with a decimal more where the rung it is held against would read the same."""
    return say_apart((pressure, *(close - {pressure})), "pressure", units)[0]


def _window(stacking: Stacking, units: UnitSet, *, chosen: bool) -> str:
    mark = "Trip window, " + stacking.name + (" (chosen)" if chosen else "")
    if stacking.highest is None or stacking.width is None:
        return f"{mark}: {stacking.verdict}."
    if stacking.width < 0 and stacking.highest <= 0.0:
        return f"{mark}: EMPTY, no trip is low enough (lowest {say(stacking.lowest, 'pressure', units)})."
    if stacking.width < 0:
        low, high = say_apart((stacking.lowest, stacking.highest), "pressure", units)
        crossing = say_size(-stacking.width, "pressure", units)
        return f"{mark}: EMPTY, the edges cross by {crossing} (lowest {low}, highest {high})."
    window, *_ = say_window(stacking.lowest, stacking.highest, (), "pressure", units)
    return f"{mark}: open from {window}."


def _peak(ladder: Ladder, peak: FailurePeak, units: UnitSet) -> str:
    credited = "credited" if peak.credited else "not credited"
    covered = {True: "covered", False: "NOT covered", None: "cover not known"}[peak.covered]
    lumped = ", lumped: not run in the proof" if ladder.is_lumped(peak) else ""
    height = ""
    if peak.peak is not None:
        limit = ladder.inputs.fault_limit
        beside = (peak.peak,) if limit is None else (peak.peak, limit)
        height = f", peak {say_apart(beside, 'pressure', units)[0]}"
    within = f"{peak.within:.3g} s" if peak.within < 120 else f"{peak.within / 60:.3g} min"
    return f"{peak.label.capitalize()} within {within}, {peak.at}: {credited}, {covered}{height}{lumped}."


def _reducer(reducer: ReducerSizing, units: UnitSet) -> Iterator[str]:
    yield paragraph(
        f"Reducer {reducer.reducer}: {say(reducer.size, 'size', units)}, "
        f"{say(reducer.available_kv, 'flow_coefficient', units)} ({reducer.available_kv_provenance})"
    )
    shown = [c for c in reducer.cases if c.inlet_case in ("lowest", "static")]
    sets = [units.first, *([units.second] if units.second else [])]
    first, *others = ([_heads(one), *(_case(c, one) for c in shown)] for one in sets)
    second = [[_beside(row, cells) for row, cells in zip(first, other, strict=True)] for other in others]
    rows = [row for several in zip(first, *second, strict=True) for row in several if any(row)]
    wide = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    for row in rows:
        name, *figures, state = (f"{cell:>{size}}" for cell, size in zip(row, wide, strict=True))
        yield f"  {name.strip():<{wide[0]}}  {'  '.join(figures)}  {state.strip()}".rstrip()


def _beside(row: tuple[str, ...], other: tuple[str, ...]) -> tuple[str, ...]:
    """Return what stands below a row in the second units: only what differs, in parentheses."""
    return tuple("" if mine == yours else f"({yours})" for mine, yours in zip(row, other, strict=True))


def _heads(units: UnitSet) -> tuple[str, ...]:
    kv = units.unit("flow_coefficient")
    return ("case", "flow", f"required {kv}", "travel", "velocity", "sigma 1", "sigma 2", "state")


def _case(c: ReducerCase, units: UnitSet) -> tuple[str, ...]:
    return (
        f"{c.inlet_case} inlet, {c.flow_case} flow",
        say(c.flow, "flow", units),
        "none" if c.required_kv == float("inf") else bare(c.required_kv, "flow_coefficient", units),
        "" if c.travel is None else f"{c.travel:.0%}",
        say(c.velocity, "velocity", units),
        "" if c.sigma_1 is None else f"{c.sigma_1:.2f}",
        "" if c.sigma_2 is None else f"{c.sigma_2:.2f}",
        c.state,
    )


def _findings(sheet: DesignSheet, units: UnitSet) -> Iterator[str]:
    if not sheet.findings:
        yield "No findings."
        return
    yield "Findings, weightiest first (steadyhead why FILE CODE explains each)"
    for finding in sheet.findings:
        yield finding_lines(finding, units)


def _taken(sheet: DesignSheet, units: UnitSet) -> Iterator[str]:
    yield "Taken by default, not stated in the file (own estimates unless marked)"
    moves = ""
    for taken in taken_by_default(sheet, units):
        if taken.moves != moves:
            moves = taken.moves
            yield f"  {moves}"
        head = f"    {taken.where + ':':<8} "
        yield paragraph(", ".join(taken.values) + ".", indent=len(head), first=head)
