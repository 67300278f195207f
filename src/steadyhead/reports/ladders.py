"""From design sheet to the facts a pressure ladder shows; nothing is computed here beyond picking."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from steadyhead.records import ladder as design
from steadyhead.records.design import DesignSheet, StreamDesign
from steadyhead.records.pictures import (
    ComponentLimit,
    ComponentLimitKind,
    FailurePeak,
    LadderBlock,
    LadderPicture,
    LadderRung,
    RungKind,
    Stacking,
    StackingKind,
)
from steadyhead.records.station import Station
from steadyhead.reports.figures import between, duration
from steadyhead.reports.strips import monitors
from steadyhead.units import METRIC, UnitSet, say

MOST_PEAKS = 4
"""Failures a ladder shows before its labels crowd."""
SEVERAL = 2
"""Shut-offs from which on each trip carries the name of its stream."""
Wanted = tuple[RungKind, float | None, str, str]
"""Kind, pressure at datum [Pa], label and note of a rung; without a pressure it is left out."""


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
        stackings=tuple(_stackings(sheet, ladder)),
        build_up=_build_up(sheet, ladder),
        peaks=(*_peaks(ladder), *_relief_peaks(sheet)),
        peaks_note=_narrowest(sheet, ladder)
        + (f"shut-off closing in {say(closing, 'time', units)}" if closing else ""),
        components=tuple(_components(ladder)),
        inlet_lowest=station.supply.min.si,
        inlet_highest=station.supply.static.si,
        moment=moment,
        units=units,
    )


def _build_up(sheet: DesignSheet, ladder: design.Ladder) -> tuple[LadderBlock, ...]:
    """Return what lies between lock-up and highest normal, where all streams share both."""
    if len({round(stream.ladder.highest_normal) for stream in sheet.streams}) > 1:
        return ()
    return tuple(
        LadderBlock(part.label, part.size) for part in ladder.inputs.highest_normal_adds if part.size > 0
    )


def _narrowest(sheet: DesignSheet, ladder: design.Ladder) -> str:
    """Return whose failures are shown: those of the stream with the narrowest window."""
    words = next((stream.words for stream in sheet.streams if stream.ladder == ladder), "")
    return f"{words}, " if words else ""


def failure_words(ladder: design.Ladder, peak: design.FailurePeak) -> str:
    """Return one failure of the reducer in words: what happens, how fast, at which flow; what is lumped."""
    lumped = ", lumped: not run in the proof" if ladder.is_lumped(peak) else ""
    return f"{peak.label} in {duration(peak.within)}, {peak.at}{lumped}"


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
    return tuple(
        FailurePeak(failure_words(ladder, p), p.peak, p.credited) for p in shown if p.peak is not None
    )


def _relief_peaks(sheet: DesignSheet) -> tuple[FailurePeak, ...]:
    """Return where the outlet settles with a reducer stuck open and a relief valve in place of a shut-off."""
    return tuple(
        FailurePeak(f"reducer stays wide open, {each.relief} lifts at its upper edge", each.latest_peak, True)
        for each in sheet.reliefs
        if each.place == "in place of the shut-off"
    )


def chosen_stacking(sheet: DesignSheet, ladder: design.Ladder) -> design.Stacking:
    """Return the way of adding tolerances that the station chose."""
    return ladder.root_sum_square if sheet.stacking == "root-sum-square" else ladder.worst_case


def guarded(sheet: DesignSheet) -> tuple[StreamDesign, ...]:
    """Return one stream for each shut-off of a station with several: that with the narrowest window."""
    found: dict[str, StreamDesign] = {}
    for stream in sheet.streams:
        if not stream.shut_off:
            continue
        known = found.get(stream.shut_off)
        if known is None or _width(sheet, stream) < _width(sheet, known):
            found[stream.shut_off] = stream
    return tuple(found.values())


def capital(words: str) -> str:
    """Return words with a capital letter in front.

    Examples
    --------
    >>> capital("duty stream A1")
    'Duty stream A1'
    """
    return words[:1].upper() + words[1:]


def _width(sheet: DesignSheet, stream: StreamDesign) -> float:
    width = chosen_stacking(sheet, stream.ladder).width
    return inf if width is None else width


def _rungs(station: Station, sheet: DesignSheet, ladder: design.Ladder, units: UnitSet) -> list[LadderRung]:
    given = ladder.inputs
    delay = station.alarm.delay if station.alarm else None
    after = f"after {say(delay.si, 'time', units, 0)}" if delay else ""
    limits = ((ladder.weakest_fault, given.fault_limit), (ladder.weakest_normal, given.normal_limit))
    fault, normal = ((value, each.component if each else "") for each, value in limits)
    wanted: list[Wanted] = [("fault_limit", *fault, ""), ("normal_limit", *normal, "")]
    wanted += _stream_trips(sheet, units) if len(guarded(sheet)) > 1 else _trips(sheet, ladder)
    wanted += _relief(sheet, ladder, units)
    wanted.append(("alarm", given.alarm, "", after))
    wanted += _running(sheet) if sheet.streams else _running_of(ladder, "")
    wanted += _monitors(station, sheet)
    wanted.append(("needed", given.needed, "", ""))
    if len(guarded(sheet)) < SEVERAL:
        wanted.append(("reset", given.reset, "", ""))
    return [LadderRung(kind, value, label, note) for kind, value, label, note in wanted if value is not None]


def _trips(sheet: DesignSheet, ladder: design.Ladder) -> list[Wanted]:
    stacking = chosen_stacking(sheet, ladder)
    return [
        ("trip_upper", stacking.trip_upper_edge, "", ""),
        ("trip", ladder.inputs.trip, "", ""),
        ("trip_lower", stacking.trip_lower_edge, "", ""),
    ]


def _stream_trips(sheet: DesignSheet, units: UnitSet) -> list[Wanted]:
    """Return the trip of each shut-off with its stream; its edges stand in the smaller line."""
    wanted: list[Wanted] = []
    for stream in guarded(sheet):
        stacking, given = chosen_stacking(sheet, stream.ladder), stream.ladder.inputs
        note = between(stacking.trip_lower_edge, stacking.trip_upper_edge, "pressure", units)
        label = f"{stream.shut_off}, {stream.words}" if stream.words else stream.shut_off
        wanted.append(("trip", given.trip, label, f"{note} with its tolerance" if note else ""))
        wanted.append(("reset", given.reset, stream.shut_off, ""))
    return wanted


def _running_of(ladder: design.Ladder, label: str) -> list[Wanted]:
    given = ladder.inputs
    return [
        ("heated", ladder.heated, label, "nobody draws"),
        ("highest_normal", ladder.highest_normal, label, "" if ladder.heated is None else "before heating"),
        ("lockup", given.lockup, label, ""),
        ("duty", given.duty, label, ""),
        ("lowest_normal", ladder.lowest_normal, label, ""),
    ]


def _running(sheet: DesignSheet) -> list[Wanted]:
    """Return what the streams run at; where several run at one pressure they share a rung."""
    found: dict[tuple[RungKind, int], list[str]] = {}
    values: dict[tuple[RungKind, int], tuple[float, str]] = {}
    for stream in sheet.streams:
        for kind, value, label, note in _running_of(stream.ladder, stream.words):
            if value is not None:
                found.setdefault((kind, round(value)), []).append(label)
                values[kind, round(value)] = (value, note)
    return [
        (key[0], values[key][0], "" if len(names) == len(sheet.streams) else ", ".join(names), values[key][1])
        for key, names in found.items()
    ]


def _relief(sheet: DesignSheet, ladder: design.Ladder, units: UnitSet) -> list[Wanted]:
    """Return where each relief valve starts to lift."""
    error = ladder.inputs.relief_error
    note = f"± {say(error, 'pressure', units)}" if error else ""
    if sheet.reliefs:
        cracks = {each.relief: each.crack for each in sheet.reliefs}
        return [("relief", crack, relief, note) for relief, crack in cracks.items()]
    return [("relief", ladder.inputs.relief_crack, "", note)]


def _monitors(station: Station, sheet: DesignSheet) -> list[Wanted]:
    """Return where a monitor would hold the outlet at no flow, its worker standing open."""
    sized = {each.reducer: each.lockup for each in sheet.reducers}
    return [("lockup", sized.get(monitor), f"monitor {monitor}", "") for monitor in monitors(station)]


def _stackings(sheet: DesignSheet, ladder: design.Ladder) -> list[Stacking]:
    """Return both stackings of the one trip, or the chosen one of each; and the window of a relief valve."""
    several = guarded(sheet)
    if len(several) > 1:
        found = [
            replace(one, label=capital(stream.words) or stream.shut_off, chosen=stream.ladder.inputs.trip)
            for stream in several
            for one in _both(stream.ladder)
            if one.kind == _KINDS[chosen_stacking(sheet, stream.ladder).name]
        ]
    else:
        found = _both(ladder)
    return found + _crack_windows(sheet, ladder)


_KINDS: dict[str, StackingKind] = {"worst case": "worst_case", "root-sum-square": "root_sum_square"}


def _both(ladder: design.Ladder) -> list[Stacking]:
    given = ladder.inputs
    if given.fault_limit is None or given.overshoot is None:
        return []
    found = []
    for stacking in (ladder.worst_case, ladder.root_sum_square):
        if stacking.highest is None:
            continue
        found.append(
            Stacking(
                kind=_KINDS[stacking.name],
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


def _crack_windows(sheet: DesignSheet, ladder: design.Ladder) -> list[Stacking]:
    """Return for each relief valve in place of a shut-off the window its crack has to lie in.

    Its upper edge is the highest crack at which the twin holds the outlet with a reducer stuck open.
    """
    given, found = ladder.inputs, []
    for each in sheet.reliefs:
        if each.highest_crack is None or each.its_rise is None or given.fault_limit is None:
            continue
        rise, error = each.its_rise, given.relief_error
        tolerance = max(given.fault_limit - each.highest_crack - rise, 0.0)
        found.append(
            Stacking(
                kind="worst_case",
                base=ladder.highest_normal,
                roof=given.fault_limit,
                below=(LadderBlock("gap", given.gap), LadderBlock("tolerance", error, both_ways=True)),
                above=(LadderBlock("rise", rise), LadderBlock("tolerance", tolerance, both_ways=True)),
                lowest=ladder.highest_normal + given.gap + error,
                highest=each.highest_crack,
                label=f"Crack of {each.relief}",
                of="crack",
                chosen=each.crack,
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
