"""A register with one station visited clean, made once; each test that writes gets a copy."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import pytest

from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import Entry
from steadyhead.register import Register, open_register
from steadyhead.services.example_year.clean_visit import clean_visit
from steadyhead.services.example_year.device import Device
from steadyhead.services.plan_files import read_plan_file
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept import certificates, plans, runs
from steadyhead.services.visits_kept.filing import Filed, filed
from steadyhead.services.visits_kept.standing import Standing, standing
from steadyhead.station.examples import read

KEY, RUN, WHO = "QUR-02", "visit-1", "Ilse Marrow"
BEGUN = datetime(2026, 4, 14, 7, 50, tzinfo=timezone(timedelta(hours=1)))
DAY = date(2026, 5, 1)


@dataclass
class Visited:
    """A register whose station was visited clean; the entries are not taken in yet.

    plan: id of its record; file: the plan file; entries: of the whole visit, signed last.
    """

    register: Register
    plan: str
    file: bytes
    entries: list[Entry]

    def taken(self, count: int | None = None) -> str:
        """Take the entries in, all or the first so many, and return the id of the run."""
        return runs.begin_from(
            self.register,
            KEY,
            dump(self.entries[:count]),
            WHO,
            self.plan,
            at="2026-04-14T17:00:00.000Z",
            day=DAY,
        ).run

    def stands(self, day: date = DAY) -> Standing:
        """Return how the station stands on a day."""
        with self.register.reading() as connection:
            return standing(connection, self.register, KEY, day, keep=False)

    @property
    def paper(self) -> Filed:
        """The newest certificate."""
        with self.register.reading() as connection:
            return filed(connection, KEY, ("certificate",))[0]

    def made(self, seconds: float, kind: str, payload: dict[str, object], number: int = 900) -> Entry:
        """Return an entry some seconds after the last one, by the other tablet."""
        device = Device(
            "tab-2", RUN, "Tam Oduya", self.entries[-1].clock + timedelta(seconds=seconds), 0.0, number
        )
        return device.make(kind, payload)


@pytest.fixture(scope="session")
def _folder(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str, bytes, list[Entry]]:
    folder = tmp_path_factory.mktemp("visited") / "register"
    register = open_register(folder)
    save(register, read("quillenby-row"), WHO, "first")
    made = plans.make(register, KEY, "first", "", WHO, at="2026-04-10T10:00:00.000Z")
    content = plans.plan_content(register, KEY, made.record.id)[1]
    stored = read_plan_file(content)
    device = Device("tab-1", RUN, WHO, BEGUN)
    way = {"E0.SO": "fits", "E0.RV": "fits"}
    people = ((WHO, "engineer"), ("Tam Oduya", "technician"))
    entries = clean_visit(stored.procedure, way, device, people, plan=stored.sha256)
    entries.append(device.make("sign", {"asks": "final", "statement": "tested as listed"}))
    register.close()
    return folder, made.record.id, content, entries


@pytest.fixture(scope="session")
def _certified_folder(
    tmp_path_factory: pytest.TempPathFactory, _folder: tuple[Path, str, bytes, list[Entry]]
) -> Path:
    """Certify the visit once."""
    folder = tmp_path_factory.mktemp("certified") / "register"
    shutil.copytree(_folder[0], folder)
    register = open_register(folder)
    Visited(register, _folder[1], _folder[2], list(_folder[3])).taken()
    certificates.certify(register, KEY, RUN, WHO, at="2026-04-14T18:00:00.000Z", day=DAY)
    register.close()
    return folder


@pytest.fixture
def certified(
    tmp_path: Path, _certified_folder: Path, _folder: tuple[Path, str, bytes, list[Entry]]
) -> Iterator[Visited]:
    """A copy of the register with the visit certified, free to be written to."""
    shutil.copytree(_certified_folder, tmp_path / "register")
    register = open_register(tmp_path / "register")
    yield Visited(register, _folder[1], _folder[2], list(_folder[3]))
    register.close()


@pytest.fixture
def visited(tmp_path: Path, _folder: tuple[Path, str, bytes, list[Entry]]) -> Iterator[Visited]:
    """A copy of the register, free to be written to."""
    folder, plan, content, entries = _folder
    shutil.copytree(folder, tmp_path / "register")
    register = open_register(tmp_path / "register")
    yield Visited(register, plan, content, list(entries))
    register.close()
