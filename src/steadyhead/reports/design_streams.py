"""What the design sheet says of several streams, of relief valves, heated water, and answers from outside."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from steadyhead.records.design import DesignSheet, ReliefSizing, StreamDesign
from steadyhead.records.ladder import Ladder
from steadyhead.records.parts import ExpansionVessel
from steadyhead.records.station import Station
from steadyhead.reports import design_tables as tables
from steadyhead.reports.figures import figure, volume
from steadyhead.reports.ladders import capital, chosen_stacking
from steadyhead.units import UnitSet, say

WindowLine = Callable[[Ladder, str, UnitSet], str]


def windows(sheet: DesignSheet, units: UnitSet, line: WindowLine) -> list[str]:
    """Return the trip window of each stream in words, in the way of adding tolerances that was chosen.

    Parameters
    ----------
    sheet, units
        What was judged, and in which units it is told.
    line
        Tells one window.
    """
    told = []
    for stream in sheet.streams:
        if not stream.shut_off:
            told.append(f"{capital(stream.words)}: no shut-off, no window.")
            continue
        said = line(stream.ladder, chosen_stacking(sheet, stream.ladder).name, units)
        told.append(f"{capital(stream.words)}, {stream.shut_off}. {said}")
    return told


def sections(sheet: DesignSheet, units: UnitSet) -> list[dict[str, Any]]:
    """Return a section for each stream: its ladder, its window, its failures, what would open its window."""
    return [_section(sheet, stream, units) for stream in sheet.streams]


def _section(sheet: DesignSheet, stream: StreamDesign, units: UnitSet) -> dict[str, Any]:
    alone = replace(sheet, ladder=stream.ladder, remedies=stream.remedies, streams=())
    reducers = ", ".join(stream.reducers)
    return {
        "name": capital(stream.words),
        "about": f"{reducers}; shut-off {stream.shut_off}" if stream.shut_off else f"{reducers}; no shut-off",
        "rungs": tables.rungs(alone, units),
        "stackings": tables.stackings(alone, units),
        "failures": tables.failures(alone, units),
        "remedies": [tables.remedy(each, units) for each in stream.remedies],
        "not_covered": list(stream.ladder.not_covered),
        "common_causes": list(stream.ladder.common_causes),
    }


def trips(sheet: DesignSheet, units: UnitSet) -> list[list[str]]:
    """Return one row per stream: what it is, duty, trip with its edges, window, where the trip lies."""
    rows = []
    for stream in sheet.streams:
        given, stacking = stream.ladder.inputs, chosen_stacking(sheet, stream.ladder)
        duty = f"{', '.join(stream.reducers)} {figure(given.duty, 'pressure', units)}"
        rows.append([capital(stream.words), duty, *_trip_cells(stream, stacking.verdict, units)])
        rows[-1].append(_lies(stacking.trip_inside))
    return rows


def _trip_cells(stream: StreamDesign, verdict: str, units: UnitSet) -> list[str]:
    given = stream.ladder.inputs
    if not stream.shut_off:
        return ["no shut-off", tables.NONE]
    trip = "not chosen" if given.trip is None else figure(given.trip, "pressure", units)
    return [f"{stream.shut_off} {trip}", verdict]


def _lies(inside: bool | None) -> str:
    return tables.NONE if inside is None else "inside" if inside else "OUTSIDE"


def handovers(sheet: DesignSheet, units: UnitSet) -> list[list[str]]:
    """Return who carries the water from which flow on: flow, outlet there, reducers, the leading first."""
    return [
        [
            "at no flow" if each.flow <= 0.0 else f"from {say(each.flow, 'flow', units)}",
            figure(each.outlet, "pressure", units),
            " and ".join(each.carry) or tables.NONE,
        ]
        for each in sheet.handovers
    ]


def reliefs(sheet: DesignSheet, units: UnitSet) -> list[dict[str, Any]]:
    """Return each relief valve with its sizing as facts."""
    return [{"id": each.relief, "facts": _relief(each, units)} for each in sheet.reliefs]


def _relief(each: ReliefSizing, units: UnitSet) -> list[list[str]]:
    cells = (each.crack, each.full, each.reseat)
    lifts, full, reseats = (say(value, "pressure", units) for value in cells)
    holds = {True: "within the fault limit", False: "OVER the fault limit", None: "no fault limit stated"}
    rows = [
        ["Stands", each.place],
        ["Starts to lift", f"{lifts}; wide open at {full}, shut again at {reseats}"],
        ["Passes, wide open", f"{say(each.kv, 'flow_coefficient', units)}; {each.kv_provenance}"],
        [
            "Reducer stuck open brings",
            f"{say(each.failed_open_flow, 'flow', units)} at the balance"
            + (", the shut-off open too" if each.place == "beside the shut-off" else ""),
        ],
        ["Lets off at the fault limit", "" if each.passes is None else say(each.passes, "flow", units)],
        ["Outlet then settles at", say(each.peak, "pressure", units)],
        [
            f"Lifting as late as {say(each.latest_crack, 'pressure', units)}",
            f"{say(each.latest_peak, 'pressure', units)}, {holds[each.holds]}; drift of the crack not in it",
        ],
    ]
    return [[name, value] for name, value in rows if value]


def heated(station: Station, units: UnitSet) -> list[list[str]]:
    """Return what is stated of heated water and of the vessels that take up its expansion."""
    rows = []
    if station.hot_water is not None:
        hot = station.hot_water
        rows.append(["Heated water", volume(hot.volume.si, units)])
        for name, value in (("Cold", hot.cold), ("Hot", hot.hot)):
            if value is not None:
                rows.append([name, say(value.si, "temperature", units)])
        if hot.safety_valve is not None:
            rows.append(["Safety valve", say(hot.safety_valve.pressure.si, "pressure", units)])
    for part in station.parts():
        if isinstance(part, ExpansionVessel):
            size = volume(part.volume.si, units) if part.volume else "volume not stated"
            gas = say(part.precharge.si, "pressure", units) if part.precharge else "not stated"
            rows.append([f"Vessel {part.id}", f"{size}, gas at {gas} with the water side empty"])
    return rows


def answers(station: Station) -> list[list[str]]:
    """Return the answers in the file: to what, the words, who answered, which authority decided and when."""
    return [
        [
            f"{each.to}, {each.at}",
            f"Shut-off {each.shut_off}. {each.answer}" if each.shut_off else each.answer,
            each.by,
            ", ".join(filter(None, (each.authority, each.decided))),
            each.until,
        ]
        for each in station.answers
    ]


def decided(station: Station) -> list[str]:
    """Return what an authority decided about this station, in words for plan and card."""
    return [
        f"{each.answer.rstrip('.')} ({each.authority}, {each.decided or 'day not stated'}"
        f"{f', until {each.until}' if each.until else ''})"
        for each in station.answers
        if each.authority
    ]
