"""What a device asks of the register about papers: the certificate of its visit; JSON alone."""

from __future__ import annotations

from fastapi import APIRouter, Response

from steadyhead.services.field.issuing import Issued, NotIssued, issue
from steadyhead.web.reader import Asks, Kept
from steadyhead.web.rights import needs

router = APIRouter(tags=["field"])


@router.post(
    "/stations/{key}/runs/{run}/certificate",
    dependencies=[needs("engineer")],
    responses={200: {"model": Issued}, 409: {"model": NotIssued}},
    response_class=Response,
)
def issue_certificate(register: Kept, reader: Asks, key: str, run: str) -> Response:
    """Make the certificate of a signed visit; asked twice, the same one. 409: what stands against it."""
    told = issue(register, key, run, reader.name, reader.units)
    status = 200 if isinstance(told, Issued) else 409
    return Response(told.model_dump_json(), status, media_type="application/json")
