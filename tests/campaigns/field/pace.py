"""How far a campaign is, and how long it will take."""

from __future__ import annotations

import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from devtools.places import tell

EVERY = 20.0
"""How often it is said. [s]"""


@contextmanager
def may_end() -> Iterator[None]:
    """Let a campaign be ended by a key or by SIGTERM: what it did up to then counts, and it says so."""

    def end(_: int, __: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, end)
    try:
        yield
    except KeyboardInterrupt:
        tell("Ended before its time; what was done up to here counts.")
    finally:
        signal.signal(signal.SIGTERM, before)


class Pace:
    """Counts what is done, and says from time to time how long the rest will take."""

    def __init__(self, what: str, total: int) -> None:
        self.what, self.total = what, total
        self.begun = self.said = time.monotonic()

    def amiss(self, found: list[str]) -> None:
        """Say at once what does not hold."""
        for words in found:
            tell(f"amiss: {words[:400]}")

    def step(self, done: int, more: str = "") -> None:
        """Say how it stands, where some time has gone since it was last said."""
        now = time.monotonic()
        if now - self.said < EVERY and done < self.total:
            return
        self.said = now
        left = (now - self.begun) / done * (self.total - done)
        tell(
            f"{done} of {self.total} {self.what}, about {left / 60:.0f} min left{f'; {more}' if more else ''}"
        )
