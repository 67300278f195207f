"""What a device in the chamber asks for: JSON alone; its pages are its own."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Response
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from steadyhead.services.field.pack import FieldPack, field_pack
from steadyhead.services.field.syncing import SyncAnswer, SyncAsked, sync
from steadyhead.web import field_kit
from steadyhead.web.forms import Typed
from steadyhead.web.reader import Asks, Kept
from steadyhead.web.rights import needs

router = APIRouter(tags=["field"])
router.include_router(field_kit.router)


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


@router.get(
    "/stations/{key}/runs/{run}/field-pack",
    dependencies=[needs("look")],
    responses={200: {"model": FieldPack}},
    response_class=Response,
)
def pack_of_run(register: Kept, reader: Asks, key: str, run: str) -> Response:
    """Give all that a device takes along of a visit, in the reader's units; JSON alone."""
    pack = field_pack(register, key, run, reader.units)
    return Response(pack.model_dump_json(), media_type="application/json")


@router.post(
    "/stations/{key}/runs/{run}/sync",
    dependencies=[needs("record")],
    responses={200: {"model": SyncAnswer}},
    openapi_extra=_takes(SyncAsked),
    response_class=Response,
)
def sync_run(register: Kept, reader: Asks, key: str, run: str, form: Typed) -> Response:
    """Take in what a device holds of a visit, and give it what others entered; asked twice, alike."""
    if not form.is_json:
        raise HTTPException(415, "Send JSON with the content type application/json.")
    told = sync(register, key, run, form.read(SyncAsked), reader.name, reader.units)
    return Response(told.model_dump_json(), media_type="application/json")
