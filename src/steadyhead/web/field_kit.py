"""What the field page fetches, named by its build, and the worker that keeps it on a device."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from fastapi import APIRouter, Response
from starlette.exceptions import HTTPException

from steadyhead.services.field.bundling import WORKER, build_digest, files
from steadyhead.web.static import MEDIA

PAGE = "/field"
SHORT = 16
"""Characters of the build's digest that stand in addresses. [1]"""
router = APIRouter(include_in_schema=False)


def build() -> str:
    """Return the name of the build that lies here."""
    return build_digest()[:SHORT]


def field_asset(name: str) -> str:
    """Return the address of what the field page fetches, e.g. of ``field/start.js``.

    Raises
    ------
    KeyError
        There is none of that name.
    """
    if name not in files():
        raise KeyError(f"{name} is nothing of the field page")
    return f"{PAGE}/assets/{build()}/{name}"


def worker(of: str, addresses: Sequence[str]) -> bytes:
    """Return the script that keeps a build on a device. addresses: all that the page fetches."""
    head = f"const BUILD = {json.dumps(of)}\nconst PAGE = {json.dumps(PAGE)}\n"
    head += f"const FILES = {json.dumps(sorted(addresses))}\n"
    return head.encode() + files()[WORKER]


@router.get("/field/assets/{of}/{name:path}")
def get_field_asset(of: str, name: str) -> Response:
    """Give out what the field page fetches; of another build nothing, so that two are never mixed."""
    content = files().get(name)
    if content is None or of != build() or name == WORKER:
        raise HTTPException(404)
    kept = {"cache-control": "public, max-age=31536000, immutable"}
    return Response(content, media_type=MEDIA[Path(name).suffix], headers=kept)


@router.get("/field/sw.js")
def get_worker() -> Response:
    """Give out the worker of today's build; it may look after the field page itself too."""
    content = worker(build(), [field_asset(name) for name in files() if name != WORKER])
    headers = {"cache-control": "no-cache", "service-worker-allowed": PAGE}
    return Response(content, media_type=MEDIA[".js"], headers=headers)
