"""Jobs as pages: what was asked, how far it is, what came of it."""

from __future__ import annotations

import json
from collections.abc import Sequence

from pydantic import BaseModel, ConfigDict
from sqlalchemy import Connection, select

from steadyhead.register import Register
from steadyhead.register import jobs as kept
from steadyhead.register.jobs import JobRow, job_of
from steadyhead.register.tables import record, station
from steadyhead.services.jobs.asking import no_job
from steadyhead.services.jobs.keys import judgement_id, study_id
from steadyhead.services.jobs.kinds import JUDGE, KINDS, of_lane
from steadyhead.services.studies.asked import spec_words

PER_PAGE = 50
STATE_WORDS = {
    "asked": "waits", "running": "at work", "done": "finished", "failed": "not finished",
    "stopped": "stopped",
}  # fmt: skip
MARKS = {
    "asked": "unknown", "running": "due", "done": "holds", "failed": "struck", "stopped": "slipped",
}  # fmt: skip


class JobView(BaseModel):
    """A job.

    Parameters
    ----------
    id, kind, kind_words, ask
        Which, and what was asked for.
    station, station_name, revision
        Of which station, and which revision of its file.
    state, state_words, mark
        *asked*, *running*, *done*, *failed*, *stopped*; the same in words, and as a mark.
    share, words, problem
        How far it is, 0 to 1, and at what; why it was given back or came to nothing.
    asked_at, asked_by, begun_at, gone_on_at, ended_at, tries
        Moments (UTC), who asked, and how often it was begun; gone_on_at: when last, where it was cut off.
    is_open, is_stopping, can_begin_again
        Whether it is still to come to an end; whether it is asked to stop; whether it may be asked for anew.
    href, result_href
        Where it is shown, and where its result is; empty before there is one.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    kind: str
    kind_words: str
    ask: str
    station: str
    station_name: str
    revision: int
    state: str
    state_words: str
    mark: str
    share: float
    words: str
    problem: str
    asked_at: str
    asked_by: str
    begun_at: str
    gone_on_at: str
    ended_at: str
    tries: int
    is_open: bool
    is_stopping: bool
    can_begin_again: bool
    href: str
    result_href: str


class JobsView(BaseModel):
    """The jobs of a register, the last ones first."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    jobs: tuple[JobView, ...]
    start: int
    total: int
    open: int


def job_view(register: Register, job_id: str) -> JobView:
    """Return one job.

    Raises
    ------
    NotKept
        No such job.
    """
    with register.reading() as connection:
        found = job_of(connection, job_id)
        if found is None:
            raise no_job(job_id)
        return _views(connection, [found])[0]


def jobs_view(register: Register, start: int = 0) -> JobsView:
    """Return a page of studies."""
    from steadyhead.services.jobs.running import count_open

    with register.reading() as connection:
        rows, total = kept.listed(connection, kinds=of_lane("studies"), start=start, most=PER_PAGE)
        found = count_open(connection)
        return JobsView(
            jobs=_views(connection, rows), start=start, total=total, open=found.at_work + found.waiting
        )


def open_jobs(connection: Connection, key: str, judging: bool = False) -> tuple[JobView, ...]:
    """Return the studies of a station that are under way, or came to nothing lately.

    judging: the judgements of its logger data instead.
    """
    kinds = [one for one in of_lane("studies") if (one == JUDGE) is judging]
    rows, _ = kept.listed(connection, station=key, kinds=kinds, most=20)
    return _views(connection, [one for one in rows if one.state != "done"][:6])


def _views(connection: Connection, rows: Sequence[JobRow]) -> tuple[JobView, ...]:
    keys = {one.station for one in rows}
    studies = {study_id(one.spec_hash) for one in rows if one.state == "done"}
    query = select(station.c.key, station.c.name).where(station.c.key.in_(keys))
    names = {one.key: one.name for one in connection.execute(query)} if keys else {}
    there = select(record.c.id).where(record.c.id.in_(studies))
    known = set(connection.execute(there).scalars()) if studies else set()
    return tuple(_view(one, names.get(one.station, ""), known) for one in rows)


def _view(job: JobRow, name: str, known: set[str]) -> JobView:
    spec = json.loads(job.spec)
    study = study_id(job.spec_hash)
    result = f"/stations/{job.station}/surge/{study}" if study in known else ""
    begun_at, _, gone_on_at = job.begun_at.partition(" ")
    if job.kind == "capacity" and job.state == "done":
        result = f"/stations/{job.station}/capacity"
    if job.kind == JUDGE and job.state == "done":
        result = f"/stations/{job.station}/logs/judged/{judgement_id(job.spec_hash, job.asked_at)}"
    return JobView(
        id=job.id, kind=job.kind, kind_words=KINDS[job.kind].words if job.kind in KINDS else job.kind,
        ask=spec_words(job.kind, spec["ask"]), station=job.station, station_name=name,
        revision=spec["revision"], state=job.state, state_words=_state_words(job), mark=MARKS[job.state],
        share=job.share, words=_words(job), problem=job.problem, asked_at=job.asked_at,
        asked_by=job.asked_by, begun_at=begun_at, gone_on_at=gone_on_at, ended_at=job.ended_at,
        tries=job.tries, is_open=job.is_open, is_stopping=job.is_open and bool(job.stop),
        can_begin_again=job.state in ("stopped", "failed") and job.kind in KINDS, href=f"/jobs/{job.id}",
        result_href=result,
    )  # fmt: skip


def _words(job: JobRow) -> str:
    """Return at what a job is and how far, e.g. ``failures: 40 %``."""
    return f"{job.words}: {100 * job.share:.0f} %" if job.words and job.state == "running" else job.words


def _state_words(job: JobRow) -> str:
    if job.state == "running" and job.stop:
        return "is being stopped"
    if job.state == "asked" and (job.tries or job.problem):
        return "waits to be gone on with"
    if job.state == "running" and job.problem:
        return "at work, gone on with"
    return STATE_WORDS[job.state]
