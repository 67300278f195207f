"""How files of a source are read, remembered with the answers given: what was answered is not asked again."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, select

from steadyhead.register.core import Writing
from steadyhead.register.logs.manifest import Manifest
from steadyhead.register.tables import logger_profile
from steadyhead.station.canonical import canonical


def keep_profile(writing: Writing, number: int, manifest: Manifest) -> None:
    """Remember how the files of an import were read; one like the last one is not kept twice."""
    if manifest.profile is None:
        return
    body = {"reading": manifest.profile, "answers": dict(manifest.answers)}
    last = last_profile(writing.connection, manifest.station, manifest.source)
    if last is not None and canonical(last) == canonical(body):
        return
    row = {
        "number": number, "station": manifest.station, "source": manifest.source,
        "body": canonical(body).decode(), "at": writing.at, "who": writing.who,
    }  # fmt: skip
    writing.add(logger_profile, row, "way of reading kept", manifest.station, source=manifest.source)


def last_profile(connection: Connection, key: str, source: str) -> Mapping[str, Any] | None:
    """Return how files of a source of a station were read last, `reading` and `answers`; None: a new one."""
    c = logger_profile.c
    asked = select(c.body).where(c.station == key, c.source == source).order_by(c.number.desc()).limit(1)
    found = connection.execute(asked).scalar()
    return None if found is None else dict(json.loads(found))
