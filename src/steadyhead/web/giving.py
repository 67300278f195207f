"""Files given out: as they came, under their name, never run or shown as a page of ours."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from fastapi import Response
from pydantic import BaseModel

from steadyhead.services.visits_kept.filing import Filed
from steadyhead.web.forms import FORM_KINDS, takes

SHOWN = ("application/pdf", "image/png", "image/jpeg", "image/webp", "text/plain; charset=utf-8")
"""Media types a browser may show; all others are only kept on its disk."""
_BYTES = {"type": "string", "format": "binary"}
ANY_FILE = {"requestBody": {"required": True, "content": {"*/*": {"schema": _BYTES}}}}
"""What the description of the interface says of a body that is one file of whatever kind."""


def given_out(kept: Filed, content: bytes, *, inline: bool = False) -> Response:
    """Return a record as a file.

    inline: show it where its kind may be shown; else it is kept on the reader's disk.
    """
    return file_of(kept.name, kept.media, content, inline=inline)


def file_of(name: str, media: str, content: bytes, *, inline: bool = False) -> Response:
    """Return bytes as a file under a name; a program of the browser never guesses what it is."""
    headers = headers_of(name, inline=inline and media in SHOWN)
    return Response(content, media_type=media, headers=headers)


def headers_of(name: str, *, inline: bool = False) -> dict[str, str]:
    """Return the headers under which a file is given out."""
    how = "inline" if inline else "attachment"
    plain = "".join(
        one if one.isascii() and one.isprintable() and one not in '"\\;%' else "_" for one in name
    )
    return {
        "content-disposition": f"{how}; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}",
        "x-content-type-options": "nosniff",
        "content-security-policy": "default-src 'none'; sandbox",
        "cache-control": "private, no-store",
    }


def takes_both(model: type[BaseModel], file: str) -> dict[str, Any]:
    """Return what the description of the interface says of a body that is JSON, or a form with a file."""
    plain, with_file = takes(model), takes(model, file=file)
    content = plain["requestBody"]["content"] | with_file["requestBody"]["content"]
    return {"requestBody": {"required": True, "content": content}}


def takes_file(name: str, media: str) -> dict[str, Any]:
    """Return what the description of the interface says of a body that is a file: as it is, or in a form.

    name: field of the form; media: what the file is where it is sent as it is.
    """
    whole: dict[str, Any] = {"type": "object"} if media == "application/json" else _BYTES
    form = {"type": "object", "properties": {name: _BYTES}, "required": [name]}
    content = {media: {"schema": whole}, FORM_KINDS[1]: {"schema": form}}
    return {"requestBody": {"required": True, "content": content}}
