"""How far a hand pump raises the shut outlet, and what leak past the outlet valve it can tell."""

from __future__ import annotations

from collections.abc import Callable

from steadyhead.records.plan_numbers import Pumped
from steadyhead.records.station import Station
from steadyhead.visits import defaults as d
from steadyhead.visits.tables.defaults import BELOW_TRIP_EDGE, NIGHT_SHARE


def accepted_leak(station: Station) -> float:
    """Return the leak past the shut outlet valve that the zone swallows at its lowest demand. [m³/s]"""
    demand = station.demand
    return 0.0 if demand.zero_possible else NIGHT_SHARE.si * demand.night.si


def pumped(
    station: Station,
    *,
    zone: float,
    limit: float,
    trip_low: float | None,
    read: Callable[[float], float],
    relief: float | None = None,
) -> dict[str, Pumped]:
    """Return how far the outlet is pumped and the leak accepted there, by state of the shut-off.

    ``out_of_way``: it cannot act, or there is none: up to the test limit. ``in_service``: 0.1 bar below its
    lower edge, or to the test limit where that is lower. The accepted leak belongs to the test limit; at a
    lower pressure less is accepted. A leak beyond what a hand pump brings is not measured by it: the pump
    then cannot hold the outlet, and the leak counts as too large until it is measured otherwise.

    Parameters
    ----------
    station
        For its lowest demand.
    zone
        What stands behind the outlet valve: the duty pressure. [Pa at datum]
    limit
        Test limit of the outlet. [Pa at datum]
    trip_low
        Lower edge of the trip, None without a shut-off. [Pa at datum]
    read
        Returns what the gauge of T3 reads for a pressure at the datum. [Pa]
    relief
        Lowest pressure at which a relief valve on the outlet may lift; the pump stays 0.1 bar below it.
        [Pa at datum]

    Notes
    -----
    q(p) = q(limit) · (p - p_zone) / (limit - p_zone): straight, below the square root that an orifice has
    between the two, so on the safe side (design handbook 3.2 D2).
    """
    ends = {"out_of_way": limit}
    if trip_low is not None:
        ends["in_service"] = min(trip_low - BELOW_TRIP_EDGE.si, limit)
    if relief is not None:
        ends = {name: min(end, relief - BELOW_TRIP_EDGE.si) for name, end in ends.items()}
    found = {}
    for name, end in ends.items():
        share = max(end - zone, 0.0) / (limit - zone) if limit > zone else 0.0
        leak = accepted_leak(station) * min(share, 1.0)
        most = d.PUMP_STROKES * d.PUMP_STROKE.si / 60.0
        told = min(leak, most)
        found[name] = Pumped(read(end), told, 60.0 * told / d.PUMP_STROKE.si, leak <= most)
    return found
