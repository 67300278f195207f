"""What is told of one event: steps with the span in which each happened, and how it may be read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from steadyhead.watch.happening.event import Happening, NotSeen

Sure = Literal["likely", "possible", "ruled out"]
"""``likely``: every sign that is seen speaks for it, and for no other reading as many; never proved."""


@dataclass(frozen=True, slots=True)
class Step:
    """Something that one channel shows.

    Parameters
    ----------
    after, by
        It happened after the one (last sample that does not show it) and by the other (first that does).
    channel, words
        Which channel shows it, and what.
    value, unit
        Value of the sample that shows it, SI.
    in_order
        Whether it surely comes after the step before; False: the spans overlap, the order is not known.
    """

    after: datetime
    by: datetime
    channel: str
    words: str
    value: float
    unit: str
    in_order: bool = True


@dataclass(frozen=True, slots=True)
class Clause:
    """One sign of a signature: whether it is seen (None: the record cannot show it), and what is seen."""

    sign: str
    is_seen: bool | None
    words: str


@dataclass(frozen=True, slots=True)
class Reading:
    """One row of the table of signatures held against the event."""

    name: str
    sure: Sure
    clauses: tuple[Clause, ...]
    next: str
    """What to look at to prove or refute it."""

    @property
    def seen(self) -> int:
        """Signs that are seen."""
        return sum(one.is_seen is True for one in self.clauses)

    @property
    def missed(self) -> int:
        """Signs that are not there."""
        return sum(one.is_seen is False for one in self.clauses)


@dataclass(frozen=True, slots=True)
class Incident:
    """An event in full.

    Parameters
    ----------
    event
        As it is told among others.
    steps
        In order of time.
    readings
        Those that are not ruled out, best first, then those ruled out.
    clocks
        What the order rests on: clocks put right, clocks that nobody compared.
    not_seen
        What the record could not have shown.
    words
        The first classification in a sentence.
    """

    event: Happening
    steps: tuple[Step, ...]
    readings: tuple[Reading, ...]
    clocks: tuple[str, ...]
    not_seen: tuple[NotSeen, ...]
    words: str
