"""A register with visits under way, and the app on it in a process that can be killed and begun again."""

from __future__ import annotations

import http.client
import json
import multiprocessing
import os
import shutil
import signal
import sys
import threading
import time
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from steadyhead.procedure.ledger import dump
from steadyhead.register import open_register
from steadyhead.register.reading import looking
from steadyhead.services import accounts as team
from steadyhead.services.archive.verifying import verify_connection
from steadyhead.services.field.pack import field_pack
from steadyhead.services.plan_files import read_plan_file
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept import plans, runs
from steadyhead.station.examples import read
from tests.register.killing import READY_WITHIN, free_port
from tests.services.field.light import KEY, STATION, WHO, planned

PASSWORD = "wet spanner quiet lane"
COUNT = 41
"""Entries of each visit before a device comes: up to the reading of T3 in step B2. [1]"""
TRIES = 5
"""How often it is tried to sign in. [1]"""
STEP, INPUT, TAP = "B2", "T3", "T3"
"""What two devices read otherwise: no pressure is expected there."""


def run_name(number: int) -> str:
    """Return the id of a visit."""
    return f"visit-{number}"


def make_base(folder: Path, visits: int, count: int = COUNT, *, is_whole: bool = True) -> dict[str, Any]:
    """Keep station, people, plan, and so many visits under way; return what a device takes along of one.

    count: entries of each visit; is_whole: with all that the page shows, else what is stored and judged by.
    """
    content, entries = planned()
    reads = next(
        at for at, one in enumerate(entries) if (one.node, one.payload.get("input")) == (STEP, INPUT)
    )
    assert reads == COUNT, f"the walk reads {INPUT} in {STEP} as number {reads}: set COUNT to it"
    register = open_register(folder)
    save(register, read(STATION), WHO, "first")
    team.set_password(register, team.add(register, WHO, "administer", "this machine"), PASSWORD)
    record = plans.take_plan(register, KEY, content, WHO)
    now = datetime.now(UTC)
    files = []
    for number in range(visits):
        mine = [
            replace(one, run=run_name(number), t_device=(now - timedelta(minutes=count + 5 - at)).isoformat())
            for at, one in enumerate(entries[:count])
        ]
        files.append(dump(mine))
        runs.begin_from(register, KEY, files[-1], WHO, record.id)
    plan = {"text": content.decode(), "sha256": read_plan_file(content).sha256, "kind": "first"}
    lines = files[0].decode().splitlines()[1:]
    pack: dict[str, Any] = {"format": "steadyhead/field-pack/1", "run": run_name(0), "station": {"key": KEY}}
    pack |= {"plan": plan, "entries": lines}
    if is_whole:
        pack = json.loads(field_pack(register, KEY, run_name(0)).model_dump_json())
    register.close()
    return pack


def pack_of(pack: dict[str, Any], number: int) -> dict[str, Any]:
    """Return what a device takes along of another one of the visits, as far as it stores and judges by it."""
    few = {name: pack[name] for name in ("format", "run", "station", "plan", "entries")}
    text = json.dumps(few).replace(f'"{run_name(0)}"', f'"{run_name(number)}"')
    text = text.replace(f'\\"{run_name(0)}\\"', f'\\"{run_name(number)}\\"')
    found: dict[str, Any] = json.loads(text)
    return found


def starting() -> Any:
    """Return what makes processes of the app: out of one that has imported everything already."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.campaigns.field.preloaded"])
    return context


def serve(place: str, port: int, trap: str, log: str) -> None:
    """Serve as ``steadyhead serve`` does, until killed; once there is a file `trap` it dies at its commit."""
    os.dup2(os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND), sys.stderr.fileno())
    from sqlalchemy import event
    from sqlalchemy.engine import Connection, Engine

    def die(connection: Connection) -> None:
        if os.path.exists(trap):  # noqa: PTH110
            os.unlink(trap)  # noqa: PTH108
            os.kill(os.getpid(), signal.SIGKILL)

    event.listen(Engine, "commit", die)
    from steadyhead.web.serving import Terms, opened
    from steadyhead.web.serving import serve as serve_it

    terms = Terms(place=place, port=port, browser=False, worker=False)
    with opened(terms) as register:
        serve_it(register, terms, lambda words: None)


def _wait_for(port: int, process: BaseProcess) -> None:
    """Wait until the app answers.

    Raises
    ------
    RuntimeError
        It does not, or ended.
    """
    until = time.monotonic() + READY_WITHIN
    while time.monotonic() < until and process.is_alive():
        asking = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        try:
            asking.request("GET", "/sign-in")
            if asking.getresponse().status == 200:
                return
        except (OSError, http.client.HTTPException):
            pass
        finally:
            asking.close()
        time.sleep(0.02)
    raise RuntimeError("the app does not answer")


@dataclass
class House:
    """The app on the register of a folder, in a process of its own."""

    place: Path
    context: Any = field(default_factory=starting)
    process: BaseProcess | None = None
    port: int = 0
    kills: int = 0
    cookies: dict[str, str] = field(default_factory=dict)
    """Sessions that go on, by device."""

    def __post_init__(self) -> None:
        self._alone = threading.Lock()

    @property
    def log(self) -> Path:
        """Where it writes what goes wrong in it."""
        return self.place.with_suffix(".log")

    @property
    def _trap(self) -> Path:
        return self.place.with_suffix(".trap")

    def open(self) -> None:
        """Begin the process where it is down, and wait until it answers."""
        with self._alone:
            if self.process is not None and self.process.is_alive():
                return
            self._trap.unlink(missing_ok=True)
            port = free_port()
            process = self.context.Process(
                target=serve, args=(str(self.place), port, str(self._trap), str(self.log))
            )
            process.start()
            self.process = process
            _wait_for(port, process)
            self.port = port

    def turn(self, base: Path) -> list[str]:
        """Go on with a copy of a register; return what is not whole in the one before."""
        self.close()
        found = is_whole(self.place) if self.place.exists() else []
        copied(base, self.place)
        self.cookies.clear()  # sessions of the one before are none of this one
        self.open()
        return found

    def trap(self) -> None:
        """Let it die at its next commit."""
        self._trap.touch()

    def trap_off(self) -> None:
        """Let it live."""
        self._trap.unlink(missing_ok=True)

    def kill(self) -> None:
        """End it by SIGKILL."""
        with self._alone:
            self.port = 0
            if self.process is not None:
                self.kills += self.process.is_alive()
                self.process.kill()
                self.process.join()

    @property
    def is_open(self) -> bool:
        """Whether the process lives."""
        return self.port > 0 and self.process is not None and self.process.is_alive()

    def close(self) -> None:
        """End it, and leave nothing behind."""
        self.kill()
        self._trap.unlink(missing_ok=True)

    def sign_in(self, device: str) -> str:
        """Return the cookie of a device's session; it begins now where there is none."""
        for _ in range(TRIES):
            if self.cookies.get(device):
                break
            told = self._post("/sign-in", {"name": WHO, "password": PASSWORD, "to": "/stations"}, "")
            self.cookies[device] = (told.getheader("set-cookie") or "").partition(";")[0]
        return self.cookies[device]

    def forget(self, device: str) -> None:
        """Hold a device's session for over."""
        self.cookies.pop(device, None)

    def sign_out(self, device: str) -> None:
        """Let the session of a device be over."""
        self._post("/sign-out", {}, self.cookies.pop(device))

    def _post(self, path: str, what: dict[str, Any], cookie: str) -> http.client.HTTPResponse:
        """Return the answer; an app that a trap kills amid it is begun again and asked once more."""
        for _ in range(TRIES - 1):
            try:
                return self._posted(path, what, cookie)
            except (OSError, http.client.HTTPException):
                self.kill()
                self.open()
        return self._posted(path, what, cookie)

    def _posted(self, path: str, what: dict[str, Any], cookie: str) -> http.client.HTTPResponse:
        asking = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        headers = {
            "origin": f"http://127.0.0.1:{self.port}", "accept": "application/json", "cookie": cookie,
            "content-type": "application/json",
        }  # fmt: skip
        asking.request("POST", path, json.dumps(what), headers)
        told = asking.getresponse()
        told.read()
        asking.close()
        return told


def is_whole(place: Path) -> list[str]:
    """Return what is not whole in a register as it lies."""
    with looking(place) as connection:
        return [f"{one.code} {one.subject}" for one in verify_connection(connection).findings]


def copied(base: Path, place: Path) -> Path:
    """Return a copy of a register, in place of what lay there."""
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(base, place)
    return place
