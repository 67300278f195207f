"""The line between a device and the server, on which things go wrong as they are told to."""

from __future__ import annotations

import http.client
import random
import socket
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

HOP = frozenset({"connection", "keep-alive", "transfer-encoding", "content-length"})
PATIENCE = 60.0
"""How long the server may take to answer. [s]"""
KILLS = ("server killed before it heard", "server killed amid the work", "server killed at its commit",
         "server killed after its answer was lost", "server killed after its answer")  # fmt: skip
"""Where in one sync, or one photo on its way, the server is killed."""
PHOTO_FAULTS = (*KILLS, "answer lost", "request repeated", "request lost")
"""What goes wrong with a photo on its way."""


@dataclass(slots=True)
class Answer:
    """What the server said."""

    status: int
    headers: list[tuple[str, str]]
    body: bytes


@dataclass
class Line:
    """A door on this machine that leads to the server.

    port_of: where the server is, 0 while it is down; kill: ends the server by SIGKILL; trap: lets it die at
    its next commit. faults: what goes wrong with the next syncs, one each; photo_faults: with next photos;
    met: how often each did, with "photo, " before it where a photo met it.
    """

    port_of: Callable[[], int]
    kill: Callable[[], None]
    trap: Callable[[], None]
    chance: random.Random
    faults: list[str] = field(default_factory=list)
    photo_faults: list[str] = field(default_factory=list)
    met: dict[str, int] = field(default_factory=dict)
    syncs: int = 0
    flying: int = 0
    is_cut: bool = False

    def __post_init__(self) -> None:
        line = self

        class Door(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def _any(self) -> None:
                with suppress(OSError, http.client.HTTPException):
                    line.pass_on(self)

            do_GET = do_POST = do_PUT = do_HEAD = _any

            def log_message(self, *_: object) -> None:
                return

        class Server(ThreadingHTTPServer):
            daemon_threads = True

            def handle_error(self, *_: object) -> None:
                return

        self._alone = threading.Lock()
        self.server = Server(("127.0.0.1", 0), Door)
        self.thread = threading.Thread(target=self.server.serve_forever, kwargs={"poll_interval": 0.05})
        self.thread.start()
        self.address = f"http://127.0.0.1:{self.server.server_port}"

    def close(self) -> None:
        """End it."""
        self.server.shutdown()
        self.thread.join()
        self.server.server_close()

    def calm(self) -> None:
        """Let nothing go wrong any more, and wait until nothing is under way."""
        self.faults.clear()
        self.photo_faults.clear()
        self.is_cut = False
        self.still()

    def still(self, seconds: float = PATIENCE) -> None:
        """Wait until nothing is under way any more."""
        until = time.monotonic() + seconds
        while self.flying and time.monotonic() < until:
            time.sleep(0.01)

    def pass_on(self, door: BaseHTTPRequestHandler) -> None:
        """Pass a request on, with the fault that is its turn."""
        with self._alone:
            self.flying += 1
        try:
            self._pass_on(door)
        finally:
            with self._alone:
                self.flying -= 1

    def _pass_on(self, door: BaseHTTPRequestHandler) -> None:
        body = door.rfile.read(int(door.headers.get("content-length") or 0))
        is_sync = door.command == "POST" and door.path.endswith("/sync")
        with self._alone:
            self.syncs += is_sync
            is_photo = door.command == "PUT" and "/photos/" in door.path
            turn = self.faults if is_sync else self.photo_faults if is_photo else []
            fault = turn.pop(0) if turn else ""
        if self.is_cut:
            self._hang_up(door)
            return
        if not fault:
            self._give(door, self._ask(door, body))
            return
        self._with(fault, door, body)
        with self._alone:
            met = f"photo, {fault}" if is_photo else fault
            self.met[met] = self.met.get(met, 0) + 1

    def _with(self, fault: str, door: BaseHTTPRequestHandler, body: bytes) -> None:
        if fault == "request lost":
            self._hang_up(door)
        elif fault == "answer lost":
            self._ask(door, body)
            self._hang_up(door)
        elif fault == "answer cut":
            self._give(door, self._ask(door, body), cut=True)
        elif fault == "request repeated":
            other = threading.Thread(target=self._ask, args=(door, body))
            other.start()
            found = self._ask(door, body)
            other.join(PATIENCE)
            self._give(door, found)
        elif fault == "request repeated late":
            self._give(door, self._ask(door, body))
            time.sleep(self.chance.uniform(0.0, 0.3))
            self._ask(door, body)
        elif fault == "slow":
            time.sleep(self.chance.uniform(0.05, 0.5))
            found = self._ask(door, body)
            time.sleep(self.chance.uniform(0.05, 0.5))
            self._give(door, found)
        elif fault == "server busy":
            self._give(door, Answer(503, [("content-type", "application/json")], b'{"status": 503}'))
        else:
            self._killed(fault, door, body)

    def _killed(self, fault: str, door: BaseHTTPRequestHandler, body: bytes) -> None:
        """Let the server be killed in the middle of a sync."""
        found = None
        if fault == "server killed before it heard":
            self.kill()
        elif fault == "server killed at its commit":
            self.trap()
            found = self._ask(door, body)
        elif fault == "server killed amid the work":
            asking = threading.Thread(target=self._ask, args=(door, body))
            asking.start()
            time.sleep(self.chance.uniform(0.0, 0.06))
            self.kill()
            asking.join(PATIENCE)
        else:
            found = self._ask(door, body)
            self.kill()
        if fault == "server killed after its answer" and found is not None:
            self._give(door, found)
        else:
            self._hang_up(door)

    def _ask(self, door: BaseHTTPRequestHandler, body: bytes) -> Answer | None:
        port = self.port_of()
        if not port:
            return None
        asking = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
        headers = {name: value for name, value in door.headers.items() if name.lower() not in HOP}
        headers["content-length"] = str(len(body))
        try:
            asking.request(door.command, door.path, body, headers)
            told = asking.getresponse()
            return Answer(told.status, told.getheaders(), told.read())
        except (OSError, http.client.HTTPException):
            return None
        finally:
            asking.close()

    def _give(self, door: BaseHTTPRequestHandler, found: Answer | None, *, cut: bool = False) -> None:
        if found is None:
            self._hang_up(door)
            return
        door.send_response_only(found.status)
        for name, value in found.headers:
            if name.lower() not in HOP:
                door.send_header(name, value)
        door.send_header("content-length", str(len(found.body)))
        door.end_headers()
        if door.command != "HEAD":
            door.wfile.write(found.body[: len(found.body) // 2] if cut else found.body)
        door.wfile.flush()
        if cut:
            self._hang_up(door)

    def _hang_up(self, door: BaseHTTPRequestHandler) -> None:
        door.close_connection = True
        with suppress(OSError):
            door.connection.shutdown(socket.SHUT_RDWR)
