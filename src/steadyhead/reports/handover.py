"""The handover notes as a paper: what the station does, how it is isolated, spares, contacts, instruments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from steadyhead.drawings import PAPER_WIDTH, alt_text, draw_strip, paper
from steadyhead.records.parts import IsolatingValve, Reducer, Relief, ShutOff, Strainer
from steadyhead.records.pictures import StripPicture
from steadyhead.records.station import Station
from steadyhead.reports.drawn import is_tall, strip_drawing
from steadyhead.reports.foot import Origin, frame
from steadyhead.reports.paper import Drawing, render
from steadyhead.units import METRIC, UnitSet, say

NOT_STATED = "not stated"
WRITE_HERE = "write it here"
DICTIONARY: tuple[tuple[str, str], ...] = (
    (
        "data/record.json",
        "The certificate as data, steadyhead/certificate/1: every block of the paper. Amounts are SI: "
        "pressures Pa gauge as read at the tap, flows m³/s, times s, lengths m, temperatures K. typed: "
        "as written.",
    ),
    ("data/signature.json", "Ed25519 signature over the hashes of page and files, with the public key."),
    (
        "data/plan.plan",
        "The plan the run was judged by: a line with its hash, a line of JSON, steadyhead/plan-file/1.",
    ),
    (
        "data/entries.jsonl",
        "Every entry of the run, one JSON object a line, steadyhead/entries/1: id, run, node (step), device, "
        "device_seq, kind, payload, who, t_device, clock_offset (added gives true time), replaces.",
    ),
    (
        "data/readings.csv",
        "Every reading: step, input, tap, value (SI), quantity, typed, instrument, flow (m³/s), time, who, "
        "entry. UTF-8, comma, one head line.",
    ),
    ("data/station.yaml", "The station file as given; data/station.json is the same as canonical JSON."),
    ("data/strip.svg", "The station strip with its taps, as a picture."),
    ("manifest.json", "Name, size and SHA-256 of every file of the pack, steadyhead/handover/1."),
)
"""Files of the pack and what their fields mean."""


def pdf(
    station: Station,
    record: Mapping[str, Any],
    card: Mapping[str, Any],
    *,
    day: date,
    station_hash: str,
    engine_version: str,
    revision: str = "",
    strip: StripPicture | None = None,
    units: UnitSet = METRIC,
) -> bytes:
    """Return the handover notes as a PDF.

    Parameters
    ----------
    station
        The station file's record.
    record
        The certificate's record as plain data.
    card
        What stands on the station card.
    day
        Day of the certificate.
    station_hash, engine_version, revision
        What the pack was made from.
    strip
        Picture of the station with its taps.
    units
        Display units.
    """
    who = station.station
    origin = Origin(
        who.id, who.name, who.datum.si, station_hash, engine_version, day, revision, who.datum.text
    )
    data = frame(
        origin, units, paper="Handover notes", about="Working, isolation, spares, contacts, instruments"
    )
    data["head"] = [*data["head"], f"certificate {record['number']}, record revision {record['revision']}"]
    data |= _content(station, record, card, units)
    data["strip"] = strip and _sketch(strip)
    return render("handover", data, (), date=day)


def _content(
    station: Station, record: Mapping[str, Any], card: Mapping[str, Any], units: UnitSet
) -> dict[str, Any]:
    return {
        "standing": f"{str(record['standing']).capitalize()}, signed {str(record['signed_at'])[:10]}.",
        "open": [one["statement"] for one in record["against"] if not one["accepted"]],
        "notes": notes(station, units),
        "restart_title": card["restart_title"],
        "restart": list(card["restart"]),
        "stop": list(card["stop"]),
        "drips": [list(row) for row in card["drips"]],
        "walk": [list(row) for row in card["walk"]],
        "isolation": isolation(station, card),
        "isolate": [list(row) for row in card["isolate"]],
        "back_in": card["back_in"],
        "loses": loses(station),
        "settings": [
            [row["what"], row["design"], row["left"] or "not known", row["height"], row["turn"]]
            for row in card["settings"]
        ],
        "spares": spares(station, units),
        "contacts": contacts(station, record),
        "instruments": [
            [
                one["name"],
                one["what"],
                one["certificate"] or NOT_STATED,
                one["calibrated"] or NOT_STATED,
                one["due"] or NOT_STATED,
                {True: "yes", False: "NO", None: "not known"}[one["in_date"]],
            ]
            for one in record["instruments"]
        ],
        "stale": list(STALE),
        "dictionary": [list(row) for row in DICTIONARY],
    }


STALE = (
    "Any screw, nut, needle, cock, line, filter or cover of the shut-off: its trip is to be proved again.",
    "The reducer's screw, nut, needle or filter: duty and lock-up are to be read again.",
    "Strainer opened: its loss, and a look at both pilot filters.",
    "IV2 or the drain worked on: tightness and lock-up.",
    "Limit switch, cable or text at the desk: the loop, by real movement.",
    "Transmitter: high alarm and logger.",
    "Inlet pressure or a consumer's limit changed on paper: the ladder, then whether the trip still fits.",
)
"""What touching a thing makes stale, in plain words (handbook 3.7)."""


def _sketch(strip: StripPicture) -> Drawing:
    if is_tall(strip):
        return strip_drawing(strip)
    return Drawing(draw_strip(strip, paper(), PAPER_WIDTH), alt_text(strip))


def notes(station: Station, units: UnitSet) -> list[str]:
    """Return what the station does, in plain words."""
    found = []
    for part in station.parts():
        if isinstance(part, Reducer):
            duty = say(part.duty.pressure.si, "pressure", units)
            flow = say(part.duty.flow.si, "flow", units)
            found.append(
                f"{part.id} is a reducer. It holds {duty} at {part.senses} while {flow} runs, a little "
                "more at no flow. It opens when that pressure falls and closes when it rises."
            )
        elif isinstance(part, ShutOff):
            trip = say(part.trip.si, "pressure", units) if part.trip else "a pressure not stated"
            resets = "stays shut until reset by hand" if part.resets == "by hand" else "opens again by itself"
            found.append(
                f"{part.id} is the shut-off. It stands open. When {part.senses} rises to {trip} it "
                f"closes and {resets}. It is there for the day the reducer fails."
            )
        elif isinstance(part, Relief):
            crack = say(part.crack.si, "pressure", units)
            found.append(
                f"{part.id} is a relief valve. It lets water off from {crack}, "
                f"to {part.runs_to or 'a place not stated'}."
            )
        elif isinstance(part, Strainer):
            found.append(
                f"{part.id} is a strainer. Its loss tells when it is dirty; the outlet pressure hides it."
            )
    return found


def isolation(station: Station, card: Mapping[str, Any]) -> list[list[str]]:
    """Return each isolating valve: id, what, turns and direction, what shutting it does."""
    turns = {row[0]: row[3] for row in card["walk"]}
    valves = [part for part in station.parts() if isinstance(part, IsolatingValve)]
    return [
        [valve.id, valve.name or "isolating valve", turns.get(valve.id, "") or NOT_STATED, _tight(valve)]
        for valve in valves
    ]


def _tight(valve: IsolatingValve) -> str:
    return {"not known": "tightness not known: prove it"}.get(str(valve.tight), f"tight: {valve.tight}")


def loses(station: Station) -> list[str]:
    """Return who loses water when the station is shut."""
    who = station.station
    found = [f"Shutting the station shuts zone {who.zone or NOT_STATED}."]
    found.append(
        "Another feed can hold it; open that first and see it hold."
        if station.zone.other_feed
        else "No other feed is stated: the zone runs dry."
    )
    if who.sensitive_consumers:
        found.append(f"Tell first: {who.sensitive_consumers}.")
    if who.fire_water:
        found.append(
            "Fire water passes here: shutting is an impairment; the fire service is told before and after."
        )
    return found


def spares(station: Station, units: UnitSet) -> list[list[str]]:
    """Return what to keep for each part; materials are the supplier's to state."""
    rows = []
    for part in station.parts():
        if isinstance(part, Reducer | ShutOff):
            ends = [say(end.si, "pressure", units) for end in (part.pilot.spring_low, part.pilot.spring_high)]
            size = say(part.size.si, "size", units)
            stated = part.notes or "materials not stated: take them from the supplier's list"
            rows.append([part.id, f"diaphragm, seat disc and seals of the main valve, {size}", stated])
            rows.append(
                [part.id, f"pilot: spring {ends[0]} to {ends[1]}, diaphragm, seat, filter element", stated]
            )
        elif isinstance(part, Strainer):
            size = say(part.size.si, "size", units)
            rows.append(
                [part.id, f"element {part.mesh or 'mesh not stated'}, cover gasket, {size}", NOT_STATED]
            )
        elif isinstance(part, Relief):
            rows.append([part.id, "seat and spring", NOT_STATED])
    return rows


def contacts(station: Station, record: Mapping[str, Any]) -> list[list[str]]:
    """Return whom to call."""
    who = station.station
    rows: Sequence[tuple[str, str]] = (
        ("Desk", who.control_room or WRITE_HERE),
        ("Owner", who.owner or WRITE_HERE),
        ("Fire service", WRITE_HERE if who.fire_water else "no fire water stated"),
        ("Supplier of the valves", WRITE_HERE),
        *((one["role"] or "took part in the run", one["name"]) for one in record["people"]),
    )
    return [list(row) for row in rows]
