"""What pages fetch besides themselves: style sheets, modules, the mark; named by what they hold."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from fastapi import APIRouter, Response
from starlette.exceptions import HTTPException

PLACE = Path(__file__).parent / "assets"
MEDIA = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".json": "application/json",
}
router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Kit:
    """All assets by name, and the version that stands in their addresses: a hash of all of them."""

    files: dict[str, bytes]
    version: str


@lru_cache(maxsize=1)
def kit() -> Kit:
    """Return every asset of the app; those in the folder, and the pens of our drawings."""
    from steadyhead.drawings.palette import stylesheet

    files = {
        path.relative_to(PLACE).as_posix(): path.read_bytes()
        for path in sorted(PLACE.rglob("*"))
        if path.suffix in MEDIA
    }
    files["drawings.css"] = stylesheet().encode()
    told = hashlib.sha256()
    for name, content in sorted(files.items()):
        told.update(name.encode() + b"\0" + content + b"\0")
    return Kit(files, told.hexdigest()[:12])


def asset(name: str) -> str:
    """Return the address of an asset, e.g. of ``base.css``; it changes with what any of them holds.

    Raises
    ------
    KeyError
        There is none of that name.
    """
    held = kit()
    if name not in held.files:
        raise KeyError(f"{name} is no asset; put it into {PLACE.name}/")
    return f"/assets/{held.version}/{name}"


@router.get("/assets/{version}/{name:path}")
def get_asset(version: str, name: str) -> Response:
    """Give an asset out; under the version of today it may be kept for a year."""
    held = kit()
    content = held.files.get(name)
    if content is None:
        raise HTTPException(404)
    kept = "public, max-age=31536000, immutable" if version == held.version else "no-store"
    return Response(content, media_type=MEDIA[Path(name).suffix], headers={"cache-control": kept})
