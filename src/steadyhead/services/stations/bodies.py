"""What a page shows of a file, worked out once for each file, day, and units; then only handed on."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import date
from functools import lru_cache
from pathlib import Path

from pydantic import BaseModel

import steadyhead
from steadyhead.register import Register
from steadyhead.services.prepared import prepared
from steadyhead.services.stations.kept import Head
from steadyhead.units import UnitSet

ROOMS = ("services/stations", "drawings", "reports", "findings", "units", "web/templates")
"""Rooms of the house that words and pictures of a page are made in, besides the engines."""


@lru_cache(maxsize=1)
def looks() -> str:
    """Return a hash of what makes words and pictures: what was made by another one is made again."""
    place = Path(steadyhead.__file__).parent
    told = hashlib.sha256()
    for room in ROOMS:
        for path in sorted((place / room).rglob("*")):
            if path.suffix in (".py", ".html"):
                told.update(path.relative_to(place).as_posix().encode() + b"\0" + path.read_bytes())
    return told.hexdigest()[:16]


def parts_of(head: Head, units: UnitSet, day: date, **more: str) -> dict[str, str]:
    """Return all that decides what is shown of a file."""
    return {
        "file": head.file_hash,
        "proof": head.proof,
        "day": day.isoformat(),
        "units": hashlib.sha256(repr(units).encode()).hexdigest()[:16],
        "looks": looks(),
        **more,
    }


def body_of(
    register: Register, head: Head, kind: str, parts: dict[str, str], make: Callable[[], BaseModel]
) -> bytes:
    """Return a view as JSON, made now where it was not."""
    return prepared(register, head.key, kind, parts, lambda: make().model_dump_json().encode())
