"""A register of many stations, the app served on it in a process of its own, and what asks it."""

from __future__ import annotations

import http.client
import json
import os
import random
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import func, select

from steadyhead.register import Register, open_register
from steadyhead.register.tables import station
from steadyhead.services.example_year.filling import fill
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import names, read
from tests.web.many import copies

WHO = "Ilse Marrow"
PATIENCE = 120.0
"""How long an answer is waited for. [s]"""
IDLE = 3.0
"""After so long a connection is opened anew; the app closes those that rest for longer. [s]"""
FIRST_PAGE = "/stations"


def furnish(folder: Path, stations: int, real: int, *, with_year: bool, seed: int = 1) -> tuple[str, ...]:
    """Fill an empty folder; return the keys of the stations that have a file.

    stations: how many in all; real: how many of them with a station file of their own; with_year: whether
    the examples among these have their year of visits and upkeep.
    """
    register = open_register(folder)
    if with_year:
        fill(register)
    _real(register, real)
    with register.reading() as connection:
        keys = tuple(connection.execute(select(station.c.key).order_by(station.c.key)).scalars())
    copies(register, stations - len(keys), seed, is_fresh=True)
    register.close()
    return keys


def _real(register: Register, wanted: int) -> None:
    """Save examples under other names until so many stations have a file."""
    with register.reading() as connection:
        there = int(connection.execute(select(func.count()).select_from(station)).scalar_one())
    sources = [read(name).decode() for name in names()]
    for number in range(there, wanted):
        source = sources[number % len(sources)]
        other = re.sub(r"\n  id: \S+", f"\n  id: N{number:03d}", source, count=1)
        save(register, other.encode(), WHO, "an example under another name")


def _worked(process: subprocess.Popen[bytes]) -> float:
    """Return the processor time of a process, by the clock that Linux keeps of it. [s]"""
    return time.clock_gettime((~process.pid << 3) | 2)


@dataclass
class Server:
    """The app in a process of its own. opened_s: from its start to its first page; worked_s: processor time
    of that."""

    process: subprocess.Popen[bytes]
    port: int
    opened_s: float
    worked_s: float

    @property
    def cpu_s(self) -> float:
        """Processor time of the process so far, all threads. [s]"""
        return _worked(self.process)

    @property
    def memory_mb(self) -> float:
        """What the process holds in memory now. [MB]"""
        told = Path(f"/proc/{self.process.pid}/status").read_text(encoding="ascii")
        return float(re.findall(r"VmRSS:\s+(\d+)", told)[0]) / 1024.0

    def client(self) -> Client:
        """Return a client that keeps its connection."""
        return Client(self.port)

    def rooms_are_there(self) -> None:
        """Wait until the engines are loaded and made ready: until the process is at rest."""
        with self.client() as client:
            client.get("/help")
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            before = self.cpu_s
            time.sleep(1.0)
            if self.cpu_s - before < 0.05:
                return


class Client:
    """Asks for pages as a browser does, over one connection."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.line = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
        self.asked = time.monotonic()

    def __enter__(self) -> Client:
        return self

    def __exit__(self, *fault: object) -> None:
        self.line.close()

    def get(self, path: str) -> bytes:
        """Return a page that must be there."""
        return self._ask("GET", path, None, {"accept": "text/html"})

    def json(self, path: str) -> Any:
        """Return the JSON of an address."""
        return json.loads(self._ask("GET", path, None, {"accept": "application/json"}))

    def send(self, path: str, what: object) -> Any:
        """Send JSON and return what is answered."""
        told = {
            "accept": "application/json", "content-type": "application/json",
            "origin": f"http://127.0.0.1:{self.port}", "sec-fetch-site": "same-origin",
        }  # fmt: skip
        return json.loads(self._ask("POST", path, json.dumps(what).encode(), told))

    def _ask(self, method: str, path: str, body: bytes | None, headers: dict[str, str]) -> bytes:
        if time.monotonic() - self.asked > IDLE:
            self.line.close()
        self.line.request(method, path, body, headers)
        found = self.line.getresponse()
        content = found.read()
        self.asked = time.monotonic()
        if found.status not in (200, 201):
            raise RuntimeError(f"{method} {path}: {found.status} {content[:300]!r}")
        return content


@contextmanager
def served(folder: Path) -> Iterator[Server]:
    """Open the app on a folder as a person does, until the first page is answered; end it afterwards."""
    port = _free()
    command = [sys.executable, "-m", "steadyhead", "serve", str(folder), "--port", str(port), "--no-browser"]
    environment = os.environ | {"XDG_DATA_HOME": str(folder.parent / "data")}
    began = time.perf_counter()
    process = subprocess.Popen(
        command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        env=environment,
    )  # fmt: skip
    try:
        _first_page(process, port)
        opened = time.perf_counter() - began
        yield Server(process, port, opened, _worked(process))
    finally:
        process.terminate()
        try:
            process.wait(30)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _first_page(process: subprocess.Popen[bytes], port: int) -> None:
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end and process.poll() is None:
        with suppress(OSError), Client(port) as client:
            client.get(FIRST_PAGE)
            return
        time.sleep(0.01)
    raise RuntimeError("The app did not open; run steadyhead serve by hand to see why.")


def _free() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def cool(places: Sequence[Path]) -> None:
    """Make the system forget the content of files, so that they are read from the disk again."""
    for place in places:
        for path in place.rglob("*") if place.is_dir() else (place,):
            with suppress(OSError):
                handle = os.open(path, os.O_RDONLY)
                try:
                    os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)
                finally:
                    os.close(handle)


@dataclass(frozen=True)
class Walk:
    """Pages a person looks at, by what they are called here; `{key}` is one of the keys."""

    keys: tuple[str, ...]
    drawn: random.Random

    PAGES = {
        "list": "/stations",
        "found by word": "/stations?q=lane",
        "in the middle": "/stations?by=name&from=S02500",
        "face": "/stations/{key}",
        "pressures": "/stations/{key}/pressures",
        "capacity": "/stations/{key}/capacity",
        "design": "/stations/{key}/design",
        "fields": "/stations/{key}/fields",
        "visits": "/stations/{key}/runs",
        "records": "/stations/{key}/records",
        "station upkeep": "/stations/{key}/upkeep",
        "upkeep": "/upkeep",
        "history": "/stations/{key}/history",
    }

    def step(self) -> tuple[str, str]:
        """Return the next page and its address."""
        name = self.drawn.choice(list(self.PAGES))
        return name, self.at(name, self.drawn.choice(self.keys))

    def at(self, name: str, key: str) -> str:
        """Return the address of a page."""
        return self.PAGES[name].format(key=key)
