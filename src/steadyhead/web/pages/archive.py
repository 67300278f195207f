"""The archive: everything out in one file, back into an empty register, and held against the chain."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from fastapi.responses import StreamingResponse

from steadyhead.errors import InputError
from steadyhead.register import now_text
from steadyhead.services.archive.page import ArchiveView, archive_view, begin_import, begin_verify
from steadyhead.services.archive.writing import export
from steadyhead.services.works.asking import works_of
from steadyhead.web.answering import answer, done
from steadyhead.web.forms import Typed
from steadyhead.web.reader import Asks, Kept
from steadyhead.web.rights import needs

router = APIRouter()
_SENT = {
    "requestBody": {
        "required": True,
        "content": {
            "multipart/form-data": {
                "schema": {
                    "type": "object",
                    "properties": {"archive": {"type": "string", "format": "binary"}},
                    "required": ["archive"],
                }
            }
        },
    }
}
"""What the description of the interface says of an archive that is handed over."""


@router.get("/archive", responses={200: {"model": ArchiveView}})
def archive(request: Request, register: Kept) -> Response:
    """Show what leaves, the last verifying, and whether an archive may come in."""
    return answer(request, "archive/archive.html", archive_view(register))


@router.get("/archive/archive.zip", response_class=StreamingResponse)
def leave(register: Kept) -> Response:
    """Send everything of the register as one archive."""
    at = now_text()
    name = f"steadyhead-{at[:10]}.zip"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return StreamingResponse(export(register, at), media_type="application/zip", headers=headers)


@router.post("/archive/verify", responses={201: {"model": ArchiveView}}, dependencies=[needs("record")])
def verify(request: Request, reader: Asks, register: Kept) -> Response:
    """Begin to verify the register."""
    begin_verify(register, reader.name)
    return done(request, archive_view(register), "/archive")


@router.post("/archive/stop", responses={201: {"model": ArchiveView}}, dependencies=[needs("record")])
def stop(request: Request, register: Kept) -> Response:
    """Stop what is under way; nothing is changed then."""
    works = works_of(register)
    for kind in ("verify", "archive"):
        last = works.last(kind)
        if last is not None and last.is_open:
            works.stop(last.id)
            works.wait(last.id, 2.0)
    return done(request, archive_view(register), "/archive")


@router.post(
    "/archive/import", openapi_extra=_SENT, responses={201: {"model": ArchiveView}},
    dependencies=[needs("administer")],
)  # fmt: skip
def take_in(request: Request, reader: Asks, register: Kept, form: Typed) -> Response:
    """Begin to take an archive into the empty register."""
    given = form.files.get("archive")
    if given is None or not given.filename:
        raise InputError("archive", "got no file.", "Choose the archive, a file that ends in .zip.")
    begin_import(register, reader.name, given.file)
    return done(request, archive_view(register), "/archive")
