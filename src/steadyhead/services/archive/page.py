"""What the page of the archive shows."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import BinaryIO

from pydantic import BaseModel, ConfigDict
from sqlalchemy import func, select

from steadyhead.errors import InputError
from steadyhead.register import Register, tables
from steadyhead.services.archive.verifying import VerifiedView
from steadyhead.services.archive.working import is_empty, last_verified
from steadyhead.services.exports.lists import LISTS
from steadyhead.services.works.asking import Work, works_of
from steadyhead.services.works.views import WorkView, work_view

FILLED = "holds nothing yet, no people either"
ELSEWHERE = (
    "On the machine itself take it into a new folder: steadyhead import ARCHIVE.zip NEW-FOLDER. Then make "
    "the first person there: steadyhead serve NEW-FOLDER --administrator NAME. Nothing was changed here."
)
"""What to do with an archive where the register is not empty."""


class ListView(BaseModel):
    """A list that leaves as a table."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str
    words: str
    kinds: tuple[str, ...]


class LastView(BaseModel):
    """What the last verifying came to, when, and who asked for it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    verified: VerifiedView
    at: str
    who: str
    links_since: int


class TakenView(BaseModel):
    """What an archive brought; `compared`: files made anew and found equal."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    stations: int
    revisions: int
    records: int
    runs: int
    entries: int
    links: int
    head: str
    compared: int


class ArchiveView(BaseModel):
    """The archive's page: the chain as it is, the last verifying, what leaves, whether one may come in.

    people: accounts held here; a register that holds any is not empty, although it has no stations yet.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    stations: int
    people: int
    links: int
    head_sha256: str
    last_at: str
    is_empty: bool
    last: LastView | None
    verifying: WorkView | None
    taking_in: WorkView | None
    taken: TakenView | None
    lists: tuple[ListView, ...]


def archive_view(register: Register) -> ArchiveView:
    """Return what the page shows."""
    works = works_of(register)
    verifying, taking = works.last("verify"), works.last("archive")
    with register.reading() as connection:
        stations = connection.execute(select(func.count()).select_from(tables.station)).scalar_one()
        people = connection.execute(select(func.count()).select_from(tables.account)).scalar_one()
        last = last_verified(connection)
    head = register.head()
    told = None
    if last is not None:
        verified = VerifiedView.model_validate(last["verified"])
        told = LastView(
            verified=verified, at=last["at"], who=last["who"], links_since=head.seq - verified.links
        )
    return ArchiveView(
        stations=stations,
        people=people,
        links=head.seq,
        head_sha256=head.hash if head.seq else "",
        last_at=head.at,
        is_empty=is_empty(register),
        last=told,
        verifying=work_view(verifying),
        taking_in=work_view(taking),
        taken=TakenView(**taking.result) if taking is not None and taking.state == "done" else None,
        lists=tuple(
            ListView(name=one.name, words=one.words, kinds=_kinds(one.name)) for one in LISTS.values()
        ),
    )


def _kinds(name: str) -> tuple[str, ...]:
    return ("csv", "parquet", "geojson") if name == "stations" else ("csv", "parquet")


def begin_verify(register: Register, who: str) -> Work:
    """Begin to verify the register.

    Raises
    ------
    InputError
        It is under way already.
    """
    return works_of(register).start("verify", who, {})


def begin_import(register: Register, who: str, source: BinaryIO) -> Work:
    """Begin to take an archive in that was handed over; it waits in a file until it is done.

    Raises
    ------
    InputError
        The register is not empty, or another is under way.
    """
    from steadyhead.register.restoring import refuse_filled

    try:
        with register.reading() as connection:
            refuse_filled(connection)
    except InputError as filled:
        problem = f"comes into a register that {FILLED}; this one {filled.problem}"
        raise InputError("archive", problem, ELSEWHERE) from None
    with tempfile.NamedTemporaryFile(prefix="steadyhead-archive-", suffix=".zip", delete=False) as target:
        shutil.copyfileobj(source, target)
    try:
        return works_of(register).start("archive", who, {"file": target.name})
    except BaseException:
        Path(target.name).unlink(missing_ok=True)
        raise
