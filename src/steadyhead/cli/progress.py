"""A line of progress on standard error for long work, and Ctrl-C that keeps what is finished."""

from __future__ import annotations

import signal
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

EVERY = 0.1
"""Time between two looks of the line. [s]"""
BAR = 24
ROOM = 78
"""Columns of the line: it fits the narrowest terminal in use."""


def say(words: str) -> None:
    """Say something beside the answer, on standard error."""
    print(words, file=sys.stderr)


class Shown:
    """Progress as one line that is written over, where a person watches; silent into a file.

    Called as `steadyhead.work.Progress`; `cancel` is asked as `steadyhead.work.Cancel`.
    """

    def __init__(self) -> None:
        self._is_watched = sys.stderr.isatty()
        self._is_stopped = False
        self._next = 0.0
        self._is_open = False

    def __call__(self, done: int, total: int, what: str) -> None:
        """Show that `done` of `total` is finished, and what is at work."""
        now = time.monotonic()
        if not self._is_watched or now < self._next:
            return
        self._next = now + EVERY
        share = min(done / total, 1.0) if total > 0 else 0.0
        full = round(BAR * share)
        line = f"  {'━' * full}{'·' * (BAR - full)} {100.0 * share:3.0f} %  {what}"
        print(f"\r{line[:ROOM]:<{ROOM}}", end="", file=sys.stderr, flush=True)
        self._is_open = True

    @property
    def is_watched(self) -> bool:
        """Whether a person watches."""
        return self._is_watched

    def at_once(self, done: int, total: int, what: str) -> None:
        """Show it however short ago the line was written: for long parts that are told once each."""
        self._next = 0.0
        self(done, total, what)

    def cancel(self) -> bool:
        """Return whether somebody pressed Ctrl-C."""
        return self._is_stopped

    def stop(self) -> None:
        """Ask the work to stop and keep what is finished."""
        self._is_stopped = True

    def clear(self) -> None:
        """Take the line away."""
        if self._is_open:
            print(f"\r{' ' * ROOM}\r", end="", file=sys.stderr, flush=True)
            self._is_open = False


@contextmanager
def watched() -> Iterator[Shown]:
    """Show progress while inside; the first Ctrl-C stops the work in order, the second one at once."""
    shown = Shown()

    def first(number: int, frame: FrameType | None) -> None:
        shown.stop()
        signal.signal(signal.SIGINT, signal.default_int_handler)

    try:
        before = signal.signal(signal.SIGINT, first)
    except ValueError:  # not in the main thread: nobody presses a key there
        before = None
    try:
        yield shown
    finally:
        shown.clear()
        if before is not None:
            signal.signal(signal.SIGINT, before)
