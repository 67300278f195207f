"""Work in a child of this process, which has everything loaded already and ends with the work."""

from __future__ import annotations

import os
import resource
import select
import signal
import sys
import time
from collections.abc import Callable

from devtools.mutants.model import Fate

BROKE = "(broke)"
MEMORY = 3 << 30
"""What a child may ask of memory: a change may fill it without end. [B]"""
PATIENCE = 10.0
"""How much longer than its share of a core a child may take on the clock, others being at work beside it."""


def used() -> float:
    """Return how long this process and what it started kept a core busy; others' load is not in it. [s]"""
    return sum(os.times()[:4])


def in_child(work: Callable[[Callable[[str], None]], None], limit: float) -> tuple[Fate, str]:
    """Run work in a child; return whether it said anything within the time, and what.

    `limit`: of the time it keeps a core busy [s]; on the clock it may take longer by `PATIENCE`.
    """
    hear, speak = os.pipe()
    sys.stdout.flush()
    sys.stderr.flush()
    child = os.fork()
    if child == 0:
        _be_child(work, speak, limit)
    os.close(speak)
    end, heard, late = time.monotonic() + PATIENCE * limit, b"", False
    while True:
        ready, _, _ = select.select([hear], [], [], max(0.0, end - time.monotonic()))
        if not ready:
            late = True
            break
        piece = os.read(hear, 65536)
        if not piece:
            break
        heard += piece
    late |= _end(child) == signal.SIGXCPU
    os.close(hear)
    if late:
        return "timed out", ""
    text = heard.decode(errors="replace")
    return ("killed", text) if text != "fine" else ("lived", "")


def _be_child(work: Callable[[Callable[[str], None]], None], speak: int, limit: float) -> None:
    """Never returns. A child that ends without a word was killed by its change."""
    os.setpgid(0, 0)
    resource.setrlimit(resource.RLIMIT_CPU, (int(limit) + 1, int(limit) + 2))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    nothing = os.open(os.devnull, os.O_RDWR)
    for one in (0, 1, 2):
        os.dup2(nothing, one)
    said: list[str] = []
    try:
        try:
            work(said.append)
        except BaseException as problem:
            said = [f"{BROKE} {problem!r}"]
        os.write(speak, ("".join(said) or "fine").encode())
    finally:
        os._exit(0)


def _end(child: int) -> int:
    """End the child and what it started; return the signal by which it ended already, else 0."""
    if done := os.waitid(os.P_PID, child, os.WEXITED | os.WNOWAIT | os.WNOHANG):
        status = done.si_status if done.si_code != os.CLD_EXITED else 0
    else:
        status = 0
    for how in (os.killpg, os.kill):
        try:
            how(child, signal.SIGKILL)
        except (ProcessLookupError, PermissionError):
            continue
    os.waitpid(child, 0)
    return status
