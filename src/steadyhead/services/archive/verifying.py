"""Verify a register, or an archive of one: the chain, every row and file, releases, certificates."""

from __future__ import annotations

import base64
import json
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict
from sqlalchemy import Connection, inspect, select
from sqlalchemy.exc import SQLAlchemyError

from steadyhead.findings import tell
from steadyhead.register import open_register, tables
from steadyhead.register.logs.belonging import belongings, folder_of, has_any, told, wrong_with
from steadyhead.register.opening import place_words
from steadyhead.register.reading import found, in_order, looking
from steadyhead.register.verifying import Verdict, said_by, verify
from steadyhead.services.archive.reading import Damaged, opened
from steadyhead.services.archive.taking_in import take_in
from steadyhead.station.canonical import sha256
from steadyhead.work import Progress, no_progress

FORMAT = "steadyhead/register-verified/1"
CERTIFICATE = "certificate"
_SHORT = 12


class TroubleView(BaseModel):
    """One thing that does not fit, in words."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    code: str
    severity: str
    subject: str
    title: str
    statement: str
    why: str
    cure: str


class VerifiedView(BaseModel):
    """What a register or archive came to when it was held against its chain.

    first_broken: number of the first link that does not hold, 0 where each does; more: by code, findings
    beyond those told.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    format: str = FORMAT
    where: str
    kind: Literal["register", "archive"]
    is_whole: bool
    words: str
    register_id: str
    links: int
    head_sha256: str
    last_at: str
    rows: int
    files: int
    certificates: int
    first_broken: int
    troubles: tuple[TroubleView, ...]
    more: dict[str, int]


@dataclass(slots=True)
class _Seen:
    certificates: int = 0


def verify_place(place: str, progress: Progress = no_progress, data: str = "") -> VerifiedView:
    """Verify the register in a folder or on a server, or an archive; nothing there is changed or migrated.

    data: its folder of logger data, where that is not the one it knows.

    Raises
    ------
    InputError
        Nothing there that is a register or an archive of one.
    """
    path = Path(place)
    if "://" not in place and path.is_file() and path.suffix.lower() == ".zip":
        return _verify_archive(place, progress)
    seen = _Seen()
    try:
        with looking(place) as connection:
            verdict = verify_connection(connection, progress, seen)
            _logger_data(connection, verdict, place, data, progress)
    except SQLAlchemyError as problem:
        verdict = Verdict()
        verdict.add("REG-01", "the database", what=said_by(problem))
    return view_of(verdict, place_words(place), "register", seen.certificates)


def verify_connection(
    connection: Connection, progress: Progress = no_progress, seen: _Seen | None = None
) -> Verdict:
    """Hold a register against its chain, releases against revisions, and what certificates name."""
    verdict = verify(connection, progress)
    mine = seen or _Seen()
    for look in (_releases, _certificates):
        try:
            look(connection, verdict, mine)
        except SQLAlchemyError as problem:
            verdict.add("REG-01", look.__name__.lstrip("_"), what=said_by(problem))
            connection.rollback()
    return verdict


def _logger_data(connection: Connection, verdict: Verdict, place: str, data: str, progress: Progress) -> None:
    """Hold the files of the folder of logger data against what was told of each."""
    try:
        if not inspect(connection).has_table(tables.logger_import.name) or not has_any(connection):
            return
        logs = folder_of(connection, place, data)
        if logs is None:
            verdict.add("REG-17", "the folder of logger data", what="is not known; name it with --data")
            return
        count = 0
        for one in belongings(connection):
            if what := wrong_with(one, logs):
                verdict.add("REG-17", one.words(), what=what)
            count += 1
            progress(count, count + 1, "files of loggers")
        verdict.blobs += count
        for told_of in told(connection):
            path = logs.manifest(told_of.token)
            if not told_of.is_undone and not (path.is_file() and path.read_bytes() == told_of.content):
                what = f"is not what was kept: {path}"
                verdict.add("REG-17", f"the manifest of import {told_of.number}", what=what)
    except (SQLAlchemyError, ValueError, KeyError, TypeError, OSError) as problem:
        words = said_by(problem) if isinstance(problem, SQLAlchemyError) else str(problem)[:160]
        verdict.add("REG-01", "logger data", what=words)


def _verify_archive(place: str, progress: Progress) -> VerifiedView:
    verdict, seen = Verdict(), _Seen()
    try:
        with opened(place) as archive:
            for one in archive.wrong():
                verdict.add("REG-15", one.field, what=one.problem)
            damaged = {one.subject for one in verdict.findings}
            if not damaged & set(archive.names()):
                with _staged() as folder:
                    register = open_register(folder)
                    try:
                        take_in(archive, register, progress, to_verify=True)
                    finally:
                        register.close()
                    with looking(folder) as connection:
                        found_in = verify_connection(connection, progress, seen)
                        _logger_data(connection, found_in, str(folder), "", progress)
                found_in.findings[:0] = verdict.findings
                verdict = found_in
    except Damaged as one:
        verdict.add("REG-15", one.field, what=one.problem)
    return view_of(verdict, place, "archive", seen.certificates)


@contextmanager
def _staged() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="steadyhead-verify-") as folder:
        yield Path(folder)


def view_of(
    verdict: Verdict, where: str, kind: Literal["register", "archive"], certificates: int = 0
) -> VerifiedView:
    """Return a verdict in words."""
    told = [tell(one) for one in verdict.findings]
    return VerifiedView(
        where=where,
        kind=kind,
        is_whole=verdict.is_whole,
        words=_sum(verdict, kind),
        register_id=verdict.name,
        links=verdict.links,
        head_sha256=verdict.head,
        last_at=verdict.moment,
        rows=verdict.rows,
        files=verdict.blobs,
        certificates=certificates,
        first_broken=verdict.first_broken,
        troubles=tuple(
            TroubleView(
                code=one.code, severity=one.severity.value, subject=one.subject, title=one.title,
                statement=one.statement, why=one.why, cure=one.cure,
            )
            for one in told
        ),
        more=dict(verdict.more),
    )  # fmt: skip


def _sum(verdict: Verdict, kind: str) -> str:
    if verdict.is_whole:
        return (
            f"The {kind} is whole: {verdict.links} links hold, and {verdict.rows} rows and {verdict.blobs} "
            "files are as they were kept."
        )
    if verdict.first_broken:
        return (
            f"The {kind} is NOT as it was kept. Link {verdict.first_broken} is the first that does not hold."
        )
    first = verdict.first_contradicted
    more = f" The first that tells of something else than what is there is link {first}." if first else ""
    return f"The {kind} is NOT as it was kept. Every link that is there holds.{more}"


def _releases(connection: Connection, verdict: Verdict, _: _Seen) -> None:
    one, revision, blob = tables.released, tables.revision, tables.blob
    asked = (
        select(one.c.station, one.c.number, one.c.revision, revision.c.file, blob.c.bytes)
        .outerjoin(revision, (revision.c.station == one.c.station) & (revision.c.number == one.c.revision))
        .join(blob, blob.c.hash == one.c.record)
        .order_by(*in_order(connection, one.c.station, one.c.number))
    )
    for row in found(connection, asked):
        got = _released(bytes(row["bytes"]))
        if got != row["file"]:
            verdict.add(
                "REG-14", f"{row['station']} r{row['number']}", got=got[:_SHORT], what=str(row["revision"]),
                asked=(row["file"] or "none")[:_SHORT],
            )  # fmt: skip


def _released(content: bytes) -> str:
    """Return the hash of the station file that the record of a release holds."""
    try:
        file = json.loads(content)["file"]
        held = file["content"]
        source = base64.b64decode(held) if file["encoding"] == "base64" else held.encode()
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return "no release"
    return sha256(source)


def _certificates(connection: Connection, verdict: Verdict, seen: _Seen) -> None:
    """Hold the link each certificate names against the chain: so a chain that was cut short is noticed."""
    one, blob = tables.record, tables.blob
    asked = (
        select(one.c.id, one.c.station, one.c.name, one.c.about, blob.c.bytes)
        .join(blob, blob.c.hash == one.c.content)
        .where(one.c.kind == CERTIFICATE)
        .order_by(*in_order(connection, one.c.station, one.c.id))
    )
    for row in found(connection, asked):
        seen.certificates += 1
        named = link_named(bytes(row["bytes"])) if _is_of_here(row["about"]) else None
        if named is None:
            continue
        number, digest = named
        got = connection.execute(select(tables.audit.c.hash).where(tables.audit.c.seq == number)).scalar()
        if got != digest:
            what = "ends before it" if got is None else f"has {got[:_SHORT]}… there"
            subject = f"{row['station']} {row['name'] or row['id']}"
            verdict.add("REG-13", subject, link=str(number), asked=digest[:_SHORT], what=what)


def _is_of_here(about: str) -> bool:
    """Return whether a certificate was made in this register, not taken in from elsewhere."""
    try:
        return bool(json.loads(about)["made_here"])
    except (ValueError, KeyError, TypeError):
        return False


def link_named(content: bytes) -> tuple[int, str] | None:
    """Return number and hash of the link a certificate names; None where it names none."""
    from steadyhead.reports.attaching import taken_apart
    from steadyhead.services.certificates.making import RECORD

    apart = taken_apart(content)
    if apart is None or RECORD not in apart.files:
        return None
    try:
        told: Mapping[str, Any] = json.loads(apart.files[RECORD])["chain"]
        return int(told["seq"]), str(told["hash"])
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
