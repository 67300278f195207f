"""Common causes and failures a shut-off does not cover, in words (design handbook 2.4a)."""

from __future__ import annotations

from steadyhead.design.basis import Basis
from steadyhead.records.ladder import Ladder
from steadyhead.records.parts import ShutOff
from steadyhead.records.protection import Failure, Protection
from steadyhead.units import two_figures


def common_causes(basis: Basis) -> tuple[str, ...]:
    """Return what can disable reducer and shut-off together; empty where there is no shut-off."""
    shut_off = basis.layout.shut_off
    if shut_off is None or not basis.layout.reducers:
        return ()
    reducer = basis.worker
    causes = []
    if shut_off.sensing_tap == "shared with reducer":
        causes.append(
            "shared sensing tap or root cock shut or blocked: the reducer drives open and the shut-off is "
            "blind"
        )
    if shut_off.sensing_tap == "not known":
        causes.append("sensing tap perhaps shared: not known")
    if shut_off.chamber_feed == "shared filter" or reducer.chamber_feed == "shared filter":
        causes.append("shared filter of the chamber feeds blocked")
    causes.append("the same dirty water in both pilots")
    hazards = basis.station.station.hazards
    if "flooding" in hazards:
        causes.append("flooded chamber: breathers and exhaust ports under water")
    if "frost" in hazards:
        causes.append("frozen sensing and chamber lines")
    if _shares_tap(basis):
        causes.append("the sensing tap that worker and monitor share: shut or blocked, both drive open")
    causes.append("the same hand on both pilots")
    return tuple(causes)


def not_covered(basis: Basis, ladder: Ladder, proof: Protection | None = None) -> tuple[str, ...]:
    """Return the failures the shut-off is not credited for, in words; speeds first, then what a proof ran."""
    shut_off = basis.layout.shut_off
    if shut_off is None:
        return _without_shut_off(basis)
    found = [
        f"reducer goes open within {duration_words(peak.within)} at {peak.at}"
        for peak in ladder.peaks
        if peak.covered is False
    ]
    if proof is not None:
        found += _not_proved(proof)
    if shut_off.sensing_tap != "own":
        found.append("sensing line shut or blocked: the tap is shared, or not known to be the shut-off's own")
    found += _blind(shut_off)
    found.append("sudden surge from the supply main")
    if basis.layout.pairing == "staged":
        found.append("both stages go open together: the sheet counts the last one alone")
    if basis.layout.bypasses:
        found.append("bypass opened by hand")
    if _medium_passes_reducer(basis, shut_off):
        found.append(
            "closing line from the station inlet: a torn diaphragm or passing pilot feeds the consumers "
            "past the reducer"
        )
    return tuple(found)


def _not_proved(proof: Protection) -> list[str]:
    """Return the failures a proof ran that nobody credits and that pass a limit."""
    words = {"pilot stuck": "pilot of {0} sticks open", "diaphragm torn": "diaphragm of {0} tears"}
    return [
        words[failure.kind].format(failure.reducer)
        for failure in proof.failures
        if not failure.credited and failure.kind in words and _passes(proof, failure)
    ]


def _passes(proof: Protection, failure: Failure) -> bool:
    return not all(case.is_held for case in proof.of(failure))


def _blind(shut_off: ShutOff) -> list[str]:
    found = ["the shut-off's own sensing cock shut"]
    if shut_off.closes_by in ("line pressure", "not known"):
        found.append(
            "torn main diaphragm of the shut-off, blocked or shut feed of its chamber: it cannot close and "
            "gives no sign"
        )
    return found


def _medium_passes_reducer(basis: Basis, shut_off: ShutOff) -> bool:
    downstream = basis.layout.shut_off_place == "downstream"
    return downstream and shut_off.closing_medium in ("station inlet", "not known")


def _without_shut_off(basis: Basis) -> tuple[str, ...]:
    if basis.layout.pairing == "monitor":
        return (
            "worker and monitor fail open together",
            "their common sensing tap shut or blocked: both drive open"
            if _shares_tap(basis)
            else "sensing tap of the monitor shut or blocked: it gives no sign until the worker fails",
            "surge from the supply main",
        )
    if basis.layout.pairing == "staged":
        return (
            "both reducers fail open",
            "second reducer fails open: consumers see the inter-stage pressure",
            "surge from the supply main",
        )
    if basis.reliefs:
        return (
            "relief valve stuck shut, or its cock shut",
            "discharge of the relief valve blocked or drowned",
            "surge from the supply main",
        )
    return ("reducer fails open", "surge from the supply main")


def _shares_tap(basis: Basis) -> bool:
    monitor = basis.monitor
    return monitor is not None and monitor.senses == basis.worker.senses


def duration_words(seconds: float) -> str:
    """Return a duration as people say it.

    >>> duration_words(95.0), duration_words(120.0), duration_words(1.5 * 3600)
    ('95 s', '2 min', '1.5 h')
    """
    if seconds < 120.0:
        return f"{_two(seconds)} s"
    if seconds < 5400.0:
        return f"{_two(seconds / 60.0)} min"
    return f"{_two(seconds / 3600.0)} h"


def _two(number: float) -> str:
    """Two figures, without an exponent."""
    return two_figures(number)
