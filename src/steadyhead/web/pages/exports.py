"""Lists as tables for other programs."""

from __future__ import annotations

from collections.abc import Iterator

from fastapi import APIRouter, Response
from fastapi.responses import StreamingResponse

from steadyhead.register import Register
from steadyhead.register.reading import one_state
from steadyhead.services.exports.files import MEDIA, leaving, refuse_unknown
from steadyhead.web.reader import Kept

router = APIRouter()


@router.get("/archive/tables/{name}.{kind}", response_class=StreamingResponse)
def table(name: str, kind: str, register: Kept, mark: str = "") -> Response:
    """Send a list as CSV, Parquet or GeoJSON; ``?mark=yes`` puts a byte order mark before CSV."""
    refuse_unknown(name, kind)
    headers = {"content-disposition": f'attachment; filename="{name}.{kind}"'}
    pieces = _pieces(register, name, kind, mark=mark == "yes")
    return StreamingResponse(pieces, media_type=MEDIA[kind], headers=headers)


def _pieces(register: Register, name: str, kind: str, *, mark: bool) -> Iterator[bytes]:
    with one_state(register) as connection:
        yield from leaving(connection, name, kind, mark=mark)
