"""Pages from templates."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from contextlib import suppress
from importlib.metadata import version
from pathlib import Path
from typing import Any

from fastapi import Request
from jinja2 import (
    BytecodeCache,
    Environment,
    FileSystemLoader,
    StrictUndefined,
    TemplateSyntaxError,
    select_autoescape,
)
from jinja2.bccache import Bucket
from markupsafe import Markup
from sqlalchemy.exc import DBAPIError

from steadyhead import __version__
from steadyhead.services.jobs.running import Open, count_open
from steadyhead.services.logs.judged import by_period
from steadyhead.services.logs.spoken import told_in
from steadyhead.services.page_words import (
    as_asked,
    as_told,
    at_moment,
    called,
    dated,
    event_words,
    grouped,
    in_place,
    on_day,
    on_page,
    place_words,
    to_second,
)
from steadyhead.watch.counting import signed
from steadyhead.web.static import asset

FRESH = 2.0
"""How long the count of studies under way is shown before it is counted again. [s]"""
PLACE = Path(__file__).parent / "templates"


class _Compiled(BytecodeCache):
    """Compiled templates beside their sources, as Python keeps its own; nowhere if that cannot be written."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._made_by = f"{__version__}-{version('jinja2')}"

    def _place(self, bucket: Bucket) -> Path:
        return self._folder / f"{bucket.key}.{self._made_by}.jinja"

    def load_bytecode(self, bucket: Bucket) -> None:
        with suppress(OSError), self._place(bucket).open("rb") as found:
            bucket.load_bytecode(found)  # left alone where another source or another Python made it

    def dump_bytecode(self, bucket: Bucket) -> None:
        if sys.dont_write_bytecode:
            return
        with suppress(OSError):
            self._folder.mkdir(exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self._folder)
            try:
                with os.fdopen(handle, "wb") as out:
                    bucket.write_bytecode(out)
                Path(name).replace(self._place(bucket))
            except OSError:
                Path(name).unlink()


ENVIRONMENT = Environment(
    loader=FileSystemLoader(PLACE),
    bytecode_cache=_Compiled(PLACE / "__pycache__"),
    autoescape=select_autoescape(default=True, default_for_string=True),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
    auto_reload=False,
)
ENVIRONMENT.globals["asset"] = asset
ENVIRONMENT.globals["version"] = __version__


def command(words: str) -> Markup:
    """Return a line to type at a console, which a narrow page breaks between its words alone."""
    return Markup('<code class="command">{}</code>').format(
        Markup(" ").join(Markup("<span>{}</span>").format(word) for word in words.split(" "))
    )


for _filter in (
    as_asked,
    as_told,
    at_moment,
    by_period,
    called,
    command,
    dated,
    event_words,
    grouped,
    in_place,
    on_day,
    on_page,
    place_words,
    signed,
    to_second,
    told_in,
):
    ENVIRONMENT.filters[_filter.__name__] = _filter


def load_all(environment: Environment = ENVIRONMENT) -> int:
    """Load every template, so that no page waits for it; return how many there are.

    Raises
    ------
    RuntimeError
        A template that cannot be used: its name, the line and what is wrong there.
    """
    names = environment.list_templates(extensions=("html",))
    for name in names:
        try:
            environment.get_template(name)
        except TemplateSyntaxError as wrong:
            raise RuntimeError(
                f"template {wrong.name or name}, line {wrong.lineno}: {wrong.message}"
            ) from wrong
    return len(names)


def render(request: Request, template: str, **given: Any) -> str:
    """Return a template filled in; it also gets ``reader``, ``path`` and ``asset``."""
    found = ENVIRONMENT.get_template(template)
    at_work = _at_work(request).words if request.state.reader.is_known else ""
    return found.render(reader=request.state.reader, path=request.url.path, at_work=at_work, **given)


def _at_work(request: Request) -> Open:
    """Return how many long studies are under way, as of a moment ago; it stands at the head of every page."""
    state, now = request.app.state, time.monotonic()
    count: Open
    until, count = getattr(state, "at_work", (0.0, Open()))
    if now < until:
        return count
    try:
        with state.register.reading() as connection:
            count = count_open(connection)
    except DBAPIError:
        count = Open()  # what is wrong with the database is said by what needs it
    state.at_work = (now + FRESH, count)
    return count
