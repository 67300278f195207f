"""A register with one visit on a plan that was taken in, made in a moment: station, plan, some entries."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.register import Register, open_register
from steadyhead.services.plan_files import PlanFile, plan_file, read_plan_file
from steadyhead.services.planning import make_plan
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept import plans, runs
from steadyhead.services.visits_kept.run_rows import entries_of
from steadyhead.station.canonical import canonical
from steadyhead.station.examples import read
from tests.procedure.walking import Device, clean_ways, walk

STATION, KEY, RUN, WHO = "quillenby-row", "QUR-02", "visit-1", "Ilse Marrow"


@dataclass
class Visit:
    """A visit that is under way. entries: of the whole of it; only some are in the register."""

    register: Register
    plan: PlanFile
    file: bytes
    entries: list[Entry]

    @property
    def kept(self) -> bytes:
        """The entries of the register as a file."""
        with self.register.reading() as connection:
            return entries_of(connection, RUN)

    def made(self, kind: str, payload: dict[str, object], device: str = "tab-2", node: str = "") -> Entry:
        """Return an entry of another tablet, after all that is here."""
        return Device(device, RUN, start=22 * 3600.0).make(kind, payload, node)


@cache
def planned() -> tuple[bytes, tuple[Entry, ...]]:
    """Return a plan file, and the entries of a clean visit on it."""
    made = make_plan(read(STATION), "first")
    assert made.procedure is not None
    content = plan_file(made.procedure)
    procedure = read_plan_file(content).procedure
    return content, tuple(walk(procedure, clean_ways(procedure)[0], Device("tab-1", RUN)))


def begun(folder: Path, count: int) -> Visit:
    """Return a visit of which the first so many entries are in the register."""
    content, entries = planned()
    register = open_register(folder)
    save(register, read(STATION), WHO, "first")
    record = plans.take_plan(register, KEY, content, WHO)
    runs.begin_from(register, KEY, dump(entries[:count]), WHO, record.id)
    return Visit(register, read_plan_file(content), content, list(entries))


def line(entry: Entry) -> str:
    """Return the line an entry is sent as."""
    return canonical(plain_entry(entry)).decode()
