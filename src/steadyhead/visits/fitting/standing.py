"""Values with which the twin does not stand at its duties are refused by name, not taken."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics import build
from steadyhead.records.baseline import TAKEN, Baseline, Fitted, Undetermined
from steadyhead.records.station import Station
from steadyhead.station.measured import with_baseline
from steadyhead.visits.fitting.outcome import Outcome

NEEDS = {"kv": "loss.again", "kv_clean": "loss.again"}
"""Which reading would tell a value that was refused; of the others the same readings again."""


def with_values(station: Station, fitted: tuple[Fitted, ...]) -> Station:
    """Return a station with the fitted values its twin takes over."""
    taken = tuple(one for one in fitted if one.name in TAKEN)
    return with_baseline(station, Baseline("", station.station.id, "", "", "", "", "", taken))


def refused(station: Station, found: Outcome) -> Outcome:
    """Return an outcome without the values with which the twin has no steady state at its duties.

    One that is refused keeps what the station file says; it is named with the reason ``does not stand``.
    Where the twin does not stand as the file has it, nothing can be told and all values are kept.

    Parameters
    ----------
    station
        As its file has it, one way through it.
    found
        What the readings give.
    """
    taken = tuple(one for one in found.fitted if one.name in TAKEN)
    if not taken or _stands(station, taken) or not _stands(station, ()):
        return found
    kept: tuple[Fitted, ...] = ()
    gone = []
    for one in sorted(taken, key=_off):
        if _stands(station, (*kept, one)):
            kept += (one,)
        else:
            gone.append(one)
    fitted = tuple(one for one in found.fitted if one not in gone)
    keys = {one.key for one in gone}
    return replace(
        found,
        fitted=fitted,
        undetermined=found.undetermined + tuple(_open(one) for one in gone),
        correlations=tuple(c for c in found.correlations if not {c.one, c.other} & keys),
    )


def _off(one: Fitted) -> float:
    """Return how far a value lies from what the twin had: the furthest is tried last. [1]"""
    if one.former is None or one.former <= 0.0 or one.value <= 0.0:
        return 0.0
    return max(one.value / one.former, one.former / one.value)


def _open(one: Fitted) -> Undetermined:
    needs = NEEDS.get(one.name, "any.again")
    return Undetermined(
        one.part, one.name, one.kind, "does not stand", needs, one.value, one.within, one.former,
        one.former_from,
    )  # fmt: skip


def _stands(station: Station, fitted: tuple[Fitted, ...]) -> bool:
    try:
        build(with_values(station, fitted) if fitted else station)
    except (InputError, NotConverged):
        return False
    return True
