"""The test plan as a paper from which a visit can be run: front sheets, steps, restore list, sign-off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from steadyhead.procedure.graph import on_way, ways
from steadyhead.records.parts import Drain
from steadyhead.records.pictures import StripPicture
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Procedure, TurnTable
from steadyhead.records.station import Station
from steadyhead.reports.code import check_words, square_code
from steadyhead.reports.design_streams import decided
from steadyhead.reports.drawn import is_tall, strip_drawing
from steadyhead.reports.figures import figure, minutes, turns, unit, volume, working_time
from steadyhead.reports.foot import Origin, frame, shortened
from steadyhead.reports.identity import identity
from steadyhead.reports.paper import Attachment, render
from steadyhead.reports.plan_steps import Speak, Teller, groups
from steadyhead.reports.plan_streams import courses, opening_tables, openings, restores, stream_names
from steadyhead.station.layout import read_layout
from steadyhead.units import METRIC, UnitSet, say, say_most
from steadyhead.visits.dials import PlanUnits, dials, plan_units
from steadyhead.visits.drains import PlaceUse, allowed_at, by_place
from steadyhead.visits.leaving import label
from steadyhead.visits.rules import in_short, rule_number
from steadyhead.visits.tables.defaults import AFTER, BEFORE
from steadyhead.visits.texts import say as tell_message

SPRINGS = {"plate": "spring as on the plate", "twice as stiff": "spring twice as stiff"}
STARTS = {"trickle": "from the trickle reading", "lowest": "from the lowest setting"}
OPEN_PIPE = "open pipe"
"""Where water leaves that runs through no drain: a removable spool or an open bonnet."""
KINDS = {
    "first": "first commissioning",
    "yearly": "yearly proof",
    "after_repair": "after repair",
    "new_setting": "new setting",
    "return_to_service": "return to service",
    "restart": "restart after a trip",
    "visit": "visit",
}


def pdf(
    procedure: Procedure,
    station: Station,
    *,
    day: date,
    units: UnitSet = METRIC,
    strip: StripPicture | None = None,
    numbers: PlanNumbers | None = None,
    revision: str = "",
    files: Sequence[Attachment] = (),
    speak: Speak = tell_message,
) -> bytes:
    """Return the test plan as a PDF paper.

    Parameters
    ----------
    procedure
        The plan; the paper adds nothing to it but places to write.
    station
        For its name, place, hazards and valves.
    day
        Date printed on every sheet.
    units
        Display units.
    strip
        Picture of the station; left out where there is none.
    numbers
        The plan's figures that stand outside the steps: inlet openings, test limits, gauges.
    revision
        Released revision; empty where the file is not released.
    files
        What is carried inside: station file and plan as JSON.
    speak
        Turns a message into words.
    """
    origin = Origin(
        procedure.station_id, procedure.station_name, procedure.datum, procedure.station_hash,
        procedure.engine_version, day, revision, station.station.datum.text,
    )  # fmt: skip
    what = KINDS[procedure.kind] + (f" of {procedure.item}" if procedure.item else "")
    data = frame(
        origin, units, paper="Test plan", about=f"Steps, expected readings and places to write: {what}"
    )
    data["running"] = shortened(f"Test plan, {what}")
    data["code"] = square_code(origin)
    data["check"] = check_words(origin)
    data["kind"] = what.capitalize()
    data["head"] = [*data["head"], f"plan {procedure.id}"]
    by_tap = plan_units(units, dials(station))
    told = by_tap.words
    data["pressures"] = _pressures(by_tap)
    data["identity"] = identity(station, units)
    data["identity"] += [["Decided", words] for words in decided(station)]
    data["strip"] = strip and strip_drawing(strip)
    data["strip_tall"] = is_tall(strip)
    data |= _front(procedure, station, numbers, told, speak)
    data["turn_tables"] = [_turn_table(table, by_tap) for table in procedure.turn_tables]
    data["turns_unit"] = "pressure" if not by_tap.one_dial else unit("pressure", told)
    tell = Teller(procedure, by_tap, speak)
    names = stream_names(station)
    data["course"] = courses(tell, names)
    data["groups"] = groups(tell, names)
    data["restore"] = restores(tell, names)
    data["left"] = [[label(name, state), tell(state)] for name, state in procedure.left]
    data["minutes"] = _working_time(procedure)
    return render("plan", data, files, date=day)


def _working_time(procedure: Procedure) -> str:
    """Return the time at the valves on the shortest and the longest way; work at a desk is not in it."""
    desk = (*BEFORE, *AFTER)
    times = [
        sum(node.minutes for node in on_way(procedure, way) if node.id not in desk) for way in ways(procedure)
    ]
    beyond = [sum(node.on_top for node in on_way(procedure, way)) for way in ways(procedure)]
    told = working_time(min(times), max(times))
    return (
        f"{told}, {working_time(min(beyond), max(beyond))} more for watches and recoveries,"
        if max(beyond)
        else told
    )


def _pressures(units: PlanUnits) -> str:
    """Return in which unit pressures stand, for the head of the plan."""
    told = f"Pressures as the gauge at the tap reads them, {units.words.heading('pressure')} gauge"
    by_unit: dict[str, list[str]] = {}
    for tap, one in units.taps.items():
        by_unit.setdefault(one.unit("pressure"), []).append(tap)
    if units.one_dial:
        return f"{told}."
    each = "; ".join(f"{sign} at {', '.join(taps)}" for sign, taps in by_unit.items())
    return f"{told}; dials: {each}."


def _front(
    procedure: Procedure, station: Station, numbers: PlanNumbers | None, units: UnitSet, speak: Speak
) -> dict[str, Any]:
    return {
        "notes": [speak(message, units) for message in procedure.notes],
        "rules": [[rule_number(message), speak(message, units)] for message in procedure.invariants],
        "stop": [speak(message, units) for message in procedure.stop_rules],
        "stop_short": [speak(in_short(message), units) for message in procedure.stop_rules],
        "first_turns": _first_turns(numbers, units),
        "drains": _drains(procedure, station, units),
        "openings": _openings(numbers, station, units),
        "opening_tables": _opening_tables(numbers, units),
        "good": list(numbers.good_gauges) if numbers else [],
        "poor": list(numbers.poor_gauges) if numbers else [],
        "unit": unit("pressure", units),
    }


def _first_turns(numbers: PlanNumbers | None, units: UnitSet) -> list[str]:
    if numbers is None:
        return []
    if numbers.streams:
        told = [words for own in numbers.streams.values() for words in _first_turns(own, units)]
        return list(dict.fromkeys(told))
    found = []
    for start, first in (("trickle", numbers.first_turn), ("lowest", numbers.first_turn_lowest)):
        found += [
            f"{valve}: first turn {STARTS[start]} at most {turns(most)}" for valve, most in first.items()
        ]
    for valve, rises in numbers.per_quarter.items():
        plate = say(rises[0], "pressure", units)
        twice, four = (figure(rise, "pressure", units) for rise in rises[1:])
        found.append(
            f"{valve}: a quarter turn moves {plate}, "
            f"with a spring twice as stiff {twice}, four times as stiff {four}"
        )
    return found


def _turn_table(table: TurnTable, by_tap: PlanUnits) -> dict[str, Any]:
    units = by_tap.words
    heads = {
        tap: tap if by_tap.one_dial else f"{tap}, {by_tap.at(tap).heading('pressure')}"
        for tap in table.readings
    }
    return {
        "valve": table.valve,
        "spring": SPRINGS.get(table.spring, table.spring),
        "start": STARTS[table.start],
        "per_turn": say(table.per_turn, "pressure_per_turn", units),
        "turns": [turns(count) for count in table.turns],
        "rows": [
            [heads[tap], *(figure(reading, "pressure", by_tap.at(tap)) for reading in readings)]
            for tap, readings in table.readings.items()
        ],
        "stop_after": table.stop_after,
        "limit": say_most(table.limit, "pressure", units),
    }


def _drains(procedure: Procedure, station: Station, units: UnitSet) -> dict[str, Any]:
    rows = [
        [
            use.node,
            use.drain or OPEN_PIPE,
            say(use.flow, "flow", units),
            minutes(use.seconds),
            volume(use.litres * 1e-3, units),
        ]
        for use in procedure.drain_budget
    ]
    places = {part.id: part.runs_to for part in station.parts() if isinstance(part, Drain)}
    uses = [replace(use, place=use.place or places.get(use.drain, "")) for use in procedure.drain_budget]
    totals = [_place(one, station, units) for one in by_place(uses)]
    return {"rows": rows, "totals": totals}


def _place(one: PlaceUse, station: Station, units: UnitSet) -> list[str]:
    """Return what runs to one place: through which drains, how much, the most at one time, the permit."""
    allowed = allowed_at(station.parts(), one)
    unknown = "not stated" if any(one.drains) else "as agreed"
    return [
        one.place or unknown,
        ", ".join(drain or OPEN_PIPE for drain in one.drains),
        volume(one.volume, units),
        say(one.most, "flow", units),
        volume(allowed, units) if allowed is not None else unknown,
    ]


def _openings(numbers: PlanNumbers | None, station: Station, units: UnitSet) -> list[list[str]]:
    if numbers is None:
        return []
    if numbers.streams:
        return openings(station, numbers, lambda own, alone: _openings(own, alone, units))
    valve = read_layout(station).inlet_valve or next(
        (p for p in station.parts() if p.part == "isolating_valve"), None
    )
    whole = getattr(valve, "turns", None)
    rows = []
    for section, opening in numbers.inlet_opening.items():
        if opening.turns is not None:
            words = f"{turns(opening.turns)} turns" + (f" of {turns(whole.si)}" if whole else "")
        else:
            words = f"{opening.share * 100:.0f} % of its travel; turns not stated"
        rows.append(
            [
                section, words, f"{opening.drain} fully open",
                say(opening.pressure, "pressure", units), say_most(opening.limit, "pressure", units),
            ]
        )  # fmt: skip
    return rows


def _opening_tables(numbers: PlanNumbers | None, units: UnitSet) -> list[dict[str, Any]]:
    """Return for each held section what it sees at other openings of the inlet valve."""
    if numbers and numbers.streams:
        return opening_tables(numbers, lambda own: _opening_tables(own, units))
    found = []
    for section, opening in (numbers.inlet_opening if numbers else {}).items():
        rows = [
            [
                turns(row.turns) if row.turns is not None else f"{row.share * 100:.0f} %",
                figure(row.expected, "pressure", units),
                figure(row.worst, "pressure", units),
            ]
            for row in opening.rows
        ]
        given = next(
            (number for number, row in enumerate(opening.rows) if abs(row.share - opening.share) < 1e-6), -1
        )
        if rows:
            found.append({"section": section, "drain": opening.drain, "rows": rows, "given": given})
    return found
