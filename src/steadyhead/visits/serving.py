"""What outlet and consumers' side read in service: bands and limit of the steps that open to them."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from steadyhead.design.limits import component_limits, weakest_normal
from steadyhead.findings import Amount
from steadyhead.records.parts import ShutOff, Tap
from steadyhead.records.plan_numbers import Band, PlanNumbers
from steadyhead.records.procedure import Expect, Expression, Message, Node, Otherwise
from steadyhead.records.quantities import STANDARD_ATMOSPHERE_PA
from steadyhead.records.station import Station
from steadyhead.station.elevation import to_level
from steadyhead.visits.tables.defaults import SERVED_ABOVE, SERVED_BELOW
from steadyhead.water import properties

OPENED = ("J2", "J3", "J6", "Y8", "R9")
"""Steps at which the consumers are connected, or are seen to be."""
READ = ("T3", "T4", "gauge")
HIGH, LOW = ("lockup.T3", "lockup_set.T3"), ("trickle.T3", "trickle_set.T3", "duty.T3")


def served(node: Node, station: Station, numbers: PlanNumbers) -> Node:
    """Return a step that opens to the consumers with what the outlet and their side may read then.

    From the lowest duty of any stream, less what it may droop by, to the highest lock-up, at the height of
    each tap; and never above the lowest normal limit of the consumers, nor above a trip. Where another feed
    may hold the zone higher the high alarm is the upper edge, without one the trip; what lies between the
    highest lock-up and that edge is told.
    """
    inputs = [one for one in node.inputs if one.name in READ and one.quantity == "pressure" and one.tap]
    if node.id.partition(".")[0].partition("@")[0] not in OPENED or not inputs:
        return node
    heights = {part.id: part.height.si for part in station.parts() if isinstance(part, Tap) and part.height}
    density = properties(station.water.temperature.si, STANDARD_ATMOSPHERE_PA).density
    base = next((heights.get(one.tap, 0.0) for one in inputs if one.name != "T4"), 0.0)
    found, limits = list[Expect](), list[Otherwise]()
    normal = weakest_normal(component_limits(station, density))
    band, trip = _band(numbers), _trip(numbers)
    for one in inputs:
        level = heights.get(one.tap, 0.0)
        at = inf
        if normal is not None and normal.normal_at_datum is not None:
            at = to_level(normal.normal_at_datum, level=level, datum=0.0, density=density)
            limits.append(_above(one.name, one.tap, at))
        by = to_level(0.0, level=level, datum=base, density=density)
        if trip is not None and trip + by < at:
            limits.append(_past_trip(one.name, one.tap, trip + by))
        if band is not None:
            high: float | None = band.high + by
            if station.zone.other_feed:
                edge = _fed_edge(station)
                high = None if edge is None else to_level(edge, level=level, datum=0.0, density=density)
                if high is None or high > band.high + by:
                    limits.append(_fed(one.name, one.tap, band.high + by, high))
            found.append(Expect(one.name, band.low + by, high, Message("why.served"), band.nominal + by))
    return replace(node, expect=(*node.expect, *found), otherwise=(*limits, *node.otherwise))


def _trip(numbers: PlanNumbers) -> float | None:
    """Return the upper edge of the highest trip, as a gauge reads it at T3: above it nothing stands open."""
    every = [own.target_reading for own in (numbers, *numbers.streams.values())]
    return max((reading["trip_high"] for reading in every if "trip_high" in reading), default=None)


def _fed_edge(station: Station) -> float | None:
    """Return what another feed must not hold the zone above: the high alarm, else the highest trip. [Pa]"""
    trips = (part.trip.si for part in station.parts() if isinstance(part, ShutOff) and part.trip is not None)
    return station.alarm.pressure.si if station.alarm is not None else max(trips, default=None)


def _band(numbers: PlanNumbers) -> Band | None:
    """Return what the outlet may read in service, over every stream; None where the twin has no bands."""
    every = [own.bands for own in (numbers, *numbers.streams.values())]
    highs = [bands[key] for bands in every for key in HIGH if key in bands]
    lows = [bands[key] for bands in every for key in LOW if key in bands]
    if not highs or not lows:
        return None
    duty = next((bands["duty.T3"].nominal for bands in every if "duty.T3" in bands), lows[0].nominal)
    low = min(band.low for band in lows) - SERVED_BELOW.si
    return Band(low, max(band.high for band in highs) + SERVED_ABOVE.si, duty, lows[0].probability)


def _above(name: str, tap: str, limit: float) -> Otherwise:
    when: Expression = {"gt": [{"value": name}, limit]}
    see = Message("served.above.see", {"normal_limit": Amount("pressure", limit), "tap": tap})
    return Otherwise(when, see, Message("served.above.means"), Message("served.above.then"))


def _past_trip(name: str, tap: str, edge: float) -> Otherwise:
    see = Message("served.trip.see", {"tap": tap, "trip_edge": Amount("pressure", edge)})
    return Otherwise(
        {"gt": [{"value": name}, edge]}, see, Message("served.trip.means"), Message("served.trip.then")
    )


def _fed(name: str, tap: str, lockup: float, edge: float | None) -> Otherwise:
    """Return what is told of an outlet above the highest lock-up where another feed may hold it."""
    above: Expression = {"gt": [{"value": name}, lockup]}
    when: Expression = above if edge is None else {"all": [above, {"le": [{"value": name}, edge]}]}
    see = Message("served.fed.see", {"lockup_edge": Amount("pressure", lockup), "tap": tap})
    return Otherwise(when, see, Message("served.fed.means"), Message("served.fed.then"), tells=True)
