"""Streams, handovers and relief valves of a judged station as text for a terminal."""

from __future__ import annotations

from steadyhead.cli.showing import paragraph
from steadyhead.records.design import DesignSheet, ReliefSizing, StreamDesign
from steadyhead.records.ladder import Ladder
from steadyhead.records.parts import Reducer
from steadyhead.records.station import Station
from steadyhead.reports.strips import monitors
from steadyhead.units import UnitSet, say, say_window


def ladder_title(sheet: DesignSheet, ladder: Ladder) -> str:
    """Return the heading of the ladder; of several streams with the one it belongs to."""
    shown = next((stream for stream in sheet.streams if stream.ladder is ladder), None)
    return "Pressure ladder" if shown is None else f"Pressure ladder, {shown.words}: narrowest window"


def monitor_rungs(sheet: DesignSheet, ladder: Ladder, station: Station) -> list[tuple[float, str]]:
    """Return setting and lock-up of each monitor on the way a ladder belongs to. [Pa at datum]"""
    shown = next((stream for stream in sheet.streams if stream.ladder is ladder), None)
    sized = {one.reducer: one.lockup for one in sheet.reducers}
    rows = []
    for part in station.parts():
        if not isinstance(part, Reducer) or part.id not in set(monitors(station)):
            continue
        if shown is None or part.id in shown.reducers:
            rows.append((part.duty.pressure.si, f"duty of monitor {part.id}"))
            rows += [(sized[part.id], f"lock-up of monitor {part.id}")] if part.id in sized else []
    return rows


def before_heating(station: Station) -> str:
    """Return the words that tell that a pressure is one before heated water expands."""
    return "" if station.hot_water is None else ", before heating"


def relief_rungs(sheet: DesignSheet) -> list[tuple[float, str]]:
    """Return where a relief valve in place of a shut-off holds a failed reducer. [Pa at datum]"""
    return [
        (one.latest_peak, f"{one.relief} holds a reducer stuck open, crack at its upper edge")
        for one in sheet.reliefs
        if one.place == "in place of the shut-off"
    ]


def streams_lines(sheet: DesignSheet, units: UnitSet) -> list[str]:
    """Return the lines about streams, handovers and relief valves; none where there are none."""
    lines: list[str] = []
    if sheet.streams:
        lines += ["", "Streams, each alone"]
        for stream in sheet.streams:
            lines.append(paragraph(_stream(stream, sheet.stacking, units), indent=2))
            for remedy in stream.remedies if stream.ladder is not sheet.ladder else ():
                lines.append(paragraph(f"Would open it: {remedy.words} {remedy.caution}".rstrip(), indent=4))
    if sheet.handovers:
        lines += ["", "Handover, typical inlet pressure"]
    for one in sheet.handovers:
        carry = " and ".join(one.carry) or "none"
        verb = "carries" if len(one.carry) == 1 else "carry"
        at = "no flow" if one.flow <= 0.0 else say(one.flow, "flow", units)
        lines.append(f"  from {at}, outlet {say(one.outlet, 'pressure', units)}: {carry} {verb}")
    if sheet.reliefs:
        lines += ["", "Relief valves"]
        lines += [paragraph(_relief(one, units), indent=2) for one in sheet.reliefs]
    return lines


def _stream(stream: StreamDesign, stacking: str, units: UnitSet) -> str:
    ladder = stream.ladder
    chosen = ladder.worst_case if stacking == "worst case" else ladder.root_sum_square
    head = f"{stream.words[:1].upper()}{stream.words[1:]}: {', '.join(stream.reducers)}"
    duty = say(ladder.inputs.duty, "pressure", units)
    if not stream.shut_off:
        return f"{head}; duty {duty}; no shut-off."
    trip = ladder.inputs.trip
    told = "not chosen" if trip is None else say(trip, "pressure", units)
    window: str = chosen.verdict
    if chosen.highest is not None and chosen.verdict == "open":
        open_from, *_ = say_window(chosen.lowest, chosen.highest, (), "pressure", units)
        window = f"open from {open_from}"
    return f"{head}; duty {duty}; {stream.shut_off} trips at {told}, window {chosen.name} {window}."


def _relief(one: ReliefSizing, units: UnitSet) -> str:
    holds = {True: "held", False: "NOT held", None: "no limit stated"}[one.holds]
    open_too = " and the shut-off open" if one.place.startswith("beside") else ""
    return (
        f"{one.relief}, {one.place}: cracks at {say(one.crack, 'pressure', units)}. "
        f"With a reducer stuck open{open_too} {say(one.failed_open_flow, 'flow', units)} passes it "
        f"and the outlet stands at "
        f"{say(one.peak, 'pressure', units)}; cracking at its upper edge, "
        f"{say(one.latest_crack, 'pressure', units)}, at {say(one.latest_peak, 'pressure', units)}: {holds}."
    )
