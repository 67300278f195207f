"""Why a limit is passed in an event, and what would cure it: by what happens, and by what stands there."""

from __future__ import annotations

from steadyhead.records.surge import SurgeRun

BY_HAND = ("inlet-valve-closed", "outlet-valve-closed", "screw-turned", "opening")
"""Events a hand makes as fast as it likes."""
FAILING = ("fails-open", "pilot-stuck", "diaphragm-torn")
"""Events in which a reducer fails."""
RATING = "or prove a higher rating."


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
    return (
        "The shut-off stops the water too late for what lies behind it, or too fast for what stands ahead.",
        "See the window of its closing time (steadyhead prove); lower the trip; fit relief or a vessel; "
        f"{RATING}",
    )
