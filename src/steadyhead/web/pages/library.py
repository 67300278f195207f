"""The library: data sheets of valves that station files name."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from steadyhead.errors import InputError, InputErrors
from steadyhead.web.answering import answer, done
from steadyhead.web.forms import MOST_TEXT, Sent, Typed, takes
from steadyhead.web.reader import Asks
from steadyhead.web.rights import needs
from steadyhead.web.saying import Problem, problems_of

router = APIRouter(tags=["library"])


class SheetView(BaseModel):
    """A data sheet in a line."""

    model_config = ConfigDict(frozen=True, extra="forbid", from_attributes=True)
    name: str
    valve: str
    maker: str
    size: str
    kv: str
    size_m: float | None
    kv_m3_h_bar: float | None
    has_table: bool
    source: str
    problem: str


class LibraryView(BaseModel):
    """Every data sheet kept here; `empty_sheet`: one to fill in, with its comments."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    sheets: tuple[SheetView, ...]
    empty_sheet: str
    folder: str = ""
    sheet: str = ""
    problems: tuple[Problem, ...] = ()


class NewSheet(Sent):
    """A data sheet as text (YAML)."""

    sheet: str = Field(min_length=1, max_length=MOST_TEXT)


def _view(reader: Asks, **more: object) -> LibraryView:
    from steadyhead.services import library, sheets_kept
    from steadyhead.station.templates import DATA_SHEET, new

    shown = tuple(SheetView.model_validate(one) for one in sheets_kept.shown(reader.units))
    folder = str(library.folder()) if reader.is_alone else ""
    return LibraryView(sheets=shown, empty_sheet=new(DATA_SHEET), folder=folder).model_copy(update=more)


@router.get("/library", responses={200: {"model": LibraryView}})
def sheets(request: Request, reader: Asks) -> Response:
    """List the data sheets of valves kept here."""
    return answer(request, "library/library.html", _view(reader))


@router.post(
    "/library", dependencies=[needs("engineer")], openapi_extra=takes(NewSheet), status_code=201,
    responses={201: {"model": LibraryView}},
)  # fmt: skip
def keep(request: Request, reader: Asks, form: Typed) -> Response:
    """Put a data sheet into the library; a kept one is never written over."""
    from steadyhead.services import sheets_kept

    try:
        sheets_kept.keep(form.read(NewSheet).sheet.encode("utf-8", "replace"))
    except (InputError, InputErrors) as error:
        typed = {"sheet": form.texts.get("sheet", ""), "problems": problems_of(error)}
        return answer(request, "library/library.html", _view(reader, **typed), 422)
    return done(request, _view(reader), "/library")
