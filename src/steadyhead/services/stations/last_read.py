"""What was last read at the taps of a station in service: at one step of a visit, carried to the datum.

Readings of several steps never stand side by side: between them valves were shut and pipes vented, and a line
through them would show a state that never was.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from sqlalchemy import Connection, select

from steadyhead.design.tolerances import gauge_error
from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.ledger import read
from steadyhead.records.entry import Entry
from steadyhead.records.parts import Tap
from steadyhead.records.station import Station
from steadyhead.register.tables import prepared as table
from steadyhead.services.prepared import keep_in, key_of
from steadyhead.services.visits_kept.run_rows import Run, entries_of, runs
from steadyhead.station.elevation import to_datum

KIND = "last read"
LOOKED_AT = 4
"""Visits looked through for readings, the newest first. Own choice."""
NOT_OF_SERVICE = ("trip", "starts to shut", "peak", "act", "zero", "comparison", "first hold", "rising")
"""Marks of readings that show a test in progress, not how the station stands."""
IN_SERVICE = ("J", "Y8", "H", "Y1")
"""Steps that find the station in service, the telling ones first: handing back, flow tests, as found."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading at a tap.

    Parameters
    ----------
    tap, at
        Where, and the day and time as the clock on site had it: ISO, to the minute.
    pressure, tolerance
        At datum [Pa]; ± of the gauge where it is known [Pa].
    gauge, marked
        Instrument, and what the reading was marked as; may be empty.
    """

    tap: str
    at: str
    pressure: float
    tolerance: float | None
    gauge: str
    marked: str


@dataclass(frozen=True, slots=True)
class LastRead:
    """What the taps read at one step in service, in the last visit with one: visit, title, day, readings."""

    run: str
    title: str
    day: str
    readings: tuple[Reading, ...]

    def at(self, tap: str) -> Reading | None:
        """Return the reading of a tap; None where it was not read."""
        return next((one for one in self.readings if one.tap == tap), None)


def last_read(
    connection: Connection, key: str, digest: str, station: Callable[[], tuple[Station, float]]
) -> LastRead | None:
    """Return what was last read; None where no visit read a pressure in service.

    digest: hash of the station file; station: gives the station of it and the density of its water [kg/m³].
    """
    for run in runs(connection, key)[:LOOKED_AT]:
        if not run.entries:
            continue
        found = _of_run(connection, run, digest, station)
        if found is not None:
            return found
    return None


def _of_run(
    connection: Connection, run: Run, digest: str, station: Callable[[], tuple[Station, float]]
) -> LastRead | None:
    name = key_of(KIND, {"run": run.id, "entries": str(run.entries), "file": digest})
    stored = connection.execute(select(table.c.body).where(table.c.key == name)).scalar()
    if stored is not None:
        return from_plain(json.loads(bytes(stored)))
    record, density = station()
    made = _worked_out(entries_of(connection, run.id), run, record, density)
    body = json.dumps(None if made is None else asdict(made)).encode()
    keep_in(connection, run.station, KIND, name, body)
    return made


def _worked_out(entries: bytes, run: Run, station: Station, density: float) -> LastRead | None:
    taps = {part.id: part for part in station.parts() if isinstance(part, Tap)}
    gauges = {gauge.id: gauge_error(gauge) for gauge in station.gauges}
    steps: dict[str, dict[str, Reading]] = {}
    for entry in _in_time(read(entries).of_run(run.id).standing):
        payload = entry.payload
        tap, value = taps.get(str(payload.get("tap", ""))), payload.get("value")
        if entry.kind != "reading" or tap is None or not is_number(value) or payload.get("swing"):
            continue
        if payload.get("quantity", "pressure") != "pressure" or payload.get("as") in NOT_OF_SERVICE:
            continue
        height = payload.get("read_at_height")
        own = tap.height.si if tap.height is not None else 0.0
        level = float(height) if is_number(height) else own
        gauge = str(payload.get("instrument", ""))
        steps.setdefault(entry.node, {})[tap.id] = Reading(
            tap=tap.id,
            at=entry.t_device[:16],
            pressure=to_datum(float(value), level=level, datum=0.0, density=density),
            tolerance=gauges.get(gauge),
            gauge=gauge,
            marked=str(payload.get("as", "")),
        )
    found = _of_service(steps)
    if not found:
        return None
    last = max(one.at for one in found.values())
    shown = tuple(found[tap] for tap in taps if tap in found)
    return LastRead(run.id, run.title, last[:10], shown)


def _of_service(steps: Mapping[str, dict[str, Reading]]) -> dict[str, Reading]:
    """Return what the step in service with the most taps read, the newest of several; empty without one."""
    for kind in IN_SERVICE:
        of_kind = [taps for node, taps in steps.items() if node.startswith(kind)]
        if of_kind:
            return max(of_kind, key=lambda taps: (len(taps), max(one.at for one in taps.values())))
    return {}


def _in_time(entries: tuple[Entry, ...]) -> Iterator[Entry]:
    yield from sorted(entries, key=lambda entry: entry.time)


def from_plain(plain: Mapping[str, Any] | None) -> LastRead | None:
    """Return it from its plain data."""
    if plain is None:
        return None
    readings = tuple(Reading(**one) for one in plain["readings"])
    return LastRead(plain["run"], plain["title"], plain["day"], readings)
