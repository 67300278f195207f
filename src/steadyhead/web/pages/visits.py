"""Visits of every station, those open first."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from steadyhead.services.visits_kept.showing import visits_view
from steadyhead.services.visits_kept.views import VisitsView
from steadyhead.web.answering import answer
from steadyhead.web.reader import Kept

router = APIRouter(tags=["visits"])
From = Annotated[int, Query(alias="from", ge=0, le=10_000_000, description="Rows passed.")]


@router.get("/visits", responses={200: {"model": VisitsView}})
def visits(request: Request, register: Kept, begin: From = 0) -> Response:
    """List the visits of every station, those open first, then the newest."""
    return answer(request, "visits/visits.html", visits_view(register, begin))
