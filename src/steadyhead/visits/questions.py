"""The named readings a plan asks the twin for: what the station is doing, and at which tap it is read.

A key is ``situation.place``: ``trickle.T3``, ``flow.2.T1``, ``closing.time``. Places ``T0`` … ``T3`` are the
roles of the taps, the same in every layout; the station file may call the taps otherwise (`tap_of_role`).

How each situation stands
-------------------------
In all of them but ``closing_service`` the consumers are cut off, IV2 shut, and water runs through the test
drain TD only.

* *as found*: the pilot stands where the tag or the last visit left it; drift since then counts.
* *as set*: the pilot was set today at the stated duty flow with the setting gauge; an offset of that gauge is
  in the setting and in every later reading of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from steadyhead.station.layout import Layout

Unit = Literal["pressure", "time", "turns"]
ROLES = ("T0", "T1", "T2", "T3")
"""Taps whose readings are expected; T4 belongs to the zone, not to the station."""


@dataclass(frozen=True, slots=True)
class Question:
    """One reading the plan expects.

    Parameters
    ----------
    key
        ``situation.place``; for flow points ``flow.1.T0``, counted from 1 at trickle.
    situation
        What the station is doing, a key of `SITUATIONS`; ``flow.1`` for flow points.
    place
        Tap role, or what is read: ``loss``, ``time``, or the id of the valve whose screw is turned.
    unit
        Kind of quantity of the band.
    meaning
        One line for people.
    """

    key: str
    situation: str
    place: str
    unit: Unit
    meaning: str


SITUATIONS = {
    "vented": "section vented at its own drain, gauge connected",
    "static": "IV1 open, no water drawn",
    "v2": "IV1 at its V2 opening, no water drawn; loss: T0 less T1, one gauge moved",
    "v2_drain": "IV1 at its V2 opening, TD fully open, reducer as found",
    "trickle": "IV1 at its V2 opening, trickle through TD, reducer as found",
    "lockup": "as trickle, then TD shut: no flow, reducer as found",
    "duty": "IV1 open, stated duty flow through TD, reducer as set",
    "trickle_set": "IV1 at its V2 opening, trickle through TD, reducer as set",
    "lockup_set": "no flow, reducer as set, IV1 at its V2 opening",
    "v2_drain_lowest": "IV1 at its V2 opening, TD fully open, reducer at its lowest setting",
    "lowest": "no flow, reducer at its lowest setting",
    "at_trip": "trickle through TD, reducer raised until T3 reads the trip, shut-off still open",
    "trip": "reading at which the shut-off starts to close, shut-off as found",
    "trip_set": "reading at which the shut-off starts to close, set today with the same gauge",
    "trip_mid": "as trip, middle between the last hold without action and the reading at action",
    "trip_set_mid": "as trip_set, middle between the last hold without action and the reading at action",
    "trip_held": "held at the trip with the setting gauge while the screw of the shut-off is lowered",
    "after_trip": "shut-off shut, TD still at trickle opening, pressures at rest",
    "reset": "reading on falling pressure below which the tripped shut-off can reopen",
    "closing": "closing stroke at trickle, by stopwatch",
    "closing_service": "closing stroke by stopwatch, consumers connected, IV1 open, night to average demand",
    "alarm": "reading at which the high alarm comes, delay passed",
    "first_open": "first reducer held wide open, trickle through TD, second reducer holds alone",
    "flow": "flow test: IV1 open, stated flow through TD, reducer as set",
    "strainer": "pressure lost from T0 to T1 at the highest flow tested, one gauge moved",
    "shut_off": "pressure lost across the open shut-off at the highest flow tested, one gauge moved",
    "turns": "turns that raise the reducer from its trickle reading to the trip reading",
}
"""Situation → what the station is doing."""


def tap_of_role(layout: Layout) -> dict[str, str]:
    """Return the tap id for each role that this station has.

    T0 lies before the inlet isolating valve, T1 last before the first valve, T2 first between the valves,
    T3 first after the last valve, T4 beyond the outlet isolating valve.
    """
    found: dict[str, str] = {}
    places = (
        ("T0", "supply", -1),
        ("T1", "inlet", -1),
        ("T2", "between", 0),
        ("T3", "outlet", 0),
        ("T4", "consumer", 0),
    )
    for role, name, which in places:
        taps = [tap for section in layout.sections if section.name == name for tap in section.taps]
        if taps:
            found[role] = taps[which].id
    return found


def outlet_passes(layout: Layout) -> bool:
    """Return whether the outlet valve is known not to shut: the consumers stay connected."""
    return layout.outlet_valve is not None and layout.outlet_valve.tight == "no"


def questions(
    layout: Layout, *, flow_points: int, trip: bool, alarm: bool, dead_band: bool
) -> tuple[Question, ...]:
    """Return every question that makes sense for a layout, in the order of the visit.

    Parameters
    ----------
    layout
        Of the station.
    flow_points
        Number of flows in the flow test.
    trip
        Is there a shut-off with a stated trip?
    alarm
        Is there a high outlet alarm?
    dead_band
        Is the shut-off's dead band stated?
    """
    roles = [role for role in ROLES if role in tap_of_role(layout)]
    asked: list[Question] = []

    def ask(situation: str, *places: str, unit: Unit = "pressure", number: int = 0) -> None:
        for place in places:
            if unit == "pressure" and place in ROLES and place not in roles:
                continue
            name = f"{situation}.{number}" if number else situation
            meaning = f"{place}: {SITUATIONS[situation]}"
            asked.append(Question(f"{name}.{place}", name, place, unit, meaning))

    two = len(layout.reducers) > 1
    ask("vented", "T1", "T2", "T3")
    ask("static", "T0", "T1")
    ask("v2", *(("T1", "loss") if {"T0", "T1"} <= set(roles) else ("T1",)))
    ask("v2_drain", "T1", "T3")
    ask("v2_drain_lowest", "T3")
    ask("trickle", "T1", "T2", "T3")
    ask("lockup", *(("T2", "T3") if two else ("T3",)))
    ask("lowest", *(("T2", "T3") if two else ("T3",)))
    ask("trickle_set", "T2", "T3")
    if trip and layout.shut_off is not None:
        ask("at_trip", "T1", "T2", "T3")
        ask("trip", "T3")
        ask("trip_set", "T3")
        ask("trip_mid", "T3")
        ask("trip_set_mid", "T3")
        ask("trip_held", "T3")
        ask("after_trip", "T1", "T2", "T3")
        ask("closing", "time", unit="time")
        if outlet_passes(layout):
            ask("closing_service", "time", unit="time")
        if dead_band:
            ask("reset", "T3")
        ask("turns", *(r.id for r in layout.reducers[-1:]), unit="turns")
    if two:
        ask("first_open", "T2", "T3")
    if alarm:
        ask("alarm", "T3")
    ask("duty", *(("T1", "T2", "T3") if two else ("T1", "T3")))
    ask("lockup_set", *(("T2", "T3") if two else ("T3",)))
    for number in range(1, flow_points + 1):
        ask("flow", "T0", "T1", "T2", "T3", number=number)
    if layout.strainer is not None and {"T0", "T1"} <= set(roles):
        ask("strainer", "loss")
    if layout.shut_off is not None and {"T1", "T2", "T3"} <= set(roles):
        ask("shut_off", "loss")
    return tuple(asked)
