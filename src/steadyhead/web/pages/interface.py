"""The description of the interface."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

router = APIRouter(tags=["help"])


@router.get("/openapi.json", include_in_schema=False)
def description(request: Request) -> Response:
    """Give the description of every address, by the OpenAPI specification."""
    return JSONResponse(request.app.openapi())
