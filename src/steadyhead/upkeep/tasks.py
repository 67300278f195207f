"""Which activities a station and each of its places have, with interval: follows from its file."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from steadyhead.records.parts import LinePart, Strainer
from steadyhead.records.station import Station
from steadyhead.records.values import Default
from steadyhead.station.layout import carries_fire_water
from steadyhead.station.streams import views
from steadyhead.upkeep import defaults
from steadyhead.upkeep.activities import ALL, Activity, Scope
from steadyhead.upkeep.factors import Factor, of_file
from steadyhead.upkeep.places import PILOT, Place, has_pilot, places
from steadyhead.visits import spans

MANNED = ("building plant room", "industrial")
CHAMBERS = ("utility chamber", "kiosk")
SCOPES: dict[str, Scope] = {
    "shut_off": "shut-off", "reducer": "reducer", "strainer": "strainer", "relief": "relief",
    "isolating_valve": "isolating valve", "expansion_vessel": "vessel",
}  # fmt: skip
FINEST_MM = 0.15
"""Coarsest filter that counts as a fine one in a building. [mm]"""
_MESH = re.compile(r"(\d+(?:[.,]\d+)?)\s*(mm|µm|um|μm)")


@dataclass(frozen=True, slots=True)
class Task:
    """One activity at one place of one station.

    Parameters
    ----------
    activity
        What is done.
    place, at
        Id of the place and its words, both empty for the whole station.
    base
        Interval it starts from, by the kind of station.
    isolation
        The section that is shut off for it; empty where nothing need be.
    factors
        What the station file alone says about its interval.
    stands_in
        Place of the piece whose history counts: the valve's, or its pilot's; empty for none.
    """

    activity: Activity
    place: str
    at: str
    base: Default
    isolation: str = ""
    factors: tuple[Factor, ...] = ()
    stands_in: str = ""

    @property
    def months(self) -> float:
        """Interval before any factor. [months]"""
        return self.base.si / defaults.MONTH


def tasks(station: Station) -> tuple[Task, ...]:
    """Return everything there is to do at a station, in walking order, the station as a whole last."""
    watching = monitors(station)
    found = [task for place in places(station) for task in _at(station, place, watching)]
    return (*found, *_whole(station))


def monitors(station: Station) -> frozenset[str]:
    """Return the ids of reducers that stand idle and take over when another one fails."""
    found = (spans.monitor(view.layout) for view in views(station))
    return frozenset(one.id for one in found if one is not None)


def _at(station: Station, place: Place, watching: frozenset[str]) -> Iterator[Task]:
    scope = SCOPES.get(place.part.part)
    is_monitor = place.id in watching
    for activity in ALL:
        fits = scope in activity.scope or (is_monitor and "monitor" in activity.scope)
        if (
            not fits
            or not _applies(activity, place.part)
            or (is_monitor and activity.key == "functional_check")
        ):
            continue
        piece = activity.follows != "place"
        pilot = PILOT if activity.at_pilot else ""
        yield Task(
            activity,
            place.id,
            f"pilot of {place.words}" if activity.at_pilot else place.words,
            _base(station, activity, place.part),
            place.isolation if activity.needs == "section" else "",
            of_file(station, activity, place.part),
            f"{place.id}{pilot}" if piece else "",
        )


def _applies(activity: Activity, part: LinePart) -> bool:
    return has_pilot(part) if activity.at_pilot else True


def _whole(station: Station) -> Iterator[Task]:
    for activity in ALL:
        if "station" in activity.scope and _has(station, activity.key):
            factors = of_file(station, activity, None)
            yield Task(activity, "", "", _base(station, activity, None), "", factors)


def _has(station: Station, key: str) -> bool:
    """Return whether the station as a whole has an activity."""
    kind, hazards = station.station.kind, station.station.hazards
    return {
        "alarm_check": station.alarm is not None,
        "fire_look": carries_fire_water(station),
        "fire_part": carries_fire_water(station),
        "fire_full": carries_fire_water(station),
        "ladders": kind in CHAMBERS or "ladder" in hazards or "confined space" in hazards,
    }.get(key, True)


def _base(station: Station, activity: Activity, part: LinePart | None) -> Default:
    if activity.key == "look" and station.station.kind in MANNED:
        return defaults.LOOK_MANNED
    if isinstance(part, Strainer) and activity.key == "strainer_clean" and is_fine(station, part):
        return defaults.FINE_STRAINER
    return activity.base


def is_fine(station: Station, strainer: Strainer) -> bool:
    """Return whether a strainer is the fine filter of a building, by the mesh its file states."""
    found = _MESH.search(strainer.mesh)
    if found is None or station.station.kind != "building plant room":
        return False
    size = float(found[1].replace(",", "."))
    return (size if found[2] == "mm" else size / 1000.0) <= FINEST_MM
