"""What the field page fetches, named by its build, and the worker that keeps it on a device."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from fastapi import APIRouter, Response
from fastapi.responses import HTMLResponse
from starlette.exceptions import HTTPException

from steadyhead.services.field.bundling import WORKER, build_digest, files, needed
from steadyhead.station.canonical import sha256
from steadyhead.web.static import MEDIA
from steadyhead.web.templating import ENVIRONMENT, PLACE

PAGE = "/field"
TEMPLATE = "field/page.html"
START = "field/page.js"
"""Module the page begins with."""
SHORT = 16
"""Characters of the build's digest that stand in addresses. [1]"""
router = APIRouter(include_in_schema=False)


@lru_cache(maxsize=1)
def build() -> str:
    """Return the name of the build that lies here: of the page and all that it fetches."""
    page = (PLACE / TEMPLATE).read_bytes()
    return sha256(f"{build_digest()} {sha256(page)}".encode())[:SHORT]


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


def worker(of: str, digests: Mapping[str, str]) -> bytes:
    """Return the script that keeps a build on a device.

    digests: SHA-256 of the page and of all that it fetches, by address.
    """
    head = f"const BUILD = {json.dumps(of)}\nconst PAGE = {json.dumps(PAGE)}\n"
    head += f"const FILES = {json.dumps(dict(sorted(digests.items())))}\n"
    return head.encode() + files()[WORKER]


def shell() -> bytes:
    """Return the page itself; it holds nothing of anybody, and is the same for everybody."""
    found = ENVIRONMENT.get_template(TEMPLATE).render(at=field_asset, modules=needed(START))
    return found.encode()


@router.get("/field")
def get_page() -> Response:
    """Give out the page of the device: the visits that were taken along, and one that is."""
    return HTMLResponse(shell(), headers={"cache-control": "no-cache"})


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
    told = {field_asset(name): sha256(content) for name, content in files().items() if name != WORKER}
    content = worker(build(), told | {PAGE: sha256(shell())})
    headers = {"cache-control": "no-cache", "service-worker-allowed": PAGE}
    return Response(content, media_type=MEDIA[".js"], headers=headers)
