"""The station card: one waterproof A5 that hangs in the chamber.

Front: which, where, what to do after a trip, when to stop. Back: cocks, settings, figures.

Nothing is invented on it: what no visit has measured yet is a blank to fill in by hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from steadyhead.records.design import DesignSheet
from steadyhead.records.parts import PilotSpring, Reducer, ShutOff, Tap
from steadyhead.records.pictures import StripPicture
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.station import Station
from steadyhead.reports import card_restart, card_streams
from steadyhead.reports.card_left import NOTHING, AsLeft
from steadyhead.reports.code import check_words, square_code
from steadyhead.reports.design_streams import decided
from steadyhead.reports.drawn import strip_drawing
from steadyhead.reports.foot import Origin, frame, shortened
from steadyhead.reports.glyphs import covered
from steadyhead.reports.identity import place
from steadyhead.reports.paper import Attachment, render
from steadyhead.reports.pictures import brief
from steadyhead.reports.walking import drips, section_drains, walk
from steadyhead.station.layout import Layout, read_layout
from steadyhead.station.streams import views
from steadyhead.units import METRIC, UnitSet, say

ONE_LINE = 12.0
"""Names wider than this are set smaller in the card's title. [em]"""
SIDE_WIDE, SIDE_HIGH = 190.0, 119.0
"""Room on one side, which the strip of several streams has to itself. [mm]"""
NAME_ROOM, ZONE_ROOM = 26.0, 24.0
"""Room for the names of station and zone in the card's title; longer ones stand whole on the back. [em]"""
SHORT_DEFERRING = (
    "A reminder, not a permit. The owner's procedure, the supplier's instructions, local codes and a "
    "licensed person on the spot come first."
)


def pdf(
    station: Station,
    *,
    day: date,
    station_hash: str,
    engine_version: str,
    stop_rules: Sequence[str],
    units: UnitSet = METRIC,
    strip: StripPicture | None = None,
    numbers: PlanNumbers | None = None,
    sheet: DesignSheet | None = None,
    revision: str = "",
    files: Sequence[Attachment] = (),
    left: AsLeft = NOTHING,
) -> bytes:
    """Return the station card as a PDF of two A5 sides; a third where there are several streams.

    Parameters
    ----------
    station
        The station file's record.
    day
        Date printed on it.
    station_hash, engine_version
        What the card was made from.
    stop_rules
        The standing stop rules in words.
    units
        Display units.
    strip
        Picture of the station with its taps.
    numbers
        For the inlet valve's opening; without them it stays a blank.
    sheet
        For which of several streams leads.
    revision
        Released revision; empty where the file is not released.
    files
        What is carried inside.
    left
        What the last certificate left; blanks where none is at hand.
    """
    who = station.station
    origin = Origin(
        who.id, who.name, who.datum.si, station_hash, engine_version, day, revision, who.datum.text
    )
    data = frame(origin, units, paper="Station card", about="Cocks, settings, restart and stop rules")
    data["foot"]["defer"] = SHORT_DEFERRING
    data |= content(station, stop_rules=stop_rules, units=units, numbers=numbers, sheet=sheet, left=left)
    data["place"] = shortened(who.name, NAME_ROOM)
    data["long"] = data["place"] != shortened(who.name, ONE_LINE)
    data["zone"] = shortened(who.zone, ZONE_ROOM)
    data["whole"] = _whole_names(who.name, who.zone)
    data |= {
        "code": square_code(origin),
        "check": check_words(origin),
        "strip": strip and strip_drawing(brief(strip), wide=SIDE_WIDE, high=SIDE_HIGH),
    }
    return render("card", data, files, date=day)


def content(
    station: Station,
    *,
    stop_rules: Sequence[str] = (),
    units: UnitSet = METRIC,
    numbers: PlanNumbers | None = None,
    sheet: DesignSheet | None = None,
    left: AsLeft = NOTHING,
) -> dict[str, Any]:
    """Return what the card says, as plain data: text, lists and maps in the reader's units.

    Parameters
    ----------
    station, stop_rules, units, numbers, sheet, left
        As for `pdf`.
    """
    who = station.station
    layout = read_layout(station)
    several = len(views(station)) > 1
    opening = "" if several else card_streams.opening(layout, numbers)
    known = bool(numbers and numbers.streams)
    return {
        "id": who.id,
        "name": who.name,
        "zone": who.zone,
        "where": [
            ["Lid", who.directions or "directions not stated"],
            ["At", place(station) or "coordinates not stated"],
            ["Call", who.control_room or "desk not stated: write it here"],
            ["Mind", who.sensitive_consumers],
            ["Fire", "; ".join(decided(station))],
        ],
        "hazards": [*who.hazards] if who.hazards else ["none stated; look before you go in"],
        "fire": who.fire_water,
        "restart_title": "After a trip" if layout.shut_offs else "Outlet too high",
        "restart": card_restart.restart(station, known) or _restart(station, layout, opening),
        "stop": list(stop_rules),
        "walk": walk(station),
        "drips": drips(station),
        "drains": section_drains(station),
        "opening": opening,
        "certificate": left.certificate,
        "certificate_day": left.day,
        "settings": _settings(station, units, left),
        "stopwatch": "" if several else _stopwatch(layout, units, sheet),
        "stopwatch_edges": list(card_streams.stopwatch_edges(sheet, layout.shut_offs)),
        **card_streams.streams(station, sheet, numbers, units),
        "gauge": f"{units.heading('pressure')} gauge",
    }


def _whole_names(name: str, zone: str) -> list[list[str]]:
    """Return the names that the title has no room for, to stand whole on the back."""
    rows = (("Name", name, NAME_ROOM), ("Zone", zone, ZONE_ROOM))
    return [[word, text] for word, text, room in rows if shortened(text, room) != covered(text)]


def _stopwatch(layout: Layout, units: UnitSet, sheet: DesignSheet | None) -> str:
    """Return what is known of the closing time; empty where nothing shuts."""
    if not layout.shut_offs:
        return ""
    closing = layout.shut_offs[0].closing
    if closing is None:
        return "Not yet known: it comes from a measured closing."
    at = f" at {say(closing.flow.si, 'flow', units)}" if closing.flow else ", its flow not stated"
    says = f"Design says {say(closing.time.si, 'time', units)}{at}"
    if card_streams.is_empty(sheet, layout.shut_offs[0]):
        return f"{says}; no time holds every limit, see the design sheet."
    window = card_streams.window_of(sheet, layout.shut_offs[0])
    if window is None:
        return f"{says}; window not yet worked out."
    stroke, told = card_streams.stroke_words(window, units), card_streams.caveat_of(sheet, window)
    return f"{says}. Window of the protection proof, {stroke}{told}:"


def _restart(station: Station, layout: Layout, opening: str) -> list[str]:
    inlet = layout.inlet_valve.id if layout.inlet_valve else "the inlet valve"
    outlet = layout.outlet_valve.id if layout.outlet_valve else "the outlet valve"
    taps = ", ".join(part.id for part in layout.main if isinstance(part, Tap))
    read = f"Read {taps} and the clock, write them down, call the desk." if taps else "Call the desk."
    if not layout.shut_offs:
        return [
            f"Nothing here shuts by itself. {read}",
            f"Outlet above its limit: shut {inlet} slowly, the last turns slowest. The zone loses this feed.",
            "Open again only when the cause is known and the desk agrees.",
        ]
    behind = [s for s in reversed(layout.sections) if s.name not in ("supply", "inlet", "consumer")]
    drains = " and ".join(drain.id for section in behind for drain in section.drains) or "the drain"
    heaters = f"{card_restart.HEATERS} " if station.hot_water else ""
    beside = "".join(f" {told}" for told in card_restart.bypasses_shut(station))
    return [
        f"Do not reset yet. {read}",
        f"{heaters}Shut {outlet}.{beside} {opening or f'{inlet} to ____ turns'}. {drains} open, water seen.",
        "Reset only when the desk agrees and the cause is known; refill by trickle. "
        "Second trip: stop, leave it shut.",
    ]


def _settings(station: Station, units: UnitSet, left: AsLeft) -> list[dict[str, Any]]:
    rows = []
    for valve in card_streams.valves(station):
        if isinstance(valve, Reducer):
            rows += _reducer(valve, units)
        elif isinstance(valve, ShutOff):
            rows += _shut_off(valve, units)
        else:
            crack = say(valve.crack.si, "pressure", units)
            rows.append(_row(f"{valve.id} starts to lift", crack, None, f"{valve.id}.crack"))
    if station.alarm is not None:
        delay = f", after {say(station.alarm.delay.si, 'time', units, 0)}" if station.alarm.delay else ""
        design = f"{say(station.alarm.pressure.si, 'pressure', units)}{delay}"
        rows.append(_row("High alarm", design, None, "alarm.high"))
    return [_with_left(row, left) for row in rows]


def _with_left(row: dict[str, Any], left: AsLeft) -> dict[str, Any]:
    """Return a row with what the certificate left: figure, screw height, change per turn."""
    key = str(row["key"])
    valve = key.partition(".")[0] if row["screw"] else ""
    height = left.heights.get(valve, "") or row["height"]
    value, tap = left.values.get(key, ""), left.taps.get(key, "")
    if value and tap and row["tap"] and tap != row["tap"]:
        value += f", read at {tap}"
    return {**row, "left": value, "height": height, "turn": left.per_turn.get(valve, "")}


def _reducer(reducer: Reducer, units: UnitSet) -> list[dict[str, Any]]:
    duty = say(reducer.duty.pressure.si, "pressure", units)
    at = say(reducer.duty.flow.si, "flow", units)
    lockup = say(reducer.lockup.si, "pressure", units) if reducer.lockup else "not stated"
    return [
        _row(
            f"{reducer.id} duty, {reducer.senses}",
            f"{duty} at {at}",
            reducer.pilot,
            f"{reducer.id}.duty",
            reducer.senses,
        ),
        _row(f"{reducer.id} lock-up, no flow", lockup, None, f"{reducer.id}.lockup"),
    ]


def _shut_off(valve: ShutOff, units: UnitSet) -> list[dict[str, Any]]:
    trip = say(valve.trip.si, "pressure", units) if valve.trip else "not chosen"
    rows = [
        _row(f"{valve.id} trip, rising, {valve.senses}", trip, valve.pilot, f"{valve.id}.trip", valve.senses)
    ]
    if valve.resets == "by itself":
        known = valve.trip and valve.dead_band
        reset = say(valve.trip.si - valve.dead_band.si, "pressure", units) if known else "not stated"  # type: ignore[union-attr]
        rows.append(_row(f"{valve.id} reset, by itself", reset, None))
    return rows


def _row(what: str, design: str, pilot: PilotSpring | None, key: str = "", tap: str = "") -> dict[str, Any]:
    return {
        "key": key,
        "tap": tap,
        "what": what,
        "design": design,
        "screw": pilot is not None,
        "height": pilot.screw_height if pilot else "",
        "raises": f"{pilot.raises} raises" if pilot and pilot.raises else "read the plate" if pilot else "",
    }
