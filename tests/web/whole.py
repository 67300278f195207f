"""A register with something in every room, made once for a run of tests, and where each room is found."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

import pytest
from sqlalchemy import select

from steadyhead.register import Register, open_register, tables
from steadyhead.register.logs import logs_folder
from steadyhead.services.example_year.story_time import Days, StoryRegister
from steadyhead.services.example_year.teller import Teller, picture
from steadyhead.services.jobs.kinds import Lane
from steadyhead.services.jobs.working import Queue
from steadyhead.services.logs.importing import read_files
from steadyhead.services.logs.judging import judge_period
from steadyhead.services.logs.proposing import Given
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.judged import today
from steadyhead.services.studies.asked import StudyAsk
from steadyhead.services.studies.capacity import capacity_view
from steadyhead.services.studies.page import ask_study
from steadyhead.station.examples import read
from steadyhead.units import METRIC
from tests.services.logs.tripped import tripped
from tests.web.filled import WHO, fill

KEY, YARD = "QHL-01", "PNY-1"
LANES: tuple[Lane, ...] = ("studies", "pictures")
PATIENCE = 1800.0
"""How long a worker waits for another one that makes the register, on a machine that does much else. [s]"""
SHEET = "station,name,static (bar)\nNEW-1,Brae Gate,9.2\nNEW-2,Pell Gate,8.8\n"
"""A list to import, as CSV."""


@dataclass(frozen=True)
class Facts:
    """What addresses hold. yard: station with a visit; study: one that is there; waiting: a job to come."""

    key: str
    yard: str
    run: str
    plan: str
    certificate: str
    document: str
    piece: str
    study: str
    waiting: str
    judgement: str
    event: str


def fill_whole(register: Register) -> Facts:
    """Put something into every room: revisions, a release, a visit, records, pieces, studies, a trip."""
    keys = fill(register)
    tell = Teller(StoryRegister(register), Days(today()))
    tell.files[KEY] = read("quernhollow-lane")
    tell.served(300, KEY)
    tell.noted(200, KEY, "Key of the lid is at the depot.", "where the key is")
    tell.released(190, KEY)
    tell.did(12, KEY, "strainer_reading", "ST", ratio=1.9, note="loss over that when clean")
    tell.fitted_in(54, KEY, "SO.pilot", "P-20417", "pilot, range 3 to 9 bar", "as delivered")
    document = tell.laid(40, KEY, "gauge TG-07.png", picture("TG-07"), "gauge TG-07", "photo")
    tell.tripped(5, keys[2], 2, 47, "SO", "High alarm 16 minutes before.")
    yard = tell.added(60, "pinnock-yard", "file of the design office")
    tell.served(59, yard)
    run = tell.visited(30, yard, "first", purpose="commissioning")
    for key in (*keys, yard):
        with register.caching() as connection:
            renew(connection, register, key, today())
    study, waiting = _studies(register)
    judgement, event = _logger(register, yard)
    return Facts(
        key=KEY, yard=yard, run=run, document=document, piece=_one(register, tables.piece.c.id),
        plan=_record(register, "plan"), certificate=_record(register, "certificate"),
        study=study, waiting=waiting, judgement=judgement, event=event,
    )  # fmt: skip


def _logger(register: Register, key: str) -> tuple[str, str]:
    """Take a logger's file with a trip in, judge it, and return the judgement and the time of the trip."""
    logs = logs_folder(register)
    with tempfile.TemporaryDirectory() as folder:
        given = Given(key, (tripped(Path(folder)),), "kiosk", {"zone": "UTC"})
        read_files(register, logs, given, WHO)
    made = judge_period(register, logs, key, who=WHO)
    return made.id, next(one.start for one in made.happenings if one.code == "trip")


def _studies(register: Register) -> tuple[str, str]:
    asked = StudyAsk(kind="surge", event="fails-open", within="5 s")
    ask_study(register, KEY, asked, WHO)
    capacity_view(register, KEY, METRIC, WHO)
    for lane in LANES:
        while Queue(register, "a worker", lane).once():
            pass
    waiting = ask_study(register, KEY, StudyAsk(kind="surge", event="restart"), WHO)
    return ask_study(register, KEY, asked, WHO).study, waiting.job


def _one(register: Register, column: object) -> str:
    with register.reading() as connection:
        return str(connection.execute(select(column)).scalars().first())  # type: ignore[call-overload]


def _record(register: Register, kind: str) -> str:
    with register.reading() as connection:
        asked = select(tables.record.c.id).where(tables.record.c.kind == kind)
        return str(connection.execute(asked).scalars().first())


def made_once(factory: pytest.TempPathFactory) -> tuple[Path, Facts]:
    """Return a folder to copy, and the facts of it; workers of one run of tests share it."""
    is_shared = "PYTEST_XDIST_WORKER" in os.environ
    place = (factory.getbasetemp().parent if is_shared else factory.getbasetemp()) / "whole register"
    told = place / "facts.json"
    try:
        place.mkdir()
    except FileExistsError:
        _wait_for(told)
    else:
        facts = _made(place)
        beside = told.with_suffix(".new")
        beside.write_text(json.dumps(asdict(facts)), encoding="utf-8")
        beside.replace(told)
    return place / "register", Facts(**json.loads(told.read_text(encoding="utf-8")))


def _wait_for(told: Path) -> None:
    """Wait for the worker that makes the register; where it could not make it, say so at once."""
    until = time.monotonic() + PATIENCE
    while not told.exists():
        assert not told.with_suffix(".failed").exists(), "the worker that makes the register could not"
        assert time.monotonic() < until, f"the register was not made in {PATIENCE:g} s"
        time.sleep(0.2)


def _made(place: Path) -> Facts:
    try:
        register = open_register(place / "register")
        facts = fill_whole(register)
        register.close()
    except BaseException:
        (place / "facts.failed").touch()
        raise
    return facts


def copied(source: Path, factory: pytest.TempPathFactory, name: str) -> Path:
    """Return a copy of the folder of a register that nobody has open."""
    folder = factory.mktemp(name) / "register"
    shutil.copytree(source, folder)
    return folder


PAGES: dict[str, Callable[[Facts], str]] = {
    "stations": lambda f: "/stations",
    "stations found": lambda f: "/stations?q=lane&by=name",
    "nothing found": lambda f: "/stations?q=nowhere",
    "add a station": lambda f: "/stations/new",
    "add from a template": lambda f: "/stations/new?template=duty-standby",
    "import": lambda f: "/stations/import",
    "face": lambda f: f"/stations/{f.key}",
    "face of one that tripped": lambda f: "/stations/MSQ-7",
    "face of one proved": lambda f: f"/stations/{f.yard}",
    "fields": lambda f: f"/stations/{f.key}/fields",
    "file": lambda f: f"/stations/{f.key}/file",
    "pressures": lambda f: f"/stations/{f.key}/pressures",
    "capacity": lambda f: f"/stations/{f.key}/capacity",
    "surge": lambda f: f"/stations/{f.key}/surge",
    "surge study": lambda f: f"/stations/{f.key}/surge/{f.study}",
    "design": lambda f: f"/stations/{f.key}/design",
    "revisions": lambda f: f"/stations/{f.key}/revisions",
    "side by side": lambda f: f"/stations/{f.key}/revisions?one=1&other=2",
    "plans": lambda f: f"/stations/{f.yard}/plans",
    "runs": lambda f: f"/stations/{f.yard}/runs",
    "run": lambda f: f"/stations/{f.yard}/runs/{f.run}",
    "entries": lambda f: f"/stations/{f.yard}/runs/{f.run}/entries",
    "from paper": lambda f: f"/stations/{f.yard}/runs/{f.run}/paper",
    "hand-over": lambda f: f"/stations/{f.yard}/runs/{f.run}/hand-over",
    "records": lambda f: f"/stations/{f.yard}/records",
    "certificate": lambda f: f"/stations/{f.yard}/records/{f.certificate}",
    "document": lambda f: f"/stations/{f.key}/records/{f.document}",
    "station upkeep": lambda f: f"/stations/{f.key}/upkeep",
    "upkeep form": lambda f: f"/stations/{f.key}/upkeep?act=done&activity=look",
    "loggers": lambda f: f"/stations/{f.yard}/logs",
    "loggers, nothing yet": lambda f: f"/stations/{f.key}/logs",
    "logger import": lambda f: f"/stations/{f.yard}/logs/1",
    "logger data judged": lambda f: f"/stations/{f.yard}/logs/judged/{f.judgement}",
    "event": lambda f: f"/stations/{f.yard}/logs/event?at={f.event}",
    "logger data seen": lambda f: f"/stations/{f.yard}/logs/see",
    "a year at a glance": lambda f: f"/stations/{f.yard}/logs/year",
    "rows of a logger": lambda f: f"/stations/{f.yard}/logs/rows?start={f.event}",
    "no event": lambda f: f"/stations/{f.yard}/logs/event?at=2027-01-05",
    "history": lambda f: f"/stations/{f.key}/history",
    "visits": lambda f: "/visits",
    "upkeep": lambda f: "/upkeep",
    "pieces": lambda f: "/upkeep/pieces",
    "piece": lambda f: f"/upkeep/pieces/{f.piece}",
    "library": lambda f: "/library",
    "jobs": lambda f: "/jobs",
    "job": lambda f: f"/jobs/{f.waiting}",
    "archive": lambda f: "/archive",
    "account": lambda f: "/account",
    "people": lambda f: "/people",
    "sign in": lambda f: "/sign-in",
    "help": lambda f: "/help",
    "addresses": lambda f: "/help/api",
    "words": lambda f: "/help/words",
    "keys": lambda f: "/help/keys",
    "rights": lambda f: "/help/rights",
    "backup": lambda f: "/help/backup",
    "first hour": lambda f: "/help/first-hour",
    "keys that sign": lambda f: "/help/signing-key",
}
"""Pages for a person, by what they are called here."""
