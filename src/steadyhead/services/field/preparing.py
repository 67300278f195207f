"""Packs made ready before anybody asks: a job of the worker, begun with the visit."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict
from sqlalchemy.exc import OperationalError

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.jobs import job_of
from steadyhead.services.field.pack import field_pack, is_ready, make_words_ready
from steadyhead.services.jobs.asking import Asked, ask, stop
from steadyhead.services.jobs.kinds import Outcome, Work
from steadyhead.units import METRIC, UnitSet, read_units

KIND = "field"
WAITS, WORDS, CAUSES = "waits for its turn", "words of the plan", "causes behind readings"


class Making(BaseModel):
    """How far a pack is that is not ready. share: 0 to 1; is_at_work: whether a worker has begun it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    words: str
    share: float
    is_at_work: bool


def begin(register: Register, key: str, run: str, units: UnitSet = METRIC, who: str = "local") -> str:
    """Have the pack of a visit made ready in the background; return the id of the job, empty where none is
    asked for: so many wait already, or no room is left to write it down.
    """
    found = _asked(register, key, run, units, who)
    return "" if found is None else found.id


def _asked(register: Register, key: str, run: str, units: UnitSet, who: str) -> Asked | None:
    try:
        return ask(register, key, KIND, {"run": run, "units": units.name}, who)
    except (InputError, OperationalError):
        return None


def making(
    register: Register, key: str, run: str, units: UnitSet = METRIC, who: str = "local"
) -> Making | None:
    """Return how far the pack of a visit is, asked for where nobody has; None: it can be had now.

    Raises
    ------
    NotKept
        No such station or visit.
    """
    if is_ready(register, key, run, units):
        return None
    asked = _asked(register, key, run, units, who)
    if asked is None:
        return None
    with register.reading() as connection:
        job = job_of(connection, asked.id)
    if job is None:
        return None
    is_at_work = job.state == "running"
    share = job.share if is_at_work else 0.0
    return Making(words=(job.words or WORDS) if is_at_work else WAITS, share=share, is_at_work=is_at_work)


def done_here(register: Register, key: str, run: str, units: UnitSet = METRIC, who: str = "local") -> None:
    """Take back what was asked for and nobody has begun: the pack was made without a worker."""
    found = _asked(register, key, run, units, who)
    if found is not None and found.state == "asked":
        stop(register, found.id)


def work(work: Work) -> Outcome | None:
    """Make the pack of a visit ready; see `services.jobs.kinds`."""
    key, run, units = work.job.station, str(work.spec["run"]), read_units(work.spec["units"])
    work.progress(0, 4, WORDS)
    make_words_ready(work.register, key, run, units)
    work.progress(1, 4, CAUSES)
    if work.cancel():
        return None
    field_pack(work.register, key, run, units)
    return Outcome(content=b"", title="Field pack", mark="holds", words="ready")
