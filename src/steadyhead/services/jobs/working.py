"""Do jobs: take one, give signs of life, keep finished cases, end it; give back what others left behind."""

from __future__ import annotations

import json
import logging
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy.exc import SQLAlchemyError

from steadyhead.errors import StationError
from steadyhead.register import Register, now_text
from steadyhead.register import jobs as kept
from steadyhead.register.core import Writing
from steadyhead.register.jobs import JobRow
from steadyhead.register.tables import record
from steadyhead.services.jobs.keys import study_id
from steadyhead.services.jobs.kinds import KINDS, Kind, Lane, Outcome, Work, of_lane
from steadyhead.services.jobs.parts import Parts
from steadyhead.services.prepared import engine
from steadyhead.station.canonical import canonical

MOST_TRIES = 3
"""How often a job is begun whose worker ended before it was finished. Own estimate."""
BEAT_EVERY = 1.0
"""Between two signs of life; a wish to stop is heard as often. [s]"""
SILENT_FOR = 20.0
"""A job whose worker gives no sign of life for so long is given back. [s] Own estimate."""
NO_MEMORY = "needs more memory than there is. Ask for less: one event, fewer runs."
LOG = logging.getLogger("steadyhead.jobs")


class LostError(Exception):
    """The job is another worker's by now; what was worked out is thrown away."""


class Beating:
    """Signs of life of one job, and the wish to stop it heard."""

    def __init__(self, register: Register, job: JobRow, every: float = BEAT_EVERY) -> None:
        self._register = register
        self._job = job
        self._every = every
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, name=f"beat {job.id}", daemon=True)
        self._share, self._words = 0.0, ""
        self.is_stopped = False
        self.is_lost = False
        self.is_ending = False

    def __enter__(self) -> Beating:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def progress(self, done: int, total: int, what: str) -> None:
        """Hear how far the work is; see `steadyhead.work.Progress`."""
        self._share = min(done / total, 1.0) if total > 0 else 0.0
        self._words = what

    def cancel(self) -> bool:
        """Return whether the work is to end; see `steadyhead.work.Cancel`."""
        return self.is_stopped or self.is_lost or self.is_ending

    def once(self) -> None:
        """Give one sign of life."""
        try:
            with self._register.caching() as connection:
                told = kept.beat(connection, self._job, time.time(), self._share, self._words)
        except SQLAlchemyError:
            return  # the database is away for a moment: the work goes on
        if told is None:
            self.is_lost = True
        elif told:
            self.is_stopped = True

    def _run(self) -> None:
        while not self._over.wait(self._every):
            self.once()


@dataclass
class Queue:
    """One queue of one worker: jobs of its kinds, one after the other."""

    register: Register
    worker: str
    lane: Lane
    is_ending: Callable[[], bool] = lambda: False
    every: float = BEAT_EVERY
    now: Beating | None = field(default=None, repr=False)

    def once(self) -> bool:
        """Take a job and do it; return whether there was one."""
        with self.register.caching() as connection:
            job = kept.take(connection, of_lane(self.lane), self.worker, time.time(), now_text())
        if job is None:
            return False
        with Beating(self.register, job, self.every) as beating:
            self.now = beating
            try:
                self._do(job, beating)
            finally:
                self.now = None
        return True

    def _do(self, job: JobRow, beating: Beating) -> None:
        """Do a job and end it in whatever way it comes to an end."""
        try:
            outcome = self._worked(KINDS[job.kind], job, beating)
        except LostError:
            return
        except MemoryError:
            self._end(job, "failed", f"It {NO_MEMORY}")
        except StationError as problem:
            self._end(job, "failed", str(problem))
        except Exception as problem:
            LOG.exception("job %s", job.id)
            self._end(
                job, "failed", f"It ended by a flaw of this program: {type(problem).__name__}: {problem}"
            )
        else:
            if outcome is not None and outcome.prepare is not None:
                self._prepare(outcome, study_id(job.spec_hash))

    def _worked(self, kind: Kind, job: JobRow, beating: Beating) -> Outcome | None:
        """Do the work and keep what came of it."""
        spec = json.loads(job.spec)
        source = self.register.content(spec["file"])
        if source is None:
            self._end(job, "failed", "The station file it was asked for is not kept any more.")
            return None
        parts = Parts(self.register, job.station, job.spec_hash)
        parts.load()
        work = Work(
            self.register, job, spec["ask"], source, spec["revision"], parts, beating.progress,
            lambda: beating.cancel() or self.is_ending(),
        )  # fmt: skip
        outcome = kind.do(work)
        if beating.is_lost:
            raise LostError
        if beating.is_stopped:
            self._end(job, "stopped", "")
            return None
        if self.is_ending() or outcome is None:
            with self.register.caching() as connection:
                kept.put_off(connection, job)
            return None
        self._keep(job, spec, outcome)
        parts.clear()
        return outcome

    def _keep(self, job: JobRow, spec: dict[str, Any], outcome: Outcome) -> None:
        """End a job with its record, both or neither."""
        if not outcome.content:
            self._end(job, "done", "")
            return
        from steadyhead.services.stations.beforehand import work_out_beforehand
        from steadyhead.services.stations.gist import renew

        work_out_beforehand(self.register, job.station)
        with self.register.writing(job.asked_by) as writing:
            digest = _record(writing, job, spec, outcome)
            if not kept.end(writing.connection, job, "done", writing.at, result=digest):
                raise LostError
            renew(writing, self.register, job.station)

    def _end(self, job: JobRow, state: kept.State, problem: str) -> None:
        with self.register.caching() as connection:
            kept.end(connection, job, state, now_text(), problem=problem)

    def _prepare(self, outcome: Outcome, study: str) -> None:
        assert outcome.prepare is not None
        try:
            outcome.prepare(study)
        except Exception:
            LOG.exception("pages of %s", study)  # they are made when somebody looks


def _record(writing: Writing, job: JobRow, spec: dict[str, Any], outcome: Outcome) -> str:
    """Keep the record of a study, and its traces beside it; return the hash of the record."""
    digest = writing.blob(outcome.content)
    study = study_id(job.spec_hash)
    facts = {
        "kind": job.kind, "ask": spec["ask"], "revision": spec["revision"], "file": spec["file"],
        "canonical": spec["canonical"], "engine": engine(), "mark": outcome.mark, "words": outcome.words,
        "columns": writing.blob(outcome.columns) if outcome.columns else "", **outcome.facts,
    }  # fmt: skip
    name = f"{job.kind}-r{spec['revision']}-{study[-8:]}"
    row = {
        "id": study, "station": job.station, "kind": "study", "name": f"{name}.json", "title": outcome.title,
        "media": "application/json", "content": digest, "at": writing.at, "who": writing.who,
        "about": canonical(facts).decode(),
    }  # fmt: skip
    writing.add(record, row, "study made", job.station, study=job.kind, revision=spec["revision"])
    if outcome.columns:
        traces = row | {
            "id": f"{study}-columns", "kind": "columns", "name": f"{name}.parquet",
            "title": f"{outcome.title}: traces", "media": "application/vnd.apache.parquet",
            "content": facts["columns"], "about": canonical({"study": study}).decode(),
        }  # fmt: skip
        writing.add(record, traces, "traces kept", job.station)
    return digest


class Watch:
    """Gives back jobs whose workers have gone silent.

    Clocks of machines may differ, so what counts is how long this process has seen nothing of a job.
    """

    def __init__(self, register: Register, worker: str, silent_for: float = SILENT_FOR) -> None:
        self._register = register
        self._worker = worker
        self._silent_for = silent_for
        self._seen: dict[tuple[str, int], tuple[float, float]] = {}

    def once(self, now: float | None = None) -> int:
        """Look once and return how many jobs were given back. now: a clock that only goes on [s]."""
        now = time.monotonic() if now is None else now
        with self._register.reading() as connection:
            others = [one for one in kept.running(connection) if one.worker != self._worker]
        seen = {}
        silent = []
        for job in others:
            key = (job.id, job.tries)
            beat, since = self._seen.get(key, (job.beat, now))
            seen[key] = (job.beat, now) if beat != job.beat else (beat, since)
            if now - seen[key][1] >= self._silent_for:
                silent.append(job)
        self._seen = seen
        because = f"it gave no sign of life for {self._silent_for:g} s"
        return sum(give_back(self._register, job, because) for job in silent)


def give_back(register: Register, job: JobRow, because: str) -> bool:
    """Give a job back whose worker is gone; return whether it still was that worker's."""
    with register.caching() as connection:
        return kept.give_back(connection, job, because, MOST_TRIES, now_text()) is not None


def give_back_all(register: Register, worker: str, because: str) -> int:
    """Give back every job of a worker that ended, and return how many they were."""
    with register.reading() as connection:
        mine = [one for one in kept.running(connection) if one.worker == worker]
    return sum(give_back(register, job, because) for job in mine)
