"""From station and design sheet to the facts a picture shows; nothing is computed here beyond picking."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from steadyhead.records import ladder as design
from steadyhead.records.design import DesignCase, DesignSheet
from steadyhead.records.parts import (
    Branch,
    Drain,
    FlowMeter,
    IsolatingValve,
    LinePart,
    Parallel,
    Reducer,
    ShutOff,
    Strainer,
    Tap,
    Vent,
)
from steadyhead.records.pictures import (
    ComponentLimit,
    ComponentLimitKind,
    FailurePeak,
    LadderBlock,
    LadderPicture,
    LadderRung,
    PartKind,
    RungKind,
    SensingLine,
    Stacking,
    StackingKind,
    StripBranch,
    StripLimit,
    StripPart,
    StripPicture,
    TapPressure,
)
from steadyhead.records.station import Station
from steadyhead.records.steady import Steady
from steadyhead.reports.figures import duration, turns
from steadyhead.units import METRIC, UnitSet, say

_KINDS: dict[str, PartKind] = {
    "isolating_valve": "isolating",
    "strainer": "strainer",
    "flow_meter": "flow_meter",
    "drain": "drain",
    "vent": "vent",
    "reducer": "reducer",
    "shut_off": "shut_off",
}
MOST_PEAKS = 4
"""Failures a ladder shows before its labels crowd."""
SHOWN_CASE = ("average", "typical")
"""The case the strip shows where it is not told another: average flow at typical inlet pressure."""


OUTLET_LETTERS = 48
"""Longer names of a zone are cut in the strip; they stand whole in the paper's text. [characters]"""


def _cut(name: str) -> str:
    return name if len(name) <= OUTLET_LETTERS else f"{name[: OUTLET_LETTERS - 1].rstrip()}…"


def strip_picture(
    station: Station,
    *,
    units: UnitSet = METRIC,
    sheet: DesignSheet | None = None,
    case: DesignCase | None = None,
    at_rest: Steady | None = None,
) -> StripPicture:
    """Return the strip of a station in one case of its design; hardware only where there is none.

    Parameters
    ----------
    station
        The station file's record.
    units
        Display units.
    sheet
        Its design sheet; gives the case shown and the limits.
    case
        Another case than average flow at typical inlet pressure.
    at_rest
        The twin's answer at zero flow, drawn dotted.
    """
    shown = case or _shown(sheet)
    steady = shown.steady if shown else None
    parts = _parts(station.line, _roots(station), steady, units)
    return StripPicture(
        name=station.station.name,
        datum_m=station.station.datum.si,
        parts=parts,
        pressures=tuple(_tap_pressure(p.id, steady, at_rest) for p in parts if p.kind == "tap"),
        flow=steady.flow if steady else None,
        limits=_strip_limits(station, sheet),
        branches=tuple(_branches(station.line)),
        outlet_name=_cut(station.station.zone),
        moment=f"worked out, {shown.words}" if shown and steady else "",
        units=units,
    )


def brief(picture: StripPicture) -> StripPicture:
    """Return the strip with ids instead of names, sizes and turns, for a card that lists them beside it."""
    parts = tuple(replace(part, words=part.words[:1] if part.sensing else ()) for part in picture.parts)
    return replace(picture, parts=parts)


def _shown(sheet: DesignSheet | None) -> DesignCase | None:
    for case in sheet.cases if sheet else ():
        if (case.flow_case, case.inlet_case) == SHOWN_CASE:
            return case
    return None


def _tap_pressure(tap: str, steady: Steady | None, at_rest: Steady | None) -> TapPressure:
    return TapPressure(
        tap,
        steady.taps.get(tap) if steady else None,
        at_no_flow=at_rest.taps.get(tap) if at_rest else None,
    )


def _roots(station: Station) -> dict[str, SensingLine]:
    """Return the sensing line of each pilot; two that share a tapping hang on one root cock."""
    lines = {}
    for part in station.parts():
        if isinstance(part, Reducer):
            lines[part.id] = SensingLine(part.senses, f"root {part.senses}")
        elif isinstance(part, ShutOff):
            shared = part.sensing_tap == "shared with reducer"
            lines[part.id] = SensingLine(
                part.senses, f"root {part.senses}" + ("" if shared else f" {part.id}")
            )
    return lines


def _parts(
    line: tuple[LinePart, ...],
    roots: dict[str, SensingLine],
    steady: Steady | None = None,
    units: UnitSet = METRIC,
) -> tuple[StripPart, ...]:
    found: list[StripPart] = []
    for part in line:
        if isinstance(part, Parallel):
            main = next((b for b in part.branches if b.role != "manual bypass"), None)
            found += _parts(main.line, roots, steady, units) if main else ()
        elif isinstance(part, Tap) or part.part in _KINDS:
            found.append(_part(part, roots.get(part.id), steady, units))
    return tuple(found)


def _part(part: LinePart, sensing: SensingLine | None, steady: Steady | None, units: UnitSet) -> StripPart:
    if isinstance(part, Tap):
        return StripPart("tap", part.id)
    kind = _KINDS[part.part]
    words = tuple(_words(part, units))
    if isinstance(part, Drain | Vent):
        return StripPart(kind, part.id, part.id, words, cock_open=False)
    reading = steady.valves.get(part.id) if steady else None
    travel = reading.lift if reading else 0.5
    return StripPart(kind, part.id, part.id, words, travel=travel, sensing=sensing)


def _words(part: LinePart, units: UnitSet) -> Iterator[str]:
    yield part.name or part.part.replace("_", " ").replace("shut off", "shut-off")
    if isinstance(part, IsolatingValve | Strainer | FlowMeter | Drain | Reducer | ShutOff):
        yield say(part.size.si, "size", units)
    if isinstance(part, IsolatingValve) and part.turns:
        yield f"{turns(part.turns.si)} turns"


def _branches(line: tuple[LinePart, ...]) -> list[StripBranch]:
    found = []
    for index, part in enumerate(line):
        if not isinstance(part, Parallel) or not 0 < index < len(line) - 1:
            continue
        before, after = line[index - 1], line[index + 1]
        if isinstance(before, Parallel) or isinstance(after, Parallel):
            continue
        for branch in (b for b in part.branches if b.role == "manual bypass"):
            found.append(_branch(branch, before.id, after.id))
    return found


def _branch(branch: Branch, after: str, before: str) -> StripBranch:
    parts = tuple(
        replace(p, name="", words=(), open_share=0.0)
        if p.kind == "isolating"
        else replace(p, name="", words=())
        for p in _parts(branch.line, {})
        if p.kind != "tap"
    )
    state = "locked shut" if branch.locked_shut else "shut, no lock stated"
    return StripBranch(branch.id, "manual bypass", after, before, parts, (state,))


def _strip_limits(station: Station, sheet: DesignSheet | None) -> tuple[StripLimit, ...]:
    ladder = sheet.ladder if sheet else None
    if ladder is None:
        return ()
    found = []
    if ladder.weakest_fault and ladder.weakest_fault.fault_at_datum is not None:
        found.append(StripLimit("fault", ladder.weakest_fault.fault_at_datum, ladder.weakest_fault.component))
    if ladder.weakest_normal and ladder.weakest_normal.normal_at_datum is not None:
        found.append(
            StripLimit("normal", ladder.weakest_normal.normal_at_datum, ladder.weakest_normal.component)
        )
    if ladder.inputs.trip is not None:
        found.append(StripLimit("trip", ladder.inputs.trip))
    if ladder.inputs.alarm is not None:
        found.append(StripLimit("alarm", ladder.inputs.alarm))
    return tuple(found)


def ladder_picture(
    station: Station, sheet: DesignSheet, *, units: UnitSet = METRIC, moment: str = ""
) -> LadderPicture | None:
    """Return the pressure ladder of a design sheet as a picture; None where the design has none.

    Parameters
    ----------
    station
        The station file's record.
    sheet
        Its design sheet.
    units
        Display units.
    moment
        Revision or date, printed in the picture.
    """
    ladder = sheet.ladder
    if ladder is None:
        return None
    closing = next((peak.closing_time for peak in ladder.peaks), None)
    return LadderPicture(
        name=station.station.name,
        datum_m=station.station.datum.si,
        rungs=tuple(_rungs(station, sheet, ladder, units)),
        stackings=tuple(_stackings(ladder)),
        build_up=tuple(
            LadderBlock(part.label, part.size) for part in ladder.inputs.highest_normal_adds if part.size > 0
        ),
        peaks=_peaks(ladder),
        peaks_note=f"shut-off closing in {say(closing, 'time', units)}" if closing else "",
        components=tuple(_components(ladder)),
        inlet_lowest=station.supply.min.si,
        inlet_highest=station.supply.static.si,
        moment=moment,
        units=units,
    )


def failure_words(peak: design.FailurePeak) -> str:
    """Return one failure of the reducer in words: what happens, how fast, at which flow."""
    return f"{peak.label} in {duration(peak.within)}, {peak.at}"


def _peaks(ladder: design.Ladder) -> tuple[FailurePeak, ...]:
    """Return what is credited and, for each speed, the worst that is not covered; a table has the rest."""
    credited = [peak for peak in ladder.peaks if peak.credited]
    worst: dict[float, design.FailurePeak] = {}
    for peak in ladder.peaks:
        if peak.covered is False and not peak.credited and peak.peak is not None:
            known = worst.get(peak.within)
            if known is None or (known.peak or 0.0) < peak.peak:
                worst[peak.within] = peak
    shown = (credited + sorted(worst.values(), key=lambda peak: peak.within))[:MOST_PEAKS]
    return tuple(FailurePeak(failure_words(p), p.peak, p.credited) for p in shown if p.peak is not None)


def _rungs(station: Station, sheet: DesignSheet, ladder: design.Ladder, units: UnitSet) -> list[LadderRung]:
    given = ladder.inputs
    stacking = ladder.root_sum_square if sheet.stacking == "root-sum-square" else ladder.worst_case
    delay = station.alarm.delay if station.alarm else None
    wanted: list[tuple[RungKind, float | None, str, str]] = [
        (
            "fault_limit",
            given.fault_limit,
            ladder.weakest_fault.component if ladder.weakest_fault else "",
            "",
        ),
        (
            "normal_limit",
            given.normal_limit,
            ladder.weakest_normal.component if ladder.weakest_normal else "",
            "",
        ),
        ("trip_upper", stacking.trip_upper_edge, "", ""),
        ("trip", given.trip, "", ""),
        ("trip_lower", stacking.trip_lower_edge, "", ""),
        ("alarm", given.alarm, "", f"after {say(delay.si, 'time', units, 0)}" if delay else ""),
        ("highest_normal", ladder.highest_normal, "", ""),
        ("lockup", given.lockup, "", ""),
        ("duty", given.duty, "", ""),
        ("lowest_normal", ladder.lowest_normal, "", ""),
        ("needed", given.needed, "", ""),
        ("reset", given.reset, "", ""),
    ]
    return [LadderRung(kind, value, label, note) for kind, value, label, note in wanted if value is not None]


def _stackings(ladder: design.Ladder) -> list[Stacking]:
    given = ladder.inputs
    if given.fault_limit is None or given.overshoot is None:
        return []
    found = []
    for stacking in (ladder.worst_case, ladder.root_sum_square):
        if stacking.highest is None:
            continue
        kind: StackingKind = "worst_case" if stacking.name == "worst case" else "root_sum_square"
        found.append(
            Stacking(
                kind=kind,
                base=ladder.highest_normal,
                roof=given.fault_limit,
                below=(
                    LadderBlock("gap", given.gap),
                    LadderBlock("tolerance", stacking.tolerance_low, both_ways=True),
                ),
                above=(
                    LadderBlock("overshoot", given.overshoot),
                    LadderBlock("tolerance", stacking.tolerance_up, both_ways=True),
                ),
                lowest=stacking.lowest,
                highest=stacking.highest,
            )
        )
    return found


def _components(ladder: design.Ladder) -> list[ComponentLimit]:
    """Return the consumers' limits; a component with two limits shows the fault limit, the weakest both."""
    found = []
    for each in ladder.components:
        if each.side != "consumer":
            continue
        fault = _limit(each, each.fault_local, each.fault_at_datum, "fault")
        normal = _limit(each, each.normal_local, each.normal_at_datum, "normal")
        if fault and normal and fault.at_datum == normal.at_datum:
            found.append(replace(fault, kind="both"))
        else:
            shown = (fault, normal) if each == ladder.weakest_normal else (fault or normal,)
            found += [one for one in shown if one]
    return found


def _limit(
    each: design.ComponentLimit, local: float | None, at_datum: float | None, kind: ComponentLimitKind
) -> ComponentLimit | None:
    if local is None or at_datum is None:
        return None
    return ComponentLimit(each.component, local, each.level, at_datum, kind)
