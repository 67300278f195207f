"""The design sheet as a paper: verdict, pictures, findings, and everything they rest on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from steadyhead.drawings import (
    PAPER_WIDTH,
    alt_text,
    draw_capacity,
    draw_ladder,
    draw_mark,
    paper,
)
from steadyhead.drawings.capacity_facts import capacity_notes
from steadyhead.drawings.marks import Mark
from steadyhead.findings import Finding, Severity, tell, what_forbids
from steadyhead.records.capacity import RequiredKv
from steadyhead.records.design import DesignSheet
from steadyhead.records.ladder import Ladder
from steadyhead.records.pictures import CapacityPicture, LadderPicture, StripPicture
from steadyhead.records.station import Station
from steadyhead.reports import design_streams as streams
from steadyhead.reports import design_tables as tables
from steadyhead.reports import protection_tables
from steadyhead.reports.drawn import strip_drawing
from steadyhead.reports.foot import Origin, frame
from steadyhead.reports.identity import identity
from steadyhead.reports.inputs import stated
from steadyhead.reports.ladders import capital
from steadyhead.reports.paper import Attachment, Drawing, render
from steadyhead.units import METRIC, UnitSet, say, say_size, say_window

MARKS: dict[Severity, Mark] = {
    Severity.STOP: "struck",
    Severity.ASK: "unknown",
    Severity.HEED: "due",
    Severity.NOTE: "holds",
}
WEIGHTS = {
    Severity.STOP: "Stop",
    Severity.ASK: "Open question",
    Severity.HEED: "Heed",
    Severity.NOTE: "Note",
}
"""What a severity is called on paper."""


def pdf(
    sheet: DesignSheet,
    station: Station,
    *,
    day: date,
    station_hash: str,
    units: UnitSet = METRIC,
    strip: StripPicture | None = None,
    ladder: LadderPicture | None = None,
    maps: Sequence[CapacityPicture] = (),
    required: Sequence[RequiredKv] = (),
    revision: str = "",
    files: Sequence[Attachment] = (),
) -> bytes:
    """Return the design sheet as a PDF paper.

    Parameters
    ----------
    sheet
        What was judged; the paper adds no judgement.
    station
        The station file's record, for identity and stated values.
    day
        Date printed on every sheet.
    station_hash
        SHA-256 of the stored station file.
    units
        Display units.
    strip, ladder, maps
        Pictures; left out where there are none.
    required
        Required flow coefficients of several sizes, one for each reducer.
    revision
        Released revision; empty where the file is not released.
    files
        What is carried inside: station file, design sheet as JSON.
    """
    who = station.station
    origin = Origin(
        who.id, who.name, who.datum.si, station_hash, sheet.engine_version, day, revision, who.datum.text
    )
    data = frame(
        origin,
        units,
        paper="Design sheet",
        about="Verdict, ladder, findings, sizing and what they rest on",
    )
    data["head"] = [
        *data["head"],
        f"pressures in {units.heading('pressure')} gauge, at datum where it is said",
    ]
    data |= {
        "standing": _standing(sheet, revision),
        "window": _window(sheet, units),
        "identity": [
            *identity(station, units),
            ["Layout", sheet.layout],
            ["Tolerances added", sheet.stacking],
        ],
        "ladder": ladder and Drawing(draw_ladder(ladder, paper(), PAPER_WIDTH), alt_text(ladder)),
        "strip": strip and strip_drawing(strip),
        "maps": [_map(each) for each in maps],
        "required": [tables.required(each, units) for each in required],
        "strip_words": strip.moment if strip else "",
        "findings": [_finding(each, units) for each in sheet.findings],
        "remedies": [tables.remedy(each, units) for each in sheet.remedies if not sheet.streams],
        **_ladder(sheet, units),
        "trips": streams.trips(sheet, units),
        "streams": streams.sections(sheet, units),
        "handovers": streams.handovers(sheet, units),
        "protection": protection_tables.sections(sheet, units),
        "reliefs": streams.reliefs(sheet, units),
        "heated": streams.heated(station, units),
        "answers": streams.answers(station),
        "limits": tables.limits(sheet, units),
        "reducers": [tables.reducer(each, units) for each in sheet.reducers],
        "losses": tables.losses(sheet, units),
        "gauges": tables.gauges(sheet, units),
        "stated": stated(station),
        "defaults": tables.defaults(sheet, units),
        "pressure": units.heading("pressure"),
    }
    return render("design_sheet", data, files, date=day)


def _map(picture: CapacityPicture) -> dict[str, Any]:
    return {
        "id": picture.shown.reducer,
        "drawing": Drawing(draw_capacity(picture, paper(), PAPER_WIDTH), alt_text(picture)),
        "notes": list(capacity_notes(picture)),
    }


def _ladder(sheet: DesignSheet, units: UnitSet) -> dict[str, Any]:
    """Return the tables of the one ladder; of several streams each has its own section instead."""
    if sheet.streams:
        return {key: [] for key in ("rungs", "stackings", "failures", "not_covered", "common_causes")}
    return {
        "rungs": tables.rungs(sheet, units),
        "stackings": tables.stackings(sheet, units),
        "failures": tables.failures(sheet, units),
        "not_covered": list(sheet.ladder.not_covered) if sheet.ladder else [],
        "common_causes": list(sheet.ladder.common_causes) if sheet.ladder else [],
    }


def _drawn(mark: Mark, word: str) -> Drawing:
    return Drawing(draw_mark(mark, word, paper()), word)


def _standing(sheet: DesignSheet, revision: str) -> dict[str, Any]:
    blocking = [f for f in sheet.findings if f.severity in (Severity.STOP, Severity.ASK)]
    mark: Mark = "struck" if blocking else "holds" if revision else "due"
    if blocking:
        stops = sum(f.severity is Severity.STOP for f in blocking)
        word, sentence = "Not releasable:", f"{what_forbids(stops, len(blocking) - stops)}."
    elif revision:
        word, sentence = f"Released as {revision}.", "No finding forbids it."
    else:
        word, sentence = "Not released yet.", "No finding forbids a release."
    titles = dict.fromkeys(tell(f).title for f in blocking)
    more = [f"{place}. {capital(title)}" for place, title in enumerate(titles, 1)]
    return {"word": word, "mark": _drawn(mark, word), "sentence": sentence, "more": more}


def _window(sheet: DesignSheet, units: UnitSet) -> list[str]:
    """Return the trip window in words, worst case and root-sum-square."""
    ladder = sheet.ladder
    if ladder is None:
        return [f"No pressure ladder: layout {sheet.layout}."]
    if sheet.streams:
        return streams.windows(sheet, units, _window_line)
    if ladder.worst_case.verdict == "no shut-off":
        return ["No shut-off: there is no trip, and no window for one."]
    return [_window_line(ladder, name, units) for name in ("worst case", "root-sum-square")]


def _window_line(ladder: Ladder, name: str, units: UnitSet) -> str:
    stacking = ladder.worst_case if name == "worst case" else ladder.root_sum_square
    if stacking.highest is None or stacking.width is None:
        return f"{name.capitalize()}: window not known, from {say(stacking.lowest, 'pressure', units)} up."
    if stacking.width < 0.0:
        return (
            f"{name.capitalize()}: empty, the edges cross by {say_size(-stacking.width, 'pressure', units)}."
        )
    trip = ladder.inputs.trip
    held = () if trip is None else (trip,)
    window, _, _, *told = say_window(stacking.lowest, stacking.highest, held, "pressure", units)
    line = f"{name.capitalize()}: open from {window}"
    if trip is None:
        return f"{line}; no trip chosen."
    lies = "inside" if stacking.trip_inside else "outside"
    return f"{line}; the trip, {told[0]}, lies {lies}."


def _finding(finding: Finding, units: UnitSet) -> dict[str, Any]:
    told = tell(finding, units)
    word = WEIGHTS[told.severity]
    return {
        "mark": _drawn(MARKS[told.severity], word),
        "word": word,
        "code": told.code,
        "title": capital(told.title),
        "subject": told.subject,
        "case": told.case,
        "statement": told.statement,
        "why": told.why,
        "cure": told.cure,
    }
