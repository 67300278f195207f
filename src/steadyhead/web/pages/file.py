"""The text of a station file: shown, checked, saved; given out and taken in as bytes."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.services.files import LARGEST_FILE
from steadyhead.services.judging import judge_file
from steadyhead.services.stations.fields import ProblemView, problems_of
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.stations.judged import today
from steadyhead.services.stations.kept import Head, revision_file
from steadyhead.services.stations.saving import save
from steadyhead.station.decoding import UTF8, decoded
from steadyhead.station.refusal import Refusal
from steadyhead.web.answering import answer, wants_json
from steadyhead.web.editing import SavedView, saved_answer
from steadyhead.web.forms import Form, Sent, Typed, takes
from steadyhead.web.pages.fields import problem_words, verdict
from steadyhead.web.reader import Asks, Kept, Reader
from steadyhead.web.rights import NotAllowed, needs

router = APIRouter()
MOST = 1_000_000


class FileView(BaseModel):
    """The text of a station file, and what of it cannot be used, with its line."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: StationHead
    based_on: int
    text: str
    why: str = ""
    saved: int = 0
    problems: tuple[ProblemView, ...] = ()
    problem_words: str = ""
    verdict: str = ""


class SentText(Sent):
    """A text to *check*, or to *save* as the next revision."""

    text: str = ""
    do: Literal["check", "save"] = "save"
    why: str = Field("", max_length=400)
    based_on: int = Field(0, ge=0, le=MOST)


@router.get("/stations/{key}/file", responses={200: {"model": FileView}})
def get_file(
    request: Request,
    key: str,
    reader: Asks,
    register: Kept,
    revision: int = Query(0, ge=0, le=MOST),
    saved: int = 0,
) -> Response:
    """Return the text of a station file; byte for byte as it was given with `as=given`."""
    base = revision_file(register, key, revision)
    if request.query_params.get("as") == "given":
        name = f"{key}.r{base.number}.yaml" if revision else f"{key}.yaml"
        headers = {
            "content-disposition": f'attachment; filename="{name}"',
            "etag": f'"{base.file_hash}"',
            "x-revision": str(base.number),
        }
        return Response(base.source, media_type="application/yaml", headers=headers)
    view = _view(register, reader, base, decoded(base.source)[0])
    return answer(
        request, "station/file.html", view.model_copy(update={"saved": saved if saved == base.number else 0})
    )


def _view(register: Register, reader: Reader, base: Head, text: str) -> FileView:
    with register.reading() as connection:
        station = station_head(connection, register, base.key, units=reader.units)
    return FileView(station=station, based_on=base.number, text=text)


@router.post(
    "/stations/{key}/file",
    responses={201: {"model": SavedView}, 200: {"model": FileView}},
    openapi_extra=takes(SentText, file="file"),
    dependencies=[needs("look")],
)
def post_file(request: Request, key: str, reader: Asks, register: Kept, form: Typed) -> Response:
    """Check the text, or save it as the next revision; a file sent is kept as its bytes are."""
    sent, source = _sent(form, register, key)
    base = revision_file(register, key, sent.based_on)
    if sent.do == "save" and not reader.may("engineer"):
        raise NotAllowed("engineer", reader.role)
    if sent.do == "save" and not sent.based_on:
        raise InputError("based_on", "is not said.", "Send the number of the revision that was changed.")
    try:
        if sent.do == "save":
            saved = save(register, source, reader.name, sent.why, base.number, key)
            return saved_answer(
                request, register, reader, saved, f"/stations/{key}/file?saved={saved.number}"
            )
        told = verdict(judge_file(source, day=today()).sheet.findings)
        problems: tuple[ProblemView, ...] = ()
    except (InputError, InputErrors) as error:
        if form.is_json and sent.do == "save":
            raise
        told, problems = "", problems_of(error.errors if isinstance(error, InputErrors) else (error,))
    update = {
        "text": _shown(source),
        "why": sent.why,
        "problems": problems,
        "problem_words": problem_words(len(problems)),
        "verdict": told,
    }
    view_again = _view(register, reader, base, "").model_copy(update=update)
    status = 422 if problems and sent.do == "save" else 200
    return answer(request, "" if wants_json(request) else "station/file.html", view_again, status)


def _sent(form: Form, register: Register, key: str) -> tuple[SentText, bytes]:
    """Return what was sent with the bytes of the file; text typed keeps line ends and encoding."""
    if "file" in form.files:
        given = form.files["file"]
        source = given.file.read(LARGEST_FILE + 1)
        texts = {name: text for name, text in form.texts.items() if name != "file"}
        return Form(texts, form.lists).read(SentText), source
    sent = form.read(SentText)
    if form.is_json:
        return sent, sent.text.encode("utf-8", "surrogatepass")
    base = revision_file(register, key, sent.based_on)
    return sent, as_bytes(sent.text, base.source)


def as_bytes(text: str, base: bytes) -> bytes:
    """Return a text as bytes, with the line ends and the encoding of the one it came from."""
    try:
        old, encoding = decoded(base)
    except Refusal:
        old, encoding = "", UTF8
    if text == old.replace("\r\n", "\n"):
        return base
    if "\r\n" in old:
        text = text.replace("\n", "\r\n")
    return encoding.mark + text.encode(encoding.name, "surrogatepass")


def _shown(source: bytes) -> str:
    try:
        return decoded(source)[0]
    except Refusal:
        return source[:LARGEST_FILE].decode("utf-8", "replace")


@router.put(
    "/stations/{key}/file",
    responses={201: {"model": SavedView}},
    openapi_extra={
        "requestBody": {"required": True, "content": {"application/yaml": {"schema": {"type": "string"}}}}
    },
    dependencies=[needs("engineer")],
)
async def put_file(
    request: Request,
    key: str,
    reader: Asks,
    register: Kept,
    why: str = Query("", max_length=400),
    based_on: int = Query(ge=0, le=MOST, description="The revision that was changed; 0: whatever stands."),
) -> Response:
    """Save the bytes sent as the next revision, kept as they are."""
    from starlette.concurrency import run_in_threadpool

    source = await request.body()
    saved = await run_in_threadpool(save, register, source, reader.name, why, based_on or None, key)
    view = SavedView(station=key, revision=saved.number, file_hash=saved.file_hash, is_new=saved.is_new)
    return Response(view.model_dump_json(), 201 if saved.is_new else 200, media_type="application/json")
