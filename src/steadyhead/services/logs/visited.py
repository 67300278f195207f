"""What visits read of true pressures and of the logger's clock: the reference of its records."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from statistics import median

from steadyhead.errors import InputErrors
from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.ledger import read
from steadyhead.records.entry import Entry
from steadyhead.records.logger import GaugeVisit
from steadyhead.records.parts import Tap
from steadyhead.register import Register
from steadyhead.services.stations.days import today
from steadyhead.services.stations.judged import judge_at
from steadyhead.services.stations.kept import head_file
from steadyhead.services.stations.last_read import IN_SERVICE, NOT_OF_SERVICE
from steadyhead.services.visits_kept.run_rows import entries_of, runs
from steadyhead.station.elevation import to_datum
from steadyhead.station.streams import views
from steadyhead.visits.questions import tap_of_role

DENSITY = 999.0
"""Of cold water, for the few metres between a gauge and its tap. [kg/m³]"""
LONGEST = 86_400.0
"""A clock that is said to be further off was read wrongly. [s] Own estimate."""
Places = Mapping[str, tuple[str, float]]
"""``inlet`` or ``outlet``, and height of the tap [m], by the tap's id."""


def visits_of(register: Register, key: str, start: datetime, end: datetime) -> tuple[GaugeVisit, ...]:
    """Return what visits between two times read beside the logger, in order of time.

    Of each visit the last steady reading in service at the tap before the first valve and at the one behind
    the last, carried to the tap's own height, at its time on the logger's clock; and by how much the logger's
    clock stood ahead, where that was noted. A station of several streams, and a station file that cannot be
    read, have no tap that surely is the logger's: nothing is taken from their visits but the clock.

    Raises
    ------
    NotKept
        No such station.
    """
    with register.reading() as connection:
        entered = [(run.id, entries_of(connection, run.id)) for run in runs(connection, key) if run.entries]
    if not entered:
        return ()
    places = _places(register, key)
    out: list[GaugeVisit] = []
    for name, lines in entered:
        out += _of_run(sorted(read(lines).of_run(name).standing, key=lambda one: one.time), places)
    return tuple(sorted((one for one in out if start <= one.when <= end), key=lambda one: one.when))


def _places(register: Register, key: str) -> Places:
    try:
        station = judge_at(head_file(register, key).source, today()).loaded.station
    except InputErrors:
        return {}
    ways = views(station)
    if len(ways) != 1:
        return {}
    heights = {part.id: part.height for part in station.parts() if isinstance(part, Tap)}
    roles = tap_of_role(ways[0].layout)
    out: dict[str, tuple[str, float]] = {}
    for role, side in (("T1", "inlet"), ("T3", "outlet")):
        if role in roles:
            height = heights.get(roles[role])
            out[roles[role]] = (side, height.si if height is not None else 0.0)
    return out


def _of_run(entries: Iterable[Entry], places: Places) -> list[GaugeVisit]:
    clocks: list[tuple[float, float]] = []
    gauges: dict[str, tuple[float, float]] = {}
    for one in entries:
        told, value = one.payload, one.payload.get("value")
        if one.kind != "reading" or not is_number(value):
            continue
        if told.get("quantity") == "time" and told.get("input") == "logger" and abs(float(value)) < LONGEST:
            clocks.append((one.time, float(value)))
            continue
        side, height = places.get(str(told.get("tap", "")), ("", 0.0))
        if not side or told.get("quantity", "pressure") != "pressure" or not told.get("instrument"):
            continue
        if told.get("swing") or told.get("as") in NOT_OF_SERVICE or not one.node.startswith(IN_SERVICE):
            continue
        level = told.get("read_at_height")
        at = float(level) if is_number(level) else height
        gauges[side] = (one.time, to_datum(float(value), level=at, datum=height, density=DENSITY))
    ahead = median(off for _, off in clocks) if clocks else 0.0
    out = [GaugeVisit(_moment(clocks[-1][0]), clock=ahead)] if clocks else []
    for side, (when, pressure) in gauges.items():
        out.append(GaugeVisit(_moment(when + ahead), **{side: pressure}))
    return out


def _moment(seconds: float) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)
