"""Archives and verifying as work in a process apart; see `services.works`."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from steadyhead.register import Register, now_text, open_register, tables
from steadyhead.services.archive.taking_in import import_into
from steadyhead.services.archive.verifying import verify_place
from steadyhead.work import Cancel, Progress

LAST = "last verified"
"""Name of the setting that holds what the last verifying came to."""


def verify_work(
    place: str, who: str, asked: Mapping[str, Any], progress: Progress, cancel: Cancel
) -> Mapping[str, Any]:
    """Verify the register, and keep what it came to for the page to show."""
    found = verify_place(place, progress).model_dump(mode="json")
    found["where"] = ""
    kept = {"verified": found, "at": now_text(), "who": who}
    register = open_register(place)
    try:
        with register.caching() as connection:
            connection.execute(delete(tables.setting).where(tables.setting.c.name == LAST))
            connection.execute(insert(tables.setting).values(name=LAST, value=json.dumps(kept)))
    finally:
        register.close()
    return kept


def last_verified(connection: Connection) -> Mapping[str, Any] | None:
    """Return what the last verifying came to: verified, at, who; None where there was none."""
    found = connection.execute(select(tables.setting.c.value).where(tables.setting.c.name == LAST)).scalar()
    return None if found is None else dict(json.loads(found))


def import_work(
    place: str, who: str, asked: Mapping[str, Any], progress: Progress, cancel: Cancel
) -> Mapping[str, Any]:
    """Take an archive, which lies in a file that is cleared away then, into the empty register."""
    try:
        return asdict(import_into(asked["file"], place, progress, cancel))
    finally:
        Path(asked["file"]).unlink(missing_ok=True)


def is_empty(register: Register) -> bool:
    """Return whether an archive may be taken in."""
    from steadyhead.errors import InputError
    from steadyhead.register.restoring import refuse_filled

    with register.reading() as connection:
        try:
            refuse_filled(connection)
        except InputError:
            return False
    return True
