"""The app in a process that can be killed, people who write to it at once, and what must be there then."""

from __future__ import annotations

import http.client
import json
import multiprocessing
import random
import socket
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from sqlalchemy import select

from steadyhead.register import tables
from steadyhead.register.reading import looking
from steadyhead.services.archive.verifying import verify_connection
from steadyhead.station.canonical import sha256
from steadyhead.station.examples import read

STATIONS = {"DMB-01": "dunmarrow-bottom", "FWG-03": "fenwarren-gate"}
WRITERS = 5
LONGEST_BURST = 20.0
"""Longest time people write before the app is killed. [s]"""
READY_WITHIN = 60.0
"""Longest time the app may take to answer. [s]"""


def serve(place: str, port: int) -> None:
    """Open the app as ``steadyhead serve`` does, and serve until killed."""
    from steadyhead.web.serving import Terms, opened
    from steadyhead.web.serving import serve as serve_it

    terms = Terms(place=place, port=port, browser=False, worker=False)
    with opened(terms) as register:
        serve_it(register, terms, lambda words: None)


def starting() -> Any:
    """Return what makes processes of the app: out of one that has imported everything already."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.register.killing", "tests.register.preloaded"])
    return context


def free_port() -> int:
    """Return a port of this machine nobody listens on."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


@dataclass(slots=True)
class Wrote:
    """What the app acknowledged: hashes of station files and documents, ids of intervals."""

    files: list[tuple[str, int, str]] = field(default_factory=list)
    documents: list[tuple[str, str]] = field(default_factory=list)
    habits: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    in_flight: int = 0
    """Writes that were sent and not answered when the app was killed."""

    @property
    def count(self) -> int:
        """How many writes were acknowledged."""
        return len(self.files) + len(self.documents) + len(self.habits)


class Writers:
    """People who write to the app at once, until it is gone."""

    def __init__(self, port: int, seed: int) -> None:
        self._port = port
        self._home = f"http://127.0.0.1:{port}"
        self.wrote = Wrote()
        self._alone = threading.Lock()
        self._flying: set[int] = set()
        self._threads = [
            threading.Thread(target=self._write, args=(at, random.Random(seed * 1000 + at)), daemon=True)
            for at in range(WRITERS)
        ]

    def begin(self) -> None:
        """Let everybody write."""
        for one in self._threads:
            one.start()

    def flying(self) -> int:
        """Return how many writes are sent and not answered now."""
        with self._alone:
            return len(self._flying)

    def end(self) -> Wrote:
        """Wait until everybody has noticed that the app is gone."""
        for one in self._threads:
            one.join(30.0)
        return self.wrote

    def _write(self, at: int, chance: random.Random) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", self._port, timeout=30)
        acts: tuple[Callable[..., None], ...] = (self._file, self._document, self._habit)
        with suppress(OSError, http.client.HTTPException):
            for turn in range(10_000):
                acts[(at + turn) % 3 if at else 0](connection, at, turn, chance)
        connection.close()

    def _ask(
        self, connection: http.client.HTTPConnection, at: int, method: str, path: str, body: bytes, kind: str
    ) -> Any:
        """Send a write and return the JSON of its acknowledgement; None where it was refused."""
        headers = {"origin": self._home, "accept": "application/json", "content-type": kind}
        with self._alone:
            self._flying.add(at)
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        told = answer.read()
        with self._alone:
            self._flying.discard(at)
        if answer.status in (200, 201):
            return json.loads(told)
        self.wrote.refused.append(f"{answer.status} {path} {told[:200]!r}")
        return None

    def _file(self, connection: Any, at: int, turn: int, chance: random.Random) -> None:
        key = list(STATIONS)[at % 2]
        content = read(STATIONS[key]) + f"# {at} {turn} {chance.random()}\n".encode()
        told = self._ask(
            connection, at, "PUT", f"/stations/{key}/file?based_on=0", content, "application/yaml"
        )
        if told is not None:
            self.wrote.files.append((key, told["revision"], sha256(content)))

    def _document(self, connection: Any, at: int, turn: int, chance: random.Random) -> None:
        content = f"note {at} {turn} {chance.random()}".encode() * chance.randint(1, 4000)
        key, border = list(STATIONS)[at % 2], "steadyhead-border"
        parts = [
            f'--{border}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{text}\r\n'.encode()
            for name, text in (("act", "document"), ("title", f"note {turn}"))
        ]
        head = f'--{border}\r\nContent-Disposition: form-data; name="file"; filename="n{at}-{turn}.txt"\r\n'
        parts.append(f"{head}Content-Type: text/plain\r\n\r\n".encode() + content + b"\r\n")
        body = b"".join(parts) + f"--{border}--\r\n".encode()
        kind = f"multipart/form-data; boundary={border}"
        told = self._ask(connection, at, "POST", f"/stations/{key}/records", body, kind)
        if told is not None:
            self.wrote.documents.append((told["id"], sha256(content)))

    def _habit(self, connection: Any, at: int, turn: int, chance: random.Random) -> None:
        key, months = list(STATIONS)[at % 2], float(chance.randint(2, 11))
        sent = {"act": "interval", "activity": "strainer_clean", "place": "ST", "months": months,
                "reason": f"sand {at} {turn} {chance.random()}"}  # fmt: skip
        told = self._ask(
            connection, at, "POST", f"/stations/{key}/upkeep", json.dumps(sent).encode(), "application/json"
        )
        if told is not None:
            self.wrote.habits.append(told["id"])


def answers(port: int, process: BaseProcess) -> None:
    """Wait until the app answers.

    Raises
    ------
    RuntimeError
        It does not, or ended.
    """
    until = time.monotonic() + READY_WITHIN
    while time.monotonic() < until and process.is_alive():
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
        try:
            connection.request("GET", "/stations?as=json")
            if connection.getresponse().status == 200:
                return
        except (OSError, http.client.HTTPException):
            pass
        finally:
            connection.close()
        time.sleep(0.05)
    raise RuntimeError("the app does not answer")


def _wait(writers: Writers, chance: random.Random) -> None:
    """Wait for the moment of the kill: some acknowledgements, none to twelve, and a little longer."""
    wanted, until = chance.randint(0, 12), time.monotonic() + LONGEST_BURST
    while writers.wrote.count < wanted and time.monotonic() < until:
        time.sleep(0.002)
    time.sleep(chance.uniform(0.0, 0.2))


def kill_once(context: Any, place: Path, chance: random.Random, seed: int) -> Wrote:
    """Open the app, let people write, kill it at a random moment, and return what it had acknowledged."""
    port = free_port()
    process = context.Process(target=serve, args=(str(place), port))
    process.start()
    try:
        answers(port, process)
        writers = Writers(port, seed)
        writers.begin()
        _wait(writers, chance)
        flying = writers.flying()
    finally:
        process.kill()
        process.join()
    wrote = writers.end()
    wrote.in_flight = flying
    return wrote


def missing(place: Path, wrote: Wrote) -> list[str]:
    """Return what is not whole in a register after a kill, and every acknowledged write that is not there."""
    found: list[str] = []
    with looking(place) as connection:
        verdict = verify_connection(connection)
        found += [f"{one.code} {one.subject}" for one in verdict.findings]
        revision, record, habit = tables.revision.c, tables.record.c, tables.habit.c
        for key, number, digest in wrote.files:
            asked = select(revision.file).where(revision.station == key, revision.number == number)
            if connection.execute(asked).scalar() != digest:
                found.append(f"revision {number} of {key} is not as acknowledged")
        for name, digest in wrote.documents:
            if connection.execute(select(record.content).where(record.id == name)).scalar() != digest:
                found.append(f"document {name} is not as acknowledged")
        for name in wrote.habits:
            if connection.execute(select(habit.id).where(habit.id == name)).scalar() is None:
                found.append(f"interval {name} is not there")
    return found
