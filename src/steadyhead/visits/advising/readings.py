"""Which readings of a run tell where a reducer stands: those in the trickle, at whichever step."""

from __future__ import annotations

from collections.abc import Mapping

AT_TRICKLE: Mapping[str, tuple[str, ...]] = {
    "EF1": ("reading",), "ES1": ("first", "reading"), "ES2": ("reading",), "ES3": ("T3",),
    "DS2": ("T3", "first", "reading"), "DS3": ("T3",), "DS5": ("T2", "T2.after"), "F1": ("hold",),
    "F3": ("hold",), "F3R": ("hold",), "Y3": ("trickle",), "Y4": ("hold",), "Y6": ("hold",),
    "Y6T": ("hold",), "Y7": ("before", "trickle"), "H1": ("before", "trickle"), "H1F": ("trickle",),
}  # fmt: skip
"""Inputs that are read in the trickle with the shut-off open, by step; of several runs each."""
WITH_FLOW = ("before",)
"""Such of them as are read at duty flow as well: they count only where their own flow is noted."""
SEEN_AT = ("ES4", "ES5", "DS1", "DS4", "DS4x", "DS6", "F2", "F2R", "G4", "Y5", "Y6H")
"""Further steps at which the outlet is read while it is raised or brought back."""
AT_ACTION = ("act", "trip", "shut", "starts to shut")
"""What a reading is marked as, or named, that was taken as the shut-off acted."""
NOT_SETTLED = ("peak", "reset", "zero", "comparison", "typed later", "before nut")
"""Marks of readings that do not tell where a setting stands."""
NO_PRESSURE = ("zero", "comparison")
"""Marks of readings that the outlet did not stand at."""
TRICKLES = 1.5
"""Flow up to which a reading counts as taken in the trickle, over the trickle of the plan; own estimate."""


def base(step: str) -> str:
    """Return the position of a step in the tables, without its valve and stream."""
    return step.partition(".")[0].partition("@")[0]


def feeds(step: str) -> tuple[str, ...]:
    """Return the inputs of a step that tell where the reducer stands."""
    return AT_TRICKLE.get(base(step), ())
