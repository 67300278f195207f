"""Which station this is, in rows for a paper: the first thing to check at the lid."""

from __future__ import annotations

from steadyhead.records.station import Station
from steadyhead.units import UnitSet, say_typed


def identity(station: Station, units: UnitSet) -> list[list[str]]:
    """Return name and value of what tells this station from another; what is not stated is left out.

    Parameters
    ----------
    station
        The station file's record.
    units
        Display units.
    """
    who = station.station
    rows = [
        ["Station", f"{who.name}, {who.id}"],
        ["Kind", f"{who.kind}, zone {who.zone}" if who.zone else who.kind],
        ["Owner", who.owner],
        ["Lid", who.directions],
        ["Coordinates", place(station)],
        ["Datum", say_typed(who.datum.si, who.datum.text, "length", units)],
        ["Hazards here", ", ".join(who.hazards) or "none stated; look before you go in"],
        ["Sensitive consumers", who.sensitive_consumers],
        ["Fire water", "passes through this station" if who.fire_water else ""],
        ["Desk to call", who.control_room or "not stated"],
    ]
    return [[name, value] for name, value in rows if value]


def place(station: Station) -> str:
    """Return latitude and longitude in words; empty where not stated."""
    where = station.station.coordinates
    if where is None:
        return ""
    north = f"{abs(where.latitude):.5f}° {'N' if where.latitude >= 0 else 'S'}"
    east = f"{abs(where.longitude):.5f}° {'E' if where.longitude >= 0 else 'W'}"
    return f"{north}, {east}"
