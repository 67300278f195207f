"""Add a station: from a template, an example, a pasted text or a file."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, ConfigDict

from steadyhead.errors import InputError, StationError
from steadyhead.services.files import LARGEST_FILE
from steadyhead.services.stations.beginning import NewView, as_bytes, new_view, numbered
from steadyhead.services.stations.face import prepare
from steadyhead.services.stations.saving import save
from steadyhead.web.answering import answer, done, wants_json
from steadyhead.web.forms import Form, Sent, Typed, takes
from steadyhead.web.reader import Asks, Kept
from steadyhead.web.rights import needs

router = APIRouter()

Name = Annotated[str, Query(max_length=40)]


class SentStation(Sent):
    """A new station: the text of its file, sent as `text` or as `file`, and why it is added."""

    text: str = ""
    file: str = ""
    why: str = ""


class AddedView(BaseModel):
    """A station that was added: its key, the number of its revision, the hash of its file, its page."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    key: str
    revision: int
    file_hash: str
    href: str


@router.get("/stations/new", responses={200: {"model": NewView}}, dependencies=[needs("engineer")])
def begin_station(request: Request, template: Name = "", example: Name = "") -> Response:
    """Show what a new station can begin from; with `template` or `example`, the text of that."""
    return _page(request, new_view(template, example))


@router.post(
    "/stations/new",
    status_code=201,
    responses={201: {"model": AddedView}, 303: {"description": "Added; see its page."}},
    dependencies=[needs("engineer")],
    openapi_extra=takes(SentStation, file="file"),
)
def add_station(request: Request, form: Typed, reader: Asks, register: Kept) -> Response:
    """Add a station by its file: pasted as `text`, or uploaded as `file`. Nothing typed is lost."""
    sent = form.read(SentStation)
    text = sent.text or sent.file
    try:
        source = _uploaded(form) or as_bytes(text)
        if not source.strip():
            raise InputError("text", "is empty.", "Begin from a template, paste a file, or choose one.")
        text = _shown(source) or text
        saved = save(register, source, who=reader.name, why=sent.why)
    except StationError as problem:
        if wants_json(request) or form.is_json:
            raise
        return _page(request, new_view(text=text, why=sent.why, errors=problem), 422)
    prepare(register, saved.key, reader.units)
    href = f"/stations/{saved.key}"
    view = AddedView(key=saved.key, revision=saved.number, file_hash=saved.file_hash, href=href)
    return done(request, view, href)


def _page(request: Request, view: NewView, status: int = 200) -> Response:
    return answer(request, "stations/new.html", view, status, lines=numbered(view.text, view.problems))


def _uploaded(form: Form) -> bytes:
    """Return the bytes of the uploaded file; empty where none was chosen.

    Raises
    ------
    InputError
        Larger than a station file may be.
    """
    file = form.files.get("file")
    if file is None or not file.filename:
        return b""
    content = file.file.read(LARGEST_FILE + 1)
    if len(content) > LARGEST_FILE:
        raise InputError("file", "is larger than 4 MB; a station file is much smaller.", "Choose another.")
    return content


def _shown(source: bytes) -> str:
    """Return the text of a file as it can be shown and changed; empty where it is none."""
    try:
        return source.decode("utf-8-sig")
    except UnicodeDecodeError:
        return ""
