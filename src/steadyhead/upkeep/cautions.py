"""Cautions at steps that can hurt: the hazard, then the usual care. Reminders, never a permission."""

from __future__ import annotations

from collections.abc import Sequence

from steadyhead.records.station import Station

DEFERS = (
    "Local codes, the equipment supplier's instructions, the permit and the owner's rules come first. "
    "This list authorises no work."
)
CAUTIONS: dict[str, tuple[str, str]] = {
    "isolation": (
        "Isolation",
        "Shut slowly, lock, tag. One valve may pass. Say first who loses water, and who is told.",
    ),
    "pressure": (
        "Stored pressure",
        "Vent the section and see zero on a live gauge of that very section before a plug or cover is "
        "loosened. A shut valve can hold pressure behind it.",
    ),
    "proof": (
        "Raising the outlet",
        "Only by the test plan of this station: consumers shut off and proved so, water running at the "
        "drain, nothing tapped or stroked before the first run.",
    ),
    "discharge": (
        "Discharge",
        "Know where the water goes and who stands there. Never into an occupied chamber. "
        "Never plug a relief valve.",
    ),
    "alarm": ("Alarm on test", "Tell the desk before and after. The alarm is live again before you leave."),
    "lifting": ("Lifting", "Covers are heavy: rated eyes, two persons, no hand under a lid that hangs."),
    "stale": (
        "Proofs fall",
        "What is opened or turned makes proofs stale. Prove again what rests on it before you rely on it.",
    ),
    "water": ("Drinking water", "Clean tools and parts only. Flush to clear before the section goes back."),
    "hammer": ("Water hammer", "Last part of the closing slowest; count the turns; stop where it binds."),
    "consumers": ("Consumers", "Each movement changes the flow: low pressure, dirty water, air."),
    "fire": (
        "Fire protection out of service",
        "The fire authority's rules for an impairment hold: notice before, an end time, all told after.",
    ),
    "lid": (
        "Open lid",
        "Barrier and light. Two persons for the lid. Nobody on a ladder not looked at first.",
    ),
    "confined": (
        "Confined space",
        "Class of this very chamber, air tested before and during, somebody outside, rescue without entry.",
    ),
    "flooding": ("Flooding", "Know the fastest isolation from outside. Out when water rises."),
    "traffic": ("Traffic", "Closure by the local rule before the lid is lifted."),
    "electric": ("Electric", "Isolated and proved dead by an authorised person; no box opened under a drip."),
}


def cautions(names: Sequence[str], station: Station) -> tuple[tuple[str, str], ...]:
    """Return hazard and care for an activity that opens or moves something, those of the place first.

    names: the activity's own; empty where it needs no entry of its own: then only the place is told.
    """
    hazards = station.station.hazards
    confined = station.station.kind == "utility chamber" or "confined space" in hazards
    here = [name for name, told in (("confined", confined), ("flooding", "flooding" in hazards)) if told]
    here += [name for name in ("traffic", "electric") if name in hazards]
    return tuple(CAUTIONS[name] for name in dict.fromkeys((*here, *names)))
