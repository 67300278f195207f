"""Long studies under way and finished: how far they are, stop them, go to what came of them."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from steadyhead.register import Register
from steadyhead.services.jobs.asking import begin_again, stop
from steadyhead.services.jobs.kinds import JUDGE
from steadyhead.services.jobs.views import PER_PAGE, JobsView, JobView, job_view, jobs_view
from steadyhead.web.answering import answer, done
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import NotAllowed, needs

router = APIRouter(tags=["jobs"])
FARTHEST = 1_000_000


@router.get("/jobs", responses={200: {"model": JobsView}})
def jobs_page(
    request: Request,
    register: Kept,
    reader: Asks,
    start: Annotated[int, Query(alias="from", ge=0, le=FARTHEST)] = 0,
) -> Response:
    """Show the studies asked for, the last first."""
    view = jobs_view(register, start)
    before = f"/jobs?from={max(start - PER_PAGE, 0)}" if start else ""
    after = f"/jobs?from={start + PER_PAGE}" if start + PER_PAGE < view.total else ""
    return answer(request, "jobs/list.html", view, before=before, after=after)


@router.get("/jobs/{job_id}", responses={200: {"model": JobView}})
def job_page(request: Request, job_id: str, register: Kept, reader: Asks) -> Response:
    """Show one job; a page that asks again shows it going on."""
    return answer(request, "jobs/job.html", job_view(register, job_id))


@router.post("/jobs/{job_id}/stop", responses={200: {"model": JobView}}, dependencies=[needs("record")])
def job_stop(request: Request, job_id: str, register: Kept, reader: Asks) -> Response:
    """Stop a job: at once where it waits, within seconds where it is at work. What is kept stays."""
    _allowed(register, job_id, reader)
    return done(request, _stopped(register, job_id), f"/jobs/{job_id}", 200)


def _allowed(register: Register, job_id: str, reader: Reader) -> None:
    """Refuse a reader who may not ask for such a job; who may record asks for judgements of logger data."""
    if job_view(register, job_id).kind != JUDGE and not reader.may("engineer"):
        raise NotAllowed("engineer", reader.role)


def _stopped(register: Register, job_id: str) -> JobView:
    stop(register, job_id)
    return job_view(register, job_id)


@router.post(
    "/jobs/{job_id}/again",
    status_code=201,
    responses={201: {"model": JobView}},
    dependencies=[needs("record")],
)
def job_again(request: Request, job_id: str, register: Kept, reader: Asks) -> Response:
    """Ask anew for what a stopped or failed job was asked for, of the station's last revision."""
    _allowed(register, job_id, reader)
    asked = begin_again(register, job_id, reader.name)
    where = f"/stations/{asked.station}/surge/{asked.study}" if asked.study else f"/jobs/{asked.id}"
    return done(request, job_view(register, job_id if asked.study else asked.id), where)
