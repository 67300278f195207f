"""Everything that was done at a station, from the chain, in words."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from steadyhead.services.history import HistoryView, history_view
from steadyhead.web.answering import answer
from steadyhead.web.reader import Asks, Kept

router = APIRouter(tags=["records"])
Below = Annotated[
    int,
    Query(alias="from", ge=0, le=10**15, description="Number of a link of the chain; older ones are told."),
]


@router.get("/stations/{key}/history", responses={200: {"model": HistoryView}})
def of_station(request: Request, register: Kept, reader: Asks, key: str, below: Below = 0) -> Response:
    """Tell what was done at a station, the newest first."""
    return answer(request, "records/history.html", history_view(register, key, below, units=reader.units))
