"""What can be a job: its kinds, what each is given, and what it hands back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from importlib import import_module
from typing import Any, Final, Literal, cast

from steadyhead.register import Register
from steadyhead.register.jobs import JobRow
from steadyhead.services.jobs.parts import Parts
from steadyhead.work import Cancel, Progress

Lane = Literal["studies", "pictures"]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of job.

    Parameters
    ----------
    name, words
        As the register holds it, and as pages call it.
    where
        ``module:function`` that does the work, given a `Work`; imported only by the worker.
    lane
        Jobs of one lane are done one after the other.
    """

    name: str
    words: str
    where: str
    lane: Lane = "studies"

    def do(self, work: Work) -> Outcome | None:
        """Do a job of this kind; None: it was cancelled."""
        module, _, function = self.where.partition(":")
        found = cast("Callable[[Work], Outcome | None]", getattr(import_module(module), function))
        return found(work)


JUDGE: Final = "judge"
"""Of logger data: asked for by who may record."""
STUDIES: Final = "steadyhead.services.studies"
KINDS: Final[dict[str, Kind]] = {
    one.name: one
    for one in (
        Kind("surge", "surge study", f"{STUDIES}.surge_work:work"),
        Kind("proof", "protection proof", f"{STUDIES}.proof_work:work"),
        Kind("closing", "closing-time study", f"{STUDIES}.closing_work:work"),
        Kind("stability", "stability study", f"{STUDIES}.stability_work:work"),
        Kind("chances", "chances of one event", f"{STUDIES}.chances_work:work"),
        Kind("capacity", "capacity map", f"{STUDIES}.capacity_work:work", "pictures"),
        Kind(JUDGE, "judgement of logger data", "steadyhead.services.logs.judging_work:work"),
        Kind("field", "pack of a visit", "steadyhead.services.field.preparing:work", "pictures"),
    )
}
"""Every kind of job by name."""


def of_lane(lane: Lane) -> tuple[str, ...]:
    """Return the names of the kinds of one lane."""
    return tuple(one.name for one in KINDS.values() if one.lane == lane)


@dataclass(frozen=True, slots=True)
class Work:
    """What a job is given.

    Parameters
    ----------
    register, job, spec
        Where it belongs, its row, and what was asked for.
    source, number
        Bytes of the station file, and the revision they are.
    parts
        Finished cases, also of a worker that is gone.
    progress, cancel
        See `steadyhead.work`.
    """

    register: Register
    job: JobRow
    spec: dict[str, Any]
    source: bytes
    number: int
    parts: Parts
    progress: Progress
    cancel: Cancel


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a job came to.

    Parameters
    ----------
    content
        The record of a study, as JSON; empty where nothing is to be kept besides what was prepared.
    title, mark, words
        What it is called, how it stands (see the state marks of the pages), and its verdict in a few words.
    columns
        Traces of a study as Parquet; empty: none.
    facts
        More to say about the record, plain data.
    prepare
        Called after the record is kept, to make pages of it ready.
    """

    content: bytes
    title: str
    mark: str
    words: str
    columns: bytes = b""
    facts: dict[str, Any] = field(default_factory=dict)
    prepare: Callable[[str], None] | None = None
