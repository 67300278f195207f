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

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from steadyhead.station.layout import Layout
from steadyhead.visits.spans import beside, between, between_roles, monitored, reliefs, stage, worker

Unit = Literal["pressure", "time", "turns"]
ROLES = ("T0", "T1", "T2", "T2a", "T2b", "T3")
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
    "monitor": "reducer raised above the monitor and out of its way, trickle through TD, monitor as found",
    "monitor_lockup": "as monitor, then TD shut: no flow",
    "monitor_set": "reducer out of the way, trickle through TD, monitor as set",
    "monitor_lockup_set": "as monitor_set, then TD shut: no flow",
    "relief_crack": "rising reading at which the relief valve starts to lift",
    "relief_reseat": "falling reading at which the relief valve is shut again",
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

    T0 lies before the inlet isolating valve, T1 last before the first valve, T2 first between the valves
    (T2a and T2b where three stand in a row), T3 the one a reducer senses after the last valve, else the first
    there, T4 beyond the outlet isolating valve.
    """
    found: dict[str, str] = {}
    places = (
        ("T0", "supply", -1),
        ("T1", "inlet", -1),
        ("T3", "outlet", 0),
        ("T4", "consumer", 0),
    )
    for role, name, which in places:
        taps = [tap for section in layout.sections if section.name == name for tap in section.taps]
        if taps:
            sensed = [tap.id for tap in taps if role == "T3" and tap.id in _sensed(layout)]
            found[role] = sensed[0] if sensed else taps[which].id
        if role == "T1":
            found |= {span.role: span.tap.id for span in between(layout) if span.tap is not None}
    return found


def _sensed(layout: Layout) -> set[str]:
    """Return the taps that are sensed by a reducer with nothing to watch over, a monitor left out."""
    found = sorted(layout.reducers, key=lambda reducer: reducer.duty.pressure.si)
    return {found[0].senses} if layout.pairing == "monitor" else {one.senses for one in found}


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
    rows = [*_still_and_trickle(layout, roles)]
    if trip and layout.shut_off is not None:
        rows += _tripping(layout, dead_band=dead_band)
    rows += _other_valves(layout)
    if alarm:
        rows.append(("alarm", ("T3",), "pressure", 0))
    rows += _set_and_flowing(layout, roles, flow_points)
    asked: list[Question] = []
    for situation, places, unit, number in rows:
        for place in places:
            if unit == "pressure" and place in ROLES and place not in roles:
                continue
            name = f"{situation}.{number}" if number else situation
            meaning = f"{place}: {SITUATIONS[situation]}"
            asked.append(Question(f"{name}.{place}", name, place, unit, meaning))
    return tuple(asked)


_Row = tuple[str, tuple[str, ...], Unit, int]
"""Situation, places, kind of quantity, number of the flow point."""


def _pressures(situation: str, *places: str, number: int = 0) -> _Row:
    return situation, places, "pressure", number


def _first(layout: Layout) -> tuple[str, ...]:
    """Return the role of the tap behind the first of two reducers in series, where there are two."""
    own = stage(layout)
    return (own.role,) if own is not None else ()


def _still_and_trickle(layout: Layout, roles: list[str]) -> Iterator[_Row]:
    inner, first = between_roles(layout), _first(layout)
    yield _pressures("vented", "T1", *inner, "T3")
    yield _pressures("static", "T0", "T1")
    yield _pressures("v2", *(("T1", "loss") if {"T0", "T1"} <= set(roles) else ("T1",)))
    yield _pressures("v2_drain", "T1", "T3")
    yield _pressures("v2_drain_lowest", "T3")
    yield _pressures("trickle", "T1", *inner, "T3")
    yield _pressures("lockup", *first, "T3")
    yield _pressures("lowest", *first, "T3")
    yield _pressures("trickle_set", *inner, "T3")


def _tripping(layout: Layout, *, dead_band: bool) -> Iterator[_Row]:
    inner = between_roles(layout)
    yield _pressures("at_trip", "T1", *inner, "T3")
    for situation in ("trip", "trip_set", "trip_mid", "trip_set_mid", "trip_held"):
        yield _pressures(situation, "T3")
    yield _pressures("after_trip", "T1", *inner, "T3")
    yield "closing", ("time",), "time", 0
    if outlet_passes(layout):
        yield "closing_service", ("time",), "time", 0
    if dead_band:
        yield _pressures("reset", "T3")
    yield "turns", tuple([worker(layout).id] if layout.reducers else []), "turns", 0


def _other_valves(layout: Layout) -> Iterator[_Row]:
    inner, first = between_roles(layout), _first(layout)
    if first:
        yield _pressures("first_open", *first, "T3")
    if monitored(layout):
        for situation in ("monitor", "monitor_set"):
            yield _pressures(situation, *inner, "T3")
        yield _pressures("monitor_lockup", "T3")
        yield _pressures("monitor_lockup_set", "T3")
    for relief in reliefs(layout):
        yield _pressures("relief_crack", relief.id)
        yield _pressures("relief_reseat", relief.id)


def _set_and_flowing(layout: Layout, roles: list[str], flow_points: int) -> Iterator[_Row]:
    inner, first = between_roles(layout), _first(layout)
    yield _pressures("duty", "T1", *first, "T3")
    yield _pressures("lockup_set", *first, "T3")
    for number in range(1, flow_points + 1):
        yield _pressures("flow", "T0", "T1", *inner, "T3", number=number)
    if layout.strainer is not None and {"T0", "T1"} <= set(roles):
        yield _pressures("strainer", "loss")
    if layout.shut_off is not None and set(sides_of_shut_off(layout)) <= set(roles) and "T1" in roles:
        yield _pressures("shut_off", "loss")


def sides_of_shut_off(layout: Layout) -> tuple[str, str]:
    """Return the roles of the taps just before and just after the one shut-off."""
    span = beside(layout)
    inner = span.role if span is not None else "T2"
    return (inner, "T3") if layout.shut_off_place == "downstream" else ("T1", inner)
