"""The activities of upkeep: what is done, at what, how often, with which need and which cautions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from steadyhead.records.values import Default
from steadyhead.upkeep import defaults

Scope = Literal[
    "station", "shut-off", "reducer", "strainer", "relief", "isolating valve", "vessel", "monitor"
]
Needs = Literal["nothing", "section"]
Follows = Literal["place", "piece", "both"]

MOST, MUCH, SOME, LITTLE = 3, 2, 1, 0
"""What waiting costs: protection that may not be there; supply held wrongly; wear; a look. Own ranking."""


@dataclass(frozen=True, slots=True)
class Activity:
    """One kind of upkeep.

    Parameters
    ----------
    key
        Stable name, kept with every line.
    does, noun
        As a thing to do, and as a thing that was done.
    scope
        What it is done at.
    base
        Interval under average conditions.
    least, most
        Intervals an owner may set, and between which factors are clamped. [months]
    needs
        ``section``: the length between its isolating valves is shut off for it.
    follows
        Whose history counts: that of the place, of the piece that stands there, or of the place since the
        piece came.
    weighs
        What waiting costs, 3 most.
    finds
        What it finds.
    drivers
        Names of the factors that can change its interval (`steadyhead.upkeep.factors`).
    cautions
        Names of its cautions (`steadyhead.upkeep.cautions`).
    at_pilot
        Done at the pilot, which is a piece of its own.
    proves
        It proves what protects: where none is on record it is due at once.
    is_routine
        Done in passing; it stands in no list of what is next.
    """

    key: str
    does: str
    noun: str
    scope: tuple[Scope, ...]
    base: Default
    least: float
    most: float
    weighs: int
    finds: str
    needs: Needs = "nothing"
    follows: Follows = "place"
    drivers: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    at_pilot: bool = False
    is_routine: bool = False
    proves: bool = False

    @property
    def months(self) -> float:
        """Interval under average conditions. [months]"""
        return self.base.si / defaults.MONTH


_OPENED = ("isolation", "pressure")
_VALVES: tuple[Scope, ...] = ("reducer", "shut-off")

ALL: tuple[Activity, ...] = (
    Activity(
        "trip_proof",
        "Prove the trip",
        "trip proof",
        ("shut-off",),
        defaults.TRIP_PROOF,
        3,
        24,
        MOST,
        "a shut-off that would not act",
        "section",
        "both",
        ("critical", "redundant", "drift", "old"),
        ("isolation", "pressure", "proof"),
        proves=True,
    ),
    Activity(
        "monitor_proof",
        "Prove that it holds",
        "proof of the monitor",
        ("monitor",),
        defaults.MONITOR,
        3,
        24,
        MOST,
        "a monitor that would not hold",
        "section",
        "both",
        ("critical", "old"),
        ("isolation", "pressure", "proof"),
        proves=True,
    ),
    Activity(
        "relief_lift",
        "Lift and reseat",
        "lift of the relief valve",
        ("relief",),
        defaults.RELIEF,
        3,
        24,
        MOST,
        "a disc that sticks, or weeps",
        "nothing",
        "both",
        ("critical", "old"),
        ("discharge",),
    ),
    Activity(
        "fire_look",
        "Inspect the fire service reducer",
        "fire service inspection",
        ("station",),
        defaults.FIRE_LOOK,
        1,
        6,
        MOST,
        "a valve shut, a leak, a gauge that is off",
        cautions=("fire",),
    ),
    Activity(
        "fire_part",
        "Draw a partial fire flow",
        "partial fire flow",
        ("station",),
        defaults.FIRE_PART,
        3,
        12,
        MOST,
        "a reducer that does not open",
        cautions=("fire", "discharge"),
    ),
    Activity(
        "fire_full",
        "Draw the full fire flow",
        "full fire flow",
        ("station",),
        defaults.FIRE_FULL,
        12,
        60,
        MOST,
        "less water than the fire service counts on",
        cautions=("fire", "discharge"),
    ),
    Activity(
        "alarm_check",
        "Prove the high outlet alarm",
        "alarm proof",
        ("station",),
        defaults.ALARM,
        3,
        24,
        MUCH,
        "an alarm that nobody hears",
        drivers=("critical",),
        cautions=("alarm",),
    ),
    Activity(
        "functional_check",
        "Check duty and lock-up",
        "functional check",
        ("reducer",),
        defaults.FUNCTIONAL,
        3,
        24,
        MUCH,
        "wear of seat and pilot",
        "section",
        "both",
        ("critical", "old"),
        ("isolation", "pressure"),
    ),
    Activity(
        "vessel_precharge",
        "Check the precharge",
        "check of the precharge",
        ("vessel",),
        defaults.VESSEL,
        3,
        24,
        MUCH,
        "a vessel that takes nothing up",
        "section",
        cautions=_OPENED,
    ),
    Activity(
        "strainer_clean",
        "Open and clean",
        "cleaning of the strainer",
        ("strainer",),
        defaults.STRAINER_CLEAN,
        1,
        36,
        MUCH,
        "which debris comes, and how much",
        "section",
        drivers=("debris", "fast"),
        cautions=(*_OPENED, "water"),
    ),
    Activity(
        "pilot_filter",
        "Clean the filter",
        "cleaning of the pilot filter",
        _VALVES,
        defaults.PILOT_FILTER,
        1,
        36,
        MUCH,
        "a pilot that is being starved",
        "section",
        drivers=("debris",),
        cautions=(*_OPENED, "stale", "water"),
        at_pilot=True,
    ),
    Activity(
        "pilot_overhaul",
        "Overhaul",
        "overhaul of the pilot",
        _VALVES,
        defaults.PILOT_OVERHAUL,
        12,
        60,
        SOME,
        "ageing of diaphragm, seat and seals",
        "section",
        "piece",
        ("warm", "floods", "old"),
        (*_OPENED, "stale", "water"),
        at_pilot=True,
    ),
    Activity(
        "inside_inspection",
        "Inspect inside",
        "inside inspection",
        _VALVES,
        defaults.INSIDE,
        12,
        120,
        SOME,
        "seat wear, cavitation, scale, tired elastomers",
        "section",
        "piece",
        ("warm", "fast", "old"),
        (*_OPENED, "lifting", "stale", "water"),
    ),
    Activity(
        "isolating_travel",
        "Move over its travel",
        "travel of the isolating valve",
        ("isolating valve",),
        defaults.ISOLATING,
        3,
        36,
        SOME,
        "a spindle that is seized, a seat that passes",
        "section",
        cautions=("hammer", "consumers"),
    ),
    Activity(
        "gauges_compared",
        "Compare the fixed gauges",
        "comparison of gauges",
        ("station",),
        defaults.GAUGES,
        3,
        24,
        SOME,
        "gauges and transmitters that drifted",
    ),
    Activity(
        "ladders",
        "Inspect ladder and lid",
        "inspection of ladder and lid",
        ("station",),
        defaults.LADDERS,
        3,
        24,
        MUCH,
        "a rung or a lid that does not hold",
        drivers=("floods",),
        cautions=("lid",),
    ),
    Activity(
        "coating",
        "Inspect coating, bolts and supports",
        "inspection of the coating",
        ("station",),
        defaults.COATING,
        12,
        120,
        SOME,
        "corrosion",
        drivers=("floods",),
    ),
    Activity(
        "setting_review",
        "Review the settings",
        "review of the settings",
        ("station",),
        defaults.REVIEW,
        6,
        60,
        SOME,
        "a design basis that no longer holds",
    ),
    Activity(
        "strainer_reading",
        "Read the loss",
        "reading of the strainer",
        ("strainer",),
        defaults.STRAINER_READING,
        0.2,
        12,
        LITTLE,
        "blinding",
        is_routine=True,
    ),
    Activity(
        "look",
        "Look in",
        "look",
        ("station",),
        defaults.LOOK_CHAMBER,
        0.2,
        6,
        LITTLE,
        "leaks, water in the chamber, noise, a needle that moved",
        is_routine=True,
    ),
)
BY_KEY = {one.key: one for one in ALL}
INTO_SERVICE = "into_service"
"""Told once of a station: the day it went into service, from which everything counts that was never done."""
