"""Write an import: every station of it in one transaction, or none; and bring back what was before."""

from __future__ import annotations

import json
import tempfile
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, insert, select

from steadyhead.errors import InputError
from steadyhead.register import Register, now_text, open_register, tables
from steadyhead.register.core import Writing
from steadyhead.register.reading import rows
from steadyhead.services.importing.reporting import Ready, Stopped
from steadyhead.services.staging import staging
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.kept import head_in
from steadyhead.services.stations.off_list import ACTS, What
from steadyhead.services.stations.saving import Conflict, put
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

ACT, SUBJECT = "spreadsheet imported", "spreadsheet"
UNDONE = "import undone"
AT_ONCE = 100
"""Rows handled together."""


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import wrote. id: by which it can be undone."""

    id: str
    file: str
    new: int
    changed: int
    left_out: int


@dataclass(frozen=True, slots=True)
class Undone:
    """What undoing came to: brought back, taken off the list, left alone because they were changed since."""

    brought_back: int
    off_the_list: int
    left_alone: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Past:
    """An import of the past. stations: (key, revision before, revision written); back: on the list again."""

    id: str
    file: str
    at: str
    who: str
    stations: tuple[tuple[str, int, int], ...]
    is_undone: bool
    back: frozenset[str] = frozenset()


def ready(place: Path) -> Iterator[Ready]:
    """Yield the files a report made ready."""
    with place.open(encoding="utf-8") as source:
        for line in source:
            yield Ready(**json.loads(line))


def write(
    register: Register,
    place: Path,
    file: str,
    who: str,
    *,
    total: int,
    left_out: int = 0,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
    day: date | None = None,
) -> Imported:
    """Write every file a report made ready.

    place: where they lie; file: name of the spreadsheet; total: how many; left_out: rows that were refused.

    Raises
    ------
    InputError
        A station was changed or added since the report, or somebody stopped it; nothing was written.
    """
    made, at = uuid.uuid4().hex[:12], now_text()
    told: list[list[Any]] = []
    steps = _Steps(total, progress, cancel)
    with tempfile.TemporaryDirectory(prefix="steadyhead-scratch-", dir=staging(register)) as folder:
        scratch = open_register(folder)
        try:
            _work_out(scratch, place, file, who, at, steps, day)
            with register.writing(who, at) as writing:
                _refuse_taken(writing.connection, place)
                _take_over(writing, scratch, place, told, steps)
                _change(writing, register, place, file, told, steps, day)
                if not told:
                    raise InputError("import", "has nothing to write.", "No row is new or changed.")
                writing.tell(ACT, SUBJECT, id=made, file=file, stations=told, left_out=left_out)
        finally:
            scratch.close()
    new = sum(before == 0 for _, before, *_ in told)
    return Imported(made, file, new, len(told) - new, left_out)


class _Steps:
    """Progress over working out and writing; asked between two stations whether to stop."""

    def __init__(self, total: int, progress: Progress, cancel: Cancel) -> None:
        self._total, self._done = max(2 * total, 1), 0
        self._progress, self._cancel = progress, cancel

    def step(self, what: str) -> None:
        self._done += 1
        self._progress(self._done, max(self._total, self._done), what)
        if self._cancel():
            raise Stopped("import", "was stopped.", "Nothing was written.")


def _why(file: str, one: Ready) -> str:
    return f"imported from {file}, row {one.row}"


def _work_out(
    scratch: Register, place: Path, file: str, who: str, at: str, steps: _Steps, day: date | None
) -> None:
    """Save new stations in a register of their own, so that nobody who writes waits for it."""
    waiting = (one for one in ready(place) if not one.based_on)
    while some := list(islice(waiting, AT_ONCE)):
        with scratch.writing(who, at) as writing:
            for one in some:
                put(writing, scratch, one, why=_why(file, one), day=day, summary=one.summary)
                steps.step("stations worked out")


def _refuse_taken(connection: Connection, place: Path) -> None:
    """Refuse new stations whose key is taken by now.

    Raises
    ------
    InputError
        Names the first.
    """
    taken = {key.lower(): key for key in connection.execute(select(tables.station.c.key)).scalars()}
    for one in ready(place):
        if not one.based_on and (there := taken.get(one.key.lower())) is not None:
            raise InputError(
                f"row {one.row}", f"{there} was added since the report was made.",
                "Make the report again; nothing was written.",
            )  # fmt: skip


def _take_over(
    writing: Writing, scratch: Register, place: Path, told: list[list[Any]], steps: _Steps
) -> None:
    """Write new stations as they were worked out: kept rows with their links, then what follows of them."""
    connection = writing.connection
    with scratch.reading() as source:
        _copy(source, connection, tables.station)
        for one in ready(place):
            if one.based_on:
                continue
            writing.blob(one.source)
            writing.blob(one.canonical)
            asked = select(tables.revision).where(tables.revision.c.station == one.key)
            row = dict(source.execute(asked).mappings().one())
            writing.add(tables.revision, row, "station added", one.key, revision=1)
            told.append([one.key, 0, 1])
            steps.step("stations written")
        for table in (tables.gist, tables.due, tables.prepared):
            _copy(source, connection, table)


def _copy(source: Connection, target: Connection, table: Table) -> None:
    waiting = rows(source, table)
    while some := list(islice(waiting, AT_ONCE)):
        target.execute(insert(table), some)


def _change(
    writing: Writing, register: Register, place: Path, file: str, told: list[list[Any]], steps: _Steps,
    day: date | None,
) -> None:  # fmt: skip
    """Save what changes stations that are kept."""
    for one in ready(place):
        if not one.based_on:
            continue
        try:
            saved = put(
                writing, register, one, why=_why(file, one), based_on=one.based_on, key=one.key, day=day,
                summary=one.summary,
            )  # fmt: skip
        except Conflict as other:
            raise InputError(
                f"row {one.row}",
                f"{one.key} was changed by {other.theirs.who} since the report was made.",
                "Make the report again; nothing was written.",
            ) from None
        told.append([one.key, one.based_on, saved.number])
        if _is_off(writing.connection, one.key):
            _list(writing, register, one.key, "back", _why(file, one), day)
            told[-1].append("back")
        steps.step("stations worked out")
        steps.step("stations written")


def past(connection: Connection, most: int = 20) -> tuple[Past, ...]:
    """Return the last imports, the latest first."""
    one = tables.audit.c
    asked = select(one.act, one.at, one.who, one.body).where(one.subject == SUBJECT)
    found: list[Past] = []
    undone: set[str] = set()
    for act, at, who, body in connection.execute(asked.order_by(one.seq.desc()).limit(4 * most)):
        told = json.loads(body)
        if act == UNDONE:
            undone.add(told["id"])
        elif act == ACT:
            stations = tuple((key, int(before), int(after)) for key, before, after, *_ in told["stations"])
            back = frozenset(key for key, _, _, *more in told["stations"] if more)
            found.append(Past(told["id"], told["file"], at, who, stations, told["id"] in undone, back))
    return tuple(found[:most])


def undo(
    register: Register,
    import_id: str,
    who: str,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
    day: date | None = None,
) -> Undone:
    """Bring back what an import changed: former files as new revisions; stations it added go off the list.

    Stations that were changed since are left alone. Nothing kept is removed.

    Raises
    ------
    InputError
        No such import, it is undone already, or somebody stopped it.
    """
    with register.writing(who) as writing:
        one = next((one for one in past(writing.connection, 1000) if one.id == import_id), None)
        if one is None:
            raise not_kept_import(import_id)
        if one.is_undone:
            raise InputError("import", "is undone already.", "Import the file again, if that is meant.")
        counts, alone = [0, 0], []
        for done, (key, before, after) in enumerate(one.stations, 1):
            is_ours = head_in(writing.connection, key).number == after
            if not is_ours:
                alone.append(key)
            elif before:
                _bring_back(writing, register, key, before, one.file, day)
                counts[0] += 1
            if is_ours and (not before or key in one.back):
                _list(writing, register, key, "off", f"import of {one.file} undone", day)
                counts[1] += 1
            progress(done, len(one.stations), "stations brought back")
            if cancel():
                raise Stopped("undo", "was stopped.", "Nothing was written.")
        writing.tell(UNDONE, SUBJECT, id=import_id, file=one.file, left_alone=alone)
    return Undone(counts[0], counts[1], tuple(alone))


def not_kept_import(import_id: str) -> InputError:
    """Return the refusal for an import that is not known."""
    from steadyhead.services.stations.kept import NotKept

    return NotKept("import", f"{import_id[:40]!r} is not known here.", "See the list of imports.")


@dataclass(frozen=True, slots=True)
class _Former:
    """A file that was kept before, as `saving.put` takes it."""

    key: str
    source: bytes
    canonical: bytes


def _bring_back(
    writing: Writing, register: Register, key: str, before: int, file: str, day: date | None
) -> None:
    c, blob = tables.revision.c, tables.blob.c
    asked = select(blob.bytes).join(tables.revision, c.canonical == blob.hash)
    told = writing.connection.execute(asked.where(c.station == key, c.number == before)).scalar_one()
    former = _Former(key, head_in(writing.connection, key, before).source, bytes(told))
    why = f"import of {file} undone: revision {before} again"
    put(writing, register, former, why=why, key=key, day=day)


def _is_off(connection: Connection, key: str) -> bool:
    asked = select(tables.station.c.struck).where(tables.station.c.key == key)
    return bool(connection.execute(asked).scalar())


def _list(writing: Writing, register: Register, key: str, what: What, reason: str, day: date | None) -> None:
    """Take a station off the list, or bring it back."""
    row: Mapping[str, Any] = {
        "id": writing.new_id(), "station": key, "what": what, "reason": reason, "at": writing.at,
        "who": writing.who,
    }  # fmt: skip
    writing.add(tables.listing, row, ACTS[what], key, reason=reason)
    renew(writing, register, key, day)
