"""What the register knows of a station that helps to read and judge its loggers' files, and to measure by."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from steadyhead.errors import InputErrors
from steadyhead.records.cavitation import TO_SIGMA_1
from steadyhead.records.logger import Known
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.station import Station
from steadyhead.register import Register
from steadyhead.services.stations.days import today
from steadyhead.services.stations.judged import judge_at
from steadyhead.services.stations.kept import head_file

BAR, AN_HOUR = 1e5, 3600.0


@dataclass(frozen=True, slots=True)
class Bounds:
    """What measures are held against, by the station's file; None: not stated there.

    Parameters
    ----------
    low, high
        Band of normal running of the outlet. [Pa]
    trip
        Lower edge of the trip. [Pa]
    cavitation
        Limit of σ₁ of the one reducer; of the steadiest degree stated, the highest over the lifts.
    shut_off
        Resistance of the shut-off fully open. [Pa s²/m⁶]
    """

    low: float | None = None
    high: float | None = None
    trip: float | None = None
    cavitation: float | None = None
    shut_off: float | None = None


def known_of(register: Register, key: str, day: date | None = None) -> Known:
    """Return lock-up, trip, inlet and mean flow by the station's file; unknown where it cannot be judged.

    Raises
    ------
    NotKept
        No such station.
    """
    return all_known(register, key, day)[0]


def all_known(register: Register, key: str, day: date | None = None) -> tuple[Known, Bounds]:
    """Return what is known of a station, and what its measures are held against; see `known_of`."""
    head = head_file(register, key)
    try:
        judged = judge_at(head.source, day or today())
    except InputErrors:
        return Known(), Bounds()
    station, ladder = judged.loaded.station, judged.sheet.ladder
    inputs = None if ladder is None else ladder.inputs
    known = Known(
        lockup=None if inputs is None else inputs.lockup,
        trip=None if inputs is None else inputs.trip,
        inlet=station.supply.typical.si,
        flow=station.demand.average.si,
    )
    if ladder is None:
        return known, Bounds(cavitation=_cavitation(station), shut_off=_shut_off(station))
    return known, Bounds(
        low=ladder.lowest_normal, high=ladder.highest_normal, trip=ladder.worst_case.trip_lower_edge,
        cavitation=_cavitation(station), shut_off=_shut_off(station),
    )  # fmt: skip


def _cavitation(station: Station) -> float | None:
    """Return the limit of the index; None for two reducers, and where it is scaled to a size."""
    reducers = [one for one in station.parts() if isinstance(one, Reducer)]
    if len(reducers) != 1 or (limits := reducers[0].cavitation) is None or limits.scaling is not None:
        return None
    for degree in ("constant", "incipient", "damage"):
        stated = [one.si for row in limits.limits if (one := getattr(row, degree)) is not None]
        if stated:
            return max(TO_SIGMA_1[limits.index](one) for one in stated)
    return None


def _shut_off(station: Station) -> float | None:
    found = [one for one in station.parts() if isinstance(one, ShutOff)]
    if len(found) != 1 or (kv := found[0].kv) is None or kv.si <= 0.0:
        return None
    return BAR / (kv.si / AN_HOUR) ** 2
