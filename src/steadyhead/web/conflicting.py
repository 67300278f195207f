"""The page for the second of two people who changed one file."""

from __future__ import annotations

from fastapi import Request, Response

from steadyhead.errors import StationError
from steadyhead.services.stations.kept import Conflict
from steadyhead.services.stations.situation import say_day
from steadyhead.web.answering import answer
from steadyhead.web.reader import register_of


def conflict_answer(request: Request, conflict: Conflict, problem: StationError | None = None) -> Response:
    """Return both differences, value by value, with status 409; all that was typed is in it."""
    from steadyhead.services.stations.conflicts import conflict_view  # brings the engines along

    units = request.state.reader.units
    view = conflict_view(register_of(request), conflict, units, problem)
    return answer(request, "station/conflict.html", view, 409, say_day=say_day)
