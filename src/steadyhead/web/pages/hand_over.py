"""What somebody was handed on the spot, held against what the register has of the visit."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from steadyhead.errors import InputError, InputErrors
from steadyhead.procedure.ledger import read
from steadyhead.register import Register
from steadyhead.services.field.statements import (
    MOST,
    PAGE_ALONE,
    check,
    is_page,
    read_statement,
    statement_within,
)
from steadyhead.services.plan_files import read_plan_file
from steadyhead.services.stations.head import StationHead
from steadyhead.services.stations.kept import station_row
from steadyhead.services.visits_kept.run_rows import files_of, one_run
from steadyhead.services.visits_kept.showing import entries_view
from steadyhead.services.visits_kept.views import EntriesView, RunView
from steadyhead.units import UnitSet
from steadyhead.web.answering import answer
from steadyhead.web.forms import Form, Sent, Typed
from steadyhead.web.giving import takes_both
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.saying import to_show

router = APIRouter(tags=["visits"])


class Handed(Sent):
    """A statement that was handed over, as text; in a form also the page itself, as a file."""

    statement: str = Field("", max_length=MOST)


class CheckedView(BaseModel):
    """How a statement stands: how many of its entries are here, how many came since; in words.

    stops: of the words, those about a Stop that was said and stands.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    matches: bool
    count: int
    here: int
    later: int
    words: tuple[str, ...]
    differs: tuple[str, ...]
    unchecked: tuple[str, ...]
    stops: tuple[str, ...]
    said: str
    says: tuple[tuple[str, str], ...]


class HandOverView(BaseModel):
    """The visit a statement is held against; checked: what came of it, None before."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: StationHead
    run: RunView
    checked: CheckedView | None = None


@router.get("/stations/{key}/runs/{run}/hand-over", responses={200: {"model": HandOverView}})
def ask(request: Request, register: Kept, reader: Asks, key: str, run: str) -> Response:
    """Show where a statement that was handed over is checked."""
    return _page(request, register, reader, key, run)


@router.post(
    "/stations/{key}/runs/{run}/hand-over",
    responses={200: {"model": HandOverView}},
    openapi_extra=takes_both(Handed, "page"),
)
def checked(request: Request, register: Kept, reader: Asks, key: str, run: str, form: Typed) -> Response:
    """Hold a statement against the entries of a visit; nothing is changed."""
    try:
        text = form.read(Handed).statement
        is_whole = not text.strip()
        if is_whole:
            content = form.file("page")[1]
            text, is_whole = statement_within(content), is_page(content)
        found = _checked(register, key, run, text, reader.units, is_whole=is_whole)
    except (InputError, InputErrors) as problem:
        return _page(request, register, reader, key, run, form, to_show(request, form, problem), status=422)
    return _page(request, register, reader, key, run, form, told=found)


def _checked(
    register: Register, key: str, run: str, text: str, units: UnitSet, *, is_whole: bool
) -> CheckedView:
    told = read_statement(text)
    with register.reading() as connection:
        of = one_run(connection, key, run)
        plan, entries = files_of(connection, of)
        name = station_row(connection, key).name
    found = check(told, key, run, read(entries), read_plan_file(plan), (name,), units)
    words = (*found.words, PAGE_ALONE) if is_whole else found.words
    return CheckedView(
        matches=found.matches,
        count=found.count,
        here=found.here,
        later=found.later,
        words=words,
        differs=found.differs,
        unchecked=found.unchecked,
        stops=found.stops,
        said=told.said,
        says=tuple(told.lines.items()),
    )


def _page(
    request: Request,
    register: Kept,
    reader: Reader,
    key: str,
    run: str,
    form: Form | None = None,
    errors: Any = (),
    *,
    told: CheckedView | None = None,
    status: int = 200,
) -> Response:
    shown: EntriesView = entries_view(register, key, run, 1, reader.units)
    view = HandOverView(station=shown.station, run=shown.run, checked=told)
    typed = form.texts.get("statement", "") if form is not None else ""
    return answer(request, "visits/hand_over.html", view, status, statement=typed, errors=errors)
