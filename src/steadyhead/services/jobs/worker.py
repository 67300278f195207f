"""The process that works out studies: ``python -m steadyhead.services.jobs.worker PLACE``.

PLACE is the folder or the URL of a register; ``-``: it is the first line of standard input, whose end is then
the end of the parent and of this process. It runs at a low priority, so that pages stay quick.
"""

from __future__ import annotations

import argparse
import logging
import os
import signal
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from sqlalchemy.exc import SQLAlchemyError

from steadyhead.register import Register, open_register
from steadyhead.services.jobs.duties import Duties
from steadyhead.services.jobs.working import LOG, Queue, Watch, give_back_all

NICE = 15
LOOK_EVERY = 0.5
"""Between two looks into an empty queue. [s]"""
WATCH_EVERY = 2.0
ENDS_WITHIN = 3.0
"""Time that work under way is given to end when the parent has ended. [s]"""
EASY_TO_END = "800"
"""How readily the kernel may end this process, and not the app, where memory runs out."""


class Worker:
    """Two queues on two threads, and the quiet duties between jobs."""

    def __init__(self, register: Register, name: str) -> None:
        self.register = register
        self.name = name
        self.over = threading.Event()
        self._lanes = tuple(Queue(register, name, lane, self.over.is_set) for lane in ("studies", "pictures"))

    def run(self) -> None:
        """Work until it is told to end."""
        threads = [threading.Thread(target=self._loop, args=(lane,), daemon=True) for lane in self._lanes]
        threading.Thread(target=self._duties, daemon=True).start()
        for thread in threads:
            thread.start()
        watch = Watch(self.register, self.name)
        while not self.over.wait(WATCH_EVERY):
            with _told():
                watch.once()
        ends = time.monotonic() + ENDS_WITHIN
        for thread in threads:
            thread.join(max(ends - time.monotonic(), 0.0))
        give_back_all(self.register, self.name, "the app was ended")

    def _loop(self, lane: Queue) -> None:
        while not self.over.is_set():
            is_idle = True
            with _told():
                is_idle = not lane.once()
            if is_idle:
                self.over.wait(LOOK_EVERY)

    def _duties(self) -> None:
        duties = Duties(self.register, self.over.is_set)
        while not self.over.is_set():
            with _told():
                duties.once()
            self.over.wait(WATCH_EVERY)


@contextmanager
def _told() -> Iterator[None]:
    """Tell of a register that is away, and go on."""
    try:
        yield
    except SQLAlchemyError:
        LOG.exception("the register is away")


def go_low() -> None:
    """Run at a low priority; on Windows the parent sets it."""
    if hasattr(os, "nice"):
        with suppress(OSError):
            os.nice(NICE)
    with suppress(OSError):
        Path("/proc/self/oom_score_adj").write_text(EASY_TO_END, encoding="ascii")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a worker until its parent ends, or a signal comes."""
    parser = argparse.ArgumentParser(prog="steadyhead.services.jobs.worker", description=__doc__)
    parser.add_argument("place")
    parser.add_argument("--name", default=f"{os.getpid()}")
    parser.add_argument("--after", default="", help="name of a worker that ended")
    parser.add_argument("--because", default="", help="how it ended")
    given = parser.parse_args(arguments)
    logging.basicConfig(level=logging.WARNING, format="%(name)s: %(message)s")
    is_child = given.place == "-"
    place = sys.stdin.readline().rstrip("\n") if is_child else given.place
    if not place:
        return 2
    go_low()
    register = open_register(place)
    if given.after:
        give_back_all(register, given.after, given.because or "it ended")
    worker = Worker(register, given.name)
    signal.signal(signal.SIGTERM, lambda *_: worker.over.set())
    if is_child:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent hears it and ends this one
        threading.Thread(target=_until_parent_ends, args=(worker,), daemon=True).start()
    with suppress(KeyboardInterrupt):
        worker.run()
    worker.over.set()
    _leave()
    return 0


def _until_parent_ends(worker: Worker) -> None:
    with suppress(OSError, ValueError):
        while sys.stdin.read(1):
            pass
    worker.over.set()
    time.sleep(2.0 * ENDS_WITHIN)
    _leave()


def _leave() -> None:
    """End at once, whatever a thread is still at."""
    with suppress(OSError, ValueError):
        sys.stderr.flush()
    os._exit(0)


if __name__ == "__main__":
    sys.exit(main())
