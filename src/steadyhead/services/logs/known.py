"""What the register knows of a station that helps to read and judge its loggers' files."""

from __future__ import annotations

from datetime import date

from steadyhead.errors import InputErrors
from steadyhead.records.logger import Known
from steadyhead.register import Register
from steadyhead.services.stations.days import today
from steadyhead.services.stations.judged import judge_at
from steadyhead.services.stations.kept import head_file


def known_of(register: Register, key: str, day: date | None = None) -> Known:
    """Return lock-up, trip, inlet and mean flow by the station's file; unknown where it cannot be judged.

    Raises
    ------
    NotKept
        No such station.
    """
    head = head_file(register, key)
    try:
        judged = judge_at(head.source, day or today())
    except InputErrors:
        return Known()
    station, ladder = judged.loaded.station, judged.sheet.ladder
    inputs = None if ladder is None else ladder.inputs
    return Known(
        lockup=None if inputs is None else inputs.lockup,
        trip=None if inputs is None else inputs.trip,
        inlet=station.supply.typical.si,
        flow=station.demand.average.si,
    )
