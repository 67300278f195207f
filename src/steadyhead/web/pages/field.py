"""What a device in the chamber fetches and sends: packs, job files, entries, photos."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Header, Query, Request, Response
from pydantic import BaseModel, ConfigDict
from starlette.exceptions import HTTPException

from steadyhead.services.field import preparing
from steadyhead.services.field.job_file import job_file_of
from steadyhead.services.field.pack import FieldPack, field_pack
from steadyhead.services.field.syncing import SyncAnswer, SyncAsked, sync
from steadyhead.services.visits_kept.photos import ENDINGS, keep_photo, photo_at
from steadyhead.web import field_kit, field_papers
from steadyhead.web.forms import Typed
from steadyhead.web.giving import file_of, given_out
from steadyhead.web.reader import Asks, Kept
from steadyhead.web.rights import needs

router = APIRouter(tags=["field"])
router.include_router(field_kit.router)
router.include_router(field_papers.router)


def _takes(model: type[BaseModel]) -> dict[str, Any]:
    """Return what the description of the interface says of a body of JSON, its parts written out in it."""
    schema = model.model_json_schema()
    parts = schema.pop("$defs", {})

    def whole(value: Any) -> Any:
        if isinstance(value, list):
            return [whole(one) for one in value]
        if not isinstance(value, dict):
            return value
        if "$ref" in value:
            return whole(parts[value["$ref"].rpartition("/")[2]])
        return {name: whole(inner) for name, inner in value.items()}

    content = {"application/json": {"schema": whole(schema)}}
    return {"requestBody": {"required": True, "content": content}}


class PhotoKept(BaseModel):
    """A photo the register holds: its digest, the id of its record, and whether it came just now."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    sha256: str
    id: str
    is_new: bool


Wait = Annotated[str, Query(max_length=3, description="no: while it is worked out, say how far that is.")]


@router.get(
    "/stations/{key}/runs/{run}/field-pack",
    dependencies=[needs("look")],
    responses={200: {"model": FieldPack}, 202: {"model": preparing.Making}},
    response_class=Response,
)
def pack_of_run(register: Kept, reader: Asks, key: str, run: str, wait: Wait = "yes") -> Response:
    """Give all that a device takes along of a visit, in the reader's units; JSON alone."""
    if wait == "no" and (made := preparing.making(register, key, run, reader.units, reader.name)):
        return Response(made.model_dump_json(), 202, media_type="application/json")
    pack = field_pack(register, key, run, reader.units)
    if wait != "no":
        preparing.done_here(register, key, run, reader.units)
    return Response(pack.model_dump_json(), media_type="application/json")


@router.get(
    "/stations/{key}/runs/{run}/job-file",
    dependencies=[needs("record")],
    responses={200: {"content": {"text/html": {"schema": {"type": "string"}}}}},
    response_class=Response,
)
def job_file_of_run(register: Kept, reader: Asks, key: str, run: str) -> Response:
    """Give the visit as one page that runs from a tablet's storage, without server and network."""
    name, content = job_file_of(register, key, run, reader.units)
    return file_of(name, "text/html; charset=utf-8", content)


Known = Annotated[
    str,
    Header(alias="x-run-state", max_length=64, description="Digest of the state told last: not told again."),
]


@router.post(
    "/stations/{key}/runs/{run}/sync",
    dependencies=[needs("record")],
    responses={200: {"model": SyncAnswer}},
    openapi_extra=_takes(SyncAsked),
    response_class=Response,
)
def sync_run(register: Kept, reader: Asks, key: str, run: str, form: Typed, known: Known = "") -> Response:
    """Take in what a device holds of a visit, and give it what others entered; asked twice, alike."""
    if not form.is_json:
        raise HTTPException(415, "Send JSON with the content type application/json.")
    told = sync(register, key, run, form.read(SyncAsked), reader.name, reader.units, known)
    return Response(told.model_dump_json(), media_type="application/json")


async def _bytes(request: Request) -> bytes:
    """Give what was sent as it came."""
    return await request.body()


_PICTURES: dict[str, Any] = {media: {"schema": {"type": "string", "format": "binary"}} for media in ENDINGS}


@router.put(
    "/stations/{key}/runs/{run}/photos/{sha256}",
    dependencies=[needs("record")],
    responses={200: {"model": PhotoKept}},
    openapi_extra={"requestBody": {"required": True, "content": _PICTURES}},
    response_class=Response,
)
def put_photo(
    register: Kept, reader: Asks, key: str, run: str, sha256: str, content: Annotated[bytes, Depends(_bytes)]
) -> Response:
    """Keep a photo of a visit under the digest of its bytes; sent again, nothing changes."""
    kept, is_new = keep_photo(register, key, run, sha256, content, reader.name)
    told = PhotoKept(sha256=kept.digest, id=kept.id, is_new=is_new)
    return Response(told.model_dump_json(), media_type="application/json")


@router.get(
    "/stations/{key}/runs/{run}/photos/{sha256}",
    dependencies=[needs("look")],
    responses={200: {"content": _PICTURES}},
    response_class=Response,
)
def get_photo(register: Kept, key: str, run: str, sha256: str) -> Response:
    """Give a photo of a visit out as it came."""
    kept, content = photo_at(register, key, run, sha256)
    return given_out(kept, content, inline=True)
