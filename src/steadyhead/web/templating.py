"""Pages from templates."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

from fastapi import Request
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from sqlalchemy.exc import DBAPIError

from steadyhead.services.jobs.running import count_running
from steadyhead.web.static import asset

FRESH = 2.0
"""How long the count of studies under way is shown before it is counted again. [s]"""
PLACE = Path(__file__).parent / "templates"
ENVIRONMENT = Environment(
    loader=FileSystemLoader(PLACE),
    autoescape=select_autoescape(default=True, default_for_string=True),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
    auto_reload=False,
)
ENVIRONMENT.globals["asset"] = asset


def render(request: Request, template: str, **given: Any) -> str:
    """Return a template filled in; it also gets ``reader``, ``path`` and ``asset``."""
    found = ENVIRONMENT.get_template(template)
    at_work = _at_work(request) if request.state.reader.is_known else 0
    return found.render(reader=request.state.reader, path=request.url.path, at_work=at_work, **given)


def _at_work(request: Request) -> int:
    """Return how many long studies are under way, as of a moment ago; it stands at the head of every page."""
    state, now = request.app.state, time.monotonic()
    until, count = getattr(state, "at_work", (0.0, 0))
    if now < until:
        return int(count)
    try:
        with state.register.reading() as connection:
            count = count_running(connection)
    except DBAPIError:
        count = 0  # what is wrong with the database is said by what needs it
    state.at_work = (now + FRESH, count)
    return int(count)
