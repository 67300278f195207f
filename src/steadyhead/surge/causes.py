"""Why a limit is passed in an event, and what would cure it: by what happens, and by what stands there."""

from __future__ import annotations

from steadyhead.hydraulics import Model
from steadyhead.records.surge import FAILING, SurgeRun

BY_HAND = ("inlet-valve-closed", "outlet-valve-closed", "screw-turned", "opening")
"""Events a hand makes as fast as it likes."""
RATING = "or prove a higher rating."


def is_uncredited(model: Model, event: str, within: float | None) -> bool:
    """Return whether a reducer fails that a shut-off stands behind, as the file credits none.

    As in the protection proof: that such a failure passes a limit is to be heeded, and forbids nothing. A
    failure is credited where the file credits one that is as fast.

    Parameters
    ----------
    model
        Of the way.
    event, within
        The event and the time given for it; None: that of the file, if there is one. [s]
    """
    if event not in FAILING or not model.shut_offs:
        return False
    credited = [one.within.si for one in model.station.credited]
    return event != "fails-open" or not credited or (within is not None and within < min(credited))


def cause_of(run: SurgeRun) -> tuple[str, str]:
    """Return (why a limit is passed, what would cure it) of a run."""
    if run.group in BY_HAND:
        return (
            "A hand on a valve or a screw is faster than this pipe bears.",
            f"Move it more slowly (--within shows how slowly); fit relief or a vessel; {RATING}",
        )
    if run.group in FAILING:
        return _failing(run)
    if run.group == "restart":
        return (
            "The line is opened faster than it bears, or onto a reducer that stands open or has failed.",
            f"Refill by trickle through the inlet valve, as the card says, and only then open; {RATING}",
        )
    if run.group == "air-in-chamber":
        return (
            "On air in its chamber the stem swings.",
            "Vent the cover and the pilot lines; see that they stay full of water.",
        )
    return (
        "The flow or the supply changes faster than the reducer follows and the pipe bears.",
        f"Let it take longer where somebody can; fit relief or a vessel; {RATING}",
    )


def _failing(run: SurgeRun) -> tuple[str, str]:
    if not run.shut_offs:
        return (
            "The reducer fails, and nothing here shuts.",
            f"Fit a shut-off, a monitor or relief; {RATING}",
        )
    if all(one.trip is None for one in run.shut_offs):
        return (
            "The reducer fails, and the shut-off does not trip.",
            f"State or lower its trip; fit relief; {RATING}",
        )
    claimed = "Nobody credits the shut-off with it. " if run.is_uncredited else ""
    return (
        f"{claimed}The shut-off stops the water too late for what lies behind it, or too fast for what "
        "stands ahead.",
        "See the window of its closing time (steadyhead prove); lower the trip; fit relief or a vessel; "
        f"{RATING}",
    )
