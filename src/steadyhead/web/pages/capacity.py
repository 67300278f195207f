"""The capacity maps of a station."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from steadyhead.services.studies.capacity import CapacityView, capacity_svg, capacity_view
from steadyhead.web.answering import answer
from steadyhead.web.reader import Asks, Kept

router = APIRouter(tags=["stations"])
NARROWEST, WIDEST = 300, 2400


@router.get("/stations/{key}/capacity", responses={200: {"model": CapacityView}})
def capacity_page(
    request: Request,
    key: str,
    register: Kept,
    reader: Asks,
    reducer: Annotated[str, Query(max_length=80)] = "",
    width: Annotated[int, Query(ge=NARROWEST, le=WIDEST)] = 1240,
    as_: Annotated[str, Query(alias="as", max_length=10)] = "",
) -> Response:
    """Show the maps; with ``as=svg`` one of them as a file, the first where no reducer is named."""
    if as_ == "svg":
        return Response(capacity_svg(register, key, reducer, reader.units, width), media_type="image/svg+xml")
    view = capacity_view(register, key, reader.units, reader.name)
    return answer(request, "studies/capacity.html", view)
