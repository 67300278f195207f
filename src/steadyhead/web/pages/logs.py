"""Logger data of a station: files handed over, questions, imports, judgements, events."""

from __future__ import annotations

from datetime import datetime
from io import BytesIO
from typing import Annotated, Any, Literal
from urllib.parse import quote

from fastapi import APIRouter, Path, Query, Request, Response
from fastapi.responses import StreamingResponse
from markupsafe import Markup
from pydantic import Field
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool

from steadyhead.drawings.droop_service import draw_droop
from steadyhead.drawings.palette import screen
from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.register.logs import logs_folder
from steadyhead.register.logs.belonging import pieces
from steadyhead.services.jobs.views import JobView, job_view
from steadyhead.services.logs import page as pages
from steadyhead.services.logs.answering import Open
from steadyhead.services.logs.desk import Desk, desk_of, lay
from steadyhead.services.logs.droop_pictures import droop_picture
from steadyhead.services.logs.example_file import NAME as EXAMPLE
from steadyhead.services.logs.example_file import STATION as OF_EXAMPLE
from steadyhead.services.logs.example_file import example_file
from steadyhead.services.logs.importing import undo_import
from steadyhead.services.logs.incident_paper import incident_paper
from steadyhead.services.logs.judging import AT_ONCE, judge_period, rows_in
from steadyhead.services.logs.judging_work import ask_to_judge
from steadyhead.services.logs.keys import end_key
from steadyhead.services.logs.page import (
    DeskPage,
    EventPage,
    ImportPage,
    JudgedPage,
    KeyPage,
    LogsPage,
)
from steadyhead.services.logs.pushing import Pushed, push
from steadyhead.services.logs.times import moment
from steadyhead.services.logs.views import ProposalView
from steadyhead.services.logs.warming import warm
from steadyhead.services.stations.days import today
from steadyhead.web.answering import answer, done
from steadyhead.web.forms import Form, Sent, Typed, takes
from steadyhead.web.giving import ANY_FILE, file_of, headers_of
from steadyhead.web.pages.logger_views import drawn_about
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import needs
from steadyhead.web.saying import Problem, to_show

router = APIRouter(tags=["logger data"])
RECORD, ENGINEER = [needs("record")], [needs("engineer")]
Number = Annotated[int, Path(ge=1, le=10**9, description="Number of an import.")]
Place = Annotated[int, Path(ge=0, le=10**6, description="Place of a file in its import.")]
As = Annotated[str, Query(alias="as", max_length=10, description="json, or file for the paper.")]


class HandedOver(Sent):
    """Files of one logger, under ``files`` of a form, and what is told beside."""

    source: str = Field("", max_length=60)
    zone: str = Field("", max_length=60)
    interval: float | None = Field(None, gt=0.0, lt=1e7)


class Answered(Sent):
    """What is done with files on the desk, and answers by the names of their questions."""

    act: Literal["look", "take", "drop"] = "look"
    answers: dict[str, str] = Field(default_factory=dict, max_length=60)


class JudgeSent(Sent):
    """The period to judge, UTC; empty: all there is."""

    start: str = Field("", max_length=40)
    end: str = Field("", max_length=40)


class KeySent(Sent):
    """Which logger is to send by itself."""

    logger: str = Field("", max_length=60)


class UndoSent(Sent):
    """Why an import is undone."""

    reason: str = Field("", max_length=400)


@router.get("/stations/{key}/logs", responses={200: {"model": LogsPage}})
def of_station(request: Request, register: Kept, reader: Asks, key: str) -> Response:
    """List the imports of a station, the channels they give and what was judged of them."""
    return _list(request, register, reader, key)


def _list(
    request: Request,
    register: Register,
    reader: Reader,
    key: str,
    form: Form | None = None,
    errors: Any = (),
) -> Response:
    view = pages.logs_page(register, key, reader.units)
    typed = dict(form.texts) if form is not None else {}
    return answer(request, "logs/list.html", view, 422 if errors else 200, form=typed, errors=errors)


@router.post(
    "/stations/{key}/logs", dependencies=RECORD, status_code=201, responses={201: {"model": DeskPage}},
    openapi_extra=takes(HandedOver, file="files"),
)  # fmt: skip
def hand_over(request: Request, register: Kept, reader: Asks, key: str, form: Typed) -> Response:
    """Lay files on a desk and say how they would be read; nothing is kept before they are taken in."""
    here = f"/stations/{quote(key)}/logs"
    desk: Desk | None = None
    try:
        told = form.read(HandedOver)
        files = [(one.filename, one.file) for one in form.every_file.get("files", ()) if one.filename]
        pages.head_of(register, key)
        answers = {"zone": told.zone.strip()} if told.zone.strip() else {}
        desk = lay(register, key, files, told.source, answers, told.interval)
        view = pages.desk_page(register, desk, reader.units)
    except (InputError, InputErrors) as problem:
        if desk is not None:
            desk.clear()
        return _list(request, register, reader, key, form, to_show(request, form, problem))
    return done(request, view, f"{here}/desk/{desk.id}")


@router.get(
    "/stations/{key}/logs/example", response_class=Response, responses={200: {"content": {"text/csv": {}}}}
)
def example(key: str) -> Response:
    """Give a logger's file to try with: two invented weeks of the station that has one."""
    if key != OF_EXAMPLE:
        raise InputError("station", f"{key[:40]} has no example of a logger.", f"{OF_EXAMPLE} has one.")
    return file_of(EXAMPLE, "text/csv", example_file().encode())


@router.get(
    "/stations/{key}/logs/desk/{desk}", dependencies=RECORD, responses={200: {"model": DeskPage}}
)  # fmt: skip
def on_desk(request: Request, register: Kept, reader: Asks, key: str, desk: str) -> Response:
    """Show how files would be read: in words, with their doubts as questions, first and last rows decoded."""
    view = pages.desk_page(register, desk_of(register, desk, key), reader.units)
    return answer(request, "logs/desk.html", view, errors=(), form={})


@router.post(
    "/stations/{key}/logs/desk/{desk}", dependencies=RECORD, status_code=201,
    responses={201: {"model": ProposalView | DeskPage}}, openapi_extra=takes(Answered),
)  # fmt: skip
def answer_desk(request: Request, register: Kept, reader: Asks, key: str, desk: str, form: Typed) -> Response:
    """Answer questions of files on the desk, take the files in, or let go of them."""
    here = f"/stations/{quote(key)}/logs"
    one = desk_of(register, desk, key)
    sent = form.read(Answered) if form.is_json else _answered(form)
    before = one.told["answers"]
    if sent.act == "drop":
        one.clear()
        return done(request, pages.logs_page(register, key, reader.units), here)
    try:
        one.answer(sent.answers)
        if sent.act == "look":
            return done(request, pages.desk_page(register, one, reader.units), f"{here}/desk/{desk}")
        made = pages.take_from_desk(register, one, reader.name)
    except (InputError, InputErrors) as problem:
        errors = to_show(request, form, problem)
        if isinstance(problem, Open):
            errors = _left_open(problem)
        one.answer({name: before.get(name, "") for name in sent.answers})
        view = pages.desk_page(register, one, reader.units)
        return answer(request, "logs/desk.html", view, 422, errors=errors, form=dict(form.texts))
    taken = done(request, made, f"{here}/{made.number}" if made.number else here)
    taken.background = BackgroundTask(warm, register, logs_folder(register), key, made.number)
    return taken


def _left_open(problem: Open) -> tuple[Problem, ...]:
    """Return what is said beside open questions of the page: they stand there with their answers."""
    return tuple(
        Problem(field=one.name, problem="is open.", remedy="Answer it, or let go of the files.")
        for one in problem.questions
    )


def _answered(form: Form) -> Answered:
    """Return what the form of the page says: a field ``answer.NAME`` for each question."""
    rest = {name: text for name, text in form.texts.items() if not name.startswith(("answer.", "own."))}
    read = Form(texts=rest).read(Answered)
    return read.model_copy(update={"answers": pages.answers_of(form.texts)})


@router.put(
    "/stations/{key}/logs/push", dependencies=RECORD, status_code=201, responses={201: {"model": Pushed}},
    openapi_extra=ANY_FILE,
)  # fmt: skip
async def pushed(
    request: Request,
    register: Kept,
    reader: Asks,
    key: str,
    source: Annotated[str, Query(max_length=60)] = "",
    name: Annotated[str, Query(max_length=120)] = "pushed",
) -> Response:
    """Take in what a logger or a program sends: the body is one file, read as files of its source are.

    A question without an assumed answer leaves it aside: answer it once on the page, for one file of the
    source; from then on it is remembered. What was sent before adds nothing. A logger of its own sends the
    header ``Authorization: Bearer`` with a key made for it.
    """
    desk = await run_in_threadpool(lay, register, key, [(name, BytesIO())], source)
    try:
        with desk.given().files[0].open("wb") as out:
            async for block in request.stream():
                await run_in_threadpool(out.write, block)
        view = await run_in_threadpool(push, register, desk.given(), reader.name)
    finally:
        await run_in_threadpool(desk.clear)
    return Response(
        view.model_dump_json(), 201 if view.number else 200, media_type="application/json",
        background=BackgroundTask(warm, register, logs_folder(register), key, view.number),
    )  # fmt: skip


@router.post(
    "/stations/{key}/logs/keys", dependencies=ENGINEER, status_code=201, responses={201: {"model": KeyPage}},
    openapi_extra=takes(KeySent),
)  # fmt: skip
def make_key(request: Request, register: Kept, reader: Asks, key: str, form: Typed) -> Response:
    """Make a key by which a logger sends files of this station by itself; it is shown this once."""
    try:
        logger = form.read(KeySent).logger
        view = pages.made_key(register, key, logger, reader.name, reader.units)
    except (InputError, InputErrors) as problem:
        return _list(request, register, reader, key, form, to_show(request, form, problem))
    return answer(request, "logs/key.html", view, 201)


@router.post(
    "/stations/{key}/logs/keys/{id_}/end", dependencies=ENGINEER, status_code=201,
    responses={201: {"model": LogsPage}},
)  # fmt: skip
def end_a_key(request: Request, register: Kept, reader: Asks, key: str, id_: str) -> Response:
    """End a key: what is sent with it is refused from now on."""
    end_key(register, key, id_, reader.name)
    return done(request, pages.logs_page(register, key, reader.units), f"/stations/{quote(key)}/logs")


@router.post(
    "/stations/{key}/logs/judge", dependencies=RECORD, status_code=201,
    responses={201: {"model": JudgedPage | JobView}}, openapi_extra=takes(JudgeSent),
)  # fmt: skip
def judge(request: Request, register: Kept, reader: Asks, key: str, form: Typed) -> Response:
    """Judge a period: defects of the data, events, measures; kept as a dated record beside the data.

    A long one becomes a job, and the answer is that job.
    """
    try:
        sent = form.read(JudgeSent)
        start, end = moment("start", sent.start), moment("end", sent.end)
        if rows_in(register, key, start, end) > AT_ONCE:
            asked = ask_to_judge(register, key, sent.start, sent.end, reader.name)
            return done(request, job_view(register, asked.id), f"/jobs/{asked.id}")
        made = judge_period(register, logs_folder(register), key, start, end, reader.name)
    except (InputError, InputErrors) as problem:
        return _list(request, register, reader, key, form, to_show(request, form, problem))
    view = pages.judged_page(register, key, made.id, reader.units)
    return done(request, view, f"/stations/{quote(key)}/logs/judged/{made.id}")


DROOP_WIDTHS = (860, 680, 336)
"""Widths of the picture of the droop curve: desktop, tablet, phone. [px]"""


@router.get("/stations/{key}/logs/judged/{judgement}", responses={200: {"model": JudgedPage}})
def judged(request: Request, register: Kept, reader: Asks, key: str, judgement: str) -> Response:
    """Show a kept judgement: defects, events, and measures with their rows."""
    page = pages.judged_page(register, key, judgement, reader.units)
    picture = droop_picture(page.judged.measures, page.station.name)
    drawn = []
    if picture is not None:
        drawn = [Markup(draw_droop(picture, screen(), wide, reader.units)) for wide in DROOP_WIDTHS]
    return answer(request, "logs/judged.html", page, drawings=drawn)


@router.get(
    "/stations/{key}/logs/event", responses={200: {"model": EventPage, "content": {"application/pdf": {}}}}
)  # fmt: skip
def event(
    request: Request,
    register: Kept,
    reader: Asks,
    key: str,
    at: Annotated[str, Query(max_length=40, description="About when, UTC.")],
    as_: As = "",
) -> Response:
    """Tell the event about a time: order, readings, what is not seen; `as=file`: its paper."""
    when = moment("at", at)
    if not isinstance(when, datetime):
        raise InputError("at", "is empty.", "Write 2027-03-06T12:00.")
    view = pages.event_page(register, key, when, reader.units)
    if as_ == "file":
        paper = incident_paper(view.told, today(), reader.units)
        name = f"event-{key}-{view.told.at[:10]}.pdf"
        return file_of(name, "application/pdf", paper)
    drawn = drawn_about(register, reader, key, view.window, view.station.name) if view.window else []
    return answer(request, "logs/event.html", view, drawings=drawn)


@router.get("/stations/{key}/logs/{number}", responses={200: {"model": ImportPage}})
def one_import(request: Request, register: Kept, reader: Asks, key: str, number: Number) -> Response:
    """Show an import with its report: rows used and left out, facts, overlaps, first and last rows."""
    view = pages.import_page(register, key, number, reader.units)
    return answer(request, "logs/import.html", view, errors=(), form={})


@router.post(
    "/stations/{key}/logs/{number}/undo", dependencies=RECORD, status_code=201,
    responses={201: {"model": ImportPage}}, openapi_extra=takes(UndoSent),
)  # fmt: skip
def undo(request: Request, register: Kept, reader: Asks, key: str, number: Number, form: Typed) -> Response:
    """Undo an import: its samples are shown no more; its files stay as they were given."""
    try:
        reason = form.read(UndoSent).reason
        pages.kept_import(register, key, number)
        undo_import(register, logs_folder(register), number, reader.name, reason)
    except (InputError, InputErrors) as problem:
        errors = to_show(request, form, problem)
        view = pages.import_page(register, key, number, reader.units)
        return answer(request, "logs/import.html", view, 422, errors=errors, form=dict(form.texts))
    here = f"/stations/{quote(key)}/logs/{number}"
    return done(request, pages.import_page(register, key, number, reader.units), here)


@router.get("/stations/{key}/logs/{number}/files/{place}", response_class=Response)
def file(register: Kept, key: str, number: Number, place: Place) -> Response:
    """Give a file as it was given, byte for byte."""
    name, path = pages.raw_file(register, key, number, place)
    headers = headers_of(name)
    return StreamingResponse(pieces(path), media_type="application/octet-stream", headers=headers)
