"""Write an archive: a zip that leaves piece by piece while the register is read."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, select

from steadyhead import __version__
from steadyhead.register import Register, now_text, tables
from steadyhead.register.logs import LogsFolder
from steadyhead.register.logs.belonging import folder_of
from steadyhead.register.migrating import revision_of
from steadyhead.register.reading import one_state
from steadyhead.services.archive.content import counted, kept_files, worked_out_files
from steadyhead.services.archive.layout import CONTENTS, FORMAT, MANIFEST, ROWS, File
from steadyhead.services.archive.zipping import IN_MEMORY, PIECE, ZipStream
from steadyhead.station.canonical import canonical
from steadyhead.work import Progress, no_progress

_PACKED_ALREADY = (".pdf", ".png", ".jpg", ".jpeg", ".webp", ".zip", ".xlsx", ".ods", ".parquet", ".mp4")


def export(
    register: Register, at: str = "", progress: Progress = no_progress, data: str = ""
) -> Iterator[bytes]:
    """Yield the bytes of an archive of everything in the register as it is now.

    at: the moment it is said to be made, now where left out; data: its folder of logger data, where that is
    not the one it knows.

    Raises
    ------
    InputError
        Bytes that a row names are not in the register, or a file of logger data is not there.
    """
    with one_state(register) as connection:
        logs = folder_of(connection, register.folder or "://", data)
        yield from _exported(connection, logs, at or now_text(), progress)


def _exported(
    connection: Connection, logs: LogsFolder | None, at: str, progress: Progress
) -> Iterator[bytes]:
    total, done = counted(connection), 0
    moment = datetime.fromisoformat(at).timetuple()[:6]
    with tempfile.SpooledTemporaryFile(IN_MEMORY) as listed, ZipStream(moment) as target:
        for one in _all(connection, logs):
            is_packed = not one.name.lower().endswith(_PACKED_ALREADY)
            yield from target.put(one.name, one.chunks(), packed=is_packed)
            told = {"name": one.name, "bytes": target.last_size, "sha256": target.last_sha256}
            listed.write(canonical(told | {"kept": one.kept}) + b"\n")
            done += 1
            progress(done, max(total, done), "files")
        listed.seek(0)
        yield from target.put(CONTENTS, iter(lambda: listed.read(PIECE), b""))
        told = {"contents_sha256": target.last_sha256, "files": done}
        yield from target.put(MANIFEST, [canonical(_manifest(connection, at) | told)])
        yield from target.end()


def _all(connection: Connection, logs: LogsFolder | None) -> Iterator[File]:
    worked_out = worked_out_files(connection)
    yield next(worked_out)  # README.txt comes first
    yield from kept_files(connection, logs)
    yield from worked_out


def _manifest(connection: Connection, at: str) -> dict[str, Any]:
    head = connection.execute(
        select(tables.audit.c.seq, tables.audit.c.hash).order_by(tables.audit.c.seq.desc()).limit(1)
    ).first()
    name = connection.execute(select(tables.setting.c.value).where(tables.setting.c.name == "id")).scalar()
    counts = {
        table.name: connection.execute(select(func.count()).select_from(table)).scalar_one()
        for table in (*ROWS, tables.blob, tables.audit)
    }
    return {
        "format": FORMAT,
        "made_at": at,
        "made_by": __version__,
        "tables": revision_of(connection),
        "register": name or "",
        "links": head.seq if head else 0,
        "head": head.hash if head else "",
        "rows": counts,
    }
