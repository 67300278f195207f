"""One answer, two faces: a page for a person, JSON for a program, from the same view at the same path."""

from __future__ import annotations

from typing import Any

from fastapi import Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from pydantic import BaseModel

from steadyhead.web.templating import render


def wants_json(request: Request) -> bool:
    """Return whether JSON is asked for: by ``Accept``, or by ``?as=json`` in the address."""
    if request.query_params.get("as") == "json":
        return True
    accept = request.headers.get("accept", "")
    return "application/json" in accept and "text/html" not in accept


def wants_page(request: Request) -> bool:
    """Return whether a page is asked for by name, as browsers do."""
    return not wants_json(request) and "text/html" in request.headers.get("accept", "")


def answer(request: Request, template: str, view: BaseModel, status: int = 200, **more: Any) -> Response:
    """Return a view as a page or as JSON.

    template: a file of `templates`, given the view as ``view``, the reader as ``reader``; `more` is for the
    page alone (open forms, where one stands) and never holds a fact that the view lacks.
    """
    if wants_json(request):
        return Response(view.model_dump_json(), status, media_type="application/json")
    return HTMLResponse(render(request, template, view=view, **more), status)


def done(request: Request, view: BaseModel, then: str, status: int = 201) -> Response:
    """Answer a change: to a program what came of it, to a browser the page to see it on (303)."""
    if wants_json(request):
        return Response(view.model_dump_json(), status, media_type="application/json")
    return RedirectResponse(then, 303)
