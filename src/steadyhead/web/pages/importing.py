"""Stations out of a spreadsheet: choose, map, look at the report, write all of it or nothing, undo."""

from __future__ import annotations

import re
from typing import Literal

from fastapi import APIRouter, Request, Response
from pydantic import Field

from steadyhead.errors import InputError, InputErrors, StationError
from steadyhead.register import Register
from steadyhead.services.importing.desk import Desk, choose, desk_of
from steadyhead.services.importing.page import (
    ImportsView,
    ImportView,
    Show,
    carry_out,
    import_view,
    imports_view,
    look,
    take,
)
from steadyhead.services.importing.writing import not_kept_import, past
from steadyhead.services.works.asking import works_of
from steadyhead.web.answering import answer, done, wants_json
from steadyhead.web.forms import Form, Sent, Typed, takes
from steadyhead.web.reader import Asks, Kept
from steadyhead.web.rights import needs
from steadyhead.web.saying import problems_of

router = APIRouter()
MOST_PAST = 1000
"""Imports looked back through."""
ENGINEER = [needs("engineer")]


class BeginSent(Sent):
    """A spreadsheet, and what new stations are like: ``layout:NAME``, a station's key, or a file of yours."""

    template: str = Field("", max_length=200)
    template_key: str = Field("", max_length=200)


class ColumnSent(Sent):
    """What a column fills, and the unit of its bare numbers."""

    at: str = Field("", max_length=120)
    unit: str = Field("", max_length=24)


class ChosenSent(Sent):
    """What was chosen of a mapping; `columns` in the order of the sheet."""

    sheet: str = Field("", max_length=120)
    heading_row: int = Field(0, ge=0, le=100_000)
    named: str = Field("", max_length=60)
    decimal: Literal["", "point", "comma"] = ""
    remember_as: str = Field("", max_length=60)
    columns: list[ColumnSent] | None = Field(None, max_length=300)
    do: Literal["keep", "look"] = "keep"


class WrittenSent(Sent):
    """Whether refused rows are left out."""

    only: Literal["all", "good"] = "all"


@router.get("/stations/import", responses={200: {"model": ImportsView}}, dependencies=ENGINEER)
def imports(request: Request, register: Kept) -> Response:
    """Show where an import begins."""
    return answer(request, "importing/begin.html", imports_view(register), errors=(), typed={})


@router.post(
    "/stations/import", openapi_extra=takes(BeginSent, file="sheet"), responses={201: {"model": ImportView}},
    dependencies=ENGINEER,
)  # fmt: skip
def begin(request: Request, reader: Asks, register: Kept, form: Typed) -> Response:
    """Take a spreadsheet and propose what its columns fill."""
    given, template = form.files.get("sheet"), form.files.get("template_file")
    chosen = form.texts.get("template_key", "").strip() or form.texts.get("template", "")
    try:
        if given is None or not given.filename:
            raise InputError("sheet", "got no file.", "Choose a spreadsheet: .xlsx, .ods or .csv.")
        source = template.file if template is not None and template.filename else None
        desk = take(register, given.file, given.filename, chosen, source, reader.name)
    except StationError as error:
        if wants_json(request) or not isinstance(error, InputError | InputErrors):
            raise
        errors = problems_of(error)
        view = imports_view(register)
        return answer(request, "importing/begin.html", view, 422, errors=errors, typed=dict(form.texts))
    return done(request, import_view(register, desk), f"/stations/import/{desk.id}")


@router.get("/stations/import/{work}", responses={200: {"model": ImportView}}, dependencies=ENGINEER)
def one(request: Request, register: Kept, work: str, show: Show = "all", start: int = 0) -> Response:
    """Show an import under way: mapping, report, what was written."""
    return _shown(request, register, desk_of(register, work), show=show, start=max(start, 0))


def _shown(
    request: Request,
    register: Register,
    desk: Desk,
    error: StationError | None = None,
    *,
    show: Show = "all",
    start: int = 0,
) -> Response:
    view = import_view(register, desk, show, start)
    errors = () if error is None else problems_of(error)
    return answer(request, "importing/import.html", view, 200 if error is None else 422, errors=errors)


@router.post(
    "/stations/import/{work}/columns",
    responses={201: {"model": ImportView}},
    dependencies=ENGINEER,
    openapi_extra=takes(ChosenSent),
)
def columns(request: Request, reader: Asks, register: Kept, form: Typed, work: str) -> Response:
    """Choose what each column fills; with `do=look` then read every row and make the report."""
    desk = desk_of(register, work)
    sent = form.read(ChosenSent) if form.is_json else _chosen(form)
    chosen = None if sent.columns is None else [(one.at, one.unit.strip()) for one in sent.columns]
    try:
        choose(
            register, desk, sheet=sent.sheet, heading_row=sent.heading_row, named=sent.named,
            columns=chosen, decimal=sent.decimal, remember_as=sent.remember_as.strip(), who=reader.name,
        )  # fmt: skip
        if sent.do == "look":
            look(register, desk, reader.name)
    except (InputError, InputErrors) as error:
        if wants_json(request):
            raise
        return _shown(request, register, desk, error)
    return done(request, import_view(register, desk), f"/stations/import/{work}")


def _chosen(form: Form) -> ChosenSent:
    """Return what a form of the page says: ``at.3`` and ``unit.3`` are of the fourth column."""
    plain = {name: text for name, text in form.texts.items() if not re.fullmatch(r"(at|unit)\.\d{1,3}", name)}
    indices = sorted(int(name[3:]) for name in form.texts if re.fullmatch(r"at\.\d{1,3}", name))
    read = Form(texts=plain).read(ChosenSent)
    if not indices:
        return read
    listed = [
        ColumnSent(at=form.texts.get(f"at.{at}", ""), unit=form.texts.get(f"unit.{at}", ""))
        for at in range(indices[-1] + 1)
    ]
    return read.model_copy(update={"columns": listed})


@router.post(
    "/stations/import/{work}/write",
    responses={201: {"model": ImportView}},
    dependencies=ENGINEER,
    openapi_extra=takes(WrittenSent),
)
def write(request: Request, reader: Asks, register: Kept, form: Typed, work: str) -> Response:
    """Write every station of the report, or only the rows that are not refused."""
    desk = desk_of(register, work)
    try:
        carry_out(register, desk, form.read(WrittenSent).only, reader.name)
    except InputError as error:
        if wants_json(request):
            raise
        return _shown(request, register, desk, error)
    return done(request, import_view(register, desk), f"/stations/import/{work}")


@router.post("/stations/import/{work}/stop", responses={201: {"model": ImportView}}, dependencies=ENGINEER)
def stop(request: Request, register: Kept, work: str) -> Response:
    """Stop what is under way; nothing is written then."""
    desk, works = desk_of(register, work), works_of(register)
    for kind in ("report", "import"):
        last = works.last(kind)
        if last is not None and last.is_open and desk.get(f"work-{kind}") == last.id:
            works.stop(last.id)
            works.wait(last.id, 2.0)
    return done(request, import_view(register, desk), f"/stations/import/{work}")


@router.post("/stations/import/{made}/undo", responses={201: {"model": ImportsView}}, dependencies=ENGINEER)
def undo(request: Request, reader: Asks, register: Kept, made: str) -> Response:
    """Undo an import of the past: former files are brought back, stations it added go off the list."""
    with register.reading() as connection:
        if all(one.id != made for one in past(connection, MOST_PAST)):
            raise not_kept_import(made)
    works_of(register).start("undo", reader.name, {"import": made})
    return done(request, imports_view(register), "/stations/import")
