"""Start the process that works out studies, and start it again when it dies; it ends with this one."""

from __future__ import annotations

import os
import secrets
import signal
import socket
import subprocess
import sys
import threading
import time
from contextlib import suppress
from typing import Any

MODULE = "steadyhead.services.jobs.worker"
SHORT_LIFE = 60.0
"""A worker that ends sooner is started again after a longer wait. [s]"""
LONGEST_WAIT = 30.0
ENDS_WITHIN = 5.0


class WorkerHandle:
    """A worker process that is looked after; `stop` ends it."""

    def __init__(self, place: str) -> None:
        self._place = place
        self._over = threading.Event()
        self._lock = threading.Lock()
        self._after, self._because = "", ""
        self._process, self.name = self._start()
        self._thread = threading.Thread(target=self._look_after, name="worker", daemon=True)
        self._thread.start()

    @property
    def pid(self) -> int:
        """Number of the process."""
        return self._process.pid

    @property
    def is_alive(self) -> bool:
        """Whether the process runs now."""
        return self._process.poll() is None

    def stop(self) -> None:
        """End it: asked first, then by force; the job it has goes back into the queue."""
        self._over.set()
        with self._lock:
            _end(self._process)
        self._thread.join(ENDS_WITHIN)

    def _start(self) -> tuple[subprocess.Popen[bytes], str]:
        name = f"{socket.gethostname()}:{os.getpid()}:{secrets.token_hex(4)}"
        words = [sys.executable, "-m", MODULE, "-", "--name", name]
        if self._after:
            words += ["--after", self._after, "--because", self._because]
        process = subprocess.Popen(words, stdin=subprocess.PIPE, bufsize=0, **_low())
        assert process.stdin is not None
        with suppress(OSError):
            process.stdin.write(f"{self._place}\n".encode())  # not an argument: it may hold a password
        return process, name

    def _look_after(self) -> None:
        wait = 1.0
        while not self._over.is_set():
            begun = time.monotonic()
            code = self._process.wait()
            _close(self._process)
            if self._over.is_set():
                return
            wait = 1.0 if time.monotonic() - begun > SHORT_LIFE else min(2.0 * wait, LONGEST_WAIT)
            self._after, self._because = self.name, ending_words(code)
            if self._over.wait(wait):
                return
            with self._lock:
                if not self._over.is_set():
                    self._process, self.name = self._start()


def _low() -> dict[str, Any]:
    """Return how a process of low priority is started where it cannot lower its own."""
    if sys.platform == "win32":
        return {"creationflags": subprocess.BELOW_NORMAL_PRIORITY_CLASS}
    return {}


def _close(process: subprocess.Popen[bytes]) -> None:
    """Close what the process reads: it then ends."""
    if process.stdin is not None:
        with suppress(OSError):
            process.stdin.close()


def _end(process: subprocess.Popen[bytes]) -> None:
    _close(process)
    for by_force in (None, process.terminate, process.kill):
        if by_force is not None:
            by_force()
        with suppress(subprocess.TimeoutExpired):
            process.wait(ENDS_WITHIN)
            return


def ending_words(code: int) -> str:
    """Return how a process ended, in words.

    Examples
    --------
    >>> ending_words(-9), ending_words(3)
    ('it was ended from outside, as where memory runs out (signal 9)', 'it ended by itself (status 3)')
    """
    if code >= 0:
        return f"it ended by itself (status {code})"
    number = -code
    if number == 9:
        return "it was ended from outside, as where memory runs out (signal 9)"
    names = {one.value: one.name for one in signal.Signals}
    if names.get(number) in ("SIGSEGV", "SIGBUS", "SIGILL", "SIGFPE", "SIGABRT"):
        return f"compiled code crashed (signal {number}, {names[number]})"
    return f"it was ended from outside (signal {number})"


def start_worker(place: str) -> WorkerHandle:
    """Start a worker for a register and look after it.

    place: folder or URL of the register. It needs its tables made before: open the register first.
    """
    return WorkerHandle(place)
