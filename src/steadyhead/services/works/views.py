"""A work as a page shows it."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from steadyhead.services.works.asking import Work
from steadyhead.services.works.kinds import KINDS


class WorkProblem(BaseModel):
    """Why a work came to nothing."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    field: str
    problem: str
    remedy: str


class WorkView(BaseModel):
    """How far a work is. share: 0 to 1; state: running, done, refused, stopped or failed."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    kind: str
    name: str
    state: str
    share: float
    words: str
    who: str
    begun_at: str
    ended_at: str
    problems: tuple[WorkProblem, ...]


def work_view(work: Work | None) -> WorkView | None:
    """Return a work as a page shows it."""
    if work is None:
        return None
    words = f"{work.done} of {work.total} {work.what}" if work.total and work.is_open else ""
    return WorkView(
        id=work.id,
        kind=work.kind,
        name=KINDS[work.kind].words,
        state=work.state,
        share=work.share,
        words=words,
        who=work.who,
        begun_at=work.begun_at,
        ended_at=work.ended_at,
        problems=tuple(WorkProblem(field=f, problem=p, remedy=r) for f, p, r in work.problems),
    )
