"""Findings about a restart after a trip."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

_HB, _OWN = "design handbook", "own reasoning"

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "RUN-80",
        "nothing here trips",
        "No shut-off stands on this line: there is no trip to restart from.",
        "A restart begins at a valve that has shut by itself.",
        "For an outlet that stands too high, close the inlet valve and plan the repair: --for "
        "after-repair=ITEM.",
        sources=(f"{_HB} 7.4",),
    ),
    Entry(
        "RUN-81",
        "which stream tripped",
        "Several shut-offs stand here: {known}. The restart of one stream leaves the others in service.",
        "Steps written for the wrong stream would reset a valve that has not tripped.",
        "Name it: --for restart=STREAM.",
        sources=(f"{_HB} 3.6, 7.4",),
    ),
    Entry(
        "RUN-82",
        "reset with consumers connected",
        "Reset with the inlet fully open and the consumers connected: a reducer found {found}, {health}, "
        "brings them to {peak} and {comes_to}.",
        "After a trip the reducer may stand wide open behind the shut-off. Run with full pipes at night "
        "flow, both ends, sound and failed; the worst counts. Air is not modelled.",
        "Cut the consumers off, open the drain, throttle the inlet valve, then reset: step R7.",
        equation="worst of four runs of the surge engine",
        sources=(f"{_HB} 7.4 R7", _OWN),
    ),
    Entry(
        "RUN-83",
        "zone not described",
        "Neither the volume of the zone nor its main is stated: how long it lasts and what its refill takes "
        "have no figure.",
        "Full pipes hold little: minutes decide who must be told first.",
        "State zone.volume, or zone.main with bore and length.",
        equation="t = V β Δp / Q",
        sources=(f"{_HB} 7.4 R2, 3.3",),
    ),
    Entry(
        "RUN-84",
        "no limit on the consumer side",
        "No component on the consumer side states a limit: whether consumers stand too high after a trip "
        "cannot be judged.",
        "Step R5 lets water off before anything else where they do.",
        "State limits of the consumer side with their levels.",
        sources=(f"{_HB} 7.4 R5, R10",),
    ),
)
